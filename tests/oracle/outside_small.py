"""Figures of plain parts: flaps, pallets, mutes, bushings, cards, gussets, hinges, disks, rings and papers."""

from math import degrees, hypot, pi

import numpy as np
from scipy.integrate import quad
from shapely.geometry import Point, Polygon, box
from shapely.ops import unary_union

from folds_box import most_rib_angle
from outside_bench import INCH

SHARP = {"join_style": "mitre", "mitre_limit": 1e6}


def size(shape):
    """Length and width of a shape's box."""
    x0, y0, x1, y1 = shape.bounds
    return x1 - x0, y1 - y0


def covers(bench):
    """Flaps, pallets and mutes: what they cover grown on every side by shapely, and what they hang by."""
    for unit, ports, pitch, long, wide, margin, tack in (
        ("in", 3, 1.25, 1, .5, .25, .375), ("mm", 5, 38, 26, 14, 6, 0), ("mm", 1, None, 30, 12, 5, 9),
    ):
        m = {"ports": ports, "port-length": long, "port-width": wide, "margin": margin}
        m |= ({"pitch": pitch} if pitch else {}) | ({"tack": tack} if tack else {})
        k = INCH if unit == "in" else 1.0
        holes = [box(n * (pitch or 0), 0, n * (pitch or 0) + long, wide) for n in range(ports)]
        length, width = size(unary_union([hole.buffer(margin, **SHARP) for hole in holes]))
        wanted = {"cut length": length * k, "cut width": (width + tack) * k}
        if tack:
            wanted["folds up from the edge"] = tack * k
        if pitch:
            wanted["wood between the ports"] = holes[0].distance(holes[1]) * k
        bench.checks(f"flap over {ports} {unit}", bench.part("flap", m, unit)[0], wanted)
    for kind, long, wide, over, hinge in (("pallet", 57.15, 19.05, 3.175, 0), ("mute", 228.6, 38.1, 4, 12.7),
            ("mute", 90, 40, 0, 8)):
        m = {"length": long, "width": wide, "over": over} | ({"hinge": hinge} if hinge else {"felt": {}})
        said = bench.members(kind, m)
        length, width = size(box(0, 0, long, wide).buffer(over, **SHARP))
        wanted = {"cut length": length, "cut width": width + hinge}
        wanted |= {"folds up from the edge": hinge} if hinge else {}
        for member in [""] if hinge else ["", "felt"]:
            bench.checks(f"{kind} {long} {member}", said.get(member, {}), wanted)


def bushings(bench):
    """Felt bent round in a hole: the line in the middle of its thickness keeps its length."""
    for unit, hole, felt, depth, over in (("in", .3125, .0625, .375, .03125), ("mm", 9, 1.8, 12, 1),
            ("mm", 14, 3, 10, 0)):
        k = INCH if unit == "in" else 1.0
        said = bench.part("bushing", {"hole": hole, "felt": felt, "depth": depth, "over": over}, unit)[0]
        radius = (hole / 2 + (hole / 2 - felt)) / 2
        neutral = 2 * quad(lambda u: hypot(radius * np.sin(u), radius * np.cos(u)), 0, pi)[0]
        # The felt is neither stretched nor pressed: its section keeps its area, outside less bore.
        section = quad(lambda r: 2 * pi * r, hole / 2 - felt, hole / 2)[0] / felt
        name = f"bushing {hole} {unit}"
        bench.checks(name, said, {
            "cut length": neutral * k, "cut width": (over + depth + over) * k, "opening left": (hole - felt - felt) * k,
        })
        bench.check(f"{name}: section", said.get("cut length"), section * k, 1e-9)


def cards(bench):
    """Cards by shapely's inner offset."""
    for unit, long, short, height, inset in (
        ("in", 13, 8, 3, .0625), ("in", 12, None, 2, .0625), ("mm", 300, 210, 45, 2), ("mm", 80, 20, 30, 3), ("mm", 90,
            60, 20, 0),
    ):
        k, top = INCH if unit == "in" else 1.0, short if short is not None else long
        m = {"long": long, "height": height, "inset": inset} | ({"short": short} if short is not None else {})
        slant = (long - top) / 2
        panel = Polygon([(0, 0), (long, 0), (long - slant, height), (slant, height)])
        left = panel.buffer(-inset, **SHARP) if inset else panel
        points = np.array(left.exterior.coords)[:-1]
        low, high = (points[np.abs(points[:, 1] - y) < 1e-9][:, 0] for y in (points[:, 1].min(), points[:, 1].max()))
        wanted = {"long side": np.ptp(low) * k, "short side": np.ptp(high) * k, "height": np.ptp(points[:, 1]) * k}
        angle = degrees(np.arctan2(height, slant))
        bench.checks(f"card {long} {unit}", bench.part("card", m, unit)[0], wanted | {"corner at the long side": angle})
    # Worked by a second author: half panels of boxes, inches and millimetres.
    for unit, panel, card in (("in", (8, 4, 2, .0625), (7.698223, 3.948223, 1.875)),
            ("mm", (200, 110, 45, 2), (190.3431, 108.3431, 41))):
        k, names = INCH if unit == "in" else 1.0, ("long", "short", "height", "inset")
        said = bench.part("card", dict(zip(names, panel)), unit)[0]
        bench.checks(f"card {panel}: worked figure", said,
            dict(zip(("long side", "short side", "height"), (x * k for x in card))), 1e-6)


# Rib, its angle, corner angle (nothing: flush), lap, how far the ribs rise, unit.
GUSSETS = [
    (3, 45, None, 0, None, "in"), (3, 45, 60, 0, None, "in"), (3, 45, None, .5, None, "in"), (3, 60, None, .25, None,
        "in"),
    (3, 67.5, None, .25, None, "in"), (50, 45, 75, 10, None, "mm"), (80, 50, 40, 12, 60, "mm"), (40, 45, 30, 5, 55,
        "mm"),
]


def gussets(bench):
    """Diamonds by their corners and shapely's outer offset; the ribs' ends turned in space."""
    for rib, b, corner, lap, opens, unit in GUSSETS:
        k, beta = INCH if unit == "in" else 1.0, np.radians(b)
        m = {"rib": rib, "rib-angle": b, "lap": lap}
        m |= ({"corner-angle": corner} if corner else {}) | ({"opens": opens} if opens else {})
        # Flush: the corners of two upright ribs and of their ends, seen along the boards' corner.
        c = np.radians(corner) if corner else 2 * np.arctan2(rib / np.tan(beta), rib)
        edge = hypot(rib, rib / np.tan(beta))
        turn = np.array([np.cos(c / 2), np.sin(c / 2)]) * edge
        bare = Polygon([(-turn[0], 0), (0, -turn[1]), (turn[0], 0), (0, turn[1])])
        cut = bare.buffer(lap, **SHARP) if lap else bare
        (board, across), (bare_board, bare_across) = size(cut), size(bare)
        rise = np.radians(opens or 90)
        bench.checks(f"gusset {rib} {unit} rib {b} corner {corner}", bench.part("gusset", m, unit)[0], {
            "side without the lap": edge * k, "board to board without the lap": bare_board * k,
            "rib to rib without the lap": bare_across * k, "side": cut.length / 4 * k, "board to board": board * k,
            "rib to rib": across * k, "the boards open": 2 * rib * np.sin(rise) * k, "corner angle": degrees(c),
            "least corner angle": degrees(most_rib_angle(beta, False, 0, opens or 90, 2001)),
        }, 1e-8, 1e-8)
    # Worked by a second author, lengths in inches: side and both diagonals.
    for m, side, board, across in (
        ({"rib": 3}, 4.242641, 6, 6), ({"rib": 3, "corner-angle": 60}, 4.242641, 7.348469, 4.242641),
        ({"rib": 3, "lap": .5}, 5.242641, 7.414214, 7.414214), ({"rib": 3, "rib-angle": 67.5}, 3.247177, 6, 2.485281),
    ):
        said = bench.part("gusset", m, "in")[0]
        bench.checks(f"gusset {m}: worked figure", said, {"side": side * INCH, "board to board": board * INCH,
            "rib to rib": across * INCH}, 1e-6)


def plain(bench):
    """Hinges, strips, disks and rings."""
    said = bench.why("hinge", length="15/16 in", leaf="3/8 in", gap="1/32 in")[0]
    bench.check("hinge: width", said.get("cut width"), (.75 + 1 / 32) * INCH, 1e-12)
    bench.check("hinge: crease", said.get("crease from the edge"), .375 * INCH, 1e-9)
    said = bench.part("hinge", {"length": 120, "leaf": 10, "gap": 1.5})[0]
    bench.checks("hinge with a gap", said, {"cut length": 120, "cut width": 21.5, "no glue between the creases": 1.5})
    said = bench.part("hinge", {"length": 120, "width": 26})[0]
    bench.checks("hinge by its width", said, {"cut length": 120, "cut width": 26, "crease from the edge": 13})
    bench.checks("strip", bench.part("strip", {"length": 501.65, "width": 25.4})[0],
        {"cut length": 501.65, "cut width": 25.4})
    bench.check("disk", bench.part("disk", {"diameter": 22.2})[0].get("cut diameter"), 22.2, 1e-12)
    rings = (("ring", {}), ("spacer", {"papers": 3, "thickness": .1}))
    for kind, own in rings:
        found = bench.part(kind, {"outside": 22.225, "inside": 4.36} | own)
        band = Point(0, 0).buffer(22.225 / 2, 4096).exterior.distance(Point(0, 0).buffer(4.36 / 2, 4096).exterior)
        for said in found:
            bench.checks(kind, said, {"cut diameter": 22.225, "hole": 4.36})
            bench.check(f"{kind}: width of the ring", said.get("width of the ring"), band, 0, 1e-6)
    bench.check("spacer: papers", float([one["address"] for one in found] == [f"it:1/paper-{n}" for n in (1, 2, 3)]),
        1.0)
    bench.check("spacer: together", found[0].get("together they make up"), .1 + .1 + .1, 1e-12)
    said = bench.part("spacer", {"shape": "disk", "outside": "7/8 in", "papers": 2, "thickness": "12 thou"})[0]
    bench.checks("spacer, disk", said, {"cut diameter": 22.225, "together they make up": .6096})
    m = {"shape": "plate", "length": 150, "width": 40, "corner": 5, "hole": [{"at": [20, 15], "diameter": 9}]}
    said = bench.part("spacer", m)[0]
    web = box(0, 0, 150, 40).exterior.distance(Point(20, 15)) - 4.5
    bench.checks("spacer, plate", said, {"cut length": 150, "cut width": 40, "thinnest web": web})


ROUNDS = (covers, bushings, cards, gussets, plain)
