"""A job folder as plain figures: parts with the measures of each place, materials, machines, sheets.

Reads job.toml with tomllib and the tables with csv. It takes what the example job uses and refuses nothing: telling
what is wrong with a job is not its work.
"""

import csv
import re
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

from lengths import angle, length, mean_length, share, spares
from outlines import read_outline

# Keys of a part or a companion that say what it is cut of and where it belongs: no measures.
STUFF = {
    "name", "kind", "positions", "table", "material", "cut-with", "face", "grain", "grain-within", "grade",
    "stretch", "wet-glue", "from-thickness", "spares", "mate-of", "note", "unit", "position", "outline-unit",
}
# Figures that are shown and change no shape: pressures, forces, volumes.
IDLE = {"vacuum", "pressure", "force", "volume"}
WORDS = {
    "rule", "members", "shape", "span-is", "form", "tuck", "way", "ends", "boards", "folds", "opposite-seen", "meet",
}
COUNTS = {"holes", "after", "ears", "papers", "ports", "pleats", "dips", "count"}
ANGLES = {"start", "rib-angle", "corner-angle", "opens"}
POINTS = {"at", "first", "from", "to"}
TABLES = {"row", "hole", "screw", "slot", "window", "circle", "mark", "break", "opposite-row", "opposite-hole"}
FILES = {"hole-table", "opposite-table"}
# Tables that are pieces of another material.
COMPANIONS = {
    "pouch": ("lifter-plate", "dot"),
    "pallet": ("felt",),
    "bellows": ("card", "gusset", "patch", "hinge"),
}


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
    # What it grows by in use and by wet glue, along and across the grain.
    stretch: tuple = (0.0, 0.0)
    mate_of: str | None = None
    # The table by which it belongs to the part of its name, such as ``card``.
    companion: str | None = None


@dataclass
class Cutting:
    """How a machine cuts a material."""

    kerf: tuple
    gap: float
    edge: float


@dataclass
class Job:
    """The whole folder; a companion stands among the parts as ``part/companion``."""

    folder: Path
    parts: dict
    materials: dict
    machines: dict
    sheets: list = field(default_factory=list)
    unit: str = "mm"

    def cut(self, material, machine):
        """The record of how a machine cuts a material, by its own name first, else by its process."""
        cuts = self.materials[material].get("cut", [])
        process = self.machines[machine]["machine"]["process"]
        for name in (machine, self.machine_files[machine], process):
            for cut in cuts:
                if cut["on"] == name:
                    return cut
        raise KeyError(f"{material} has no cut on {machine}")

    def cutting(self, material, machine):
        """Kerf, gap and edge of a material on a machine."""
        cut = self.cut(material, machine)
        both = cut.get("kerf", "0 mm")
        kerf = tuple(length(cut.get(key, both)) for key in ("kerf-x", "kerf-y"))
        return Cutting(kerf, length(cut["gap"]), length(cut["edge"]))

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


def rows_of(path):
    """Rows of a CSV table as ``{key: (text, unit or None)}``; blank cells are left out."""
    lines = [line for line in path.read_text(encoding="utf-8-sig").splitlines() if not line.startswith("#")]
    lines = [line for line in lines if line.strip()]
    comma, semicolon = lines[0].count(","), lines[0].count(";")
    rows = list(csv.reader(lines, delimiter=";" if semicolon > comma else ","))
    heads = []
    for head in rows[0]:
        match = re.fullmatch(r"\s*([^(\[]+?)\s*(?:[(\[]\s*([^)\]]+?)\s*[)\]])?\s*", head)
        name, unit = (match[1], match[2]) if match else (head.strip(), None)
        heads.append((re.sub(r"[ _]", "-", name.lower()), unit))
    return [{key: (cell.strip(), unit) for (key, unit), cell in zip(heads, row) if cell.strip()} for row in rows[1:]]


def table(path):
    """Rows of a CSV table by their positions, as ``{position: {key: (text, unit or None)}}``."""
    found = {}
    for cells in rows_of(path):
        position = cells.pop("position", None)
        if position:
            found[int(position[0])] = cells
    return found


def _figure(key, value, unit):
    """One measure by what its key takes."""
    if key in WORDS:
        return str(value).strip().lower()
    if key in COUNTS:
        return int(value)
    if key in ANGLES:
        return angle(value)
    if key in POINTS:
        return [length(one, unit) for one in value]
    return mean_length(value, unit)


def _inner(tables, unit):
    """Tables such as [[part.row]] with their lengths in millimetres."""
    made = []
    for given in tables:
        own = given.get("unit", unit)
        made.append({
            key: _inner(value, own) if key == "break" else _figure(key, value, own)
            for key, value in given.items() if key not in ("unit", "note")
        })
    return made


def _hole_table(path, unit):
    """A list of holes in a file: x, y, diameter."""
    return [
        {key: length(text, own or unit) for key, (text, own) in cells.items() if key in ("x", "y", "diameter")}
        for cells in rows_of(path) if cells
    ]


def _measures(given, folder, unit, companions=()):
    own = given.get("unit", unit)
    measures = {}
    for key, value in given.items():
        if key in companions and isinstance(value, dict):
            measures[key] = _measures(value, folder, own)
        elif key in TABLES and isinstance(value, list):
            measures[key] = _inner(value, own)
        elif key in FILES:
            measures[key] = _hole_table(folder / value, own)
        elif key == "outline":
            measures[key] = read_outline(folder / value, given.get("outline-unit"))
        elif key == "corners":
            measures[key] = [[length(one, own) for one in corner] for corner in value]
        elif key not in STUFF | IDLE:
            measures[key] = _figure(key, value, own)
    return measures


def _at_each(given, folder, unit, places):
    # How many there are is no measure of each.
    whole = {key: value for key, value in given.items() if key != "count"}
    common = _measures(whole, folder, unit, COMPANIONS.get(given["kind"], ()))
    each = {place: dict(common) for place in places}
    if "table" in given:
        for place, cells in table(folder / given["table"]).items():
            for key, (text, own) in cells.items():
                if place in each and key not in STUFF | IDLE:
                    each[place][key] = _figure(key, text, own or given.get("unit", unit))
    return each


def _shares(given, key, material):
    """What ``stretch`` or ``wet-glue`` says."""
    value = given.get(key)
    if value is None:
        return (0.0, 0.0)
    if isinstance(value, str):
        value = [material[key]["along"], material[key]["across"]]
    return tuple(share(one) for one in value)


def _growth(given, material):
    """Growth in use and by wet glue, one after the other."""
    dry, wet = (_shares(given, key, material) for key in ("stretch", "wet-glue"))
    return tuple((1 + a) * (1 + b) - 1 for a, b in zip(dry, wet))


def _grain(given, material):
    """How its length lies; a flap's lies where the material gives least, whatever is said."""
    if given.get("kind") == "flap":
        shares = [share(material["stretch"][way]) for way in ("along", "across")] if "stretch" in material else (0, 0)
        return "across" if shares[1] < shares[0] else "along"
    return {"along length": "along", "across length": "across"}.get(given.get("grain"))


def _parts(given, job, head, materials):
    """A part, and its companions as parts beside it."""
    folder, unit, machines = job.folder, job.unit, job.machines
    positions = given.get("positions")
    if positions is not None:
        places = numbers(positions, head.get("notes", 0))
    else:
        places = list(range(1, given.get("count", 1) + 1))
    silent = given.get("spares", head.get("spares", "none"))
    measures = _at_each(given, folder, unit, places)
    def part(own, companion=None):
        return Part(
            name=given["name"],
            kind=given["kind"],
            material=own["material"],
            machine=own.get("cut-with") or next(iter(machines)),
            positions=places,
            measures=measures,
            spares=spares(own.get("spares", silent)),
            face=own.get("face"),
            grain=_grain(own, materials[own["material"]]),
            stretch=_growth(own, materials[own["material"]]),
            mate_of=given.get("mate-of") if companion is None else None,
            companion=companion,
        )
    beside = [key for key in COMPANIONS.get(given["kind"], ()) if isinstance(given.get(key), dict)]
    return [part(given)] + [part(given[key], key) for key in beside]


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
    stuffs = [own for part in parts for own in (part, *part.values()) if isinstance(own, dict) and "material" in own]
    names = {own["material"] for own in stuffs} | {sheet["material"] for _, sheet in sheets}
    materials = {name: profile("materials", name) for name in sorted(names)}
    job = Job(folder, {}, materials, machines, sheets, unit)
    job.machine_files = files
    for given in parts:
        for part in _parts(given, job, head, materials):
            job.parts[part.name if part.companion is None else f"{part.name}/{part.companion}"] = part
    for part in job.parts.values():
        if part.mate_of:
            model = job.parts[part.mate_of]
            first = model.measures[model.positions[0]]
            part.measures = {place: model.measures.get(place, first) for place in part.positions}
    return job
