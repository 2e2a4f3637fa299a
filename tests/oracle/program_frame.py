"""What a cut program is held against: the sheet or bed window it is for, the pieces wanted there, and their lines."""

import re
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry import LinearRing, Polygon
from shapely.strtree import STRtree

import windows
from cut_simulation import PLAIN, lie, misplaced
from lengths import length, share
from sheets import read_sheets

CUTS = ("HOLES", "EDGES")
_SPEED = re.compile(r"\s*(.+?)\s*/\s*(s|min)\s*")


def speed(text):
    """Millimetres a minute."""
    said = _SPEED.fullmatch(text)
    return length(said[1]) * {"s": 60.0, "min": 1.0}[said[2]]


def chords(points):
    """The chords between points as lines of another library."""
    points = np.asarray(points)
    return shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1))


def farthest(points, lines):
    """Greatest distance of points from the nearest of some lines, and where that is."""
    _, away = STRtree(lines).query_nearest(shapely.points(points), all_matches=False, return_distance=True)
    at = int(away.argmax())
    return float(away[at]), points[at]


@dataclass
class Ring:
    """A line that is to be cut: the outline of a wanted piece, or one of its holes."""

    address: str
    hole: bool
    line: LinearRing
    polygon: Polygon

    def name(self):
        """How it is called in what is told."""
        at = self.polygon.centroid
        return f"the hole of {self.address} at x {at.x:.1f} y {at.y:.1f}" if self.hole else f"the outline of {self.address}"


@dataclass
class Frame:
    """One cut file's sheet or window, in the coordinates of the sheet."""

    name: str
    window: int | None
    sheet: object
    material: str
    # Its machine's profile.
    profile: str
    # Pieces of the whole sheet, and those of the file.
    lying: list
    here: list
    cutting: object
    # The records of the machine and of how it cuts the material.
    record: dict
    cut: dict
    dots: list
    origin: np.ndarray
    bed: tuple
    margin: float
    rings: list = field(default_factory=list)

    def __post_init__(self):
        for it in self.here:
            address = it.row["address"]
            for hole, ring in [(False, it.shape.exterior), *((True, ring) for ring in it.shape.interiors)]:
                polygon = Polygon(ring).simplify(PLAIN)
                self.rings.append(Ring(address, hole, polygon.exterior, polygon))
        own = [chords(ring.line.coords) for ring in self.rings]
        self.owners = np.repeat(np.arange(len(own)), [len(some) for some in own])
        self.tree = STRtree(np.concatenate(own))

    @property
    def process(self):
        """laser or knife."""
        return self.record["machine"]["process"]

    @property
    def tool(self):
        """What the machine's record says of its laser or knife."""
        return self.record[self.process]

    def passes(self):
        """How often each cut is run along."""
        return self.cut.get("passes", 1)

    def feeds(self):
        """Feeds of cuts and of marks (mm/min)."""
        feed = speed(self.cut["feed"])
        return feed, speed(self.cut["mark-feed"]) if "mark-feed" in self.cut else feed

    def powers(self):
        """Words of power of cuts and of marks; none where the record says nothing of marks."""
        full = self.tool["full-power-word"]
        mark = self.cut.get("mark-power")
        return share(self.cut["power"]) * full, None if mark is None else share(mark) * full

    def nearest_ring(self, points):
        """The wanted line that most of some points are nearest to; none where there is none at all."""
        if not self.rings or not len(points):
            return None
        some = points[:: max(1, len(points) // 24)]
        _, found = self.tree.query_nearest(shapely.points(some), all_matches=False)
        return int(np.bincount(self.owners[found]).argmax())


def one_sheet(job, lay, wanted, name, tally):
    """The frames of one sheet: one, or one for each bed window."""
    rows = [row for row in lay["pieces"] if row["sheet"] == name and row["address"] in wanted]
    part = wanted[rows[0]["address"]].part
    cutting = job.cutting(part.material, part.machine)
    smallest = job.smallest_hole(part.machine)
    sheets = [read_sheets(job, moved)[name] for moved in (True, False)]
    lying = [lie(row, wanted[row["address"]], sheets[0], smallest, tally) for row in rows]
    for it in lying:
        it.shape = it.shape.simplify(PLAIN)
    # As drawn, or moved to the origin: the same where it stands there already.
    sheet = sheets[0]
    if max(map(abs, sheets[1].outline.bounds[:2])) > 1e-9:
        sheet = min(sheets, key=lambda one: len(misplaced(one, lying, cutting)))
    machine = job.machines[part.machine]
    own = machine["machine"]
    margin = length(own["margin"], own.get("unit")) if "margin" in own else 0.0
    for window, row in windows.of_sheet(lay, name).items():
        here = lying if window is None else [it for it in lying if it.row.get("window") == window]
        yield Frame(
            name, window, sheet, part.material, job.machine_files[part.machine], lying, here, cutting, machine,
            job.cut(part.material, part.machine), windows.dots_of(lay, name, window),
            windows.origin(row, cutting.kerf), windows.bed(job, part.machine), margin,
        )
