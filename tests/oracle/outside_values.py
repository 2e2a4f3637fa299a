"""Compares what the program says with published figures and with figures worked out another way.

    python outside_values.py BINARY

Runs ``BINARY measure TEXT --json`` and ``BINARY why PART --json -C JOBDIR`` on small jobs in a folder of its own.
Prints what differs and ends with ``N passed, N failed``; the exit status is 1 where something failed.
"""

import json
import subprocess
import sys
import tempfile
from math import degrees, hypot, pi
from pathlib import Path

import numpy as np
import pint
from shapely.geometry import Polygon

import dishes
from lengths import LETTER_DRILLS, NUMBER_DRILLS
from wedge import Wedge

INCH = 25.4
MACHINE = """[machine]
name = "bench knife"
process = "knife"
width = "3000 mm"
depth = "3000 mm"
margin = "5 mm"
smallest-hole = "3 mm"
source = "assumed: for trial"
"""
MATERIAL = """[material]
name = "trial felt"
sort = "felt"
thickness = "1 mm"
source = "assumed: for trial"

[[cut]]
on = "knife"
kerf = "0 mm"
gap = "1 mm"
edge = "5 mm"
least-web = "1 mm"
source = "assumed"
"""


class Bench:
    """Runs the program and counts."""

    def __init__(self, binary):
        self.binary = str(binary)
        self.passed, self.failures = 0, []

    def check(self, words, got, want, relative=1e-5, absolute=0.0):
        """Counts one comparison."""
        good = got is not None and abs(got - want) <= max(relative * abs(want), absolute)
        if good:
            self.passed += 1
        else:
            self.failures.append(f"{words}: got {got}, want {want}")

    def answer(self, *arguments):
        """The JSON that the program prints, or None."""
        run = subprocess.run([self.binary, *arguments, "--json"], capture_output=True, text=True, timeout=60)
        try:
            return json.loads(run.stdout)
        except ValueError:
            self.failures.append(f"{' '.join(arguments)}: no JSON (exit {run.returncode}): {run.stderr.strip()[:200]}")
            return None

    def measure(self, text):
        """Millimetres of a text."""
        answer = self.answer("measure", text)
        if answer is not None and answer.get("schema") != "pouchwork/measure/1":
            self.failures.append(f"measure {text}: schema {answer.get('schema')}")
        return None if answer is None else answer.get("mm")

    def why(self, kind, unit="in", tables="", **measures):
        """The worked sums of a part with these measures: one dictionary of label and value for each piece."""
        with tempfile.TemporaryDirectory(prefix="outside-values-") as folder:
            write_job(Path(folder), kind, unit, tables, measures)
            answer = self.answer("why", "it", "-C", folder)
        if answer is None:
            return [{}]
        if answer.get("schema") != "pouchwork/why/1":
            self.failures.append(f"why {kind}: schema {answer.get('schema')}")
        found = []
        for piece in answer.get("pieces", []):
            found.append({"address": piece["address"]} | {term["label"]: term["value"] for term in piece["terms"]})
        if not found:
            self.failures.append(f"why {kind} {measures}: no piece: {answer.get('messages')}")
        return found or [{}]


def write_job(folder, kind, unit, tables, measures):
    """A job of one part called ``it``."""
    (folder / "machines").mkdir()
    (folder / "materials").mkdir()
    (folder / "machines" / "trial-knife.toml").write_text(MACHINE, encoding="utf-8")
    (folder / "materials" / "trial-felt.toml").write_text(MATERIAL, encoding="utf-8")
    lines = ["[job]", 'title = "trial"', f'unit = "{unit}"', "", "[machines]", 'knife = "trial-knife"', ""]
    lines += ["[[leaf]]", 'id = "F-1"', 'material = "trial-felt"', 'width = "2 m"', 'length = "2 m"', ""]
    lines += ["[[part]]", 'name = "it"', f'kind = "{kind}"', "count = 1"]
    lines += ['material = "trial-felt"', 'cut-with = "knife"']
    for key, value in measures.items():
        words = value if isinstance(value, str) else f"{value} {unit}"
        lines.append(f'{key.replace("_", "-")} = "{words}"')
    (folder / "job.toml").write_text("\n".join(lines) + "\n" + tables, encoding="utf-8")


def published_units(bench):
    """Units and drills against their standards."""
    # NIST SP 811 (2008), appendix B: inch, foot, yard, exact. Leather ounce 1/64 in: common practice.
    for text, mm in (
        ("1 in", 25.4), ("1 ft", 304.8), ("1 yd", 914.4), ("1 thou", 0.0254),
        ("1 oz", 0.396875), ("3 oz", 1.190625), ("1/64 in", 0.396875),
        ("9/64 in", 3.571875), ("5/32 in", 3.96875), ("3/16 in", 4.7625),
    ):
        bench.check(f"measure {text}", bench.measure(text), mm, 1e-12)
    # ASME B94.11M, inch sizes of twist drills; #68 and #64 also in MMD 1997.02.28.14.
    for number, inch in (
        (80, .0135), (70, .0280), (68, .0310), (64, .0360), (60, .0400), (52, .0635), (42, .0935), (30, .1285),
        (28, .1405), (20, .1610), (10, .1935), (1, .2280),
    ):
        bench.check(f"measure #{number} drill", bench.measure(f"#{number} drill"), inch * INCH, 1e-9)
    for letter, inch in (("A", .234), ("E", .250), ("F", .257), ("Z", .413)):
        bench.check(f"measure {letter} drill", bench.measure(f"{letter} drill"), inch * INCH, 1e-9)


def other_units(bench):
    """The same by pint, and the whole drill list by the list kept here."""
    units = pint.UnitRegistry()
    for text, expression in (
        ("1 1/4 in", "1.25 inch"), ("2 3/8 in", "2.375 inch"), ("0.038 in", "0.038 inch"), ("12 thou", "12 thou"),
        ("31.75 mm", "31.75 mm"), ("2.5 cm", "2.5 cm"), ("0.75 m", "0.75 m"), ("1 1/2 yd", "1.5 yard"),
        ("5 ft 6 1/2 in", "66.5 inch"), ("54 in", "1.5 yard"), ("15/16 in", "0.9375 inch"),
    ):
        bench.check(f"measure {text}", bench.measure(text), units(expression).to("mm").magnitude, 1e-12)
    for number in range(2, 80, 7):
        want = NUMBER_DRILLS[number - 1] / 1000 * INCH
        bench.check(f"measure #{number} drill", bench.measure(f"#{number} drill"), want, 1e-9)
    for letter in "BGLQV":
        want = LETTER_DRILLS[ord(letter) - ord("A")] / 1000 * INCH
        bench.check(f"measure {letter} drill", bench.measure(f"{letter} drill"), want, 1e-9)


STEPS = {
    "arc": "over the well, by the arc",
    "area": "over the well, equal area",
    "ball": "over the well, under a round nose",
    "lifter": "over the well, flat lifter",
}


def pouches(bench):
    """Every rule on a few wells, by quadrature; and the worked figures in inches and millimetres."""
    for unit, d, h, land in (
        ("in", 1, .125, .1875), ("in", 1.25, .125, .1875), ("in", 1.5, .125, .25), ("in", .875, .0625, .125),
        ("in", 1, .09375, .125), ("mm", 32, 3, 5), ("mm", 20, 2.5, 4), ("mm", 28.3, 2.38125, 4.5),
    ):
        scale = INCH if unit == "in" else 1.0
        nose, lifter = d / 2, d * .5625
        for rule, extra in (("arc", {}), ("area", {}), ("ball", {"nose": nose}), ("lifter", {"lifter": lifter})):
            said = bench.why("pouch", unit, well=d, dip=h, land=land, rule=rule, depth=2 * h, **extra)[0]
            free = dishes.free_diameter(rule, d, h, nose, lifter) * scale
            name = f"pouch {rule} d {d} h {h} {unit}"
            bench.check(f"{name}: {STEPS[rule]}", said.get(STEPS[rule]), free, 1e-9)
            bench.check(f"{name}: cut diameter", said.get("cut diameter"), free + 2 * land * scale, 1e-9)
            bench.check(f"{name}: gathered", said.get("rim to be gathered"), 100 * (free / d / scale - 1), 1e-7)
            rules = {one: dishes.free_diameter(one, d, h, nose, lifter) * scale for one in ("arc", "area", "lifter")}
            for label, one in (("by equal area it would be", "area"), ("by the arc it would be", "arc")):
                bench.check(f"{name}: {label}", said.get(label), rules[one] + 2 * land * scale, 1e-9)
    # Worked by a second author with f64 arithmetic; cut diameters in inches, land 3/16.
    for rule, inch in (("arc", 1.41616), ("area", 1.40578)):
        said = bench.why("pouch", well="1 in", dip="1/8 in", land="3/16 in", rule=rule)[0]
        bench.check(f"pouch {rule}: worked figure", said.get("cut diameter"), inch * INCH)
    # Pouch of 1 in dished 1/8 in under a skin of .009 in in a well 5/32 deep; clearance rule as in MMD 1999.05.31.07.
    well = {"well": "1 in", "dip": "1/8 in", "land": "1/8 in"}
    said = bench.why("pouch", depth="5/32 in", leather="9 thou", pitch="1 1/2 in", **well)[0]
    bench.check("pouch: clearance", said.get("clearance at the bottom"), (5 / 32 - 1 / 8 - .009) * INCH, 1e-9)
    bench.check("pouch: room to the next", said.get("room to the next, dished"), .25 * INCH, 1e-9)


def facings(bench):
    """Both leathers of a valve."""
    outer, inner = (bench.why("facing", seat="1/2 in", land="1/8 in", stem="9/64 in", inner_land="3/32 in") + [{}])[:2]
    bench.check("facing: outer", outer.get("cut diameter"), .75 * INCH, 1e-12)
    bench.check("facing: inner", inner.get("cut diameter"), .6875 * INCH, 1e-12)
    bench.check("facing: stem hole", outer.get("hole"), 3.571875, 1e-12)
    names = [piece.get("address") for piece in (outer, inner)]
    bench.check(f"facing: addresses {names}", float(names == ["it:1/outer", "it:1/inner"]), 1.0)


def gaskets(bench):
    """Rows of holes and hinges."""
    # 88 holes at 9 to the inch (MMD 1997.07.26.09): first to last 87/9 in, within the 10 in of MMD 2004.12.18.03.
    row = '[[part.row]]\nholes = 88\nfirst = ["1/2 in", "1/2 in"]\npitch = "1/9 in"\ndiameter = "1/16 in"\n'
    said = bench.why("gasket", tables=row, length="11 in", width="1 in")[0]
    bench.check("row of 88: first to last", said.get("first centre to last"), 87 / 9 * INCH, 1e-9)
    bench.check("row of 88: web", said.get("thinnest web"), (1 / 9 - 1 / 16) * INCH, 1e-7)
    said = bench.why("hinge", length="15/16 in", leaf="3/8 in", gap="1/32 in")[0]
    bench.check("hinge: width", said.get("cut width"), (.75 + 1 / 32) * INCH, 1e-12)
    bench.check("hinge: crease", said.get("crease from the edge"), .375 * INCH, 1e-9)


# Length, width, board, span, whether outside, gap, tuck, form, trim, unit.
WEDGES = [
    (5, 1.75, .1875, 1.25, False, 0, "side", "taper", .25, "in"),
    (4.875, .9375, .1875, .875, False, 0, "side", "strip", .25, "in"),
    (4.875, 1.5, .1875, 1.25, True, 0, "end", "taper", .125, "in"),
    (16, 13, .75, 6, False, 0, "side", "taper", .5, "in"),
    (16, 13, .75, 7.5, True, .125, "end", "taper", .5, "in"),
    (5, 2, .25, 1.25, False, .03, "end", "taper", .125, "in"),
    (150, 45, 6, 40, False, 0, "side", "taper", 6, "mm"),
    (123.5, 23.8125, 4.7625, 21, False, .508, "side", "taper", 3.175, "mm"),
]


def wedges(bench):
    """Bellows against the wedge built in space, unfolded and folded shut."""
    for length, width, board, span, outside, gap, tuck, form, trim, unit in WEDGES:
        scale = INCH if unit == "in" else 1.0
        given = {"length": length, "width": width, "board": board, "span": span}
        given |= {"trim": trim, "tuck": tuck, "form": form}
        if gap:
            given["hinge-gap"] = gap
        said = bench.why("bellows", unit, span_is="outside" if outside else "inside", clearance=width / 100, **given)[0]
        name = f"bellows {length} x {width} span {span} {unit}"
        wedge = Wedge(length * scale, width * scale, board * scale, span * scale, outside, gap * scale)
        one_wedge(bench, name, said, wedge, trim * scale, form, tuck)


def one_wedge(bench, name, said, wedge, trim, form, tuck):
    """All figures of one bellows."""
    overlap = wedge.width / 3
    blank = Polygon(wedge.blank(overlap, trim, form == "taper"))
    x0, y0, x1, y1 = blank.bounds
    corners = [p for p in blank.exterior.coords if abs(p[0] - x1) < 1e-9]
    wanted = {
        "half opening angle": degrees(wedge.alpha),
        "span between the boards": wedge.span(),
        "span over the boards": wedge.span(True),
        "height of the side panels": wedge.height(),
        "cut length": x1 - x0,
        "width at the open end": y1 - y0,
        "corner fold meets the centre line at": wedge.tuck(tuck),
        "fold room left when closed": wedge.room(tuck),
        "glue margin, surplus at the open corners": wedge.margin_misfit(),
        "glue margin, lack at the hinge corners": wedge.margin_misfit(),
    }
    if form == "taper":
        wanted["width at the hinge end"] = max(p[1] for p in corners) - min(p[1] for p in corners)
        wanted["saved by the taper"] = Polygon(wedge.blank(overlap, trim, False)).area - blank.area
    for label, value in wanted.items():
        bench.check(f"{name}: {label}", said.get(label), value, 1e-9, 1e-8)
    flat_on_boards(bench, name, said, wedge)
    shut = wedge.shut(said.get("corner fold meets the centre line at", 0.0), tuck)
    bench.check(f"{name}: the end folds shut onto the board's edge", float(shut["miss"]), 0.0, 0.0, 1e-9)
    bench.check(f"{name}: the end lies square", float(shut["far"][1]), 1.0, 1e-9)
    bench.check(f"{name}: the end's fold goes in by half the span", shut["end"], wedge.span() / 2, 1e-9)


def flat_on_boards(bench, name, said, wedge):
    """The panels as the program has them in the flat keep their edges when they stand on the open boards."""
    height, opened = said.get("height of the side panels", 0.0), said.get("span between the boards", 0.0)
    p = wedge.arrises()
    def apart(a, b):
        return float(np.linalg.norm(p[a] - p[b]))
    hinge = wedge.hinge_opening()
    edges = (
        ("side panel along the board", ("hinge", 1, 1), ("open", 1, 1), hypot(height, (opened - hinge) / 2)),
        ("corner line", ("open", 1, 1), ("open", -1, 1), opened),
        ("diagonal of the side panel", ("hinge", -1, 1), ("open", 1, 1), hypot(height, (opened + hinge) / 2)),
        ("diagonal of the end", ("open", 1, 1), ("open", -1, -1), hypot(opened, wedge.width)),
    )
    for words, a, b, flat in edges:
        bench.check(f"{name}: {words}", flat, apart(a, b), 1e-9, 1e-9)


def published_bellows(bench):
    """Bellows figures from print."""
    # Outside span 1 1/4 in (MMD 2008.07.28.08) and inside span 7/8 in (MMD 2012.01.30.05) agree for boards of 3/16 in.
    striker = {"length": "4 7/8 in", "width": "15/16 in", "board": "3/16 in"}
    said = bench.why("bellows", span="7/8 in", span_is="inside", **striker)[0]
    bench.check("striker: span over the boards", said.get("span over the boards"), 1.25 * INCH, 0, .002 * INCH)
    # Span at most the width less 1/16 in (MMD 2012.01.30.05): such a one has room for its folds.
    room = said.get("fold room left when closed", 0.0)
    bench.check("striker: folds keep 1/16 in", float(room >= INCH / 16), 1.0)
    # A published exhauster rule: boards 16 x 13, overlap 3: 61 in of cloth, boards taken at full length
    # (player-care.com, "How much cloth").
    said = bench.why("bellows", length=16, width=13, board=.75, span=6, span_is="inside", overlap=3)[0]
    full = said.get("cut length", 0.0) + 2 * (16 * INCH - said.get("height of the side panels", 0.0))
    bench.check("exhauster: length by the rule", full, 61 * INCH, 1e-9)
    # Strokes, rest and closed span given between the boards; by the wedge at each span.
    for length, finger, rest, closed in ((5, 6, 1.1875, .06), (4.875, 6.5, .8125, .0625)):
        boards = {"length": length, "width": 3, "board": .1875, "span": 1.25, "span_is": "inside"}
        said = bench.why("bellows", rest=rest, closed=closed, finger=finger, **boards)[0]
        angles = [Wedge(length, 3, .1875, one).alpha for one in (rest, closed)]
        want = Wedge(length, 3, .1875, 1.25).stroke(finger, *angles) * INCH
        bench.check(f"stroke at the finger, {length} in", said.get("stroke at the finger"), want, 1e-9)
    # Six layers lie over the tuck: each at the distance L (1 - sin) from the hinge where the stack begins.
    said = bench.why("bellows", length=5, width=1.5, board=.1875, span=1.25, span_is="inside", cloth=".010 in")[0]
    wedge = Wedge(5, 1.5, .1875, 1.25)
    inner = wedge.length - wedge.span() / 2
    bench.check("closed stack", said.get("closed stack, least span"), 6 * .010 * INCH * wedge.length / inner, 1e-9)
    bench.check("round four corners", said.get("longer round four corners of thick cloth"), pi * .010 * INCH, 1e-9)


# Worked by a second author with f64 arithmetic, six figures: length, width, board, span and unit, then label and value.
WORKED = [
    (5, 3, .25, 1.25, "in", {"half opening angle": 7.180756, "height of the side panels": 4.960784}),
    (5, 3, .25, 1.25, "in", {"corner fold meets the centre line at": .551198}),
    (16, 13, .75, 6, "in", {"half opening angle": 10.80692, "height of the side panels": 15.71623}),
    (16, 13, .75, 6, "in", {"span over the boards": 7.473397, "corner fold meets the centre line at": 2.481511}),
    (4.875, .9375, .1875, .875, "in", {"span over the boards": 1.248487, "fold room left when closed": .137799}),
    (5, 3, .25, 1, "in", {"span over the boards": 1.49749}),
    (150, 45, 6, 40, "mm", {"height of the side panels": 148.6607, "fold room left when closed": 10.02101}),
    (5, 1.125, .1875, 1.25, "in", {"cut length": 12.5466, "fold room left when closed": .0226036}),
]


def worked_bellows(bench):
    """The worked figures of a few wedges."""
    for length, width, board, span, unit, wanted in WORKED:
        said = bench.why(
            "bellows", unit, length=length, width=width, board=board, span=span, span_is="inside", clearance=width / 100
        )[0]
        for label, value in wanted.items():
            scale = 1.0 if "angle" in label or unit == "mm" else INCH
            bench.check(f"bellows {length} x {width} span {span} {unit}: {label}", said.get(label), value * scale)


ROUNDS = (published_units, other_units, pouches, facings, gaskets, wedges, worked_bellows, published_bellows)


def main(arguments):
    """The command line."""
    if len(arguments) != 1:
        sys.exit(__doc__)
    bench = Bench(Path(arguments[0]).absolute())
    for one in ROUNDS:
        one(bench)
    for words in bench.failures:
        print(f"FAILED {words}")
    print(f"{bench.passed} passed, {len(bench.failures)} failed")
    return 1 if bench.failures or bench.passed < 60 else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
