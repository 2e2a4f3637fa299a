"""Draws a trailing blade along a knife's program and looks at what its tip cuts.

The blade is a stick of the offset's length, drawn by its pivot: the tip goes straight towards the pivot, always. With the
angle f between blade and motion, the way s, the pivot's curvature k and the offset d, that is f' = -sin(f) / d - k; for
u = tan(f / 2) it is u' = -u / d - k (1 + u²) / 2, which has constant figures on a line and on an arc and is solved by a
2 by 2 matrix. So the tip is known at any place of a move without small steps.

Nothing is known of the blade before the first cut: several headings are tried, as long as they differ. In the air and
while it is lowered a blade does not turn.

# Source
The tractrix of a line: E. H. Lockwood, A Book of Curves, 1961. That of an arc follows from the same rule.
"""

import math

import numpy as np
import shapely
from shapely.strtree import STRtree

from lengths import length
from program_frame import CUTS, chords, farthest

# How far the tip may stand off its line, and the line off the way of the tip (mm).
TIP = 0.02
# The wanted lines are chords, and so is the way of the tip (mm).
SAMPLING = 0.003
# The way of the tip is looked at so often where it may still change, and elsewhere (mm); the first for so many offsets.
FINE, COARSE, EARLY = 0.02, 0.2, 6
# Angles between the first motion and the blade that are tried first (degrees): all round, none straight back.
FIRST = (0.0, 75.0, -110.0, 150.0, -178.0)
# Headings count as one where they differ by no more than this (radians).
ALIKE = 1e-6


def places(long, offset, radius):
    """Where the tip is looked at along a move."""
    coarse = min(COARSE, math.sqrt(8e-3 * radius))
    early = min(long, EARLY * offset)
    fine = np.linspace(0, early, max(2, math.ceil(early / FINE) + 1))
    if early >= long:
        return fine
    return np.concatenate([fine, np.linspace(early, long, math.ceil((long - early) / coarse) + 1)[1:]])


def drawn(move, offset, headings):
    """``(points of the tip, headings after)`` for blades that point along ``headings``: an array (places, blades, 2)."""
    way = move.b - move.a
    bend, long = 0.0, move.length()
    first = math.atan2(way[1], way[0])
    if move.kind > 1:
        arm = move.a - move.centre
        side = math.copysign(1.0, move.sweep)
        first = math.atan2(side * arm[0], -side * arm[1])
        bend = side / move.radius()
    s = places(long, offset, 1 / abs(bend) if bend else 1e9)
    half = (headings - first) / 2
    square = 1 / (4 * offset**2) - bend**2 / 4
    root = math.sqrt(abs(square))
    if square > 1e-12:
        # Both divided by e^(root s), which leaves tan as it is.
        fall = np.exp(-2 * root * s)
        even, odd = (1 + fall) / 2, (1 - fall) / (2 * root)
    elif square < -1e-12:
        even, odd = np.cos(root * s), np.sin(root * s) / root
    else:
        even, odd = np.ones_like(s), s
    even, odd = even[:, None], odd[:, None]
    p, q = np.sin(half), np.cos(half)
    over = even * p + odd * (-p / (2 * offset) - bend / 2 * q)
    under = even * q + odd * (bend / 2 * p + q / (2 * offset))
    pointing = first + bend * s[:, None] + 2 * np.arctan2(over, under)
    share = (s / long)[:, None]
    if bend:
        turn = bend * s[:, None]
        c, t = np.cos(turn), np.sin(turn)
        # The two radii of a written arc may differ a little: the pivot goes evenly from one to the other.
        even_out = 1 + share * (np.hypot(*(move.b - move.centre)) / move.radius() - 1)
        pivot = move.centre + np.hstack([c * arm[0] - t * arm[1], t * arm[0] + c * arm[1]]) * even_out
    else:
        pivot = move.a + share * way
    tips = pivot[:, None, :] - offset * np.stack([np.cos(pointing), np.sin(pointing)], axis=2)
    return tips, pointing[-1]


class Trail:
    """One program of a knife against its frame."""

    def __init__(self, program, frame, tally):
        self.program, self.frame, self.tally = program, frame, tally
        knife = frame.tool
        self.led = not knife.get("compensates", False)
        self.offset = length(knife["offset"]) if self.led else 0.0
        self.worst = {"tip": 0.0, "uncut": 0.0, "deep": 0.0}
        # For each move that cuts, the points of the tip.
        self.tips = {}
        self.loops, self.rings = {}, {}

    def run(self):
        """All that is known of knives."""
        self.draw()
        self.words()
        self.heights()
        self.contours()
        self.beyond()

    def draw(self):
        """The tip along every move, from several headings at first."""
        headings = None
        for move in self.program.moves:
            if not move.kind or move.length() == 0:
                continue
            if not self.led:
                self.tips[move.line] = move.points()[:, None, :]
                continue
            if headings is None:
                way = move.points()[1] - move.a
                headings = math.atan2(way[1], way[0]) + np.radians(FIRST)
            self.tips[move.line], headings = drawn(move, self.offset, headings)
            apart = np.angle(np.exp(1j * (headings - headings[0])))
            if len(headings) > 1 and np.abs(apart).max() < ALIKE:
                headings = headings[:1]

    def words(self):
        """No beam; the feeds of the records."""
        feed, mark_feed = self.frame.feeds()
        tool = self.program.said("tool") or ""
        who = "pivot led" if self.led else "compensated by the machine itself"
        wanted = f"offset {length(self.frame.tool['offset']):g} mm, {who}"
        self.tally.check(tool == wanted, f"tool: {tool!r}, the machine's record says {wanted!r}")
        self.tally.check(not self.program.beams, "a beam on a knife")
        fast = wrong = 0
        for move in self.program.moves:
            if move.kind and move.length():
                own = mark_feed if move.role == "mark" else feed
                fast += move.feed > own + 1e-3
                wrong += not self.swivels(move) and abs(move.feed - own) > 1e-3
        self.tally.check(not fast, f"{fast} motions are faster than the records allow")
        self.tally.check(not wrong, f"{wrong} motions with another feed than the records have")

    def swivels(self, move):
        """Whether the pivot goes round the tip; so small a turn may be a line."""
        if not self.led or move.line not in self.tips:
            return False
        if move.kind > 1:
            return abs(move.radius() - self.offset) < 1e-3
        tips = self.tips[move.line][[0, -1], 0]
        return move.length() < self.offset / 2 and np.hypot(*(tips[1] - tips[0])) < 0.1 * move.length()

    def heights(self):
        """As deep as the pass goes, marks as deep as marks are; turns may be higher; in the air at the safe height."""
        knife = self.frame.tool
        safe, deep = length(knife["safe-height"]), length(knife["cut-depth"])
        mark = length(knife["mark-depth"]) if "mark-depth" in knife else None
        swivel = length(knife["swivel-height"]) if "swivel-height" in knife else None
        wrong = {}
        for block in self.program.blocks:
            depth = -deep * block.turn / self.frame.passes() if block.layer in CUTS else None
            for move in block.moves:
                if move.kind == 0:
                    good = move.heights[1] == safe
                elif move.length() == 0:
                    continue
                elif depth is None:
                    good = mark is not None and abs(move.heights[1] + mark) < 1e-4
                else:
                    good = move.heights[1] is not None and abs(move.heights[1] - depth) < 1e-4
                    good |= self.swivels(move) and swivel is not None and move.heights[1] == swivel
                if not good:
                    wrong.setdefault(block.name(), move)
        for name, move in list(wrong.items())[:3]:
            self.tally.check(False, f"{name}, line {move.line}: a height of {move.heights[1]}")
        self.tally.check(not wrong, f"{len(wrong)} strokes at another height than the records have")

    def cutting(self, block, *roles):
        """Points of the tip for the moves of a block with these roles, every heading that was tried one after another."""
        found = [self.tips[move.line] for move in block.of(*roles) if move.line in self.tips]
        return [tip[:, i] for tip in found for i in range(tip.shape[1])]

    def contours(self):
        """The tip keeps to the line it is meant for, and leaves nothing of it uncut, in every pass."""
        for block in self.program.blocks:
            if block.layer not in CUTS:
                continue
            parts = self.cutting(block, "contour")
            if not self.tally.check(bool(parts), f"{block.name()} has no contour"):
                continue
            points = np.vstack(parts)
            found = self.frame.nearest_ring(points)
            if not self.tally.check(found is not None, f"{block.name()} cuts what nobody wants"):
                continue
            ring = self.frame.rings[found]
            self.loops[id(block)], self.rings[id(block)] = points, found
            tip, here = farthest(points, chords(ring.line.coords))
            trail = [chords(part) for part in self.cutting(block, "contour", "overcut")]
            left, there = farthest(np.array(ring.line.segmentize(COARSE).coords), np.concatenate(trail))
            self.worst["tip"], self.worst["uncut"] = max(self.worst["tip"], tip), max(self.worst["uncut"], left)
            for away, at, words in ((tip, here, "the tip strays from"), (left, there, "something is left uncut of")):
                words = f"{block.name()}: {words} {ring.name()} by {away:.4f} mm at x {at[0]:.2f} y {at[1]:.2f}"
                self.tally.check(away <= TIP + SAMPLING, words)
            self.overcut(block, ring)

    def overcut(self, block, ring):
        """A cut that closes runs on past its start, as far as the machine's record says."""
        if sum(not move.kind and move.length() > 0 for move in block.moves) - self.lanes(block) != 1:
            return
        ways = [self.tips[move.line][:, 0] for move in block.of("overcut") if move.line in self.tips]
        long = sum(float(np.hypot(*np.diff(way, axis=0).T).sum()) for way in ways)
        wanted = length(self.frame.tool.get("overcut", "0 mm"))
        good = long >= min(wanted, ring.line.length) - 2 * TIP
        self.tally.check(good, f"{block.name()}: an overcut of {long:.3f} mm, {wanted} wanted")

    def lanes(self, block):
        """Cuts of a block that only bring the blade into line: nothing but a lead between two ways in the air."""
        made, roles = 0, set()
        for move in [*block.moves, None]:
            if move is None or not move.kind:
                made += roles == {"lead"}
                roles = set()
            elif move.length():
                roles.add(move.role)
        return made

    def beyond(self):
        """Leads and overcuts enter no piece, of this file or of another window's."""
        shapes = [it.shape for it in self.frame.lying]
        tree = STRtree(shapes)
        hit = {}
        for block in self.program.blocks:
            parts = self.cutting(block, "lead", "overcut")
            if not parts:
                continue
            points = shapely.points(np.vstack(parts))
            for i, k in zip(*tree.query(points, predicate="within")):
                deep = shapes[k].boundary.distance(points[i])
                self.worst["deep"] = max(self.worst["deep"], deep)
                if deep > TIP:
                    hit[block.name()] = (self.frame.lying[k].row["address"], deep)
        for name, (address, deep) in list(hit.items())[:3]:
            self.tally.check(False, f"{name}: a lead or an overcut is {deep:.4f} mm deep in {address}")
        self.tally.check(not hit, f"{len(hit)} strokes whose leads or overcuts enter a piece")

    def ways(self, block):
        """Straight marks as the tip scores them, turns left out: pairs of points. Of headings that were tried the last."""
        moves = [m for m in block.of("mark") if m.line in self.tips and not self.swivels(m)]
        ends = [self.tips[move.line][[0, -1], -1] for move in moves]
        return [pair for pair in ends if np.hypot(*(pair[1] - pair[0])) > TIP]
