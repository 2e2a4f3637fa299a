"""Tries the reading of programs and the drawing of a blade against figures that are known without them."""

import math
import random

import numpy as np
from shapely.geometry import Polygon

import knife_tip
import rs274
from blade_trail import drawn
from trials import check, near

HEAD = "( pouchwork manifest 1 )\nG21\nG90\nG94\nG17\nG40\nM5 S0\n( stroke 1 EDGES pass 1 )\n( contour )\n"
SQUARE = "G0 X0 Y0\nM3 S500\nG1 X10 Y0 F600\nG1 X10 Y10\nG1 X0 Y10\nG1 X0 Y0\nM5 S0\nM2\n"
# What a machine refuses, and a word of why.
REFUSED = (
    ("G1 X10 Y10", "G1 X10 Y10 A1", "not known"), ("G1 X10 Y10", "G38 X10 Y10", "not known"),
    ("G1 X10 Y10", "G0 X10 Y10", "beam lit"), ("M5 S0\nM2", "M2", "beam on"), ("M2\n", "", "does not end"),
    ("G1 X10 Y10", "G2 X10 Y10 I0 J5.0021", "two radii"), ("G1 X10 Y10", "G4 P1\nG1 X10 Y10", "stands still"),
    ("M3 S500", "M3 S500\nM5 S0", "does not move"), ("G1 X10 Y10", "G1 X10 Y0", "no length"), (" F600", "", "without a feed"),
    ("M2\n", "M2\nG0 X0 Y0\n", "after the end"), ("G21\n", "", "before"), ("G1 X10 Y10", "X10 Y10", "without a word"),
    ("G1 X10 Y10", f"( {'a' * 260} )", "longer"),
)


def try_words():
    """A square is read whole, and each slip in it refused; two half turns make a circle."""
    right = HEAD + SQUARE
    program = rs274.read(right)
    check(f"the square is taken: {program.faults}", not program.faults and len(program.moves) == 5)
    near("way of the square", sum(move.length() for move in program.moves), 40, 1e-12)
    for old, new, words in REFUSED:
        faults = rs274.read(right.replace(old, new, 1)).faults
        check(f"{new!r}: {words}, not {faults}", any(words in fault for fault in faults))
    # Two radii may differ by 0.002 mm (NIST IR 6556, 3.5.3).
    faults = rs274.read(right.replace("G1 X10 Y10", "G2 X10 Y10 I0 J5.0009", 1)).faults
    check(f"two radii within 0.002 mm: {faults}", not faults)
    ring = "G0 X3 Y0\nM3 S500\nG3 X-3 Y0 I-3 J0 F600\nG3 X3 Y0 I3 J0\nM5 S0\nM2\n"
    moves = [move for move in rs274.read(HEAD + ring).moves if move.kind]
    area = Polygon(np.vstack([move.points()[1:] for move in moves])).area
    near("area of a circle", area, 9 * math.pi, 5e-3)
    near("way round it", sum(move.length() for move in moves), 6 * math.pi, 1e-12)
    whole = rs274.read(HEAD + ring.replace("G3 X-3 Y0 I-3 J0 F600\nG3 X3 Y0 I3 J0", "G2 X3 Y0 I-3 J0 F600"))
    near("a whole turn in one", whole.moves[1].sweep, -2 * math.pi, 1e-12)
    blade = HEAD.replace("M5 S0", "G0 Z5") + "G0 X0 Y0\nG1 Z-1 F600\nG1 X10 Y0\nG0 Z5\nM2\n"
    check("a blade is taken", not rs274.read(blade).faults)
    for old, new, words in (("G0 Z5\nM2", "M2", "blade down"), ("G0 Z5\nM2", "G0 X0 Y5\nG0 Z5\nM2", "blade down"),
                            ("G1 Z-1 F600", "G0 Z-1", "falls"), ("G1 X10 Y0", "G1 X10 Y0 Z-2", "aslant")):
        faults = rs274.read(blade.replace(old, new, 1)).faults
        check(f"{new!r}: {words}, not {faults}", any(words in fault for fault in faults))


def move(a, b, centre=None, sweep=0.0):
    """One motion."""
    kind = 1 if centre is None else 3 if sweep > 0 else 2
    middle = None if centre is None else np.array(centre)
    return rs274.Move(kind, np.array(a), np.array(b), 0, "contour", centre=middle, sweep=sweep)


def try_blade():
    """Lockwood, A Book of Curves, 1961: the tractrix of a line; arcs against small steps of the bare rule."""
    d = 0.25
    # tan of half the angle falls by e in each offset of way: down to one degree.
    for astray, offsets in ((30, 3.42), (90, 4.74), (150, 6.06), (179, 9.48)):
        _, after = drawn(move((0.0, 0.0), (offsets * d, 0.0)), d, np.radians([astray]))
        near(f"astray {astray}", math.degrees(after[0]), 1.0, 1e-2)
    # An even circle of the pivot: the tip's is smaller, r² = R² - d².
    for radius in (10.0, 1.0, 0.5):
        headings = np.radians([90.0])
        for _ in range(16):
            tips, headings = drawn(move((radius, 0.0), (radius, 0.0), (0.0, 0.0), math.tau), d, headings)
        near(f"a circle of {radius}", math.hypot(*tips[-1, 0]), math.sqrt(radius**2 - d**2), 1e-9)
    # The pivot round the tip: the tip stands still.
    tips, after = drawn(move((d, 0.0), (0.0, d), (0.0, 0.0), math.pi / 2), d, np.array([0.0]))
    check("the tip of a turn stands", np.abs(tips).max() < 1e-12)
    near("its heading", math.degrees(after[0]), 90, 1e-9)
    chance = random.Random(7)
    for n in range(12):
        # Wider than the offset, as wide, and tighter.
        radius = d * (chance.uniform(1.2, 20), 1.0, chance.uniform(0.3, 0.9))[n % 3]
        sweep, first = chance.uniform(-3, 3), chance.uniform(-170, 170)
        end = (radius * math.cos(sweep), radius * math.sin(sweep))
        tips, _ = drawn(move((radius, 0.0), end, (0.0, 0.0), sweep), d, np.radians([first]))
        arc = knife_tip.Arc((radius, 0.0), end, math.tan(sweep / 4))
        way, _ = knife_tip.follow(knife_tip.Cut(d, (radius, 0.0), [("contour", arc)]), first)
        away = math.dist(tips[-1, 0], way[-1][1])
        check(f"arc {n}: {away} mm from small steps", away < 2e-5)


TRIALS = (try_words, try_blade)
