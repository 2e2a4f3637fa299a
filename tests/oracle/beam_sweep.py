"""Sweeps a laser's beam along its program and looks at what comes loose from the sheet.

The beam is as wide as the kerf, an oval where that differs along x and y. Tabs are bridged in thought, so that the
pieces fall out; then the tabs themselves are looked at: what the beam leaves standing there, how often and how wide.
"""

import math
import re

import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString, Point
from shapely.strtree import STRtree

from cut_simulation import PLAIN, hausdorff, needs_closing
from fall_out import FINE, Spot
from lengths import length
from program_frame import CUTS

# Largest difference in area, for each mm of a piece's lines and besides (mm²); greatest distance from the wanted line (mm).
AREA_EACH, AREA_LEAST, HAUSDORFF = 1e-3, 0.01, 0.01
# Less than this between two bands that meet is no part at all (mm²).
CRUMB = 1e-3
# A tab may be so much narrower or wider than is said (mm); its chord is shorter than the arc that is left out.
TAB = 0.02
# A lead may come so much nearer to a piece than half the kerf (mm).
LEAD = 0.01
# An outline with tabs has at least so many.
LEAST_TABS = 2
_TABS = re.compile(r"(\d+) of ([\d.]+) mm on (\d+) outlines")


def joined(moves):
    """The points along moves that follow each other."""
    parts = [move.points()[1:] for move in moves]
    return np.vstack([moves[0].points()[:1], *parts])


def chains(moves):
    """Moves that hang together, as lists."""
    made = []
    for move in moves:
        if made and np.allclose(made[-1][-1].b, move.a, atol=1e-9):
            made[-1].append(move)
        else:
            made.append([move])
    return made


class Sweep:
    """One program of a laser against its frame."""

    def __init__(self, program, frame, tally):
        self.program, self.frame, self.tally = program, frame, tally
        self.spot = Spot(frame.cutting.kerf)
        self.worst = {"area": 0.0, "away": 0.0, "tab": 0.0}
        self.loops, self.rings = {}, {}
        self.tabs, self.bits = 0, []

    def run(self):
        """All that is known of lasers."""
        self.words()
        contours, leads = [], []
        for block in self.cuts():
            loop = self.loop(block)
            if loop is not None:
                contours.append(self.swept(loop))
            leads += [self.swept(joined(chain)) for chain in chains([m for m in block.of("lead") if m.kind])]
        if not contours:
            self.tally.check(False, "nothing is cut")
            return
        self.leads(leads)
        self.fall(shapely.union_all(contours + leads), leads)
        self.bridges()
        self.waits()

    def cuts(self):
        """Blocks that cut through."""
        return [block for block in self.program.blocks if block.layer in CUTS]

    def words(self):
        """The beam's own word, its power and its feed, as the records have them."""
        frame, check = self.frame, self.tally.check
        word = frame.tool["beam-word"]
        check(self.program.beams <= {word}, f"the beam is lit by {sorted(self.program.beams)}, the machine takes {word}")
        power, mark_power = frame.powers()
        feed, mark_feed = frame.feeds()
        wrong = {"power": 0, "feed": 0, "height": 0}
        for move in self.program.moves:
            wrong["height"] += move.heights != (None, None)
            if move.kind:
                marks = move.role == "mark"
                wrong["power"] += abs(move.power - ((mark_power or 0.0) if marks else power)) > 1e-3
                wrong["feed"] += abs(move.feed - (mark_feed if marks else feed)) > 1e-3
        for what, count in wrong.items():
            check(not count, f"{count} motions with another {what} than the records have")

    def loop(self, block):
        """The points round a contour, tabs bridged; none where it does not close."""
        moves = block.of("contour", "tab")
        # The way to the start is no part of the contour.
        while moves and not moves[0].kind and moves[0].role == "contour":
            moves = moves[1:]
        good = len(chains(moves)) == 1 and np.hypot(*(moves[0].a - moves[-1].b)) < 1e-3
        if not self.tally.check(good, f"{block.name()} does not close"):
            return None
        lone = [move for move in moves if move.role == "contour" and not move.kind]
        self.tally.check(not lone, f"{block.name()}: {len(lone)} gaps that are called no tabs")
        self.loops[id(block)] = joined(moves)
        self.rings[id(block)] = self.frame.nearest_ring(self.loops[id(block)])
        return self.loops[id(block)]

    def swept(self, points):
        """The ground under the beam, in the plane in which its spot is round."""
        line = self.spot.squeeze(LineString(points))
        return line.buffer(self.spot.width / 2, quad_segs=FINE) if self.spot.width else line.buffer(1e-6)

    def leads(self, leads):
        """Leads lie in the waste: on the sheet, off every piece of it."""
        shapes = [self.spot.squeeze(it.shape) for it in self.frame.lying]
        cores = [shape.buffer(-LEAD) for shape in shapes]
        shapely.prepare(cores)
        _, found = STRtree(cores).query(leads, predicate="intersects")
        hit = {self.frame.lying[int(i)].row["address"] for i in found}
        self.tally.check(not hit, f"leads cut into {sorted(hit)[:5]}")
        sheet = self.spot.squeeze(self.frame.sheet.outline)
        shapely.prepare(sheet)
        over = sum(not sheet.contains(lead) for lead in leads)
        self.tally.check(not over, f"{over} leads go over the sheet's edge")

    def fall(self, swept, leads):
        """Takes the swept ground from the sheet; each piece falls out whole, once, and nothing else does."""
        left = self.spot.squeeze(self.frame.sheet.outline).difference(swept)
        loose = [self.spot.stretch(part) for part in getattr(left, "geoms", [left])]
        loose = [part for part in loose if part.area > CRUMB]
        tree = STRtree(loose)
        used = set()
        for it in self.frame.here:
            want = it.shape
            same = []
            for i in tree.query(want, predicate="intersects"):
                common = tree.geometries[i].intersection(want).area
                if common > 0.5 * (tree.geometries[i].area + want.area - common):
                    same.append(int(i))
            if self.tally.check(len(same) == 1, f"{it.row['address']} falls out {len(same)} times"):
                used.add(same[0])
                self.compare(it, loose[same[0]])
        rest = [part for i, part in enumerate(loose) if i not in used]
        holes = shapely.union_all([ring.polygon for ring in self.frame.rings if ring.hole])
        holes = holes.buffer(LEAD)
        shapely.prepare(holes)
        waste = sorted((part for part in rest if not holes.contains(part)), key=lambda part: -part.area)
        # A lead may meet the cut of a neighbour and set a bit of waste free; nothing else may.
        self.bits = waste[1:]
        ways = STRtree(leads)
        near = [ways.query(self.spot.squeeze(bit), predicate="dwithin", distance=LEAD) for bit in self.bits]
        strange = [bit for bit, found in zip(self.bits, near) if not len(found)]
        self.tally.check(not strange, f"the waste comes apart without a lead: {len(strange)} bits")
        whole = shapely.union_all(waste)
        others = [it for it in self.frame.lying if it.row.get("window") != self.frame.window]
        lost = [it.row["address"] for it in others if not whole.contains(it.shape)]
        self.tally.check(not lost, f"pieces of other windows are cut: {lost[:5]}")

    def compare(self, it, got):
        """A loose piece against the wanted one, its inside corners as the spot leaves them."""
        want = self.spot.closed(it.shape) if needs_closing(it) and self.spot.width else it.shape
        got = got.simplify(PLAIN)
        area, away = got.symmetric_difference(want).area, hausdorff(got, want)
        self.worst["area"], self.worst["away"] = max(self.worst["area"], area), max(self.worst["away"], away)
        allowed = AREA_EACH * want.length + AREA_LEAST
        address = it.row["address"]
        self.tally.check(area <= allowed, f"{address} differs by {area:.4f} mm², more than {allowed:.4f}")
        self.tally.check(away <= HAUSDORFF, f"{address} stands off by {away:.4f} mm")

    def bridges(self):
        """What the beam leaves standing at the tabs, against the head of the file and the material's record."""
        said = self.program.said("tabs") or ""
        told = _TABS.fullmatch(said)
        count, wide, outlines = (int(told[1]), float(told[2]), int(told[3])) if told else (0, 0.0, 0)
        self.tally.check(told is not None or said == "none", f"tabs: {said!r} tells nothing")
        from_record = self.record_tabs()
        self.tally.check(abs(wide - from_record) < 1e-9, f"tabs are told as {wide} mm wide, the record has {from_record}")
        lit = [self.swept(move.points()) for block in self.program.blocks for move in block.moves if move.power]
        tree = STRtree(lit)
        standing, tabbed = {}, set()
        for block in self.cuts():
            tabs = block.of("tab")
            if not tabs:
                continue
            tabbed.add((block.number, block.turn, len(tabs)))
            for move in tabs:
                self.width(block, move, wide)
                if block.turn == 1:
                    ground = self.swept(move.points())
                    left = ground.difference(shapely.union_all([lit[i] for i in tree.query(ground)]))
                    whole = 0.5 * wide * self.spot.width
                    largest = max(part.area for part in getattr(left, "geoms", [left]))
                    standing[block.number] = standing.get(block.number, 0) + (largest > whole)
        self.tabs = sum(standing.values())
        self.tally.check(self.tabs == count, f"{self.tabs} tabs are left standing, {count} are told")
        self.tally.check(len(standing) == outlines, f"{len(standing)} outlines have tabs, {outlines} are told")
        loose = [number for number, turn, tabs in tabbed if tabs < LEAST_TABS or tabs != standing.get(number)]
        self.tally.check(not loose, f"strokes {sorted(set(loose))[:5]} have too few tabs, or not in every pass")
        strange = [block.name() for block in self.cuts() if block.of("tab") and block.layer != "EDGES"]
        self.tally.check(not strange, f"tabs where no piece is held: {strange[:3]}")

    def record_tabs(self):
        """Width of a tab by the material's record; 0 where it has none."""
        return length(self.frame.cut.get("tabs", "0 mm"))

    def width(self, block, move, wide):
        """How wide one tab stands: what is left between the spots at its two ends."""
        spots = [self.spot.squeeze(Point(*p)).buffer(self.spot.width / 2, quad_segs=FINE) for p in (move.a, move.b)]
        ends = [self.spot.stretch(spot) for spot in spots]
        left = ends[0].distance(ends[1])
        more = abs(self.frame.cutting.kerf[0] - self.frame.cutting.kerf[1])
        self.worst["tab"] = max(self.worst["tab"], abs(left - wide))
        good = wide - TAB <= left <= wide + more + TAB
        self.tally.check(good, f"{block.name()}: a tab of {left:.3f} mm, {wide} are told")

    def waits(self):
        """Cuts near each other are as far apart in time as the material's record asks, at even speeds."""
        cut = self.frame.cut
        if "least-gap-time" not in cut:
            return
        least = float(cut["least-gap-time"].removesuffix("s"))
        reach = length(cut["gap-reach"])
        blocks, spans = self.cuts(), self.clock()
        lines = [MultiLineString([move.points() for move in block.moves if move.power]) for block in blocks]
        soon, closest = 0, math.inf
        for i, j in zip(*STRtree(lines).query(lines, predicate="dwithin", distance=reach)):
            one, two = blocks[i], blocks[j]
            if one.number != two.number and spans[id(one)][1] <= spans[id(two)][0]:
                gap = spans[id(two)][0] - spans[id(one)][1]
                closest = min(closest, gap)
                soon += gap < least - 0.01
        words = f"{soon} cuts come sooner than {least} s after one within {reach} mm, the soonest after {closest:.2f} s"
        self.tally.check(not soon, words)

    def clock(self):
        """When the beam is first lit and last put out in each block (s)."""
        travel = length(self.frame.record["machine"]["travel-speed"].removesuffix("/s"))
        waits = dict(self.program.waits)
        now, spans = 0.0, {}
        for block in self.program.blocks:
            for move in block.moves:
                now += sum(waits.pop(line) for line in sorted(waits) if line < move.line)
                begins = now
                now += move.length() / (move.feed / 60 if move.kind else travel)
                if move.power:
                    first = spans.get(id(block), (begins, 0.0))[0]
                    spans[id(block)] = (first, now)
        return spans
