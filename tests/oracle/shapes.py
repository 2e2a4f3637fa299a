"""Plain shapes as points, and the member that is made of them.

Curves are many short chords (at least 1024 to a full turn). Convex shapes are made narrower or wider by shapely: cut
down by the half plane of each side, or grown with square corners.
"""

from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

CHORDS = 1024


@dataclass
class Member:
    """One piece's worth of a part at true size."""

    outline: np.ndarray
    holes: list = field(default_factory=list)
    round_holes: list = field(default_factory=list)
    punches: list = field(default_factory=list)
    creases: list = field(default_factory=list)
    round_at: tuple | None = None
    trim: float = 0.0
    name: str | None = None
    # The table of the part that it is cut by, such as ``card``; none where it is of the part's own material.
    companion: str | None = None
    # Points nearer to the centre line than this are not moved by the trim (mm): the corners of a notch.
    untrimmed: list = field(default_factory=list)

    def is_round(self):
        """Whether its outline is a circle and each hole a circle about the same centre."""
        if self.round_at is None or self.holes:
            return False
        x, y, _ = self.round_at
        return all(abs(hx - x) < 1e-9 and abs(hy - y) < 1e-9 for hx, hy, _ in self.round_holes)


def arc_points(x, y, radius, start, sweep):
    """Points of an arc, both ends among them; angles in degrees."""
    count = max(2, int(np.ceil(abs(sweep) / 360 * CHORDS)) + 1)
    angles = np.radians(np.linspace(start, start + sweep, count))
    return np.column_stack([x + radius * np.cos(angles), y + radius * np.sin(angles)])


def circle(x, y, radius):
    """A circle, its last point not repeated."""
    return arc_points(x, y, radius, 0, 360)[:-1]


def plate(x, y, wide, high, corner=0.0):
    """A rectangle from its lower left corner, with rounded corners if wanted."""
    if corner <= 0:
        return np.array([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)])
    right, top = x + wide - corner, y + high - corner
    left, low = x + corner, y + corner
    corners = [(right, low, -90), (right, top, 0), (left, top, 90), (left, low, 180)]
    return np.vstack([arc_points(cx, cy, corner, start, 90) for cx, cy, start in corners])


def obround(x, y, long, wide, upright=False):
    """A slot with round ends about its middle."""
    half = (long - wide) / 2
    points = np.vstack([arc_points(half, 0, wide / 2, -90, 180), arc_points(-half, 0, wide / 2, 90, 180)])
    if upright:
        points = np.column_stack([-points[:, 1], points[:, 0]])
    return points + (x, y)


def disk(diameter, x=0.0, y=0.0, bores=(), name=None, companion=None):
    """A disk with holes about its centre."""
    return Member(
        circle(x, y, diameter / 2),
        round_holes=[(x, y, bore / 2) for bore in bores if bore],
        round_at=(x, y, diameter / 2),
        name=name,
        companion=companion,
    )


def ring_of(shape):
    """The outline of a polygon as points, counter-clockwise, the first not repeated."""
    return np.array(shapely.geometry.polygon.orient(shape).exterior.coords)[:-1]


def to_corner(points):
    """Points moved so that the lower left of their box is at the origin."""
    points = np.asarray(points, float)
    return points - points.min(axis=0)


def widened(points, by):
    """A convex outline grown by so much on every edge, its corners left sharp."""
    if by <= 0:
        return np.asarray(points, float)
    return ring_of(Polygon(points).buffer(by, join_style="mitre", mitre_limit=1000))


def narrowed(points, by):
    """A convex outline less a border on every edge: what is left by the half plane of each side; or nothing."""
    left = shapely.geometry.polygon.orient(Polygon(points))
    corners = np.array(left.exterior.coords)
    far = 4 * max(np.ptp(corners[:, 0]), np.ptp(corners[:, 1]))
    for a, b in zip(corners[:-1], corners[1:]):
        long = float(np.hypot(*(b - a)))
        if long < 1e-9:
            continue
        along = (b - a) / long
        inward = np.array([-along[1], along[0]])
        start = a + by * inward
        strip = [start - far * along, start + far * along, start + far * (along + inward), start + far * (inward - along)]
        left = left.intersection(Polygon(strip))
    if left.is_empty or left.area < 1e-9:
        return None
    return without_straights(ring_of(left))


def without_straights(points):
    """An outline without doubled corners and corners that are none."""
    points = np.asarray(points, float)
    points = points[np.hypot(*(points - np.roll(points, 1, axis=0)).T) > 1e-9]
    before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return points[np.abs(turn) > 1e-12 * np.hypot(*before.T) * np.hypot(*after.T)]


def meet(a, way, b, other):
    """Where the line through ``a`` along ``way`` meets the line through ``b`` along ``other``."""
    along = np.linalg.solve(np.column_stack([way, -np.asarray(other, float)]), np.asarray(b, float) - a)
    return np.asarray(a, float) + along[0] * np.asarray(way, float)


def turned(way, angle):
    """A direction turned by an angle in radians."""
    c, s = np.cos(angle), np.sin(angle)
    return np.array([c * way[0] - s * way[1], s * way[0] + c * way[1]])


def lines(*pairs):
    """Creases as pairs of points."""
    return [tuple(map(tuple, pair)) for pair in pairs if LineString(pair).length > 1e-9]
