"""Follows the tip of a trailing blade along the moves of its pivot, and says how far it strays from the line.

    python knife_tip.py MOVES.json
    python knife_tip.py FILE.gcode --offset D [--lines LINES.json] [--heading DEGREES] [--tolerance MM]
    python knife_tip.py --self

The blade is a stick: wherever the pivot goes, the tip is drawn straight towards it and stays at its distance. That is
all that is known here; nothing is taken from the rule by which the moves were made. Moves are cut up into steps of a
few micrometres.

MOVES.json holds one cut or a list of cuts: ``offset``, ``heading`` (degrees, before the first move), ``moves`` as
``[role, word, x, y, bulge]`` with the words rapid, line, arc, swivel, and ``line``, the wanted line, as
``[x, y, bulge]`` from corner to corner, the first point said again at the end of a closed one. LINES.json is a list of
such lines. In G-code a cut begins at each G0; ``( lead )``, ``( contour )``, ``( overcut )`` tell the roles.

Ends with ``N passed, N failed``; the exit status is 1 where something failed.
"""

import json
import math
import re
import sys
from dataclasses import dataclass, field

# How far the tip may stand off its line, and the line off the way of the tip (mm).
TOLERANCE = 0.02
# Length of a step (mm).
STEP = 0.002
# The wanted line is looked at so often (mm).
SAMPLE = 0.05


@dataclass
class Arc:
    """A piece from one point to another by its bulge; a line where that is 0."""

    a: tuple
    b: tuple
    bulge: float = 0.0
    center: tuple = None
    radius: float = 0.0
    sweep: float = 0.0
    first: float = 0.0

    def __post_init__(self):
        if self.bulge:
            (ax, ay), (bx, by) = self.a, self.b
            reach = (1 - self.bulge**2) / (4 * self.bulge)
            self.center = ((ax + bx) / 2 - (by - ay) * reach, (ay + by) / 2 + (bx - ax) * reach)
            self.radius = math.dist(self.a, self.center)
            self.sweep = 4 * math.atan(self.bulge)
            self.first = math.atan2(ay - self.center[1], ax - self.center[0])

    def length(self):
        """How long it is."""
        return self.radius * abs(self.sweep) if self.bulge else math.dist(self.a, self.b)

    def at(self, share):
        """The point at a share of its length."""
        if not self.bulge:
            return tuple(p + (q - p) * share for p, q in zip(self.a, self.b))
        angle = self.first + self.sweep * share
        return (self.center[0] + self.radius * math.cos(angle), self.center[1] + self.radius * math.sin(angle))

    def distance(self, p):
        """How far a point is from it."""
        ends = min(math.dist(p, self.a), math.dist(p, self.b))
        if not self.bulge:
            dx, dy = self.b[0] - self.a[0], self.b[1] - self.a[1]
            square = dx * dx + dy * dy
            if square == 0:
                return ends
            share = ((p[0] - self.a[0]) * dx + (p[1] - self.a[1]) * dy) / square
            return math.dist(p, self.at(min(1, max(0, share))))
        angle = math.atan2(p[1] - self.center[1], p[0] - self.center[0]) - self.first
        turned = angle % math.tau if self.sweep > 0 else -(-angle % math.tau)
        within = abs(turned) <= abs(self.sweep)
        return min(ends, abs(math.dist(p, self.center) - self.radius)) if within else ends


@dataclass
class Cut:
    """The moves of one cut: role and piece of the pivot's way, the first being where it comes down."""

    offset: float
    start: tuple
    moves: list = field(default_factory=list)
    heading: float = None
    line: list = None


def chain(points):
    """Pieces of a line given by its corners with their bulges."""
    return [Arc(tuple(p[:2]), tuple(q[:2]), p[2] if len(p) > 2 else 0.0) for p, q in zip(points, points[1:])]


def pulled(pivot, tip, offset):
    """The tip, drawn straight towards the pivot."""
    dx, dy = tip[0] - pivot[0], tip[1] - pivot[1]
    share = offset / math.hypot(dx, dy)
    return (pivot[0] + dx * share, pivot[1] + dy * share)


def follow(cut, heading):
    """The way of the tip as (role, point); ``heading`` in degrees is where the blade points at first."""
    turn = math.radians(heading)
    tip = (cut.start[0] - cut.offset * math.cos(turn), cut.start[1] - cut.offset * math.sin(turn))
    pivot = cut.start
    way = [(cut.moves[0][0] if cut.moves else "lead", tip)]
    for role, piece in cut.moves:
        count = max(1, math.ceil(piece.length() / STEP))
        for i in range(1, count + 1):
            here = piece.at(i / count)
            # Drawn towards the middle of the step first: the error is of second order.
            middle = ((pivot[0] + here[0]) / 2, (pivot[1] + here[1]) / 2)
            half = pulled(middle, tip, cut.offset)
            lean = (middle[0] - half[0], middle[1] - half[1])
            along = ((here[0] - pivot[0]) * lean[0] + (here[1] - pivot[1]) * lean[1]) / cut.offset**2
            tip = pulled(here, (tip[0] + lean[0] * along, tip[1] + lean[1] * along), cut.offset)
            pivot = here
            way.append((role, tip))
    turn = math.atan2(pivot[1] - tip[1], pivot[0] - tip[0])
    return way, math.degrees(turn)


def strays(way, line):
    """Greatest distance of the tip from the line, and of the line from the way of the tip."""
    cut = [p for role, p in way if role in ("contour", "overcut", "tab")]
    contour = [p for role, p in way if role == "contour"]
    tip = max((min(piece.distance(p) for piece in line) for p in contour[:: max(1, len(contour) // 20000)]), default=0.0)
    cell = 0.1
    net = {}
    for p in cut:
        net.setdefault((int(p[0] // cell), int(p[1] // cell)), []).append(p)
    uncut = 0.0
    for piece in line:
        count = max(1, math.ceil(piece.length() / SAMPLE))
        for i in range(count + 1):
            p = piece.at(i / count)
            x, y = int(p[0] // cell), int(p[1] // cell)
            near = (q for dx in (-1, 0, 1) for dy in (-1, 0, 1) for q in net.get((x + dx, y + dy), ()))
            uncut = max(uncut, min((math.dist(p, q) for q in near), default=cell))
    return tip, uncut


def from_json(data):
    """Cuts out of our own record of moves."""
    cuts = []
    for one in data if isinstance(data, list) else [data]:
        at, cut = None, None
        for role, word, x, y, *bulge in one["moves"]:
            if word == "rapid":
                cut = Cut(one["offset"], (x, y), heading=one.get("heading"), line=chain(one["line"]))
                cuts.append(cut)
            else:
                cut.moves.append((role, Arc(at, (x, y), bulge[0] if bulge else 0.0)))
            at = (x, y)
    return cuts


def from_gcode(text, offset):
    """Cuts out of G-code; heights tell nothing of where the tip is, and are passed over."""
    cuts, at, role = [], (0.0, 0.0), "contour"
    for row in text.splitlines():
        said = re.fullmatch(r"\( (lead|contour|tab|overcut|mark) \)", row.strip())
        if said:
            role = said[1]
            continue
        words = dict(re.findall(r"([A-Z])(-?[0-9.]+)", re.sub(r"\(.*?\)", "", row)))
        if "G" not in words or float(words["G"]) not in (0, 1, 2, 3) or ("X" not in words and "Y" not in words):
            continue
        to = (float(words.get("X", at[0])), float(words.get("Y", at[1])))
        kind = int(float(words["G"]))
        if kind == 0:
            cuts.append(Cut(offset, to))
        elif cuts:
            cuts[-1].moves.extend((role, piece) for piece in pieces(kind, at, to, words))
        at = to
    return [cut for cut in cuts if cut.moves]


def pieces(kind, at, to, words):
    """A move of G-code; arcs of more than half a turn in two."""
    if kind == 1:
        return [Arc(at, to)]
    center = (at[0] + float(words.get("I", 0)), at[1] + float(words.get("J", 0)))
    first = math.atan2(at[1] - center[1], at[0] - center[0])
    last = math.atan2(to[1] - center[1], to[0] - center[0])
    sweep = (last - first) % math.tau or math.tau
    if kind == 2:
        sweep = -((first - last) % math.tau or math.tau)
    if abs(sweep) <= math.pi:
        return [Arc(at, to, math.tan(sweep / 4))]
    radius, half = math.dist(at, center), first + sweep / 2
    middle = (center[0] + radius * math.cos(half), center[1] + radius * math.sin(half))
    return [Arc(at, middle, math.tan(sweep / 8)), Arc(middle, to, math.tan(sweep / 8))]


def nearest_line(way, lines):
    """Of many lines the one that the cut was meant for."""
    cut = [p for role, p in way if role == "contour"]
    some = cut[:: max(1, len(cut) // 20)]
    return min(lines, key=lambda line: max(min(piece.distance(p) for piece in line) for p in some))


def check(cuts, lines, heading, tolerance):
    """Follows all cuts, each from the heading that the one before left; counts and words for what failed."""
    passed, failures, worst = 0, [], (0.0, 0.0)
    for n, cut in enumerate(cuts, 1):
        way, after = follow(cut, heading if cut.heading is None else cut.heading)
        heading = after
        line = cut.line or (nearest_line(way, lines) if lines else None)
        if line is None:
            continue
        tip, uncut = strays(way, line)
        worst = (max(worst[0], tip), max(worst[1], uncut))
        if tip <= tolerance and uncut <= tolerance:
            passed += 1
        else:
            failures.append(f"cut {n}: tip off by {tip:.4f} mm, {uncut:.4f} mm from the line uncut")
    return passed, failures, worst


def self_test():
    """The blade itself against figures that are known without it, and moves that are right and wrong."""
    failures = []

    def near(what, found, wanted, within):
        if not abs(found - wanted) <= within:
            failures.append(f"{what}: {found} instead of {wanted}")

    d = 0.25
    # Tractrix (Lockwood, A Book of Curves, 1961): tan of half the error falls by e an offset.
    for astray, offsets in ((30, 3.42), (90, 4.74), (150, 6.06), (179, 9.48)):
        cut = Cut(d, (0.0, 0.0), [("lead", Arc((0.0, 0.0), (offsets * d, 0.0)))])
        near(f"astray {astray}", follow(cut, astray)[1], 1.0, 0.01)
    # A bare circle: the tip runs at sqrt(r² - d²).
    for radius in (10.0, 5.0, 1.0, 0.5):
        turns = [("contour", Arc((s * radius, 0.0), (-s * radius, 0.0), 1.0)) for s in (1, -1) * 8]
        way, _ = follow(Cut(d, (radius, 0.0), turns), 90)
        near(f"bare circle {radius}", math.hypot(*way[-1][1]), math.sqrt(radius**2 - d**2), 1e-5)
    # A bare corner of a right angle: sech u where sech u = u - tanh u.
    line = chain([(0, 0), (10, 0), (10, 10)])
    way, _ = follow(Cut(d, (0.0, 0.0), [("contour", piece) for piece in line]), 0)
    # The blade's first offset of way lies before the line.
    strayed = strays([(role, p) for role, p in way if p[0] >= 0], line)[0]
    near("bare corner", strayed / d, 0.48231, 2e-3)
    # A square with its swivels is followed, without them or with another blade it is not.
    corners = [(10, 0), (20, 0), (20, 20), (0, 20), (0, 0), (10, 0)]
    ways = [(1, 0), (1, 0), (0, 1), (-1, 0), (0, -1), (1, 0)]
    good = {"offset": d, "heading": 0, "line": corners, "moves": [["lead", "rapid", 10 + d, 0]]}
    for k in range(1, 6):
        x, y = corners[k]
        into, out = ways[k], ways[k + 1] if k < 5 else ways[k]
        good["moves"].append(["contour", "line", x + d * into[0], y + d * into[1]])
        if out != into:
            good["moves"].append(["contour", "swivel", x + d * out[0], y + d * out[1], math.tan(math.pi / 8)])
    bare = dict(good, moves=[["contour", "rapid", 10, 0], *(["contour", "line", *p] for p in corners[1:])])
    for name, record, wanted in (("square", good, 1), ("bare square", bare, 0), ("another blade", dict(good, offset=0.35), 0)):
        passed, _, _ = check(from_json(record), [], 0, TOLERANCE)
        near(name, passed, wanted, 0)
    near("square", check(from_json(good), [], 0, TOLERANCE)[2][0], 0, 1e-4)
    # The same square out of G-code.
    rows, at = [], None
    for role, word, x, y, *bulge in good["moves"]:
        if word == "rapid":
            rows.append(f"G0 X{x:.4f} Y{y:.4f}")
        elif word == "line":
            rows += [f"( {role} )", f"G1 X{x:.4f} Y{y:.4f} F600"]
        else:
            center = Arc(at, (x, y), bulge[0]).center
            rows.append(f"G3 X{x:.4f} Y{y:.4f} I{center[0] - at[0]:.4f} J{center[1] - at[1]:.4f}")
        at = (x, y)
    cuts = from_gcode("\n".join(["G21", "G90", *rows, "G0 Z5.0000", "M2"]), d)
    near("square in G-code", check(cuts, [chain(corners)], 0, TOLERANCE)[0], 1, 0)
    return failures


def main(words):
    """What was asked for."""
    if words == ["--self"]:
        failures = self_test()
        count = 14
        print(*failures, f"{count - len(failures)} passed, {len(failures)} failed", sep="\n")
        return 1 if failures else 0
    options = dict(zip(words[1::2], words[2::2]))
    with open(words[0], encoding="utf-8") as file:
        text = file.read()
    lines = []
    if "--lines" in options:
        with open(options["--lines"], encoding="utf-8") as file:
            lines = [chain(line) for line in json.load(file)]
    cuts = from_json(json.loads(text)) if words[0].endswith(".json") else from_gcode(text, float(options["--offset"]))
    heading, tolerance = float(options.get("--heading", 0)), float(options.get("--tolerance", TOLERANCE))
    passed, failures, worst = check(cuts, lines, heading, tolerance)
    print(f"{len(cuts)} cuts: tip off by {worst[0]:.4f} mm at most, {worst[1]:.4f} mm uncut at most")
    print(*failures, f"{passed} passed, {len(failures)} failed", sep="\n")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
