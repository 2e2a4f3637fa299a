"""Tries the comparisons themselves: right work must pass, and each slip must be found.

    python selftest.py

Ends with ``N passed, N failed``; the exit status is 1 where something failed.
"""

import math
import random
import sys
import tempfile
from pathlib import Path

import numpy as np
import svgelements
import svgpathtools
from shapely.geometry import Polygon

import cut_simulation
import dishes
import drawings
import mock_lay
import outside_printed
import outside_soft
import outside_values
import outside_wedges
import selftest_jobs
import selftest_programs
import selftest_shapes
from fall_out import fall_out
from jobs import numbers, table
from lengths import NotALength, angle, length, share, spare_count, spares
from shapes import circle
from trials import RESULTS, check, near
from wanted import Pose
from wanted_holes import stations
from wedge import Wedge

def try_lengths():
    """Lengths, spares, positions and tables as they are written."""
    for text, mm in (
        ("1 1/4 in", 31.75), ("#60 drill", 1.016), ("12 thou", .3048), ("3 oz", 1.190625), ("1 1/2 yd", 1371.6),
        ("5' 6 1/2\"", 1689.1), ("31.75 mm", 31.75), ("5/64 in", 1.984375), ("F drill", 6.5278), (".038 in", .9652),
        ("#1 drill", 5.7912), ("#80 drill", .3429), ("#52 drill", 1.6129),
    ):
        near(text, length(text), mm, 1e-12)
    near("a bare number", length("2", "in"), 50.8, 1e-12)
    for text in ("", "1 in 2", "inch", "#81 drill", "1 mil", "A"):
        try:
            length(text)
            check(f"{text!r} is refused", False)
        except NotALength:
            check(f"{text!r} is refused", True)
    near("share", share("2 %"), .02, 1e-12)
    for text, degrees in (("45 deg", 45), ("22 1/2°", 22.5), ("-30.5 °", -30.5), ("67.5deg", 67.5)):
        near(text, angle(text), degrees, 1e-12)
    for text, wanted, count in (
        ("1 in 20, at least 1", 54, 3), ("1 in 20, at least 1", 1, 1), ("none", 54, 0), ("2", 50, 2), ("5 %", 88, 5),
        ("1 in 10", 54, 6), ("at least 2", 9, 2), ("1 in 20", 20, 1), ("1 in 20", 21, 2),
    ):
        check(f"spares {text} of {wanted}", spare_count(spares(text), wanted) == count)
    check("positions", numbers("1-3, 7", 9) == [1, 2, 3, 7] and numbers("all", 3) == [1, 2, 3])
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "t.csv"
        path.write_text("# by hand\nposition;seat (mm);land\n12;13.1;\n40;;1/8 in\n", encoding="utf-8")
        check("table", table(path) == {12: {"seat": ("13.1", "mm")}, 40: {"land": ("1/8 in", None)}})
    row = {"holes": 5, "pitch": 2.0, "break": [{"after": 2, "add": 1.0}]}
    check("a row with a break", stations(row) == [0, 2, 5, 7, 9])


def try_sums():
    """Dishes and wedges against figures worked by a second author."""
    for d, h, area, arc in ((1, .125, 1.030776, 1.041159), (32, 3, 32.55764, 32.74480), (1, .25, 1.118034, 1.159119)):
        near(f"area {d} {h}", dishes.by_area(d, h), area)
        near(f"arc {d} {h}", dishes.by_arc(d, h), arc)
    near("half a ball", dishes.by_arc(2, 1), math.pi, 1e-9)
    for d, h, nose, s in ((1, .125, .125, 1.031416), (1, .125, .5, 1.033794), (32, 3, 10, 32.58087)):
        near(f"ball {nose}", dishes.by_ball(d, h, nose), s)
    near("lifter", dishes.by_lifter(1, .125, .5), 1.059017)
    for given, outside, gap, alpha in (
        ((5, 1, .1, 1.25), False, 0, 7.180756), ((16, 13, .75, 7), True, 0, 9.937762),
        ((16, 13, .75, 6), False, .125, 10.58303), ((16, 13, .75, 7.5), True, .125, 10.62995),
    ):
        near(f"wedge {given}", math.degrees(Wedge(*given, outside, gap).alpha), alpha)
    wedge = Wedge(16, 13, .75, 6)
    near("height", wedge.height(), 15.71623)
    for kind, reach in (("side", 2.481511), ("end", 2.946794)):
        near(f"tuck {kind}", wedge.tuck(kind), 2.481511)
        near(f"reach {kind}", wedge.shut(wedge.tuck(kind), kind)["reach"], reach)
    near("saved", Polygon(wedge.blank(3)).area - Polygon(wedge.blank(3, 0, True)).area, 190.2974)
    check("a wrong fold does not close", abs(wedge.shut(2.4, "side")["miss"]) > 1e-3)


def try_arcs():
    """Arcs of a path against two other readers of paths."""
    chance = random.Random(7)
    for _ in range(40):
        ax, ay, bx, by = (round(chance.uniform(-50, 50), 4) for _ in range(4))
        radius = round(math.hypot(bx - ax, by - ay) * chance.uniform(.51, 3), 6)
        large, sweep = chance.randint(0, 1), chance.randint(0, 1)
        d = f"M{ax} {ay} A{radius} {radius} 0 {large} {sweep} {bx} {by}"
        points = drawings.path_lines(d)[0][0]
        other = svgpathtools.parse_path(d)[0]
        middle = len(points) // 2
        far = abs(complex(*points[middle]) - other.center)
        off = min(abs(complex(*points[middle]) - other.point(t)) for t in np.linspace(0, 1, 4001))
        check(f"arc {d}: {off}", off < radius * 2 * math.pi / 4000 and abs(far - radius) < 1e-5)
        length_here = float(np.hypot(*np.diff(points, axis=0).T).sum())
        near(f"length of {d}", length_here, float(svgelements.Path(d).length()), 2e-4)
    half = drawings.bulge_arc((1, 0), (-1, 0), 1.0)
    check("a bulge of 1 is half a turn to the left", abs(half[:, 1].max() - 1) < 1e-3 and half[:, 1].min() > -1e-9)
    square = drawings.path_lines("M0 0 H10 V10 H0 Z m20 0 l5 0 l0 5 z")
    check("two subpaths", [len(points) for points, _ in square] == [4, 3] and all(closed for _, closed in square))
    check("a small m after z", tuple(square[1][0][0]) == (20, 0))
    try:
        drawings.path_lines("M0 0 S1 1 2 2")
        check("an unknown command is refused", False)
    except drawings.Unread:
        check("an unknown command is refused", True)


def try_kerf():
    """A plate under an uneven spot, its cut drawn by hand."""
    kx, ky = .3, .1
    turn = np.radians(np.linspace(0, 90, 200))
    corner = np.column_stack([kx / 2 * np.cos(turn), ky / 2 * np.sin(turn)])
    quarters = [corner + (40, 20), corner[::-1] * (-1, 1) + (0, 20), -corner, corner[::-1] * (1, -1) + (40, 0)]
    line = drawings.Line("EDGES", np.vstack(quarters), True)
    sheet = Polygon([(-50, -50), (90, -50), (90, 70), (-50, 70)])
    want = Polygon([(0, 0), (40, 0), (40, 20), (0, 20)])
    for kerf, good in (((kx, ky), True), ((ky, kx), False), ((kx, kx), False), ((0, 0), False)):
        fallen, waste, faults, _ = fall_out([line], sheet, kerf)
        off = fallen[0].shape.symmetric_difference(want).area
        check(f"kerf {kerf}: off by {off}, {faults}", (off < .02) == good and len(fallen) == 1)
        near(f"waste with {kerf}", sheet.area - waste.area, fallen[0].shape.area + 120 * sum(kerf) / 2, 2e-2)


def try_stretch():
    """A disk and a plate with uneven stretch on a slanted grain."""
    pose = Pose(5, 7, 33, False, 20, (.02, .05))
    ring = pose.on(circle(0, 0, 10)) - (5, 7)
    reach = np.hypot(*ring.T)
    longest = ring[reach.argmax()]
    near("along the grain", reach.max(), 10 / 1.02)
    near("across the grain", reach.min(), 10 / 1.05, 1e-4)
    near("its direction", math.degrees(math.atan2(longest[1], longest[0])) % 180, 20, 2e-2)
    upright = Pose(0, 0, 110, False, 20, (.02, .05)).on(np.array([(0, 0), (10, 0), (10, 4)]), .5)
    near("length across the grain", float(np.hypot(*(upright[1] - upright[0]))), 10 / 1.05, 1e-9)
    near("trim is not stretched", float(np.hypot(*(upright[2] - upright[1]))), 4 / 1.02 + .5, 1e-9)


def try_lay():
    """The hand-made lay passes, and every slip in it is found."""
    for slip in [None, mock_lay.WINDOWS, *mock_lay.SLIPS, *mock_lay.WINDOW_SLIPS]:
        with tempfile.TemporaryDirectory() as folder:
            lay = mock_lay.write(Path(folder) / "job", slip)
            said = []
            tally = cut_simulation.simulate(Path(folder) / "job", lay, say=said.append)
        if slip in (None, mock_lay.WINDOWS):
            check(f"the right lay passes: {tally.failures}", not tally.failures and tally.passed > 100)
        else:
            check(f"found: {slip}", bool(tally.failures))
            # One slip in one file kind only would be half a test; slips of the lay itself have no file.
            kinds = {ending for ending in ("svg", "dxf") if any(f"-laser.{ending}" in w for w in tally.failures)}
            alone = {"over the edge": set(), "on the flaw": set()}
            alone |= {"two windows, overlapping": set(), "two windows, piece across": set()}
            check(f"found in {kinds}: {slip}", kinds == alone.get(slip, {"svg", "dxf"}))


FAULTS = [
    "area for arc", "one land", "height is length", "whole angle", "misfit by tangent", "rounded inch", "drill list",
]


def stand_in(folder, fault):
    """A program that answers like the one under test."""
    path = Path(folder) / "stand-in"
    script = Path(__file__).resolve().parent / "stand_in.py"
    path.write_text(f"#!/bin/sh\nexec '{sys.executable}' '{script}' '{fault}' \"$@\"\n", encoding="utf-8")
    path.chmod(0o755)
    return path


def try_outside_values():
    """The outside values pass on closed forms and find each slip."""
    rounds = {
        "area for arc": outside_soft.pouches, "one land": outside_soft.pouches,
        "rounded inch": outside_values.other_units, "drill list": outside_values.published_units,
    }
    known = (outside_values.published_units, outside_values.other_units, outside_soft.pouches, *outside_wedges.ROUNDS,
        outside_printed.bellows_in_print)
    with tempfile.TemporaryDirectory() as folder:
        bench = outside_values.Bench(stand_in(folder, "none"))
        for one in known:
            one(bench)
        check(f"closed forms pass: {bench.failures[:3]}", not bench.failures and bench.passed >= 60)
        for fault in FAULTS:
            bench = outside_values.Bench(stand_in(folder, fault))
            rounds.get(fault, outside_wedges.wedges)(bench)
            check(f"found: {fault}", bool(bench.failures))


def main():
    """Runs every trial."""
    own = (try_lengths, try_sums, try_arcs, try_kerf, try_stretch, try_lay, try_outside_values)
    for one in (*own, *selftest_shapes.TRIALS, *selftest_jobs.TRIALS, *selftest_programs.TRIALS):
        one()
    print(f"{RESULTS['passed']} passed, {RESULTS['failed']} failed")
    return 1 if RESULTS["failed"] else 0


if __name__ == "__main__":
    sys.exit(main())
