"""Sheets of a job as shapely outlines with their flaws: what may be cut from, and what must be left alone.

Flaws and grain line are given in the coordinates of the outline, y up; where a sheet is moved so that the lower left of
its box is at the origin, they go with it.
"""

import math
from dataclasses import dataclass, field

from shapely import affinity
from shapely.geometry import Point, Polygon, box

from drawings import read_svg, read_traced_dxf
from lengths import length


@dataclass
class Sheet:
    """A sheet, in millimetres."""

    id: str
    material: str
    outline: Polygon
    flaws: list
    grain: float
    up: str | None
    edge: float | None
    woven: bool
    # Its grade where no zone lies; zones as (grade, outline), later ones over earlier ones.
    grade: int = 1
    zones: list = field(default_factory=list)
    # Its thickness at places, as (x, y, mm).
    readings: list = field(default_factory=list)


def _points(given, unit):
    return [(length(x, unit), length(y, unit)) for x, y in given]


def _lines(tables, unit):
    """Lines with corners, or round ones."""
    made = []
    for flaw in tables:
        own = flaw.get("unit", unit)
        if "corners" in flaw:
            made.append(Polygon(_points(flaw["corners"], own)))
        else:
            [at] = _points([flaw["at"]], own)
            made.append(Point(at).buffer(length(flaw["diameter"], own) / 2, quad_segs=256))
    return made


def _zones(given, unit):
    return [(zone["grade"], line) for zone in given.get("zone", []) for line in _lines([zone], unit)]


def _readings(given, unit):
    made = []
    for reading in given.get("reading", []):
        own = reading.get("unit", unit)
        made.append((*_points([reading["at"]], own)[0], length(reading["thickness"], own)))
    return made


def _hide(given, folder, unit):
    if "outline" in given:
        file = folder / given["outline"]
        page = read_svg(file) if file.suffix.lower() == ".svg" else read_traced_dxf(file)
        loops = [Polygon(line.points) for line in page.lines if line.closed]
        loops.sort(key=lambda loop: loop.area)
        outline, holes = loops[-1], loops[:-1]
    else:
        outline, holes = Polygon(_points(given["corners"], unit)), []
    if "grain-line" in given:
        (ax, ay), (bx, by) = _points(given["grain-line"], unit)
        grain = math.degrees(math.atan2(by - ay, bx - ax))
    else:
        grain = float(given.get("grain", 0.0))
    return outline, holes, grain


def read_sheets(job, moved):
    """The sheets of a job by their names, as drawn or moved to the origin."""
    found = {}
    for kind, given in job.sheets:
        unit = given.get("unit", job.unit)
        flaws = _lines(given.get("flaw", []), unit)
        if kind == "hide":
            outline, holes, grain = _hide(given, job.folder, unit)
            flaws += holes
        else:
            long, wide = length(given["length"], unit), length(given["width"], unit)
            outline = box(0, 0, long, wide)
            grain = {"across": 90.0}.get(given.get("warp"), float(given.get("grain", 0.0)))
            selvedge = length(given.get("selvedge", "0 mm"), unit)
            if kind == "cloth" and selvedge > 0:
                flaws += [box(0, 0, long, selvedge), box(0, wide - selvedge, long, wide)]
        x, y = outline.bounds[:2] if moved else (0.0, 0.0)
        found[given["id"]] = Sheet(
            given["id"],
            given["material"],
            affinity.translate(outline, -x, -y),
            [affinity.translate(flaw, -x, -y) for flaw in flaws],
            grain,
            given.get("up"),
            length(given["edge"], unit) if "edge" in given else None,
            kind == "cloth",
            given.get("grade", 1),
            [(grade, affinity.translate(line, -x, -y)) for grade, line in _zones(given, unit)],
            [(rx - x, ry - y, thick) for rx, ry, thick in _readings(given, unit)],
        )
    return found
