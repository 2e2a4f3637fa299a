"""Cuts a lay's files in thought and compares what falls out with what was wanted.

    python cut_simulation.py JOB LAYDIR [--allow-missing]

A sheet larger than the bed has a file for each bed window, whose lines are moved to where they lie on the sheet.
Sheets may lie as drawn, or be moved so that the lower left of their box is at the origin: a sheet passes where all its
pieces keep clear of its edge and flaws in one of the two, and the line printed says in which.

For every cut file of the lay (SVG and DXF) the lines are read from the written file, widened by the kerf of the
material on its machine, taken from the sheet, and each piece that comes loose is held against the shape that was
worked out from the measures alone. Ends with ``N passed, N failed``; the exit status is 1 where something failed.
"""

import json
import sys
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import LinearRing, Polygon
from shapely.strtree import STRtree

import drawings
import windows
from creases import MARK, whole_lines
from fall_out import Spot, fall_out
from jobs import read_job
from sheets import read_sheets
from wanted import Pose, pieces, placed

# Largest difference in area, as a share of the wanted area and in mm², whichever is larger.
AREA_SHARE, AREA_LEAST = 5e-4, 0.02
# Largest distance between the wanted line and the one that was cut (mm).
HAUSDORFF = 0.01
# Outlines that were traced become arcs within 0.01 mm, here and there.
TRACED = 0.02
# Curves of the wanted shapes are chords, and ovals may be arcs within 0.001 mm: a gap may look smaller by this (mm).
FLATTENED = 2e-3
# Chords may be left out of drawn lines where the others stand off by no more than this (mm).
PLAIN = 2e-4

CUTS = ("HOLES", "EDGES")
LAYERS = (*CUTS, "PUNCH", "CREASE", "NUMBERS", "DOTS", "RULE")


@dataclass
class Tally:
    """What was checked, and the words for what failed."""

    passed: int = 0
    failures: list = field(default_factory=list)

    def check(self, good, words):
        """Counts one check; ``words`` are told where it fails."""
        if good:
            self.passed += 1
        else:
            self.failures.append(words)
        return good


@dataclass
class Placed:
    """A piece of the lay with its wanted shape where it lies."""

    row: dict
    wanted: object
    shape: Polygon
    punches: list
    creases: list


def _quarter(angle):
    """How far an angle is from the nearest quarter turn, and that turn modulo 180."""
    near = round(angle / 90) * 90
    return abs(angle - near), near % 180


def lie(row, wanted, sheet, smallest, tally):
    """A piece in its place, its turn and face looked at on the way."""
    part, member = wanted.part, wanted.member
    off, turn = _quarter(row["turn"] - sheet.grain)
    uneven = part.stretch[0] != part.stretch[1]
    bound = (uneven or part.grain or sheet.woven) and not (member.is_round() and not member.creases)
    if bound:
        tally.check(off < 1e-6, f"{row['address']}: lies {off:.6f} degrees aslant to the grain")
    if part.grain and bound:
        want = {"along": 0, "across": 90}[part.grain]
        tally.check(turn == want, f"{row['address']}: its length lies {turn} degrees to the grain, not {want}")
    if part.face and sheet.up:
        tally.check(row["mirrored"] == (part.face != sheet.up), f"{row['address']}: shows the wrong face")
    else:
        tally.check(not row["mirrored"], f"{row['address']}: mirrored without a reason")
    pose = Pose(row["x"], row["y"], row["turn"], row["mirrored"], sheet.grain, part.stretch)
    shape, punches = placed(member, pose, smallest)
    creases = [pose.on(np.array(crease)) for crease in member.creases]
    return Placed(row, wanted, shape, punches, creases)


def _one_way(corners, others):
    """Greatest distance of the corners and edge middles of one line from another line."""
    chords = shapely.linestrings(np.stack([others, np.roll(others, -1, axis=0)], axis=1))
    points = shapely.points(np.vstack([corners, (corners + np.roll(corners, -1, axis=0)) / 2]))
    _, away = STRtree(chords).query_nearest(points, all_matches=False, return_distance=True)
    return float(away.max())


def ring_distance(one, two):
    """Greatest distance between two lines."""
    a, b = np.array(one.coords)[:-1], np.array(two.coords)[:-1]
    return max(_one_way(a, b), _one_way(b, a))


def hausdorff(one, two):
    """Greatest distance between the lines of two shapes, outline with outline and hole with nearest hole."""
    worst = ring_distance(one.exterior, two.exterior)
    if len(one.interiors) != len(two.interiors):
        return float("inf")
    if one.interiors:
        tree = STRtree([Polygon(ring).centroid for ring in two.interiors])
        for ring in one.interiors:
            near = int(tree.nearest(Polygon(ring).centroid))
            worst = max(worst, ring_distance(ring, two.interiors[near]))
    return worst


def needs_closing(it):
    """Whether a shape has inside corners at all: other holes than round ones, or a notched outline."""
    if it.wanted.member.holes:
        return True
    outline = Polygon(it.shape.exterior)
    return outline.convex_hull.area - outline.area > 1e-9


class Simulation:
    """One cut file against the pieces of its sheet."""

    def __init__(self, name, page, frame, tally):
        self.name, self.page, self.sheet, self.lying, self.tally = name, page, frame.sheet, frame.lying, tally
        self.spot = Spot(frame.kerf)
        self.kerf, self.gap = frame.kerf, frame.gap
        self.late = 0
        self.worst = {"area": 0.0, "share": 0.0, "hausdorff": 0.0, "corner": 0.0}

    def check(self, good, words):
        return self.tally.check(good, f"{self.name}: {words}")

    def run(self):
        lines = self.page.lines
        for note in self.page.notes:
            self.check(False, note)
        strange = sorted({line.layer for line in lines} - set(LAYERS))
        self.check(not strange, f"layers that are not ours: {strange}")
        cuts = [line for line in lines if line.layer in CUTS]
        opened = [line for line in cuts if not line.closed]
        self.check(not opened, f"{len(opened)} cuts do not close")
        closed = [line for line in cuts if line.closed]
        fallen, waste, faults, parents = fall_out(closed, self.sheet.outline, self.kerf)
        for fault in faults:
            self.check(False, fault)
        self.check(bool(fallen), "nothing falls out")
        self.waste(waste)
        self.pieces([part for part in fallen if part.line.layer == "EDGES"])
        self.slugs([part for part in fallen if part.line.layer == "HOLES"])
        self.order(closed, parents)
        self.apart(closed, parents)
        self.circles(closed)
        self.marks([line for line in lines if line.layer == "PUNCH"])
        self.creases([line for line in lines if line.layer == "CREASE"])
        self.rule([line for line in lines if line.layer == "RULE"])

    def waste(self, waste):
        parts = list(getattr(waste, "geoms", [waste])) if waste is not None else []
        self.check(len(parts) == 1, f"the waste comes apart into {len(parts)}")

    def pieces(self, fallen):
        filled = [Polygon(part.shape.exterior) for part in fallen]
        tree = STRtree(filled)
        owners = [[] for _ in fallen]
        for it in self.lying:
            want = Polygon(it.shape.exterior)
            same = []
            for i in tree.query(want, predicate="intersects"):
                common = filled[i].intersection(want).area
                if common > 0.5 * (filled[i].area + want.area - common):
                    same.append(int(i))
            address = it.row["address"]
            self.check(len(same) == 1, f"{address} falls out {len(same)} times")
            for i in same:
                owners[i].append(address)
            if len(same) == 1:
                part = fallen[same[0]]
                if part.line.title is not None:
                    self.check(part.line.title == address, f"{address} is called {part.line.title}")
                self.compare(it, part.shape)
        for i, names in enumerate(owners):
            if not names:
                at = filled[i].representative_point()
                self.check(False, f"a piece falls out that nobody wants, at x {at.x:.1f} y {at.y:.1f}")
            self.check(len(names) < 2, f"one piece serves as {' and '.join(names)}")

    def compare(self, it, got):
        want = it.shape
        if self.spot.width > 0 and needs_closing(it):
            want = self.spot.closed(want)
            self.worst["corner"] = max(self.worst["corner"], hausdorff(want, it.shape))
        area = got.symmetric_difference(want).area
        away = hausdorff(got, want)
        self.worst["area"] = max(self.worst["area"], area)
        self.worst["share"] = max(self.worst["share"], area / want.area)
        self.worst["hausdorff"] = max(self.worst["hausdorff"], away)
        allowed = max(AREA_SHARE * want.area, AREA_LEAST)
        address = it.row["address"]
        self.check(area <= allowed, f"{address} differs by {area:.4f} mm², more than {allowed:.4f}")
        self.check(away <= HAUSDORFF, f"{address} stands off by {away:.4f} mm")

    def slugs(self, fallen):
        wanted = sum(len(it.shape.interiors) for it in self.lying)
        self.check(len(fallen) == wanted, f"{len(fallen)} holes are cut, {wanted} wanted")

    def order(self, closed, parents):
        """What lies inside is cut first."""
        late = [i for i, parent in enumerate(parents) if parent >= 0 and closed[i].order > closed[parent].order]
        self.late = len(late)
        self.check(not late, f"{len(late)} cuts come after the cut that frees what they lie in")

    def apart(self, closed, parents):
        """The lines along which two pieces are cut stay as far apart as the material's gap, as they are drawn."""
        owners = [i if closed[i].layer == "EDGES" else parent for i, parent in enumerate(parents)]
        rings = [LinearRing(closed[i].points).simplify(PLAIN) for i in range(len(owners))]
        least = self.gap - FLATTENED - HAUSDORFF
        near = zip(*STRtree(rings).query(rings, predicate="dwithin", distance=least))
        close = [(int(i), int(j)) for i, j in near if i < j and owners[i] != owners[j]]
        for i, j in close[:3]:
            names = f"{closed[i].title or i} and {closed[j].title or j}"
            self.check(False, f"{names} are cut {rings[i].distance(rings[j]):.4f} mm apart, wanted {least:.4f}")
        self.check(not close, f"{len(close)} pairs of cuts are nearer than the gap")

    def circles(self, closed):
        """Round lines leave as circles, one each, where kerf and stretch are alike both ways."""
        if abs(self.kerf[0] - self.kerf[1]) > 1e-9:
            return
        rings = [line.circle for line in closed if line.circle]
        tree = STRtree([shapely.Point(x, y) for x, y, _ in rings])
        for it in self.lying:
            if it.wanted.part.stretch[0] != it.wanted.part.stretch[1] or it.wanted.member.round_at is None:
                continue
            grown = 1 / (1 + it.wanted.part.stretch[0])
            middle = shapely.centroid(Polygon(it.shape.exterior))
            radius = it.wanted.member.round_at[2] * grown + self.kerf[0] / 2
            near = tree.query(middle, predicate="dwithin", distance=MARK) if rings else []
            same = [i for i in near if abs(rings[i][2] - radius) <= MARK]
            self.check(len(same) == 1, f"{it.row['address']}: {len(same)} circles of radius {radius:.4f} mm")

    def marks(self, lines):
        """A cross of two strokes on the centre of every hole that is left to the punch, and nowhere else."""
        middles = [(line.points[0] + line.points[-1]) / 2 for line in lines]
        tree = STRtree([shapely.Point(*p) for p in middles])
        wanted = 0
        for it in self.lying:
            for punch in it.punches:
                wanted += 1
                near = tree.query(shapely.Point(*punch), predicate="dwithin", distance=MARK) if middles else []
                ways = [lines[i].points[-1] - lines[i].points[0] for i in near]
                cross = len(ways) == 2 and abs(np.dot(*ways)) < MARK and all(np.hypot(*way) > 0.1 for way in ways)
                self.check(cross, f"{it.row['address']}: no cross at x {punch[0]:.2f} y {punch[1]:.2f}")
        self.check(len(lines) == 2 * wanted, f"{len(lines)} strokes on PUNCH for {wanted} holes")

    def creases(self, lines):
        """Every fold line where the folded part wants it, and none besides, however they are cut up."""
        drawn = [pair for line in lines for pair in zip(line.points[:-1], line.points[1:])]
        have = whole_lines(drawn)
        long = [sum(float(np.hypot(*np.subtract(*pair))) for pair in some) for some in (drawn, have)]
        self.check(abs(long[0] - long[1]) <= MARK * (len(drawn) + 1), f"creases drawn twice: {long[0] - long[1]:.3f} mm")
        ends = np.array([np.concatenate(pair) for pair in have]).reshape(-1, 4)
        wanted = 0
        for it in self.lying:
            for one, two in whole_lines(it.creases):
                wanted += 1
                ways = [np.concatenate(pair) for pair in ((one, two), (two, one))]
                off = min(np.abs(ends - way).max(axis=1).min() if len(ends) else np.inf for way in ways)
                self.check(off <= MARK, f"{it.row['address']}: a crease is missing or {off:.3f} mm off")
        self.check(len(have) == wanted, f"{len(have)} creases, {wanted} wanted")

    def rule(self, lines):
        """The rule is there, 100 mm long."""
        lengths = [float(np.hypot(*(line.points[-1] - line.points[0]))) for line in lines]
        good = any(abs(one - 100) <= 2e-4 for one in lengths)
        self.check(good, "no line of 100 mm on RULE")

    def told(self):
        w = self.worst
        late = f"; {self.late} cuts stand after the cut round them" if self.late else ""
        return (
            f"{self.name}: {len(self.lying)} pieces, worst difference {w['area']:.4f} mm² ({100 * w['share']:.4f} %), "
            f"worst distance {w['hausdorff']:.4f} mm, inside corner left {w['corner']:.4f} mm{late}"
        )


def misplaced(sheet, lying, cutting):
    """Pieces beyond the sheet, or nearer to its edge or a flaw than the material asks for, each with the words."""
    edge = max(cutting.edge, sheet.edge or 0.0) + max(cutting.kerf) / 2 - TRACED
    found = []
    for it in lying:
        address = it.row["address"]
        if not sheet.outline.contains(it.shape) or sheet.outline.exterior.distance(it.shape) < edge:
            found.append(f"{address} is nearer than {edge:.2f} mm to the edge, or beyond it")
        if any(flaw.distance(it.shape) < edge for flaw in sheet.flaws):
            found.append(f"{address} is nearer than {edge:.2f} mm to a flaw")
    return found


def check_places(sheet, lying, cutting, tally):
    """Every piece on the sheet, off its flaws, edge and gap kept."""
    wrong = misplaced(sheet, lying, cutting)
    tally.passed += len(lying) * 2 - len(wrong)
    for words in wrong:
        tally.check(False, f"{sheet.id}: {words}")
    shapes = [it.shape for it in lying]
    apart = cutting.gap + max(cutting.kerf) - FLATTENED
    near = STRtree(shapes).query(shapes, predicate="dwithin", distance=apart)
    close = [(int(i), int(j)) for i, j in zip(*near) if i < j]
    for i, j in close:
        names = f"{lying[i].row['address']} and {lying[j].row['address']}"
        away = shapes[i].distance(shapes[j])
        tally.check(False, f"{sheet.id}: {names} stand {away:.4f} mm apart, wanted {apart:.4f}")
    tally.check(not close, f"{sheet.id}: {len(close)} pairs too close")


def check_addresses(lay, wanted, tally):
    """Every wanted piece is placed or named as left out, once, and nothing else is."""
    seen = [row["address"] for row in lay["pieces"]] + [row["address"] for row in lay["left"]]
    doubled = sorted({name for name in seen if seen.count(name) > 1})
    tally.check(not doubled, f"lay.json names more than once: {doubled[:5]}")
    missing, strange = sorted(set(wanted) - set(seen)), sorted(set(seen) - set(wanted))
    tally.check(not missing, f"lay.json lacks {len(missing)}: {missing[:5]}")
    tally.check(not strange, f"lay.json has {len(strange)} that nobody wants: {strange[:5]}")


def files_of(folder, sheet, window, process, ending):
    """The cut files of a sheet, or of one bed window of it, with one ending."""
    part = "" if window is None else f"-w{window}"
    return sorted(folder.glob(f"{sheet}{part}-{process}*.{ending}"))


def check_files(folder, sheet, count, process, tally):
    """No file is there that belongs to no window."""
    known = {path for n in count for ending in ("svg", "dxf") for path in files_of(folder, sheet, n, process, ending)}
    there = {path for path in folder.glob(f"{sheet}-w*-{process}*") if path.suffix in (".svg", ".dxf")}
    strange = sorted(path.name for path in there - known)
    tally.check(not strange, f"files of windows that are not there: {strange}")


def simulate(job_folder, lay_folder, allow_missing=False, say=print):
    """Runs every check of a lay and gives the tally."""
    tally = Tally()
    job, folder = read_job(job_folder), Path(lay_folder)
    frames, wanted = [read_sheets(job, moved) for moved in (True, False)], pieces(job)
    sheets = frames[0]
    lay = json.loads((folder / "lay.json").read_text(encoding="utf-8"))
    check_addresses(lay, wanted, tally)
    if lay["left"]:
        say(f"{len(lay['left'])} pieces found no place")
    by_sheet = {}
    for row in lay["pieces"]:
        if row["address"] in wanted:
            by_sheet.setdefault(row["sheet"], []).append(row)
    for row in lay["sheets"]:
        if row["id"] not in sheets:
            tally.check(False, f"{row['id']} is no sheet of the job")
        else:
            off = abs((row["grain"] - sheets[row["id"]].grain + 180) % 360 - 180)
            tally.check(off < 1e-9, f"{row['id']}: grain {row['grain']}, the job says {sheets[row['id']].grain}")
    for name, rows in sorted(by_sheet.items()):
        if name not in sheets:
            continue
        sheet = sheets[name]
        part = wanted[rows[0]["address"]].part
        mixed = {(wanted[row["address"]].part.material, wanted[row["address"]].part.machine) for row in rows}
        tally.check(mixed == {(sheet.material, part.machine)}, f"{name}: laid with {sorted(mixed)}")
        cutting = job.cutting(part.material, part.machine)
        smallest = job.smallest_hole(part.machine)
        lying = [lie(row, wanted[row["address"]], sheet, smallest, tally) for row in rows]
        sheet = min((frame[name] for frame in frames), key=lambda one: len(misplaced(one, lying, cutting)))
        check_places(sheet, lying, cutting, tally)
        drawn = sheet.outline.bounds[:2]
        if max(map(abs, drawn)) > 1e-6:
            say(f"{name} lies as drawn, its box from x {drawn[0]:.3f} y {drawn[1]:.3f}")
        process = job.machines[part.machine]["machine"]["process"]
        parts = windows.of_sheet(lay, name)
        windows.check_windows(name, parts, lying, tally)
        windows.check_dots(name, sheet, lying, cutting, windows.dots_of(lay, name, None), tally)
        check_files(folder, name, parts, process, tally)
        for window, row in parts.items():
            here = lying if window is None else [it for it in lying if it.row.get("window") == window]
            frame = Frame(sheet, here, cutting.kerf, cutting.gap, windows.dots_of(lay, name, window))
            if row is not None:
                frame.origin, frame.bed = windows.origin(row, cutting.kerf), windows.bed(job, part.machine)
            for ending in ("svg", "dxf"):
                files = files_of(folder, name, window, process, ending)
                if not files and not allow_missing:
                    tally.check(False, f"{name}: no {ending} file for the {process}, window {window}")
                for file in files:
                    one_file(file, frame, tally, say)
    for words in tally.failures:
        say(f"FAILED {words}")
    return tally


@dataclass
class Frame:
    """What a cut file is held against: the sheet, the pieces that lie there, the dots, and the bed of a window."""

    sheet: object
    lying: list
    kerf: tuple
    gap: float
    dots: list
    origin: object = None
    bed: tuple | None = None


def one_file(file, frame, tally, say):
    """One cut file."""
    try:
        page = drawings.read(file)
    except (drawings.Unread, drawings.ezdxf.DXFError) as why:
        tally.check(False, f"{file.name}: cannot be read: {why}")
        return
    if frame.bed is not None:
        windows.check_bed(file.name, page, frame.bed, tally)
        windows.moved(page, frame.origin)
    windows.check_marks(file.name, page, frame.dots, tally)
    simulation = Simulation(file.name, page, frame, tally)
    simulation.run()
    say(simulation.told())


def main(arguments):
    """The command line."""
    allow = "--allow-missing" in arguments
    names = [word for word in arguments if not word.startswith("--")]
    if len(names) != 2:
        sys.exit(__doc__)
    tally = simulate(*names, allow_missing=allow)
    print(f"{tally.passed} passed, {len(tally.failures)} failed")
    return 1 if tally.failures or not tally.passed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
