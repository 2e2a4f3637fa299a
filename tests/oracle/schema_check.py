"""The JSON Schema of a job file, held against the examples and against slips, with another library's validator.

Usage: schema_check.py BINARY JOB...

The schema itself must be a sound one of draft 2020-12. Every job given, and a new job of every sort, must stand it. Then each is
spoilt in one place after another, and the schema must refuse it; where the program can read the spoilt job it must refuse it too.
"""

import copy
import json
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

from jsonschema import Draft202012Validator


def printed(binary, *words, folder=None):
    ran = subprocess.run([binary, *words], capture_output=True, text=True, cwd=folder)
    if ran.returncode:
        sys.exit(f"{words}: {ran.stdout}{ran.stderr}")
    return ran.stdout


def slips(job):
    """Every slip by its name: a job spoilt in one place."""

    def spoilt(name, change):
        bad = copy.deepcopy(job)
        if change(bad) is not False:
            yield name, bad

    def tables(bad):
        for key in ("hide", "cloth", "leaf", "part", "travel"):
            yield from ((key, n) for n in range(len(bad.get(key, []))))

    yield from spoilt("an unknown table", lambda bad: bad.update(parts=[]))
    yield from spoilt("an unknown key of the head", lambda bad: bad["job"].update(titel="x"))
    yield from spoilt("a title that is a number", lambda bad: bad["job"].update(title=3))
    yield from spoilt("notes as a text", lambda bad: bad["job"].update(notes="54"))
    yield from spoilt("notes below 1", lambda bad: bad["job"].update(notes=0))
    yield from spoilt("a machine that is a number", lambda bad: bad["machines"].update(x=1))
    yield from spoilt("a job without a head", lambda bad: bad.pop("job") and None)
    for key, n in tables(job):
        where = f"{key} {n + 1}"
        table = job[key][n]
        yield from spoilt(f"{where}: an unknown key", lambda bad: bad[key][n].update(wel="1 in"))
        name = "id" if "id" in table else "name"
        yield from spoilt(f"{where}: without a name", lambda bad: bad[key][n].pop(name) and None)
        yield from spoilt(f"{where}: a name that is a list", lambda bad: bad[key][n].update({name: ["a"]}))
        if "material" in table:
            yield from spoilt(f"{where}: without a material", lambda bad: bad[key][n].pop("material") and None)
        yield from spoilt(f"{where}: a bad unit", lambda bad: bad[key][n].update(unit=True))
    for n, part in enumerate(job.get("part", [])):
        where = f"part {part['name']}"
        row = lambda bad: bad["part"][n]
        yield from spoilt(f"{where}: an unknown kind", lambda bad: row(bad).update(kind="poutch"))
        yield from spoilt(f"{where}: no kind", lambda bad: row(bad).pop("kind") and None)
        yield from spoilt(f"{where}: both count and positions", lambda bad: row(bad).update(count=1, positions="1"))
        yield from spoilt(f"{where}: a face that is none", lambda bad: row(bad).update(face="outside"))
        yield from spoilt(f"{where}: a grade of 9", lambda bad: row(bad).update(grade=9))
        for key, value in part.items():
            if key in ("name", "kind", "positions", "spares", "note", "table"):
                continue
            if isinstance(value, str):
                yield from spoilt(f"{where}: {key} is true", lambda bad: row(bad).update({key: True}))
                yield from spoilt(f"{where}: {key} is a table", lambda bad: row(bad).update({key: {"a": 1}}))
            if isinstance(value, list) and value and isinstance(value[0], dict):
                yield from spoilt(f"{where}: {key} with an unknown key", lambda bad: row(bad)[key][0].update(qq=1))
            if isinstance(value, dict):
                yield from spoilt(f"{where}: {key} with an unknown key", lambda bad: row(bad)[key].update(qq=1))
            if isinstance(value, str) and any(c.isdigit() for c in value) and value.endswith(" in"):
                yield from spoilt(f"{where}: {key} with a comma", lambda bad: row(bad).update({key: "1,25 in"}))


def main():
    binary, jobs = str(Path(sys.argv[1]).resolve()), sys.argv[2:]
    schema = json.loads(printed(binary, "schema"))
    Draft202012Validator.check_schema(schema)
    validator = Draft202012Validator(schema)
    again = json.loads(printed(binary, "schema", "--json"))
    assert again["json-schema"] == schema, "--json holds another schema"
    with tempfile.TemporaryDirectory() as room:
        texts = [(job, Path(job, "job.toml").read_text()) for job in jobs]
        for machine in ("knife", "laser", "paper"):
            for unit in ("in", "mm"):
                name = f"{machine}-{unit}"
                fumes = ("--extraction", "outdoors") if machine == "laser" else ()
                printed(binary, "new", name, "--machine", machine, "--unit", unit, *fumes, folder=room)
                texts.append((name, Path(room, name, "job.toml").read_text()))
        # A part of each kind, with what it cannot do without.
        for kind in json.loads(printed(binary, "kind", "--json"))["kinds"]:
            text = printed(binary, "kind", kind)
            texts.append((kind, '[job]\ntitle = "x"\n[machines]\nknife = "drag-knife"\n' + text))
        count, wrong = 0, []
        for name, text in texts:
            job = tomllib.loads(text)
            for fault in validator.iter_errors(job):
                wrong.append(f"{name} is refused: {'/'.join(map(str, fault.absolute_path))}: {fault.message[:200]}")
            for slip, bad in slips(job):
                count += 1
                if validator.is_valid(bad):
                    wrong.append(f"{name}: {slip}: taken")
    for line in wrong:
        print(line)
    if wrong:
        sys.exit(1)
    assert count > 500, f"only {count} slips were made"
    print(f"schema: {len(texts)} jobs stand it, {count} slips are refused")


main()
