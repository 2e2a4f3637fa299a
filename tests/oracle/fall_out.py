"""What falls out of a sheet when its cut lines are as wide as the tool makes them.

Every closed cut is taken as a band of the kerf's width about its line. Between the bands the sheet comes apart; which
part lies inside which cut decides what each piece is. Bands are laid down loop by loop, so that a full sheet takes a
second or two, and cuts whose bands meet are told as faults.
"""

from dataclasses import dataclass

import shapely
from shapely import affinity
from shapely.geometry import LinearRing, Polygon
from shapely.strtree import STRtree

# Chords to a quarter turn of a band's round ends.
FINE = 32


class Spot:
    """The tool's width along x and y: distances are taken where the spot is round."""

    def __init__(self, kerf):
        self.x, self.y = kerf
        if (self.x > 0) != (self.y > 0):
            raise ValueError("a kerf along one direction only")
        self.ratio = self.y / self.x if self.x > 0 else 1.0
        self.width = self.y

    def squeeze(self, shape):
        """The plane in which the spot is round."""
        return shape if self.ratio == 1 else affinity.scale(shape, self.ratio, 1, origin=(0, 0))

    def stretch(self, shape):
        """Back to the sheet."""
        return shape if self.ratio == 1 else affinity.scale(shape, 1 / self.ratio, 1, origin=(0, 0))

    def grown(self, shape, halves):
        """A shape grown by so many half widths."""
        if self.width == 0 or halves == 0:
            return shape
        return self.stretch(self.squeeze(shape).buffer(halves * self.width / 2, quad_segs=FINE))

    def closed(self, shape):
        """The shape with its inside corners as the round spot leaves them."""
        return self.grown(self.grown(shape, 1), -1)


@dataclass
class Fallen:
    """One part that comes loose, with the cut round it."""

    shape: Polygon
    line: object


def _nest(polygons):
    """For each loop the smallest other one that holds it, or -1."""
    tree = STRtree(polygons)
    points = [polygon.representative_point() for polygon in polygons]
    areas = [polygon.area for polygon in polygons]
    parent = [-1] * len(polygons)
    for inner, outer in zip(*tree.query(points, predicate="within")):
        if inner != outer and areas[outer] > areas[inner]:
            if parent[inner] < 0 or areas[outer] < areas[parent[inner]]:
                parent[inner] = int(outer)
    return parent


def meetings(rings, width):
    """Pairs of cuts whose bands meet."""
    squeezed = STRtree(rings)
    reach = max(width - 1e-6, 1e-6)
    return [(int(i), int(j)) for i, j in zip(*squeezed.query(rings, predicate="dwithin", distance=reach)) if i < j]


def fall_out(lines, sheet, kerf):
    """``(loose parts, waste, faults, parents)`` of the closed cuts of one sheet."""
    spot, faults = Spot(kerf), []
    polygons = [Polygon(line.points) for line in lines]
    for line, polygon in zip(lines, polygons):
        if not polygon.is_valid:
            faults.append(f"the cut {line.title or line.order} crosses itself")
    if faults:
        return [], None, faults, []
    rings = [LinearRing(spot.squeeze(polygon).exterior.coords) for polygon in polygons]
    for i, j in meetings(rings, spot.width):
        faults.append(f"two cuts run into each other: {lines[i].title or i} and {lines[j].title or j}")
    parents = _nest(polygons)
    inside = [[] for _ in polygons]
    for child, parent in enumerate(parents):
        if parent >= 0:
            inside[parent].append(child)
    fallen = []
    taken = {i: spot.grown(polygons[i], 1) for i in range(len(polygons))}
    for i, line in enumerate(lines):
        left = spot.grown(polygons[i], -1)
        if inside[i]:
            left = left.difference(shapely.union_all([taken[child] for child in inside[i]]))
        fallen.extend(Fallen(part, line) for part in getattr(left, "geoms", [left]) if not part.is_empty)
    roots = [taken[i] for i, parent in enumerate(parents) if parent < 0]
    waste = sheet.difference(shapely.union_all(roots)) if roots else sheet
    return fallen, waste, faults, parents
