"""A wedge bellows built in space and unfolded, and its corner folded shut, all by points and reflections.

Two boards turn about the middle of their hinge gap. x runs from the hinge to the open end, y across, z up. The cloth
goes round their edges; what is free of it is two side panels, the open end and the hinge.
"""

from math import atan2, cos, pi, sin, tan

import numpy as np
from scipy.optimize import brentq


def _turned(angle, point):
    x, z = point
    return np.array([x * cos(angle) - z * sin(angle), x * sin(angle) + z * cos(angle)])


class Wedge:
    """The wedge at one span, in millimetres or any one unit."""

    def __init__(self, length, width, board, span, outside=False, gap=0.0):
        self.length, self.width, self.board, self.gap = length, width, board, gap
        level = gap / 2 + (board if outside else 0.0)
        def miss(angle):
            return 2 * _turned(angle, (length, level))[1] - span
        self.alpha = brentq(miss, -pi / 4, pi / 2 - 1e-9, xtol=1e-15, rtol=1e-15)

    def arrises(self):
        """The corners of the inner faces in space: (hinge or open, lower or upper, near or far side)."""
        points = {}
        for end, x in (("hinge", 0.0), ("open", self.length)):
            px, pz = _turned(self.alpha, (x, self.gap / 2))
            for up in (-1, 1):
                for side in (-1, 1):
                    points[end, up, side] = np.array([px, side * self.width / 2, up * pz])
        return points

    def span(self, outside=False):
        """The chord at the open end, between the boards or over them."""
        level = self.gap / 2 + (self.board if outside else 0.0)
        return 2 * _turned(self.alpha, (self.length, level))[1]

    def height(self):
        """From the middle of a side panel's hinge end to the middle of its open end."""
        p = self.arrises()
        hinge = (p["hinge", -1, 1] + p["hinge", 1, 1]) / 2
        opened = (p["open", -1, 1] + p["open", 1, 1]) / 2
        return float(np.linalg.norm(opened - hinge))

    def hinge_opening(self):
        """Between the inner arrises at the hinge, when open."""
        p = self.arrises()
        return float(np.linalg.norm(p["hinge", 1, 1] - p["hinge", -1, 1]))

    def side_panel(self):
        """A side panel laid flat: the corner at its open end and that at its hinge end, upper half.

        The middle of its open end is at the origin, x runs to the hinge, y up to the board.
        """
        p = self.arrises()
        start = (p["open", -1, 1] + p["open", 1, 1]) / 2
        up = p["open", 1, 1] - start
        along = (p["hinge", -1, 1] + p["hinge", 1, 1]) / 2 - start
        up, along = up / np.linalg.norm(up), along / np.linalg.norm(along)
        return tuple(np.array([(q - start) @ along, (q - start) @ up]) for q in (p["open", 1, 1], p["hinge", 1, 1]))

    def across_side(self, angle):
        """Where a line from the open corner, at an angle (radians) to the board's edge, meets the middle of the side."""
        corner, hinge = self.side_panel()
        edge = complex(*(hinge - corner))
        way = edge / abs(edge) * complex(cos(angle), -sin(angle))
        return float(corner[0] - way.real * corner[1] / way.imag)

    def outward(self):
        """The two sectors at the boards' edges, side and end (radians), where the panels fold outward.

        Even where the end panel has room for both its folds; else the end's fold runs from corner to middle.
        """
        def shut(side, end):
            # Rays from the corner, folded one after the other; the side's edge lies along the board, its panel outside.
            rays = np.cumsum([0.0, -side, -(pi - self.alpha - side - end), -end])
            for crease in (1, 2):
                rays[crease + 1:] = 2 * rays[crease] - rays[crease + 1:]
            return rays[-1] - pi / 2
        even = brentq(lambda each: shut(each, each), 1e-9, pi / 4, xtol=1e-15, rtol=1e-15)
        if self.width >= self.span() / tan(even) - 1e-9:
            return even, even
        end = atan2(self.span(), self.width)
        return brentq(lambda side: shut(side, end), -pi / 4, pi / 4, xtol=1e-15, rtol=1e-15), end

    def blank(self, overlap, trim=0.0, taper=False, short=None, below=None):
        """The flat blank round the middle of its open end, counter-clockwise.

        ``short``: the cloth ends so far before the pivot and does not go round the hinge. ``below``: the glue margin on
        the lower edge where it is not the board's.
        """
        arris, height = self.width / 2, self.height()
        pivot = arris + height
        end = pivot + (self.width + overlap) / 2 if short is None else pivot - short
        def half(margin):
            opened, hinge = self.span() / 2 + margin + trim, self.gap / 2 + margin + trim
            if not taper:
                return [(-end, opened), (end, opened)]
            right = [(arris, opened), (pivot, hinge), (end, hinge)]
            if short is not None:
                right = [(arris, opened), (end, opened + (hinge - opened) * (height - short) / height)]
            return [(-x, y) for x, y in reversed(right)] + right
        low = half(self.board if below is None else below)
        return [(x, -y) for x, y in low] + list(reversed(half(self.board)))

    def creases(self, tuck="side"):
        """Fold lines of the flat blank: the centre line, the corner lines, the diagonals."""
        arris, half = self.width / 2, self.span() / 2
        pivot = arris + self.height()
        meet = arris + self.tuck(tuck) * (1 if tuck == "side" else -1)
        lines = [((-pivot, 0.0), (pivot, 0.0))]
        for side in (-1, 1):
            lines.append(((side * arris, -half), (side * arris, half)))
            for up in (-1, 1):
                lines.append(((side * arris, up * half), (side * meet, 0.0)))
        return lines

    def tuck(self, kind="side"):
        """How far from the corner line the diagonal meets the centre line, so that the corner closes."""
        def miss(x):
            return self.shut(x, kind)["miss"]
        half = self.span() / 2
        return brentq(miss, half * 1e-6, half, xtol=1e-15, rtol=1e-15)

    def shut(self, x, kind="side"):
        """One corner folded shut onto its board: how far its end stands off the board's edge, how far it reaches in.

        The board's corner is at (length, 0), its side edge runs to (0, 0), inward is up. The flat cloth is laid so that
        the side panel's edge lies on the board's side edge, then folded line by line.
        """
        half = self.span() / 2
        corner = np.array([0.0, half])
        middle = np.array([0.0, 0.0])
        def on_board(p):
            # Turned until the panel's edge is level, then folded in under the board.
            q = np.array(_turned(-self.alpha, p - corner))
            return np.array([self.length + q[0], -q[1]])
        def over(p, a, b):
            along = (b - a) / np.linalg.norm(b - a)
            q = p - a
            return a + 2 * along * np.dot(q, along) - q
        fold = np.array([-x if kind == "side" else x, 0.0])
        first, second = (fold, middle) if kind == "side" else (middle, fold)
        def tuck_on(p):
            return on_board(over(p, corner, first))
        def end_on(p):
            return tuck_on(over(p, corner, second))
        far = end_on(corner + np.array([1.0, 0.0])) - np.array([self.length, 0.0])
        reach = max(on_board(first)[1], tuck_on(first)[1], tuck_on(second)[1])
        return {"miss": far[0], "far": far, "reach": float(reach), "end": float(self.length - end_on(second)[0])}

    def room(self, kind="side"):
        """What is left between the folds of the two sides when shut."""
        return self.width - 2 * self.shut(self.tuck(kind), kind)["reach"]

    def margin_misfit(self):
        """Distance between the outer ends of the side's and the end's glue margin at an open corner, in the flat."""
        side_panel = _turned(self.alpha, (0.0, self.board))
        end_panel = np.array([0.0, self.board])
        return float(np.linalg.norm(side_panel - end_panel))

    def stroke(self, finger, rest, closed):
        """How far the finger's end travels, the other board held, between two half angles."""
        ends = [_turned(2 * angle, (finger, 0.0)) for angle in (rest, closed)]
        return float(np.linalg.norm(ends[0] - ends[1]))
