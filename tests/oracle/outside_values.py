"""Compares what the program says with published figures and with figures worked out another way.

    python outside_values.py BINARY

Runs ``BINARY measure TEXT --json`` and ``BINARY why PART --json -C JOBDIR`` on small jobs in a folder of its own.
Prints what differs and ends with ``N passed, N failed``; the exit status is 1 where something failed.

Lengths are tried here; the kinds of part in ``outside_soft``, ``outside_small``, ``outside_plates``, ``outside_wedges``
and ``outside_bellows``; what is in print in ``outside_printed``.
"""

import sys
from pathlib import Path

import pint

import outside_bellows
import outside_plates
import outside_printed
import outside_small
import outside_soft
import outside_wedges
from lengths import LETTER_DRILLS, NUMBER_DRILLS
from outside_bench import INCH, Bench


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


ROOMS = (outside_soft, outside_small, outside_plates, outside_wedges, outside_bellows, outside_printed)
ROUNDS = (published_units, other_units, *(one for room in ROOMS for one in room.ROUNDS))
# The least that each round compares: a round that finds nothing to say has failed.
LEAST = 5


def main(arguments):
    """The command line."""
    if len(arguments) != 1:
        sys.exit(__doc__)
    bench = Bench(Path(arguments[0]).absolute())
    for one in ROUNDS:
        before = bench.passed + len(bench.failures)
        one(bench)
        if bench.passed + len(bench.failures) < before + LEAST:
            bench.failures.append(f"{one.__module__}.{one.__name__}: nothing much was compared")
    for words in bench.failures:
        print(f"FAILED {words}")
    print(f"{bench.passed} passed, {len(bench.failures)} failed")
    return 1 if bench.failures else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
