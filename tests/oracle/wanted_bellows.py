"""Wanted shapes of the cloth of a bellows: strips, tapers and pieces; wedge, double and parallel boards.

Strips have the middle of an end panel at the origin, x along the strip. A corner is told by how far from it the fold
(or the notch of a gusset) meets the middle line of either panel.
"""

from dataclasses import dataclass
from math import atan2, pi, radians, tan

import numpy as np

from shapes import Member, lines
from wanted_cards import bellows_companions
from wedge import Wedge


@dataclass
class Corner:
    """How cloth closes at a corner of the boards."""

    side: float = 0.0
    end: float = 0.0
    line: bool = True
    notched: bool = False


@dataclass
class Folded:
    """A bellows by its free panels: ``span`` is that of one pleat."""

    length: float
    width: float
    span: float
    pleats: int
    board: float
    corner: Corner
    wedge: Wedge | None = None

    def middles(self):
        """Levels of the pleats' middle lines."""
        return [(n + 0.5 - self.pleats / 2) * self.span for n in range(self.pleats)]

    def betweens(self):
        """Levels of the lines between pleats."""
        return [(n - self.pleats / 2) * self.span for n in range(1, self.pleats)]

    def high(self):
        """Half the free height at the open end."""
        return self.span * self.pleats / 2

    def folds(self, x, way, far):
        """Fold lines of one corner of a panel, at x, into it."""
        if far <= 0 or self.corner.notched:
            return []
        found = []
        for level in self.middles():
            found += [((x, level + up * self.span / 2), (x + way * far, level)) for up in (-1, 1)]
        return found

    def corner_line(self, x):
        """The crease along an arris."""
        return [((x, -self.high()), (x, self.high()))] if self.corner.line else []


def gusset_angle(m):
    """The rib's angle where corners are closed by leather (radians), or nothing."""
    return radians(m["gusset"].get("rib-angle", 45.0)) if "gusset" in m else None


def wedge_of(m, span="span"):
    """The wedge of a part."""
    outside = m.get("span-is") == "outside"
    return Wedge(m["length"], m["width"], m["board"], m.get(span, m["span"]), outside, m.get("hinge-gap", 0.0))


def wedge_folded(m, span="span"):
    """A wedge with its corners."""
    wedge = wedge_of(m, span)
    half, rib = wedge.span() / 2, gusset_angle(m)
    if rib is not None:
        corner = Corner(wedge.across_side(rib), half / tan(rib), False, True)
    elif m.get("folds", "in") == "out":
        side, end = wedge.outward()
        corner = Corner(wedge.across_side(side), half / tan(end), False)
    elif m.get("tuck", "side") == "side":
        corner = Corner(side=wedge.tuck("side"))
    else:
        corner = Corner(end=wedge.tuck("end"))
    return Folded(wedge.height(), m["width"], wedge.span(), 1, m["board"], corner, wedge)


def box_folded(m):
    """Parallel boards with their corners: in every pleat as in a wedge whose boards do not lean."""
    pleats = m.get("pleats", 1)
    high = m["span"] - (2 * m["board"] if m.get("span-is") == "outside" else 0.0)
    span, long, wide, rib = high / pleats, m["length"], m["width"], gusset_angle(m)
    if rib is not None:
        corner = Corner(span / 2 / tan(rib), span / 2 / tan(rib), False, True)
    elif m.get("folds", "in") == "out":
        # Half a right angle between the two; the fold of a short panel runs from its corner to its middle.
        short = max(atan2(span, min(long, wide)), pi / 8)
        other = pi / 4 - short
        side, end = (short, other) if long < wide else (other, short)
        corner = Corner(span / 2 / tan(side), span / 2 / tan(end), False)
    elif m.get("tuck", "side") == "side":
        corner = Corner(side=span / 2)
    else:
        corner = Corner(end=span / 2)
    return Folded(long, wide, span, pleats, m["board"], corner)


def wedge_strip(m, folded, below=None, name=None):
    """One strip round a wedge."""
    wedge, short = folded.wedge, m.get("pivot-gap")
    overlap = m.get("overlap", m["width"] / 3)
    blank = np.array(wedge.blank(overlap, 0.0, m.get("form") == "taper", short, below))
    arris, end = m["width"] / 2, float(blank[:, 0].max())
    pivot = arris + folded.length
    middle = min(pivot, end)
    made = [((-middle, 0.0), (middle, 0.0))]
    for way in (-1, 1):
        x = way * arris
        made += folded.corner_line(x) + folded.folds(x, way, folded.corner.side)
        made += folded.folds(x, -way, folded.corner.end)
        if "cloth" in m and short is None and name is None:
            level = m.get("hinge-gap", 0.0) / 2 + m["cloth"]
            made += [((way * pivot, up * level), (way * end, up * level)) for up in (-1, 1)]
    return Member(blank, creases=lines(*made), name=name)


def box_strip(m, folded):
    """One strip round two parallel boards."""
    long, wide, corner = folded.length, folded.width, folded.corner
    end = wide / 2 + long + (wide + m.get("overlap", wide / 3)) / 2
    high = folded.high() + folded.board
    made = [((-end, level), (end, level)) for level in folded.middles() + folded.betweens()]
    for way in (-1, 1):
        near, far = way * wide / 2, way * (wide / 2 + long)
        made += folded.corner_line(near) + folded.corner_line(far)
        made += folded.folds(near, way, corner.side) + folded.folds(far, -way, corner.side)
        made += folded.folds(near, -way, corner.end) + folded.folds(far, way, corner.end)
    return [Member(np.array([(-end, -high), (end, -high), (end, high), (-end, high)]), creases=lines(*made))]


def notches(folded, x, way, depth):
    """Points up one end of a panel, notched where gussets close the corners."""
    if not folded.corner.notched:
        return []
    found = []
    for level in folded.middles():
        found += [(x, level - folded.span / 2), (x + way * depth, level), (x, level + folded.span / 2)]
    return found


def panel(folded, left, right, reach, laps, name):
    """A straight panel from ``left`` to ``right`` with its glue margins, laps and folds."""
    high, (out_left, out_right) = folded.high() + folded.board, laps
    edge = notches(folded, right, -1, reach)
    back = notches(folded, left, 1, reach)[::-1]
    outline = [(left - out_left, -high), (right + out_right, -high), *edge]
    outline += [(right + out_right, high), (left - out_left, high), *back]
    cut = reach if folded.corner.notched else 0.0
    made = [((left + cut, level), (right - cut, level)) for level in folded.middles()]
    made += [((left, level), (right, level)) for level in folded.betweens()]
    made += folded.folds(left, 1, reach) + folded.folds(right, -1, reach)
    return Member(np.array(outline), creases=lines(*made), name=name, untrimmed=edge + back)


def wedge_side(m, folded, name):
    """A side panel by itself, from its corner line to the hinge."""
    corner, hinge = folded.wedge.side_panel()
    lap, far = m.get("lap", 0.0), float(hinge[0])
    opened, shut = float(corner[1]) + folded.board, float(hinge[1]) + folded.board
    cut = notches(folded, 0.0, 1, folded.corner.side)
    half = [(0.0, opened), (far, shut), (far + lap, shut)]
    if not cut:
        half.insert(0, (-lap, opened))
    outline = [(x, -y) for x, y in half] + half[::-1] + cut[::-1]
    distinct = [p for n, p in enumerate(outline) if p != outline[n - 1]]
    start = folded.corner.side if cut else 0.0
    made = [((start, 0.0), (far, 0.0))] + folded.corner_line(0.0) + folded.folds(0.0, 1, folded.corner.side)
    return Member(np.array(distinct), creases=lines(*made), name=name, untrimmed=cut)


def wedge_pieces(m, folded):
    """Sides, end and hinge wrap, each by itself."""
    wide, hinge = folded.width, folded.wedge.hinge_opening() / 2 + folded.board
    made = [wedge_side(m, folded, f"side-{n}") for n in (1, 2)]
    made.append(panel(folded, -wide / 2, wide / 2, folded.corner.end, (0.0, 0.0), "end"))
    wrap = np.array([(-wide / 2, -hinge), (wide / 2, -hinge), (wide / 2, hinge), (-wide / 2, hinge)])
    return [*made, Member(wrap, name="wrap")]


def box_pieces(m, folded):
    """The four panels of a box, each by itself."""
    long, wide = folded.length / 2, folded.width / 2
    lap = 0.0 if folded.corner.notched else m.get("lap", 0.0)
    made = []
    for n in (1, 2):
        member = panel(folded, -long, long, folded.corner.side, (lap, lap), f"side-{n}")
        if lap:
            member.creases += folded.corner_line(-long) + folded.corner_line(long)
        made.append(member)
    return made + [panel(folded, -wide, wide, folded.corner.end, (0.0, 0.0), f"end-{n}") for n in (1, 2)]


def bellows(m):
    """The cloth of a bellows with its cards, gussets, patches and hinge."""
    boards, pieces = m.get("boards", "wedge"), m.get("form") == "pieces"
    if boards == "parallel":
        each = [box_folded(m)]
        cloth = box_pieces(m, each[0]) if pieces else box_strip(m, each[0])
    elif boards == "double":
        each = [wedge_folded(m), wedge_folded(m, "second-span")]
        cloth = [wedge_strip(m, one, m["leaf"] / 2, name) for one, name in zip(each, ("first", "second"))]
    else:
        each = [wedge_folded(m)]
        cloth = wedge_pieces(m, each[0]) if pieces else [wedge_strip(m, each[0])]
    for member in cloth:
        member.trim = m.get("trim", 0.0)
    return cloth + bellows_companions(m, each)
