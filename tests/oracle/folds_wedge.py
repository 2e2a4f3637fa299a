"""A wedge of two boards, its cloth laid round it open and folded shut on it; its ribs, its volume and its pull.

x runs from the pivot to the open end, y across, z up. In the flat u runs along the cloth from the middle of the open
end, v up. The pivot is in the middle of the gap at the hinge.
"""

from math import asin, cos, pi, sin, sqrt, tan

import numpy as np
from shapely.geometry import Point, Polygon

from folds import Shut, volume
from wedge import Wedge, _turned


class WedgeFold(Shut):
    """One wedge: boards, opening, and how its cloth is meant to fold.

    ``up`` and ``low`` are the heights of the side faces that take the glue; ``short`` how far the cloth stops before
    the pivot; ``rib`` the angle (radians) at which ribs are cut for leather gussets, or None.
    """

    def __init__(self, length, width, up, low, span, outside=False, gap=0.0, short=0.0, out=False, tuck="side",
        rib=None):
        wedge = Wedge(length, width, up, span, outside, gap)
        self.length, self.width, self.up, self.low, self.gap = length, width, up, low, gap
        self.alpha, self.span = wedge.alpha, wedge.span()
        self.hinge, self.height = wedge.hinge_opening(), wedge.height()
        self.wedge, self.short, self.out, self.tuck, self.rib = wedge, short, out, tuck, rib
        # With a gap the boards stand apart when shut and the low end of the side goes a little behind its arris.
        self.behind = self.hinge / 2 * sin(self.alpha)
        if out and gap:
            self.behind = self.hinge

    def depth(self):
        return self.span / 2

    def half(self, u):
        """Half the free height of the cloth at a place along it."""
        beyond = max(abs(u) - self.width / 2, 0.0)
        return self.span / 2 + (self.hinge - self.span) / 2 * min(beyond / self.height, 1.0)

    def levels(self, u):
        return (self.half(u), -self.half(u))

    def landing(self, u):
        half = self.width / 2
        if abs(u) <= half:
            return np.array([self.length, u])
        share = (abs(u) - half) / self.height
        return np.array([self.length * (1 - share), half if u > 0 else -half])

    def panel(self, u):
        return "end" if abs(u) <= self.width / 2 else "right" if u > 0 else "left"

    def notch(self, where):
        """How far a rib's end lies from the corner line at the centre line."""
        return self.span / 2 / tan(self.rib + (self.alpha if where == "side" else 0.0))

    def rib_ends(self):
        """Lengths of the end rib's end and the side rib's end."""
        return self.span / 2 / sin(self.rib), self.span / 2 / sin(self.rib + self.alpha)

    def tips(self):
        """The inner ends of the notches for gussets."""
        side, end = self.width / 2 + self.notch("side"), self.width / 2 - self.notch("end")
        return [(u, 0.0) for u in (side, end, -side, -end)]

    def regions(self):
        half, end = self.width / 2, self.width / 2 + self.height - self.short
        def loop(points):
            return [p for i, p in enumerate(points) if np.hypot(*np.subtract(p, points[i - 1])) > 1e-12]
        low = self.half(end)
        side = [(half, -self.span / 2), (end, -low), (end, low), (half, self.span / 2)]
        if self.rib is None:
            return [("cloth", loop(side + [(-x, y) for x, y in reversed(side)]), 10)]
        right = loop([*side, (half + self.notch("side"), 0.0)])
        tip = half - self.notch("end")
        corner = (half, self.span / 2)
        middle = [(half, -self.span / 2), (tip, 0.0), corner, (-half, self.span / 2), (-tip, 0.0),
            (-half, -self.span / 2)]
        return [("end", middle, 2), ("first side", right, 2), ("second side", [(-x, y) for x, y in reversed(right)], 2)]

    def start(self, name):
        half, end = self.width / 2, self.width / 2 + self.height - self.short
        if name in ("cloth", "end"):
            return -half, half
        return (half, end) if name == "first side" else (-end, -half)

    # Open.

    def arris(self, end, level):
        """A line across a board in the plane of x and z: its place."""
        sign = 1 if level >= 0 else -1
        x, z = _turned(self.alpha, (self.length if end == "open" else 0.0, abs(level)))
        return np.array([x, sign * z])

    def in_space(self, p):
        """Where a place of the cloth is when it stands round the open wedge, its glue margins still upright."""
        (front, _), (back, _) = self.arris("open", self.gap / 2), self.arris("hinge", self.gap / 2)
        u, v = p
        side, along = (1 if u >= 0 else -1), abs(u) - self.width / 2
        if along <= 0:
            return np.array([front, u, v])
        if along <= self.height:
            return np.array([front - along, side * self.width / 2, v])
        return np.array([back, side * (self.width / 2 - (along - self.height)), v])

    def on_side(self, place):
        """The place in the flat, on the first side, of a place in the plane of x and z."""
        front = self.arris("open", self.gap / 2)[0]
        return np.array([self.width / 2 + front - place[0], place[1]])

    def corners_in_space(self):
        """The eight corners of the inner faces."""
        return [
            np.array([x, side * self.width / 2, sign * z])
            for end in ("open", "hinge") for x, z in [self.arris(end, self.gap / 2)] for side in (-1, 1)
                for sign in (-1, 1)
        ]

    def off_boards(self, p):
        """Distance in space from the nearest board edge that takes cloth."""
        q = self.in_space(p)
        own = [c for c in self.corners_in_space() if c[2] * q[2] >= 0]
        best = np.inf
        for i, a in enumerate(own):
            for b in own[:i]:
                if sum(abs(a - b) > 1e-9) == 3:
                    continue
                t = np.clip(np.dot(q - a, b - a) / max(np.dot(b - a, b - a), 1e-30), 0, 1)
                best = min(best, float(np.linalg.norm(q - a - t * (b - a))))
        return best

    def check_open(self, tally, name, sheets, outlines, tight, trim=0.0):
        """Panels on the open boards. ``outlines`` by panel: side, end and, where there is one, hinge."""
        corners = self.corners_in_space()
        off = stretched = 0.0
        snap = max(tight * 20, 1e-6)
        for sheet in sheets:
            for p in sheet.points:
                if abs(abs(p[1]) - self.half(p[0])) <= 2 * sheet.near:
                    off = max(off, self.off_boards(p))
            for a, b in sheet.edges():
                panels = {self.panel(x + 1e-6 * (a[0] + b[0] - 2 * x)) for x in (a[0], b[0])}
                if len(panels) > 1:
                    continue
                there = []
                for p in (a, b):
                    q = self.in_space(p)
                    near = min(corners, key=lambda c: np.linalg.norm(c - q))
                    there.append(near if np.linalg.norm(near - q) <= snap else q)
                stretched = max(stretched, abs(float(np.linalg.norm(b - a) - np.linalg.norm(there[1] - there[0]))))
        tally.near(f"{name}: panel edges lie on the open boards' edges", off, 0.0, tight)
        tally.near(f"{name}: edges keep their lengths on the open boards", stretched, 0.0, 2 * tight)
        for sign, thick in ((1, self.up), (-1, self.low)):
            self._margins(tally, f"{name}: {'upper' if sign > 0 else 'lower'} board", sign, thick, outlines, tight,
                trim)

    def faces(self, sign, thick, last):
        """What glue has to cover, in the flat: side face, end face."""
        level = self.gap / 2
        side = [
            self.on_side(self.arris(end, sign * one))
            for end, one in (("open", level), ("hinge", level), ("hinge", level + thick), ("open", level + thick))
        ]
        half, low, high = self.width / 2, sign * self.span / 2, sign * (self.span / 2 + thick)
        side = Polygon(side).intersection(Polygon([(0, -1e6), (last, -1e6), (last, 1e6), (0, 1e6)]))
        return side, Polygon([(-half, low), (half, low), (half, high), (-half, high)])

    def _margins(self, tally, name, sign, thick, outlines, tight, trim):
        side, end = Polygon(outlines["side"]), Polygon(outlines["end"])
        wanted, front = self.faces(sign, thick, side.bounds[2])
        # In the flat the margin runs on at the height of the end; across the slanting edge that is less by the cosine.
        short = max(thick * (1 / cos(self.alpha) - 1) * 1.0001 - trim, 0.0)
        for words, face, cloth, allowed in (("side", wanted, side, short), ("end", front, end, 0.0)):
            bare = face.difference(cloth.buffer(tight))
            tops = [p for part in getattr(bare, "geoms", [bare])
                for p in part.exterior.coords] if not bare.is_empty else []
            depth = max((cloth.distance(Point(p)) for p in tops), default=0.0)
            tally.check(depth <= allowed + 2 * tight,
                f"{name}: the glue margin leaves {depth} of the {words} face bare")

    def margin_misfit(self, sign, thick, outline_height):
        """Between the outer ends of the side's and the end's margin: at the open end and at the hinge, in the flat.

        Both ends stand on one arris of the board. ``outline_height`` is the half height drawn at the open end.
        """
        level = self.gap / 2 + thick
        here = self.on_side(self.arris("open", sign * level))
        flat_end = np.array([self.width / 2, sign * outline_height])
        there = self.on_side(self.arris("hinge", sign * level))
        flat_hinge = np.array([self.width / 2 + self.height, sign * (self.hinge / 2 + thick)])
        return float(np.linalg.norm(here - flat_end)), float(np.linalg.norm(there - flat_hinge))

    # Ribs.

    def rib_angle(self, theta):
        """Angle between the ends of the end rib and the side rib at a corner, the wedge open to ``theta`` (radians)."""
        corner = np.array([self.length * cos(theta), 0.0, self.length * sin(theta)])
        # The centre lines stay in the middle plane; the shares keep the lengths of the ribs.
        sink = min(self.length * sin(theta) / (self.span / 2), 1.0)
        back = self.span / 2 * sqrt(max(1 - sink * sink, 0.0)) * (1 if self.out else -1)
        end = np.array([corner[0] + back, -self.notch("end"), 0.0])
        far = self.height - self.notch("side")
        turn = min(cos(self.alpha) / cos(theta), 1.0)
        across = sqrt(max(1 - turn * turn, 0.0)) * (1 if self.out else -1)
        side = np.array([far * turn, far * across, 0.0])
        one, two = end - corner, side - corner
        return float(np.arccos(np.clip(np.dot(one, two) / np.linalg.norm(one) / np.linalg.norm(two), -1, 1)))

    # Air.

    def meets(self):
        """Where the creases meet the centre line, from the corner line: in the side, in the end."""
        fold = self.span / 2 * tan(pi / 4 - self.alpha / 2)
        return (fold, 0.0) if self.tuck == "side" else (0.0, fold)

    def solid(self, theta, side=None, end=None):
        """Faces of the air at half angle ``theta``, folds straight. Without a gap."""
        if side is None:
            side, end = self.meets()
        half, way = self.width / 2, 1 if self.out else -1
        rise = self.length * sin(theta)
        back = way * sqrt(max((self.span / 2) ** 2 - rise * rise, 0.0))
        turn = min(cos(self.alpha) / cos(theta), 1.0)
        across = way * sqrt(max(1 - turn * turn, 0.0))
        far = self.height - side
        def both(x, y, z):
            return np.array([x, y, z]), np.array([x, -y, z])
        (o, oo), (a, aa), (b, bb) = both(0, half, 0), both(self.length * cos(theta), half,
            rise), both(self.length * cos(theta), half, -rise)
        p, pp = both(far * turn, half + far * across, 0)
        m, mm = both(self.length * cos(theta) + back, half - end, 0)
        upper = [(o, oo, aa, a), (o, a, p), (a, m, p), (a, aa, mm, m), (oo, pp, aa), (aa, pp, mm)]
        swap = {id(a): b, id(aa): bb}
        lower = [tuple(swap.get(id(q), q) for q in reversed(face)) for face in upper]
        return upper + lower

    def air(self, theta):
        """Volume at a half angle, folds straight."""
        return abs(volume(self.solid(theta))) * (1 if theta >= 0 else -1)

    def full_air(self):
        """Volume fully open, gap and all, by its six faces."""
        (back, _), (front, _) = self.arris("hinge", self.gap / 2), self.arris("open", self.gap / 2)
        ring = [(back, -self.hinge / 2), (front, -self.span / 2), (front, self.span / 2), (back, self.hinge / 2)]
        near = [np.array([x, -self.width / 2, z]) for x, z in ring]
        far = [np.array([x, self.width / 2, z]) for x, z in ring]
        around = [(near[i], far[i], far[(i + 1) % 4], near[(i + 1) % 4]) for i in range(4)]
        return abs(volume([tuple(near), tuple(reversed(far)), *around]))

    def swept(self, theta):
        """dV/dtheta by differences of the solids, twice refined."""
        def slope(h):
            return (self.air(theta + h) - self.air(theta - h)) / (2 * h)
        h = 1e-3
        return (4 * slope(h / 2) - slope(h)) / 3

    def pull(self, theta):
        """Share of the bare board's pull at the open end: turning moments."""
        bare = self.width * self.length * self.length * cos(theta)
        return self.swept(theta) / bare

    def slackest(self, steps=4000):
        """Tuck in the side: by how much the two ends of its crease come nearer than its length, as a share."""
        worst, fold = 0.0, self.meets()[0]
        for theta in np.linspace(0, self.alpha, steps):
            faces = self.solid(theta)
            p, m = faces[1][2], faces[2][1]
            worst = max(worst, 1 - float(np.linalg.norm(p - m)) / fold)
        return worst


def stroke(length, finger, rest, closed):
    """Way of one finger end, seen from the other board, between two spans: by turning it about the pivot."""
    angles = [2 * Wedge(length, 1.0, 0.1, span).alpha for span in (rest, closed)]
    return float(np.linalg.norm(np.subtract(*(_turned(angle, (finger, 0.0)) for angle in angles))))


def opening_angle(length, span):
    """Half the opening for a span between boards that meet at the pivot."""
    return asin(span / 2 / length)
