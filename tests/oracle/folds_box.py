"""A box of two equal boards that rise and sink level: its cloth laid round it open and folded shut on it.

The plan of the boards has x from 0 to the length, y across. In the flat u runs along the cloth from the middle of the
near end (a panel of the width), v up. Each of the pleats has one fold inward or outward at its middle.
"""

from math import cos, radians, sin, tan

import numpy as np
from shapely.geometry import Polygon

from folds import Shut, volume


class BoxFold(Shut):
    """One box. ``overlap`` is None for four pieces that meet at the corners; ``rib`` as for the wedge (radians)."""

    behind = 0.0

    def __init__(self, length, width, board, span, pleats=1, overlap=None, out=False, tuck="side", rib=None):
        self.length, self.width, self.board, self.span = length, width, board, span
        self.pleats, self.overlap, self.out, self.tuck, self.rib = pleats, overlap, out, tuck, rib
        self.pleat = span / pleats
        if out:
            self.behind = None

    def depth(self):
        return self.pleat / 2

    def levels(self, u):
        return [self.span / 2 - k * self.pleat for k in range(self.pleats + 1)]

    def middles(self):
        return [self.span / 2 - (k + 0.5) * self.pleat for k in range(self.pleats)]

    def landing(self, u):
        half, side = self.width / 2, 1 if u >= 0 else -1
        along = abs(u) - half
        if along <= 0:
            return np.array([self.length, u])
        if along <= self.length:
            return np.array([self.length - along, side * half])
        return np.array([0.0, side * (half - (along - self.length))])

    def panel(self, u):
        along = abs(u) - self.width / 2
        if along <= 0:
            return "end"
        if along > self.length:
            return "hinge"
        return "right" if u > 0 else "left"

    def ends(self):
        """From where to where the cloth runs."""
        corner = self.width / 2 + self.length
        if self.overlap is None:
            return -corner, corner + self.width
        far = corner + (self.width + self.overlap) / 2
        return -far, far

    def panels(self):
        """The four panels by name, from where to where."""
        half, corner = self.width / 2, self.width / 2 + self.length
        names = (("first end", -half, half), ("first side", half, corner), ("second side", -corner, -half))
        return (*names, ("second end", corner, corner + self.width))

    def notch(self):
        return self.pleat / 2 / tan(self.rib)

    def rib_ends(self):
        length = self.pleat / 2 / sin(self.rib)
        return length, length

    def tips(self):
        """The inner ends of the notches for gussets."""
        cut = self.notch()
        return [(u, mid) for _, a, b in self.panels() for u in (a + cut, b - cut) for mid in self.middles()]

    def regions(self):
        top = self.span / 2
        if self.rib is None:
            first, last = self.ends()
            count = (16 if self.overlap is None else 18) * self.pleats
            return [("cloth", [(first, -top), (last, -top), (last, top), (first, top)], count)]
        found = []
        for name, first, last in self.panels():
            right = []
            for k in range(self.pleats):
                low = -top + k * self.pleat
                right += [(last, low), (last - self.notch(), low + self.pleat / 2)]
            right.append((last, top))
            left = [(first + last - x, y) for x, y in reversed(right)]
            found.append((name, right + left, 2 * self.pleats))
        return found

    def start(self, name):
        for own, first, last in self.panels():
            if own == name:
                return first, last
        return -self.width / 2, self.width / 2

    def check_open(self, tally, name, outlines, tight):
        """The cloth goes round the boards and covers the edges of both."""
        high = self.span / 2 + self.board
        for words, outline, (first, last) in outlines:
            need = Polygon([(first, self.span / 2), (last, self.span / 2), (last, high), (first, high)])
            low = Polygon([(x, -y) for x, y in need.exterior.coords])
            cloth = Polygon(outline).buffer(tight)
            bare = need.difference(cloth).area + low.difference(cloth).area
            tally.near(f"{name}: {words}: bare edge of the boards", bare, 0.0, 1e-9)

    def rib_angle(self, rise):
        """Angle between the ends of two ribs at a corner, both turned by ``rise`` (radians) from their boards."""
        way = -1 if self.out else 1
        one, two = np.array([0.0, -1, 0]), np.array([-1.0, 0, 0])
        drop = np.array([0.0, 0, -1])
        end = cos(self.rib) * one + sin(self.rib) * (way * cos(rise) * two + sin(rise) * drop)
        side = cos(self.rib) * two + sin(self.rib) * (way * cos(rise) * one + sin(rise) * drop)
        return float(np.arccos(np.clip(np.dot(end, side), -1, 1)))

    def full_air(self):
        """Volume fully open, by its six faces."""
        a, b, c = self.length, self.width, self.span
        low = [np.array(p, float) for p in ((0, 0, 0), (a, 0, 0), (a, b, 0), (0, b, 0))]
        high = [p + (0, 0, c) for p in low]
        around = [(low[i], low[(i + 1) % 4], high[(i + 1) % 4], high[i]) for i in range(4)]
        return volume([tuple(reversed(low)), tuple(high), *around])


def most_rib_angle(rib, out, low=0.0, high=90.0, steps=4000):
    """The greatest angle between two rib ends over a motion of level boards (degrees in, radians out)."""
    box = BoxFold(1, 1, 0, 1, out=out, rib=rib)
    return max(box.rib_angle(radians(phi)) for phi in np.linspace(low, high, steps))
