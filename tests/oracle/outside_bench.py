"""A bench for figures: writes small jobs, asks the program about them, and counts what agrees.

Measures are told in a dictionary as a job has them: numbers are lengths in the unit of the case, save for counts and
angles, which are known by their keys; a list of dictionaries is a row of tables, a dictionary a companion.
"""

import json
import subprocess
import tempfile
from pathlib import Path

INCH = 25.4
COUNTS = {"dips", "ports", "papers", "pleats", "ears", "holes", "count", "after"}
ANGLES = {"start", "rib-angle", "corner-angle", "opens"}
TABLES = {"hole-table", "opposite-table"}
MACHINE = """[machine]
name = "bench knife"
process = "knife"
width = "3000 mm"
depth = "3000 mm"
margin = "5 mm"
smallest-hole = "3 mm"
source = "assumed: for trial"
"""
MATERIAL = """[material]
name = "trial felt"
sort = "felt"
thickness = "1 mm"
source = "assumed: for trial"

[[cut]]
on = "knife"
kerf = "0 mm"
gap = "1 mm"
edge = "5 mm"
least-web = "1 mm"
source = "assumed"
"""
JOB = """[job]
title = "trial"
unit = "{unit}"

[machines]
knife = "trial-knife"

[[leaf]]
id = "F-1"
material = "trial-felt"
width = "2 m"
length = "2 m"

[[part]]
name = "it"
kind = "{kind}"
count = 1
material = "trial-felt"
cut-with = "knife"
"""


class Bench:
    """Runs the program and counts."""

    def __init__(self, binary):
        self.binary = str(binary)
        self.passed, self.failures = 0, []

    def check(self, words, got, want, relative=1e-5, absolute=0.0):
        """Counts one comparison."""
        good = got is not None and abs(got - want) <= max(relative * abs(want), absolute)
        if good:
            self.passed += 1
        else:
            self.failures.append(f"{words}: got {got}, want {want}")

    def checks(self, name, said, wanted, relative=1e-9, absolute=1e-9):
        """Counts a comparison for each label that is wanted."""
        for label, value in wanted.items():
            self.check(f"{name}: {label}", said.get(label), value, relative, absolute)

    def answer(self, *arguments):
        """The JSON that the program prints, or None."""
        run = subprocess.run([self.binary, *arguments, "--json"], capture_output=True, text=True, timeout=60)
        try:
            return json.loads(run.stdout)
        except ValueError:
            self.failures.append(f"{' '.join(arguments)}: no JSON (exit {run.returncode}): {run.stderr.strip()[:200]}")
            return None

    def measure(self, text):
        """Millimetres of a text."""
        answer = self.answer("measure", text)
        if answer is not None and answer.get("schema") != "pouchwork/measure/1":
            self.failures.append(f"measure {text}: schema {answer.get('schema')}")
        return None if answer is None else answer.get("mm")

    def part(self, kind, measures, unit="mm", tables="", files=None):
        """The worked sums of a part with these measures: one dictionary of label and value for each piece."""
        with tempfile.TemporaryDirectory(prefix="outside-values-") as folder:
            write_job(Path(folder), kind, unit, measures, tables, files or {})
            answer = self.answer("why", "it", "-C", folder)
        if answer is None:
            return [{}]
        if answer.get("schema") != "pouchwork/why/1":
            self.failures.append(f"why {kind}: schema {answer.get('schema')}")
        found = []
        for piece in answer.get("pieces", []):
            found.append({"address": piece["address"]} | {term["label"]: term["value"] for term in piece["terms"]})
        if not found:
            self.failures.append(f"why {kind} {measures}: no piece: {answer.get('messages')}")
        return found or [{}]

    def members(self, kind, measures, unit="mm", **more):
        """The same by the name of the member; the part's own piece has none."""
        return {piece.get("address", "").partition("/")[2]: piece for piece in self.part(kind, measures, unit, **more)}

    def why(self, kind, unit="in", tables="", **measures):
        """The same with measures by their names, an underscore for a hyphen; ``tables`` is text that is put after."""
        return self.part(kind, {key.replace("_", "-"): value for key, value in measures.items()}, unit, tables)


def written(key, value, unit):
    """A measure as TOML has it."""
    if isinstance(value, str):
        return f'"{value}"'
    if key in COUNTS:
        return str(value)
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{own} = {written(own, one, unit)}" for own, one in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(written(key, one, unit) for one in value) + "]"
    return f'"{value!r} {"deg" if key in ANGLES else unit}"'


def write_job(folder, kind, unit, measures, tables, files):
    """A job of one part called ``it``."""
    for room in ("machines", "materials"):
        (folder / room).mkdir()
    (folder / "machines" / "trial-knife.toml").write_text(MACHINE, encoding="utf-8")
    (folder / "materials" / "trial-felt.toml").write_text(MATERIAL, encoding="utf-8")
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    lines = [JOB.format(unit=unit, kind=kind).rstrip("\n")]
    for key, value in measures.items():
        if key in TABLES:
            rows = [f"{row['x']!r},{row['y']!r},{row['diameter']!r}," for row in value]
            head = ",".join(f"{name} ({unit})" for name in ("x", "y", "diameter"))
            (folder / f"{key}.csv").write_text("\n".join([f"{head},note", *rows]) + "\n", encoding="utf-8")
            value = f"{key}.csv"
        if isinstance(value, dict):
            value = value | {"material": "trial-felt", "cut-with": "knife"}
        lines.append(f"{key} = {written(key, value, unit)}")
    (folder / "job.toml").write_text("\n".join(lines) + "\n" + tables, encoding="utf-8")


def scaled(key, value, by):
    """Measures in millimetres: every length times ``by``, counts, angles and words as they are."""
    if isinstance(value, str) or key in COUNTS | ANGLES:
        return value
    if isinstance(value, dict):
        return {own: scaled(own, one, by) for own, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [scaled(key, one, by) for one in value]
    return value * by


def millimetres(measures, unit):
    """The measures of a case in millimetres."""
    return scaled("", measures, INCH if unit == "in" else 1.0)
