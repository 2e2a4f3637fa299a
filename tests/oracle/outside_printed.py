"""Figures from print, with their source beside each, and what the program says of the same thing."""

from math import cos, pi

from scipy.optimize import brentq

import dishes
from outside_bench import INCH
from wedge import Wedge


def bellows_in_print(bench):
    """Strikers, their strokes and their stacks."""
    # Outside span 1 1/4 in (MMD 2008.07.28.08) and inside span 7/8 in (MMD 2012.01.30.05) agree for boards of 3/16 in.
    striker = {"length": "4 7/8 in", "width": "15/16 in", "board": "3/16 in"}
    said = bench.why("bellows", span="7/8 in", span_is="inside", **striker)[0]
    bench.check("striker: span over the boards", said.get("span over the boards"), 1.25 * INCH, 0, .002 * INCH)
    # Span at most the width less 1/16 in (MMD 2012.01.30.05): such a one has room for its folds.
    room = said.get("fold room left when closed", 0.0)
    bench.check("striker: folds keep 1/16 in", float(room >= INCH / 16), 1.0)
    # The other way round: 1 1/4 over the boards leaves 7/8 between them.
    said = bench.why("bellows", span="1 1/4 in", span_is="outside", **striker)[0]
    bench.check("striker: span between the boards", said.get("span between the boards"), .875 * INCH, 0, .002 * INCH)
    # Worked by a second author: 0.876518 in.
    bench.check("striker: worked figure", said.get("span between the boards"), .876518 * INCH, 1e-6)
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


def exhausters(bench):
    """A printed rule for the cloth of an exhauster: once round the boards and an overlap.

    player-care.com, "How much cloth": boards 16 x 13, overlap 3 in, 61 in in all; or overlap a third of the width.
    The rule takes the boards at full length; open, either side panel is shorter, by L (1 - cos alpha).
    """
    boards = {"length": 16, "width": 13, "board": .75, "span": 6, "span_is": "inside"}
    # Beside it our own for the same boards opened to 6 in, worked by a second author: 60.43247 in.
    for own, printed, ours in (({"overlap": 3}, 61, 60.43247), ({}, 62.3333, 61.76580)):
        said = bench.why("bellows", **boards, **own)[0]
        length = said.get("cut length", 0.0) / INCH
        bench.check(f"exhauster {printed}: our length", length, ours, 1e-6)
        less = 2 * 16 * (1 - cos(Wedge(16, 13, .75, 6).alpha))
        bench.check(f"exhauster {printed}: by the rule", length + less, printed, 1e-6)
        full = said.get("cut length", 0.0) + 2 * (16 * INCH - said.get("height of the side panels", 0.0))
        bench.check(f"exhauster {printed}: its side panels", full / INCH, printed, 1e-6)
    # A wedge that hardly opens has the printed length.
    said = bench.why("bellows", **boards | {"span": .01}, overlap=3)[0]
    bench.check("exhauster, shut: by the rule", said.get("cut length"), 61 * INCH, 1e-6)


def motors(bench):
    """Wind motors: cloth 3 1/2 by about 9 3/4 in for an open end of 2 5/8, the cloth 1/4 short of the pivot, a
    leather of 2 by 2 3/4 over the hinge (MMD 2010.02.01.09).

    Boards are not in the letter. As wide as the leather is long; the 7/8 that the cloth is wider is then two boards'
    edges and what is trimmed; the length that the cloth asks for is worked out here from the wedge, and must be one
    that a motor has.
    """
    def strip(length):
        return 2 * (Wedge(length, 2.75, .3125, 2.625).height() - .25) + 2.75
    length = brentq(lambda one: strip(one) - 9.75, 2, 8)
    motor = {"length": length, "width": 2.75, "board": .3125, "span": 2.625, "span_is": "inside", "pivot_gap": .25}
    said = bench.why("bellows", trim=.125, clearance=.0625, **motor)[0]
    bench.check("motor: width of the cloth", said.get("width at the open end"), 3.5 * INCH, 1e-9)
    bench.check("motor: length of the cloth", said.get("cut length"), 9.75 * INCH, 1e-9)
    bench.check("motor: boards of about 4 in", length, 4, 0, .0625)
    bench.check("motor: has room to shut", float(said.get("fold room left when closed", 0.0) >= INCH / 16), 1.0)
    # Without trim the edges of thicker boards take all of it.
    said = bench.why("bellows", **motor | {"board": .4375})[0]
    bench.check("motor: 2 5/8 and 7/8", said.get("width at the open end"), (2.625 + .875) * INCH, 1e-9)


def pouches_in_print(bench):
    """Rules for pouches, and rows of holes."""
    # A square template 1/16 in larger than the pouch (R. Vance, MMD Tech, chapter 053). By the arc rule that is a dip
    # of 0.1531 in on 1 in and 0.177 in on 1 1/3 in, the leading term 8/3 h^2/d; the arc itself gives a little less.
    for well, dip, off in ((1, .1531, .0015), (4 / 3, .177, .0015)):
        said = bench.why("pouch", form="square", well=well, dip=dip, land=.25)[0]
        over = said.get("over the well, by the arc", 0.0) / INCH - well
        bench.check(f"square template over {well:.3f}: 1/16 in", over, 1 / 16, 0, off)
        bench.check(f"square template over {well:.3f}: leading term", 8 / 3 * dip**2 / well, 1 / 16, 1e-2)
        bench.check(f"square template over {well:.3f}: by quadrature", over + well, dishes.by_arc(well, dip), 1e-9)
    # 65 notes at 6 to the inch (MMD 1998.06.20.06), and 88 at 9 (MMD 1997.07.26.09), within their papers.
    for notes, to_inch, paper in ((65, 6, 11.25), (88, 9, 11.25)):
        row = [{"holes": notes, "first": [1, .5], "pitch": 1 / to_inch, "diameter": .06}]
        said = bench.part("gasket", {"length": 13, "width": 1, "row": row}, "in")[0]
        bench.check(f"{notes} notes: first to last", said.get("first centre to last"), (notes - 1) / to_inch * INCH,
            1e-9)
        bench.check(f"{notes} notes: on the paper", float(said.get("first centre to last", 1e9) < paper * INCH), 1.0)


def water(bench):
    """Newtons of a bare board at inches of water: 249.0889 Pa, conventional (NIST SP 811, appendix B)."""
    # Worked by a second author.
    for length, width, inches, newtons in ((5, 1.125, 5, 2.259875), (4.875, .9375, 20, 7.344592),
            (16, 13, 20, 334.2606)):
        boards = {"length": length, "width": width, "board": .1875, "span": width / 2, "span_is": "inside"}
        said = bench.why("bellows", vacuum=f"{inches} inH2O", **boards)[0]
        name = f"{length} x {width} at {inches} in"
        bench.check(f"{name}: pascals", said.get("pressure difference"), inches * 249.0889, 1e-7)
        bench.check(f"{name}: newtons", said.get("force at the open end, board alone"), newtons, 1e-6)


ROUNDS = (bellows_in_print, exhausters, motors, pouches_in_print, water)
