"""Stand-in blanks: what the program should write for a trial, straight from closed formulas.

Only for trying the folding itself: no figure here is found by folding, and nothing here is used on the program's files.
"""

from math import acos, asin, atan, cos, degrees, hypot, pi, radians, sin, sqrt, tan

import numpy as np
from shapely.geometry import Polygon

from folds import Piece


def rectangle(x0, y0, x1, y1):
    """Corners, counter-clockwise."""
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def _boxed(points):
    """A polygon with its box's lower left at the origin."""
    points = np.asarray(points, float)
    return Piece(points - points.min(axis=0), [])


def _inset(points, off):
    """A convex polygon, counter-clockwise, with every edge moved in: by cutting half planes."""
    made = Polygon([(-1e5, -1e5), (1e5, -1e5), (1e5, 1e5), (-1e5, 1e5)])
    points = [np.array(p, float) for p in points]
    for a, b in zip(points, points[1:] + points[:1]):
        if np.linalg.norm(b - a) < 1e-12:
            continue
        way = (b - a) / np.linalg.norm(b - a)
        inward = np.array([-way[1], way[0]])
        p, q = a + off * inward - 1e6 * way, a + off * inward + 1e6 * way
        made = made.intersection(Polygon([p, q, q + 1e6 * inward, p + 1e6 * inward]))
    return np.array(made.exterior.coords)[:-1]


def _cut_tip(points, off, angle):
    """The sharp end of a side card, cut square to its bisector."""
    if degrees(angle) >= 30:
        return points
    tip = points[points[:, 0].argmax()]
    ring = Polygon(points)
    i = int(points[:, 0].argmax())
    a, b = points[i - 1] - tip, points[(i + 1) % len(points)] - tip
    way = a / np.linalg.norm(a) + b / np.linalg.norm(b)
    way /= np.linalg.norm(way)
    level, across = tip + 3 * off * way, np.array([-way[1], way[0]]) * 1e4
    cut = Polygon([level - across, level + across, level + across - 1e4 * way, level - across - 1e4 * way])
    return np.array(ring.difference(cut).exterior.coords)[:-1]


class Wedged:
    """The figures of a wedge by formulas."""

    def __init__(self, case, span, outside):
        mm = case.mm
        self.case, self.l, self.w, self.t, self.g = case, mm(case.length), mm(case.width), mm(case.board), mm(case.gap)
        k = self.t + self.g / 2
        if outside:
            self.a = asin(span / 2 / hypot(self.l, k)) - atan(k / self.l)
        else:
            self.a = asin(span / sqrt(4 * self.l**2 + self.g**2)) - atan(self.g / 2 / self.l)
        self.s = 2 * self.l * sin(self.a) + self.g * cos(self.a)
        self.gh = self.g * cos(self.a)
        self.h = self.l * cos(self.a)
        self.x = self.s / 2 * tan(pi / 4 - self.a / 2)
        self.b1 = self.b3 = pi / 8 - self.a / 4
        if self.w < self.s / tan(self.b3):
            self.b3 = atan(self.s / self.w)
            self.b1 = pi / 4 - self.a / 2 - self.b3

    def from_corner(self, beta):
        """Where a line at beta from the board's edge meets the centre line, from the corner line."""
        return self.s / 2 / tan(self.a + beta)

    def creases(self, mid_to=None):
        w, s, out = self.w / 2, self.s / 2, []
        reach = mid_to or w + self.h
        out.append(((-reach, 0), (reach, 0)))
        for i in (-1, 1):
            if self.case.folds == "out":
                for j in (-1, 1):
                    out.append(((i * w, j * s), (i * (w + self.from_corner(self.b1)), 0)))
                    out.append(((i * w, j * s), (i * (w - s / tan(self.b3)), 0)))
                continue
            out.append(((i * w, -s), (i * w, s)))
            meet = w + self.x if self.case.tuck == "side" else w - self.x
            out += [((i * w, j * s), (i * meet, 0)) for j in (-1, 1)]
        return out

    def blank(self, low):
        case, m = self.case, self.case.mm(self.case.trim)
        w, pivot = self.w / 2, self.w / 2 + self.h
        end = pivot + (self.w + case.wrap) / 2 if case.pivot is None else pivot - case.mm(case.pivot)
        up, down = self.s / 2 + self.t + m, self.s / 2 + low + m
        upper, lower = self.g / 2 + self.t + m, self.g / 2 + low + m
        creases = self.creases(min(end, pivot))
        if case.form != "taper":
            made = Piece(rectangle(-end, -down, end, up), creases)
        else:
            if case.pivot is not None:
                share = (end - w) / self.h
                at = (-(down + (lower - down) * share), up + (upper - up) * share)
                right = [(w, -down), (end, at[0]), (end, at[1]), (w, up)]
            else:
                right = [(w, -down), (pivot, -lower), (end, -lower), (end, upper), (pivot, upper), (w, up)]
            made = Piece(right + [(-x, y) for x, y in reversed(right)], creases)
        if case.cloth and case.pivot is None and case.boards == "wedge":
            level = self.g / 2 + case.mm(case.cloth)
            made.creases = creases + [((i * pivot, j * level), (i * end, j * level)) for i in (-1, 1) for j in (-1, 1)]
        made.outline = np.array(made.outline)
        return made

    def pieces(self):
        case = self.case
        lap, s, t = case.mm(case.lap), self.s / 2, self.t + case.mm(case.trim)
        rib, low = case.rib(), self.gh / 2 + self.t + case.mm(case.trim)
        if rib is not None:
            xs, xe = self.from_corner(rib), s / tan(rib)
            side = [(0, -s - t), (self.h, -low), (self.h + lap, -low), (self.h + lap, low), (self.h, low), (0, s + t)]
            side += [(0, s), (xs, 0), (0, -s)]
            half = [(self.w / 2, -s - t), (self.w / 2, -s), (self.w / 2 - xe, 0), (self.w / 2, s), (self.w / 2, s + t)]
            end = Piece(half + [(-x, -y) for x, y in half], [((xe - self.w / 2, 0), (self.w / 2 - xe, 0))])
            side = Piece(side, [((xs, 0), (self.h, 0))])
        else:
            side = [(-lap, -s - t), (0, -s - t), (self.h, -low), (self.h + lap, -low)]
            side += [(x, -y) for x, y in reversed(side)]
            side = Piece(side, [((0, 0), (self.h, 0)), ((0, -s), (0, s))])
            end = Piece(rectangle(-self.w / 2, -s - t, self.w / 2, s + t), [((-self.w / 2, 0), (self.w / 2, 0))])
            if case.tuck == "side":
                side.creases += [((0, j * s), (self.x, 0)) for j in (-1, 1)]
            else:
                end.creases += [((i * self.w / 2, j * s), (i * (self.w / 2 - self.x), 0)) for i in (-1, 1)
                    for j in (-1, 1)]
        return {"side-1": side, "side-2": side, "end": end,
            "wrap": Piece(rectangle(-self.w / 2, -low, self.w / 2, low))}

    def half_panels(self):
        case, s = self.case, self.s / 2
        def side(foot):
            return [(foot, 0), (self.h, 0), (self.h, self.gh / 2), (0, s)]
        def end(cut):
            return [(cut, 0), (self.w - cut, 0), (self.w, s), (0, s)]
        if case.gusset is not None:
            return end(s / tan(case.rib())), side(self.from_corner(case.rib()))
        if case.folds == "out":
            return end(s / tan(self.b3)), side(self.from_corner(self.b1))
        return (end(0), side(self.x)) if case.tuck == "side" else (end(self.x), side(0))

    def members(self, low):
        return self.pieces() if self.case.form == "pieces" else {"": self.blank(low)}

    def said(self):
        """Reported figures."""
        case, x, a = self.case, self.x, self.a
        reach = x if case.tuck == "side" else self.s / 2 * cos(a)
        if case.gusset is not None:
            reach = self.s / 2 / sin(a + case.rib()) * sin(case.rib())
        out = case.folds == "out"
        found = {
            "half opening angle": degrees(a), "cut length": 2 * self.h + 2 * self.w + case.wrap,
            "width at the open end": self.s + 2 * self.t + 2 * case.mm(case.trim),
            "glue margin, surplus at the open corners": 2 * self.t * sin(a / 2),
            "glue margin, lack at the hinge corners": 2 * self.t * sin(a / 2),
            "free volume fully open": self.w * self.h * (self.s + self.gh) / 2,
        }
        if case.pivot is not None:
            found["cut length"] = 2 * (self.h - case.mm(case.pivot)) + self.w
        if not out:
            found |= {"corner fold meets the centre line at": x, "fold room left when closed": self.w - 2 * reach}
        else:
            far = self.s / 2 / sin(self.a + self.b1) * sin(self.b1)
            found |= {"side fold stands out by": far, "end fold stands out by": self.s / 2}
        if case.cloth:
            cards = 4 * case.mm(case.card.get("thickness", 0)) if case.card else 0
            found["closed stack, least span"] = (6 * case.mm(case.cloth) + cards) / (1 - sin(a))
        if case.vacuum and not out:
            force = case.vacuum * 249.0889e-6 * self.w * self.l / 2 * (1 - sin(a)) * (1 - 2 * x / 3 / self.w)
            found["force at the open end, shut"] = force
            if case.finger:
                found["force at the finger, shut"] = force * self.l / case.mm(case.finger)
        return found


class Boxed:
    """The figures of a box by formulas."""

    def __init__(self, case):
        mm = case.mm
        self.case, self.l, self.w, self.t = case, mm(case.length), mm(case.width), mm(case.board)
        self.s, self.n = mm(case.span), case.pleats
        self.p = self.s / self.n
        self.bl = self.bw = pi / 8
        if min(self.l, self.w) < self.p / tan(pi / 8):
            short = atan(self.p / min(self.l, self.w))
            self.bl, self.bw = (short, pi / 4 - short) if self.l < self.w else (pi / 4 - short, short)

    def lines(self, first, last):
        levels = [self.s / 2 - k * self.p / 2 for k in range(1, 2 * self.n)]
        return [((first, y), (last, y)) for y in levels]

    def fans(self, corner, ways):
        """At a corner line, for every pleat, diagonals to the middle line: ways as distances along the cloth."""
        made = []
        for k in range(self.n):
            mid = self.s / 2 - (k + 0.5) * self.p
            made += [((corner, mid + j * self.p / 2), (corner + way, mid)) for way in ways for j in (-1, 1)]
        return made

    def corner(self, at, into_l):
        """Creases at one corner line; ``into_l`` is the way into the panel of the length."""
        if self.case.folds == "out":
            return self.fans(at, (into_l * self.p / 2 / tan(self.bl), -into_l * self.p / 2 / tan(self.bw)))
        way = into_l if self.case.tuck == "side" else -into_l
        return [((at, -self.s / 2), (at, self.s / 2)), *self.fans(at, (way * self.p / 2,))]

    def blank(self):
        m = self.case.mm(self.case.trim)
        w, far = self.w / 2, self.w / 2 + self.l
        end, high = far + (self.w + self.case.wrap) / 2, self.s / 2 + self.t + m
        creases = self.lines(-end, end)
        for at, into in ((w, 1), (far, -1), (-w, -1), (-far, 1)):
            creases += self.corner(at, into)
        return Piece(rectangle(-end, -high, end, high), creases)

    def pieces(self):
        lap, rib = self.case.mm(self.case.lap), self.case.rib()
        high = self.s / 2 + self.t + self.case.mm(self.case.trim)
        def one(size, lap, tucked):
            half = size / 2
            if rib is not None:
                cut = self.p / 2 / tan(rib)
                right = [(half, -high)]
                for k in range(self.n):
                    low = -self.s / 2 + k * self.p
                    right += [(half, low), (half - cut, low + self.p / 2)]
                right += [(half, self.s / 2), (half, high)]
                creases = []
                for k in range(1, 2 * self.n):
                    end = half - cut if k % 2 else half
                    creases.append(((-end, self.s / 2 - k * self.p / 2), (end, self.s / 2 - k * self.p / 2)))
                return Piece(right + [(-x, y) for x, y in reversed(right)], creases)
            made = Piece(rectangle(-half - lap, -high, half + lap, high), self.lines(-half, half))
            if tucked:
                made.creases += self.fans(half, (-self.p / 2,)) + self.fans(-half, (self.p / 2,))
            return made
        side, end = one(self.l, lap, self.case.tuck == "side"), one(self.w, 0, self.case.tuck == "end")
        return {"side-1": side, "side-2": side, "end-1": end, "end-2": end}

    def half_panels(self):
        def trapezoid(size, cut):
            return [(cut, 0), (size - cut, 0), (size, self.p / 2), (0, self.p / 2)]
        case = self.case
        if case.gusset is not None:
            cut = self.p / 2 / tan(case.rib())
            return trapezoid(self.w, cut), trapezoid(self.l, cut)
        if case.folds == "out":
            return trapezoid(self.w, self.p / 2 / tan(self.bw)), trapezoid(self.l, self.p / 2 / tan(self.bl))
        side = case.tuck == "side"
        return trapezoid(self.w, 0 if side else self.p / 2), trapezoid(self.l, self.p / 2 if side else 0)

    def members(self):
        return self.pieces() if self.case.form == "pieces" else {"": self.blank()}

    def said(self):
        found = {"free volume fully open": self.l * self.w * self.s, "fold depth": self.p / 2}
        if self.case.form != "pieces":
            found["cut length"] = 2 * (self.l + self.w) + self.case.wrap
        if self.case.folds == "out":
            found |= {"side fold stands out by": self.p / 2, "end fold stands out by": self.p / 2}
        return found


def gusset(case, it):
    """The kite, its corner angle and the least one (degrees)."""
    b, lap = case.rib(), case.mm(case.gusset.get("lap", 0))
    sign = -1 if case.folds == "out" else 1
    least = max(acos(sign * sin(2 * b) * cos(phi) + sin(b) ** 2 * sin(phi) ** 2) for phi in (0, pi / 2))
    a, half = (it.a, it.s / 2) if isinstance(it, Wedged) else (0.0, it.p / 2)
    angle = max(pi - a - 2 * b, least)
    if "corner-angle" in case.gusset:
        angle = radians(case.gusset["corner-angle"])
    e, s = half / sin(b), half / sin(a + b)
    across = sqrt(e * e + s * s - 2 * e * s * cos(angle))
    half_long = e * s * sin(angle) / across
    up, down = sqrt(max(e * e - half_long**2, 0)), sqrt(max(s * s - half_long**2, 0))
    if e * e + across**2 < s * s:
        up = -up
    outline = [(half_long, 0), (0, up), (-half_long, 0), (0, -down)]
    return Piece(_inset(outline, -lap)), degrees(angle), degrees(least)


def make(case):
    """``(pieces by member, figures by member and label)`` of a trial."""
    if case.boards == "parallel":
        boxed = Boxed(case)
        pieces, said, it = boxed.members(), {"": boxed.said()}, boxed
        counts = (4 * case.pleats, 4 * case.pleats)
    elif case.boards == "double":
        half = case.mm(case.leaf) / 2
        both = [Wedged(case, case.mm(span), case.outside) for span in (case.span, case.second or case.span)]
        pieces = {name: one.blank(half) for name, one in zip(("first", "second"), both)}
        said = {name: one.said() for name, one in zip(("first", "second"), both)}
        for own in said.values():
            own["width at the open end"] += half - case.mm(case.board)
            own["span of both wedges, leaf at the centre"] = 4 * both[0].l * sin(both[0].a / 2)
        return pieces, said
    else:
        wedged = Wedged(case, case.mm(case.span), case.outside)
        pieces, said, it = wedged.members(wedged.t), {"": wedged.said()}, wedged
        counts = (2, 4)
    if case.card:
        inset = case.mm(case.card["inset"])
        end, side = (_inset(panel, inset) for panel in it.half_panels())
        if case.boards == "wedge":
            sharp = Polygon(side).bounds[2]
            blunt = np.sum(np.abs(side[:, 0] - sharp) < 1e-9) > 1
            side = side if blunt else _cut_tip(side, inset, it.a)
        cards = [end] * counts[0] + [side] * counts[1]
        pieces |= {f"card-{k}": _boxed(card) for k, card in enumerate(cards, 1)}
    if case.gusset:
        kite, angle, least = gusset(case, it)
        number = 2 if case.boards == "wedge" else 4 * case.pleats
        pieces |= {f"gusset-{k}": kite for k in range(1, number + 1)}
        said[""] |= {"corner angle of the gusset": angle, "least corner angle": least}
    if case.patch and "lap" in case.patch:
        size = it.w + 2 * case.mm(case.pivot + case.patch["lap"])
        pieces["patch"] = Piece(rectangle(0, 0, size, 2 * it.t + it.g))
    return pieces, said
