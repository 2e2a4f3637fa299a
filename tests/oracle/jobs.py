"""A job folder as plain figures: parts with the measures of each place, materials, machines, sheets.

Reads job.toml with tomllib and the tables with csv. It takes what the example job uses and refuses nothing: telling
what is wrong with a job is not its work.
"""

import csv
import re
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

from lengths import length, mean_length, share, spares

# Keys of a part that are words or numbers, not lengths.
PLAIN = {
    "name", "kind", "positions", "count", "table", "material", "cut-with", "face", "grain", "stretch", "spares",
    "mate-of", "rule", "members", "shape", "span-is", "form", "tuck", "note", "unit", "position",
}
TABLES = ("row", "hole", "screw", "slot")


@dataclass
class Part:
    """One part of the job with the measures of each of its places."""

    name: str
    kind: str
    material: str
    machine: str
    positions: list
    measures: dict
    spares: tuple
    face: str | None = None
    grain: str | None = None
    stretch: tuple = (0.0, 0.0)
    mate_of: str | None = None


@dataclass
class Cutting:
    """How a machine cuts a material."""

    kerf: tuple
    gap: float
    edge: float


@dataclass
class Job:
    """The whole folder."""

    folder: Path
    parts: dict
    materials: dict
    machines: dict
    sheets: list = field(default_factory=list)
    unit: str = "mm"

    def cutting(self, material, machine):
        """Kerf, gap and edge of a material on a machine, by its own name first, else by its process."""
        cuts = self.materials[material].get("cut", [])
        process = self.machines[machine]["machine"]["process"]
        for name in (machine, self.machine_files[machine], process):
            for cut in cuts:
                if cut["on"] == name:
                    both = cut.get("kerf", "0 mm")
                    kerf = tuple(length(cut.get(key, both)) for key in ("kerf-x", "kerf-y"))
                    return Cutting(kerf, length(cut["gap"]), length(cut["edge"]))
        raise KeyError(f"{material} has no cut on {machine}")

    def smallest_hole(self, machine):
        """Holes below this are left to the punch."""
        return length(self.machines[machine]["machine"].get("smallest-hole", "0 mm"))


def numbers(text, notes):
    """The places of a text such as ``1-12, 15`` or ``all``."""
    if str(text).strip().lower() == "all":
        return list(range(1, notes + 1))
    found = []
    for run in str(text).split(","):
        ends = [int(word) for word in re.split(r"[-–]", run)]
        found.extend(range(ends[0], ends[-1] + 1))
    return sorted(found)


def table(path):
    """Rows of a CSV table as ``{position: {key: (text, unit or None)}}``; blank cells are left out."""
    lines = [line for line in path.read_text(encoding="utf-8-sig").splitlines() if not line.startswith("#")]
    lines = [line for line in lines if line.strip()]
    comma, semicolon = lines[0].count(","), lines[0].count(";")
    rows = list(csv.reader(lines, delimiter=";" if semicolon > comma else ","))
    heads = []
    for head in rows[0]:
        match = re.fullmatch(r"\s*([^(\[]+?)\s*(?:[(\[]\s*([^)\]]+?)\s*[)\]])?\s*", head)
        heads.append((match[1].lower(), match[2]) if match else (head.strip().lower(), None))
    found = {}
    for row in rows[1:]:
        cells = {key: (cell.strip(), unit) for (key, unit), cell in zip(heads, row) if cell.strip()}
        position = cells.pop("position", None)
        if position:
            found[int(position[0])] = cells
    return found


def _inner(tables, unit):
    """Tables such as [[part.row]] with their lengths in millimetres."""
    made = []
    for given in tables:
        own = given.get("unit", unit)
        made.append({key: _inner_value(key, value, own) for key, value in given.items()})
    return made


def _inner_value(key, value, unit):
    if key in ("holes", "after", "way", "ends", "unit"):
        return value
    if key == "break":
        return _inner(value, unit)
    if isinstance(value, list):
        return [length(one, unit) for one in value]
    return length(value, unit)


def _measures(given, unit):
    own = given.get("unit", unit)
    measures = {}
    for key, value in given.items():
        if key in TABLES:
            measures[key] = _inner(value, own)
        elif key not in PLAIN:
            measures[key] = mean_length(value, own)
        elif key in ("rule", "members", "shape", "span-is", "form", "tuck"):
            measures[key] = value
    return measures


def _at_each(given, folder, unit, places):
    common = _measures(given, unit)
    each = {place: dict(common) for place in places}
    if "table" in given:
        for place, cells in table(folder / given["table"]).items():
            for key, (text, own) in cells.items():
                if place in each and key not in PLAIN:
                    each[place][key] = length(text, own or given.get("unit", unit))
    return each


def _stretch(given, material):
    value = given.get("stretch")
    if value is None:
        return (0.0, 0.0)
    if value == "material":
        value = [material["stretch"]["along"], material["stretch"]["across"]]
    return tuple(share(one) for one in value)


def read_job(folder):
    """The job of a folder."""
    folder = Path(folder)
    top = tomllib.loads((folder / "job.toml").read_text(encoding="utf-8"))
    head = top.get("job", {})
    unit = head.get("unit", "mm")
    def profile(room, name):
        return tomllib.loads((folder / room / f"{name}.toml").read_text(encoding="utf-8"))
    files = dict(top.get("machines", {}))
    machines = {short: profile("machines", name) for short, name in files.items()}
    sheets = [(kind, sheet) for kind in ("hide", "cloth", "leaf") for sheet in top.get(kind, [])]
    parts = top.get("part", [])
    names = {part["material"] for part in parts} | {sheet["material"] for _, sheet in sheets}
    materials = {name: profile("materials", name) for name in sorted(names)}
    job = Job(folder, {}, materials, machines, sheets, unit)
    job.machine_files = files
    for given in parts:
        positions = given.get("positions")
        if positions is not None:
            places = numbers(positions, head.get("notes", 0))
        else:
            places = list(range(1, given.get("count", 1) + 1))
        job.parts[given["name"]] = Part(
            name=given["name"],
            kind=given["kind"],
            material=given["material"],
            machine=given.get("cut-with") or next(iter(machines)),
            positions=places,
            measures=_at_each(given, folder, unit, places),
            spares=spares(given.get("spares", head.get("spares", "none"))),
            face=given.get("face"),
            grain={"along length": "along", "across length": "across"}.get(given.get("grain")),
            stretch=_stretch(given, materials[given["material"]]),
            mate_of=given.get("mate-of"),
        )
    for part in job.parts.values():
        if part.mate_of:
            model = job.parts[part.mate_of]
            first = model.measures[model.positions[0]]
            part.measures = {place: model.measures.get(place, first) for place in part.positions}
    return job
