"""Cloth with straight creases: cut into facets along them and folded flat, facet by facet.

Nothing is known here of bellows: a sheet is the free cloth as a polygon and the creases that were drawn on it. Crossing
a crease is a reflection in its line; where a facet can be reached two ways, both must put it in the same place.
"""

from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon


@dataclass
class Piece:
    """A cut piece in its own frame (mm): outline and creases."""

    outline: np.ndarray
    creases: list = field(default_factory=list)

    def moved(self, shift, mirrored=False):
        """The piece pushed along x, turned over first where it is wanted from its back."""
        way = np.array([-1.0 if mirrored else 1.0, 1.0])
        def there(points):
            return np.asarray(points, float) * way + (shift, 0.0)
        return Piece(there(self.outline), [there(crease) for crease in self.creases])


class Tally:
    """What was checked, and the words for what failed."""

    def __init__(self):
        self.passed, self.failures = 0, []

    def check(self, good, words):
        """Counts one check; ``words`` are told where it fails."""
        if good:
            self.passed += 1
        else:
            self.failures.append(words)
        return bool(good)

    def near(self, words, got, want, off, relative=0.0):
        """Counts one comparison of figures."""
        good = got is not None and abs(got - want) <= off + relative * abs(want)
        return self.check(good, f"{words}: got {got}, want {want}")


def reflect(points, a, b):
    """Points seen in the line through a and b."""
    along = (b - a) / np.linalg.norm(b - a)
    q = np.asarray(points, float) - a
    return a + 2 * np.outer(q @ along, along) - q if q.ndim == 2 else a + 2 * along * (q @ along) - q


@dataclass
class Laid:
    """A rigid map of the plane, turned over or not."""

    turn: np.ndarray
    shift: np.ndarray

    def of(self, points):
        return np.asarray(points, float) @ self.turn.T + self.shift

    def over(self, a, b):
        """The same map after a fold over the line from a to b."""
        along = (b - a) / np.linalg.norm(b - a)
        mirror = 2 * np.outer(along, along) - np.eye(2)
        return Laid(self.turn @ mirror, self.of(a - mirror @ a))


def onto(edge, place, probe, aim):
    """The map that lays an edge on its place, so that the probe comes as near to the aim as it can."""
    (a, b), (c, d) = np.asarray(edge, float), np.asarray(place, float)
    one, two = (b - a) / np.linalg.norm(b - a), (d - c) / np.linalg.norm(d - c)
    found = []
    for side in (1.0, -1.0):
        frame = np.column_stack([one, (-one[1], one[0])])
        aimed = np.column_stack([two, (-side * two[1], side * two[0])])
        turn = aimed @ frame.T
        found.append(Laid(turn, (c + d) / 2 - turn @ (a + b) / 2))
    return min(found, key=lambda one: float(np.linalg.norm(one.of(probe) - aim)))


def _crossings(lines):
    found = []
    for i, (a, b) in enumerate(lines):
        for c, d in lines[:i]:
            m = np.column_stack([b - a, c - d])
            lengths = np.linalg.norm(b - a) * np.linalg.norm(c - d)
            if abs(np.linalg.det(m)) < 1e-9 * lengths:
                continue
            s, t = np.linalg.solve(m, c - a)
            if -1e-9 <= s <= 1 + 1e-9 and -1e-9 <= t <= 1 + 1e-9:
                found.append(a + s * (b - a))
    return found


class Sheet:
    """Free cloth with its creases. Points nearer than ``near`` are one; what was drawn goes before what is known."""

    def __init__(self, region, creases, near):
        self.near = near
        self.region = Polygon(region)
        self.outside, inner = [], []
        grown = self.region.buffer(near)
        for crease in creases:
            kept = LineString(crease).intersection(grown)
            if kept.length <= 4 * near or self._along_the_rim(kept):
                self.outside.append(np.asarray(crease))
            elif LineString(crease).within(grown):
                inner.append(np.asarray(crease, float))
            else:
                inner.append(np.array(kept.coords, float)[[0, -1]])
        rim = np.asarray(region, float)
        self._node(inner, list(zip(rim, np.roll(rim, -1, axis=0))))

    def _along_the_rim(self, line):
        middle = line.interpolate(0.5, normalized=True)
        return self.region.exterior.distance(middle) < 2 * self.near

    def _node(self, creases, rim):
        lines = [tuple(c) for c in creases] + rim
        points = [p for crease in creases for p in crease] + [p for edge in rim for p in edge]
        self.points = []
        for p in points + _crossings(lines):
            if all(np.linalg.norm(p - q) > self.near for q in self.points):
                self.points.append(p)
        self.points = np.array(self.points)
        kinds = {}
        for number, (a, b) in enumerate(lines):
            along = (b - a) / np.linalg.norm(b - a)
            s = (self.points - a) @ along
            off = np.abs((self.points - a) @ np.array([-along[1], along[0]]))
            on = [i for i in np.argsort(s) if off[i] <= self.near
                and -self.near <= s[i] <= np.linalg.norm(b - a) + self.near]
            for i, j in zip(on, on[1:]):
                edge = (min(i, j), max(i, j))
                kinds[edge] = kinds.get(edge, False) or number >= len(creases)
        self.rim_edges = {edge for edge, rim_too in kinds.items() if rim_too}
        strings = [LineString(self.points[list(edge)]) for edge in kinds]
        faces, cuts, dangles, wrong = shapely.polygonize_full(shapely.geometrycollections([strings])[0].geoms)
        self.loose = float(cuts.length + dangles.length + wrong.length)
        index = {tuple(p): i for i, p in enumerate(self.points)}
        self.facets = [[index[p] for p in face.exterior.coords[:-1]] for face in faces.geoms]
        self.owners = {}
        for number, facet in enumerate(self.facets):
            for i, j in zip(facet, facet[1:] + facet[:1]):
                self.owners.setdefault((min(i, j), max(i, j)), []).append(number)

    def corners(self, facet):
        """The corners of a facet in the flat."""
        return self.points[self.facets[facet]]

    def edges(self):
        """Every edge of every facet as two points."""
        return [self.points[list(edge)] for edge in self.owners]

    def at(self, point):
        """The facet that holds a point, or None."""
        for number in range(len(self.facets)):
            if Polygon(self.corners(number)).contains(Point(point)):
                return number
        return None

    def fold(self, start, laid):
        """Folds over every crease; the facet ``start`` lies as given. Gives the worst place where two ways differ."""
        self.laid = {start: laid}
        waiting, miss = [start], 0.0
        while waiting:
            own = waiting.pop(0)
            ring = self.facets[own]
            for i, j in zip(ring, ring[1:] + ring[:1]):
                edge = (min(i, j), max(i, j))
                for other in self.owners[edge]:
                    if other == own or edge in self.rim_edges:
                        continue
                    there = self.laid[own].over(*self.points[list(edge)])
                    if other in self.laid:
                        corners = self.corners(other)
                        miss = max(miss, float(np.abs(there.of(corners) - self.laid[other].of(corners)).max()))
                    else:
                        self.laid[other] = there
                        waiting.append(other)
        return miss

    def folded(self, facet):
        """The corners of a facet where it lies when folded."""
        return self.laid[facet].of(self.corners(facet))

    def shortest_fold(self):
        """The shortest edge that is folded over."""
        folds = [edge for edge, owners in self.owners.items() if len(owners) == 2]
        return min((float(np.linalg.norm(np.diff(self.points[list(edge)], axis=0))) for edge in folds), default=1.0)


def layers(sheets, low, high, count=40):
    """The most layers over any place of a box, tried on a fine net that meets no crease."""
    steps = (np.arange(count) + 0.4142) / count
    x, y = np.meshgrid(low[0] + (high[0] - low[0]) * steps, low[1] + (high[1] - low[1]) * (steps + 0.0173 / count))
    total = np.zeros(x.shape, int)
    for sheet in sheets:
        for facet in sheet.laid:
            total += shapely.contains_xy(Polygon(sheet.folded(facet)), x, y)
    return int(total.max())


def volume(faces):
    """Volume inside faces given by their corners in space, each counter-clockwise from outside."""
    total = 0.0
    for face in faces:
        for i in range(1, len(face) - 1):
            total += float(np.dot(face[0], np.cross(face[i], face[i + 1]))) / 6
    return total


class Shut:
    """What wedge and box have in common when folded shut onto one plan of the boards.

    A model gives ``length`` and ``width`` of the boards, ``out``, ``regions()`` (name, polygon, number of facets),
    ``level(u)`` (heights of the board and ridge lines at a place along the cloth), ``landing(u)`` (where that place of
    the board's edge is on the plan), ``start(name)`` (two places along the cloth at whose upper line folding starts),
    ``behind`` (what may stand behind the hinge).
    """

    def sheets(self, creases, near):
        """The free cloth cut into facets; creases are in the frame of the development."""
        return [Sheet(region, creases, near) for _, region, _ in self.regions()]

    def check_cloth(self, tally, name, outlines, tight):
        """The free cloth is there, and nothing in the notches between ribs."""
        cloth = shapely.union_all([Polygon(outline).buffer(tight) for outline in outlines])
        edges = [Polygon(outline).exterior for outline in outlines]
        for part, region, _ in self.regions():
            bare = Polygon(region).difference(cloth).area
            tally.near(f"{name}: the cut cloth lacks some of the {part}", bare, 0.0, 1e-9)
            off = 0.0
            for a, b in zip(np.array(region), np.roll(region, -1, axis=0)):
                notch = self.rib is not None and any(np.allclose(p, tip, atol=1e-9) for p in (a, b)
                    for tip in self.tips())
                for share in (0.02, 0.5, 0.98) if notch else ():
                    place = Point(a + share * (b - a))
                    off = max(off, min(edge.distance(place) for edge in edges))
            tally.near(f"{name}: notches of the {part} follow the ribs", off, 0.0, 2 * tight)

    def on_lines(self, point, near):
        """Whether a place of the cloth lies on a board's or ridge's line."""
        return any(abs(point[1] - level) <= near for level in self.levels(point[0]))

    def fold_shut(self, sheets):
        """Folds every sheet from its board's edge; gives the worst misfit of two ways to one facet, None if not all."""
        worst = 0.0
        for sheet, (name, _, _) in zip(sheets, self.regions()):
            first, last = self.start(name)
            edge = [(u, self.levels(u)[0]) for u in (first, last)]
            inside = np.mean(edge, axis=0) + (0.0, -1e-3 * self.span)
            place = [self.landing(first), self.landing(last)]
            middle = np.mean(place, axis=0)
            aim = np.array([self.length / 2, 0.0]) - middle
            aim = middle + (-1 if self.out else 1) * 1e-3 * self.span * aim / np.linalg.norm(aim)
            start = sheet.at(inside)
            if start is None:
                return None
            worst = max(worst, sheet.fold(start, onto(edge, place, inside, aim)))
            if len(sheet.laid) != len(sheet.facets):
                return None
        return worst

    def check_shut(self, tally, name, sheets, tight):
        """Everything about the shut state that needs no reported figure. Gives what was measured, or None."""
        for sheet, (part, _, count) in zip(sheets, self.regions()):
            tally.check(sheet.loose <= tight, f"{name}: creases of the {part} end in the middle of the cloth")
            found = len(sheet.facets)
            tally.check(found == count, f"{name}: the creases of the {part} make {found} facets, {count} wanted")
        miss = self.fold_shut(sheets)
        if not tally.check(miss is not None, f"{name}: some cloth cannot be reached over creases"):
            return None
        slack = tight * self.slack(sheets)
        tally.near(f"{name}: facets round a meeting of creases agree", miss, 0.0, slack)
        landed = stretched = 0.0
        for sheet in sheets:
            for facet in sheet.laid:
                flat, shut = sheet.corners(facet), sheet.folded(facet)
                here = np.linalg.norm(flat - np.roll(flat, 1, axis=0), axis=1)
                there = np.linalg.norm(shut - np.roll(shut, 1, axis=0), axis=1)
                stretched = max(stretched, float(np.abs(here - there).max()))
                for p, q in zip(flat, shut):
                    if self.on_lines(p, 2 * sheet.near):
                        landed = max(landed, float(np.linalg.norm(q - self.landing(p[0]))))
        tally.near(f"{name}: panel edges lie on the boards' edges when shut", landed, 0.0, slack)
        tally.near(f"{name}: facets keep the length of their edges", stretched, 0.0, 1e-9)
        return self.measure(tally, name, sheets, slack)

    def slack(self, sheets):
        """How much a rounded place may grow over the folds."""
        return 1 + 2 * max(self.length, self.width) / min(sheet.shortest_fold() for sheet in sheets)

    def measure(self, tally, name, sheets, slack):
        """How far folds reach in and stand out, and the layers at a corner."""
        half = self.width / 2
        beyond = {"side": 0.0, "end": 0.0, "hinge": 0.0}
        reach = {"left": 0.0, "right": 0.0, "end": 0.0, "hinge": 0.0}
        for sheet in sheets:
            for facet in sheet.laid:
                shut = sheet.folded(facet)
                beyond["side"] = max(beyond["side"], float(np.abs(shut[:, 1]).max() - half))
                beyond["end"] = max(beyond["end"], float(shut[:, 0].max() - self.length))
                beyond["hinge"] = max(beyond["hinge"], float(-shut[:, 0].min()))
                where = self.group(sheet, facet)
                far = {
                    "left": shut[:, 1].max() + half, "right": half - shut[:, 1].min(),
                    "end": self.length - shut[:, 0].min(), "hinge": shut[:, 0].max(),
                }[where]
                reach[where] = max(reach[where], float(far))
        if not self.out:
            for where in ("side", "end"):
                tally.check(beyond[where] <= slack, f"{name}: shut, cloth stands {beyond[where]} beyond the {where}")
        if not (self.out and self.behind is None):
            allowed = (self.behind or 0.0) + slack
            tally.check(beyond["hinge"] <= allowed, f"{name}: shut, cloth stands {beyond['hinge']} behind the hinge")
        step = self.depth()
        low = (self.length - step, half - step)
        high = (self.length + step, half + step) if self.out else (self.length, half)
        return {"reach": reach, "beyond": beyond, "layers": layers(sheets, low, high), "slack": slack}

    def group(self, sheet, facet):
        """By the panel whose board edge a facet holds; tucks go with the side nearer to them."""
        flat = sheet.corners(facet)
        ring = list(zip(flat, np.roll(flat, -1, axis=0)))
        for p, q in ring:
            if all(self.on_lines(r, 2 * sheet.near) for r in (p, q)) and abs(p[0] - q[0]) > 4 * sheet.near:
                return self.panel((p[0] + q[0]) / 2)
        held = [p for p in flat if self.on_lines(p, 2 * sheet.near)]
        return "right" if sum(self.landing(p[0])[1] for p in held) > 0 else "left"
