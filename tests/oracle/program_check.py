"""Runs a lay's cut programs in thought and compares what they cut with what was wanted.

    python program_check.py JOB LAYDIR [--spoil[=WORD]] [--allow-missing]

Every G-code file of the lay is read by an interpreter of its own. A laser's beam is swept along the cuts, leads, tabs and
passes; a knife's blade is drawn along by its pivot. What falls out, or where the tip goes, is held against the shapes
that were worked out from the measures alone, and feeds, powers, depths, tabs, passes and waits against the records of
machine and material. With ``--spoil`` programs are then spoilt in many ways, or in those whose name has the word, and
each must be found for what it is. Ends with ``N passed, N failed``; the exit status is 1 where something failed.
"""

import hashlib
import json
import re
import sys
import time
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString
from shapely.strtree import STRtree

import program_frame
import program_spoil
import rs274
from beam_sweep import Sweep
from blade_trail import Trail
from creases import whole_lines
from cut_simulation import FLATTENED, Tally, check_addresses
from jobs import read_job
from program_frame import CUTS
from wanted import pieces
from windows import ARM

# Marks of a beam, and of a blade that is not yet quite in line, may lie this far from their place (mm).
MARK = {"laser": 1e-3, "knife": 0.02}
MARKS = ("NUMBERS", "PUNCH", "CREASE", "DOTS")
# Lines that should be apart may be nearer by this (mm), and tools go beyond the margin: curves are arcs within 0.01.
NEARER = FLATTENED + 0.01
# A way may differ from what is told of it by this share, or this much (mm); figures told of times by so much (s).
LONG_SHARE, LONG, SECONDS = 5e-3, 0.3, 0.11
# Places of pieces are told to four decimals.
PLACE = 1e-3


class Check:
    """One program against its frame."""

    def __init__(self, name, text, frame):
        self.name, self.frame, self.tally = name, frame, Tally()
        self.program = rs274.read(text)
        for move in self.program.moves:
            move.a, move.b = move.a + frame.origin, move.b + frame.origin
            if move.centre is not None:
                move.centre = move.centre + frame.origin
        self.tool = (Sweep if frame.process == "laser" else Trail)(self.program, frame, self.tally)

    def check(self, good, words):
        return self.tally.check(good, words)

    def run(self):
        """Every check; gives the tally."""
        for fault in self.program.faults[:5]:
            self.check(False, fault)
        self.check(not self.program.faults, f"{len(self.program.faults)} lines that a machine would refuse")
        self.head()
        if self.blocks():
            self.tool.run()
            self.lines()
            self.order()
            self.marks()
            self.bed()
            self.told_ways()
        return self.tally

    def head(self):
        """What the head says, as the lay and the job have it."""
        said, frame = self.program.said, self.frame
        self.check(self.program.head[:1] == ["pouchwork manifest 1"], "no manifest at the head")
        body = hashlib.sha256(self.program.body.encode()).hexdigest()
        self.check(said("body") == f"sha256 {body}", "the hash of the body is another")
        kerf = "x {:g}; y {:g}".format(*frame.cutting.kerf)
        window = said("window") or ""
        wanted = {"unit": "mm", "sheet": frame.name, "process": frame.process, "kerf": kerf, "passes": str(frame.passes()),
                  "pieces": str(len(frame.here)), "material": frame.material, "machine": frame.profile}
        for key, value in wanted.items():
            self.check(said(key) == value, f"{key} is told as {said(key)!r}, it is {value!r}")
        place = re.fullmatch(r"(\d+) of \d+; origin x (\S+); y (\S+)", window)
        told = (int(place[1]), float(place[2]), float(place[3])) if place else (None, 0.0, 0.0)
        good = told[0] == frame.window and np.abs(np.subtract(told[1:], frame.origin)).max() < PLACE
        self.check(good and (place or window == "none"), f"window is told as {window!r}, it begins at {frame.origin}")
        rows = [re.match(r"piece: x (\S+); y (\S+); turn", line) for line in self.program.head]
        places = np.array(sorted((float(row[1]), float(row[2])) for row in rows if row))
        wanted = np.array(sorted((it.row["x"], it.row["y"]) for it in frame.here))
        good = places.shape == wanted.shape
        if good:
            good = program_frame.farthest(wanted, shapely.points(places))[0] < PLACE
        self.check(good, "places of the pieces are told otherwise than the lay has them")

    def cuts(self):
        """Blocks that cut through."""
        return [block for block in self.program.blocks if block.layer in CUTS]

    def blocks(self):
        """Every stroke once in every pass, the passes in turn."""
        blocks = self.program.blocks
        strange = sorted({block.layer for block in blocks} - set(CUTS + MARKS))
        self.check(not strange, f"layers that are not ours: {strange}")
        turns = {}
        for block in blocks:
            turns.setdefault(block.number, []).append(block.turn)
        wanted = list(range(1, self.frame.passes() + 1))
        cuts = {block.number for block in self.cuts()}
        wrong = [number for number, made in turns.items() if made != (wanted if number in cuts else [1])]
        self.check(not wrong, f"strokes {wrong[:5]} are not run along once in each pass")
        return self.check(bool(cuts), "nothing is cut")

    def lines(self):
        """Each wanted line is cut by one stroke, on its own layer and as long as it is; pieces keep their gap."""
        frame, found = self.frame, {}
        spot = getattr(self.tool, "spot", None)
        for block in self.cuts():
            points = self.tool.loops.get(id(block))
            at = self.tool.rings.get(id(block))
            if at is None:
                continue
            ring = frame.rings[at]
            found.setdefault(at, set()).add(block.number)
            self.check(ring.hole == (block.layer == "HOLES"), f"{block.name()} cuts {ring.name()}")
            way = self.way(block, points)
            wanted = spot.grown(ring.polygon, -1 if ring.hole else 1).length if spot else ring.line.length
            good = abs(way - wanted) <= LONG + LONG_SHARE * wanted
            self.check(good, f"{block.name()} is {way:.2f} mm long, {ring.name()} {wanted:.2f}")
        for at, ring in enumerate(frame.rings):
            self.check(len(found.get(at, ())) == 1, f"{ring.name()} is cut by {len(found.get(at, ()))} strokes")
        self.apart(found)

    def way(self, block, points):
        """How long the way of the tool along a contour is."""
        if self.frame.process == "laser":
            return LineString(points).length
        parts = [self.tool.tips[move.line][:, 0] for move in block.of("contour") if move.line in self.tool.tips]
        return sum(float(np.hypot(*np.diff(part, axis=0).T).sum()) for part in parts)

    def apart(self, found):
        """The lines along which two pieces are cut stay as far apart as the material's gap."""
        owner = {number: self.frame.rings[at].address for at, numbers in found.items() for number in numbers}
        parts, names = [], []
        for block in self.cuts():
            if block.number in owner and block.turn == 1 and id(block) in self.tool.loops:
                parts.append(MultiLineString([part for part in self.drawn(block) if len(part) > 1]))
                names.append(owner[block.number])
        least = self.frame.cutting.gap - NEARER
        near = zip(*STRtree(parts).query(parts, predicate="dwithin", distance=least))
        near = [(i, j) for i, j in near if names[i] < names[j]]
        for i, j in near[:3]:
            away = parts[i].distance(parts[j])
            self.check(False, f"{names[i]} and {names[j]} are cut {away:.3f} mm apart, wanted {least:.3f}")
        self.check(not near, f"{len(near)} pairs of cuts are nearer than the gap")

    def drawn(self, block):
        """The lines along which a contour is cut."""
        if self.frame.process == "laser":
            return [self.tool.loops[id(block)]]
        return [self.tool.tips[move.line][:, 0] for move in block.of("contour") if move.line in self.tool.tips]

    def order(self):
        """What lies inside a line is done before that line is begun."""
        times = {id(move): i for i, move in enumerate(self.program.moves)}
        loops, spans, middles = [], [], []
        for block in self.program.blocks:
            own = [move for move in block.of("contour", "mark") if move.kind and move.length()]
            if not own:
                continue
            span = times[id(own[0])], times[id(own[-1])]
            middles.append((shapely.Point(*(own[0].a + own[0].b) / 2), span, block))
            at = self.tool.rings.get(id(block))
            if at is not None:
                loops.append(self.frame.rings[at].polygon)
                spans.append((span, at))
        late = []
        for k, i in zip(*STRtree(loops).query([middle for middle, _, _ in middles], predicate="within")):
            _, span, block = middles[k]
            own = self.tool.rings.get(id(block))
            ring, outer = None if own is None else self.frame.rings[own], self.frame.rings[spans[i][1]]
            inside = ring is None or (own != spans[i][1] and ring.polygon.area < outer.polygon.area)
            if inside and span[1] > spans[i][0][0]:
                late.append(f"{block.name()} comes after {outer.name()}")
        for words in late[:3]:
            self.check(False, words)
        self.check(not late, f"{len(late)} strokes come after the cut that frees what they lie in")

    def ways(self, layer):
        """Straight marks of a layer as they are drawn: pairs of points."""
        made = []
        for block in self.program.blocks:
            if block.layer == layer:
                if self.frame.process == "knife":
                    made += self.tool.ways(block)
                else:
                    for move in block.of("mark"):
                        if move.kind:
                            made += list(zip(move.points()[:-1], move.points()[1:]))
        return made

    def marks(self):
        """Punch marks, register dots and creases where they are wanted, and nowhere else."""
        left_out = int((self.program.said("marks") or "0").split()[0])
        if left_out:
            silent = "mark-power" not in self.frame.cut and "mark-depth" not in self.frame.tool
            self.check(silent, f"{left_out} marks are left out")
            return
        near = MARK[self.frame.process]
        self.crosses("PUNCH", [punch for it in self.frame.here for punch in it.punches], near, None)
        self.crosses("DOTS", self.frame.dots, near, 2 * ARM)
        self.creases(near)
        self.numbers()

    def numbers(self):
        """Numbers stand in the waste, at least the gap away from every piece of the sheet."""
        ways = [LineString(pair) for pair in self.ways("NUMBERS")]
        least = self.frame.cutting.gap - NEARER
        shapes = [it.shape for it in self.frame.lying]
        near = STRtree(shapes).query(ways, predicate="dwithin", distance=least)[1] if ways else []
        names = sorted({self.frame.lying[i].row["address"] for i in near})
        self.check(not names, f"NUMBERS: strokes nearer than {least:.3f} mm to {names[:3]}")

    def crosses(self, layer, wanted, near, long):
        """A cross of two strokes on every place, and nowhere else."""
        ways = self.ways(layer)
        middles = [(one + two) / 2 for one, two in ways]
        tree = STRtree([shapely.Point(*middle) for middle in middles])
        for place in wanted:
            found = tree.query(shapely.Point(*place), predicate="dwithin", distance=near) if ways else []
            own = [ways[i][1] - ways[i][0] for i in found]
            size = [float(np.hypot(*way)) for way in own]
            good = len(own) == 2 and abs(np.dot(*own)) < 2 * near * max(size) and min(size) > 0.1
            good = good and (long is None or max(abs(one - long) for one in size) <= 2 * near)
            self.check(good, f"{layer}: no cross at x {place[0]:.2f} y {place[1]:.2f}")
        self.check(len(ways) == 2 * len(wanted), f"{layer}: {len(ways)} strokes for {len(wanted)} crosses")

    def creases(self, near):
        """Every fold line is drawn, once, and nothing else is."""
        drawn = [pair for pair in self.ways("CREASE") if np.hypot(*(pair[1] - pair[0])) > near]
        wanted = [pair for it in self.frame.here for pair in whole_lines(it.creases)]
        long = [sum(float(np.hypot(*(pair[1] - pair[0]))) for pair in lines) for lines in (drawn, wanted)]
        good = abs(long[0] - long[1]) <= 2 * near * (len(drawn) + 1)
        self.check(good, f"CREASE: {long[0]:.2f} mm are drawn, {long[1]:.2f} wanted")
        if not drawn or not wanted:
            return
        for lines, others, words in ((drawn, wanted, "is drawn that nobody wants"), (wanted, drawn, "is missing")):
            points = np.vstack([LineString(pair).segmentize(1.0).coords for pair in lines])
            away, at = program_frame.farthest(points, [LineString(pair) for pair in others])
            self.check(away <= 2 * near, f"CREASE: a line {words}, {away:.3f} mm off at x {at[0]:.2f} y {at[1]:.2f}")

    def bed(self):
        """No motion leaves the bed, and no cut or mark its margin."""
        frame = self.frame
        size = np.array(frame.bed)
        whole = [np.vstack([move.points() for move in self.program.moves if move.length()]) - frame.origin]
        if frame.process == "laser":
            cuts = [move.points() for move in self.program.moves if move.kind and move.length()]
            work = [points - frame.origin for points in cuts]
        else:
            work = [tips[:, 0] - frame.origin for tips in self.tool.tips.values()]
        rooms = ((whole, frame.margin, "a motion leaves the bed"), (work, NEARER, "the tool leaves the bed's margin"))
        for points, room, words in rooms:
            low, high = np.vstack(points).min(axis=0), np.vstack(points).max(axis=0)
            good = (low >= -room).all() and (high <= size + room).all()
            self.check(good, f"{words}: from {low.round(3)} to {high.round(3)}, it takes {frame.bed}")

    def told_ways(self):
        """Lengths, leads and times that the head tells."""
        said, moves = self.program.said, self.program.moves
        told = re.fullmatch(r"cut (\S+); marked (\S+); travel (\S+)", said("length") or "")
        if self.check(told is not None, f"length: {said('length')!r}"):
            travel = sum(move.length() for move in moves if not move.kind)
            self.check(abs(travel - float(told[3])) < 0.05, f"travel is told as {told[3]} mm, it is {travel:.3f}")
            first = [block for block in self.cuts() if block.turn == 1 and id(block) in self.tool.loops]
            cut = sum(self.way(block, self.tool.loops[id(block)]) for block in first)
            good = abs(cut - float(told[1])) <= LONG + LONG_SHARE * cut
            self.check(good, f"cut is told as {told[1]} mm, it is {cut:.2f}")
        if self.frame.process == "laser":
            with_leads = {block.number for block in self.cuts() if block.of("lead")}
            bare = sorted({block.number for block in self.cuts()} - with_leads)
            words = f"on {len(with_leads)} contours; strokes without {' '.join(map(str, bare)) or 'none'}"
            self.check(said("leads") == words, f"leads: {said('leads')!r}, found {words!r}")
        told = re.fullmatch(r"cut (\S+); travel (\S+); wait (\S+); total (\S+) s", said("time") or "")
        if self.check(told is not None, f"time: {said('time')!r}"):
            cut, travel, wait, total = map(float, told.groups())
            waited = sum(seconds for _, seconds in self.program.waits)
            self.check(abs(wait - waited) <= SECONDS, f"waits are told as {wait} s, they are {waited:.2f}")
            least = sum(60 * move.length() / move.feed for move in moves if move.kind and move.feed)
            self.check(cut >= least - SECONDS, f"cuts are told to take {cut} s, at their feeds they take {least:.1f}")
            self.check(abs(cut + travel + wait - total) <= 2 * SECONDS, f"times do not add up to {total} s")

    def told(self):
        """One line for people."""
        worst = self.tool.worst
        start = f"{self.name}: {len(self.frame.here)} pieces, {len(self.program.moves)} motions, "
        if self.frame.process == "laser":
            bits = self.tool.bits
            return start + (f"worst difference {worst['area']:.4f} mm², worst distance {worst['away']:.4f} mm, "
                            f"{self.tool.tabs} tabs off by {worst['tab']:.4f} mm at most, "
                            f"{len(bits)} bits of waste set free by leads, {sum(bit.area for bit in bits):.1f} mm²")
        return start + (f"tip off by {worst['tip']:.4f} mm at most, uncut by {worst['uncut']:.4f} mm at most, "
                        f"{worst['deep']:.4f} mm deep in a piece beside the contour")


def programs(job_folder, lay_folder, tally, allow_missing=False):
    """``(path, frame)`` of every program that the lay should have."""
    job, folder = read_job(job_folder), Path(lay_folder)
    wanted = pieces(job)
    lay = json.loads((folder / "lay.json").read_text(encoding="utf-8"))
    check_addresses(lay, wanted, tally)
    found = []
    for name in sorted({row["sheet"] for row in lay["pieces"]}):
        for frame in program_frame.one_sheet(job, lay, wanted, name, tally):
            part = "" if frame.window is None else f"-w{frame.window}"
            path = folder / f"{name}{part}-{frame.process}.gcode"
            if path.exists():
                found.append((path, frame))
            else:
                tally.check(allow_missing, f"{path.name} is missing")
    strange = sorted(path.name for path in set(folder.glob("*.gcode")) - {path for path, _ in found})
    tally.check(not strange, f"programs of sheets that are not there: {strange}")
    return found


def main(arguments):
    """The command line."""
    names = [word for word in arguments if not word.startswith("--")]
    options = dict(word.partition("=")[::2] for word in arguments if word.startswith("--"))
    if len(names) != 2 or set(options) - {"--spoil", "--allow-missing"}:
        sys.exit(__doc__)
    tally = Tally()
    found = programs(*names, tally, "--allow-missing" in options)
    took = {}
    for path, frame in found:
        began = time.process_time()
        one = Check(path.name, path.read_text(encoding="ascii"), frame)
        made = one.run()
        print(one.told())
        took[path] = time.process_time() - began
        tally.passed += made.passed
        tally.failures += [f"{path.name}: {words}" for words in made.failures]
    if "--spoil" in options and not tally.failures:
        found.sort(key=lambda pair: took[pair[0]])
        program_spoil.run(found, Check, tally, options["--spoil"])
    for words in tally.failures[:40]:
        print(f"FAILED {words}")
    print(f"{tally.passed} passed, {len(tally.failures)} failed")
    return 1 if tally.failures or not tally.passed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
