"""Figures of bellows of every form, by models that stand in space, fold shut, and hold air as signed volumes."""

from math import cos, degrees, hypot, pi, radians, sin, tan

import numpy as np
from scipy.optimize import brentq

from folds_box import BoxFold, most_rib_angle
from folds_wedge import WedgeFold
from outside_bench import INCH, millimetres
from wanted_bellows import bellows
from wedge import Wedge

# Pascals in an inch of water, conventional: NIST SP 811 (2008), appendix B.
WATER = 249.0889


def sizes(bench, name, found, mm):
    """The box of every piece against the shapes that the oracle draws; the program may have no piece more or less."""
    drawn = {member.name or "": member for member in bellows(mm)}
    bench.check(f"{name}: pieces {sorted(found)} for {sorted(drawn)}", float(set(found) == set(drawn)), 1.0)
    for word, member in drawn.items():
        said, points = found.get(word, {}), member.outline
        if member.round_at:
            bench.check(f"{name}/{word}: cut diameter", said.get("cut diameter"), 2 * member.round_at[2], 1e-9)
            continue
        length, high = np.ptp(points, axis=0)
        across = ("cut width", "cut height", "width at the open end")
        labels = {"cut length": length, next((one for one in across if one in said), across[0]): high + 2 * member.trim}
        if word.startswith("gusset"):
            labels = {"board to board": length, "from rib to rib": high}
        bench.checks(f"{name}/{word}", said, labels, 1e-9, 1e-8)
        if "width at the hinge end" in said:
            tip = points[np.abs(points[:, 0] - points[:, 0].max()) < 1e-9][:, 1]
            bench.check(f"{name}/{word}: width at the hinge end", said["width at the hinge end"],
                np.ptp(tip) + 2 * member.trim, 1e-9)


def asked(bench, name, m, unit="mm"):
    """A bellows: what the program says by member, its measures in millimetres; sizes compared."""
    found, mm = bench.members("bellows", m, unit), millimetres(m, unit)
    sizes(bench, name, found, mm)
    return found, mm


def wedge_of(mm, **more):
    """The wedge's model for folding and for air."""
    return WedgeFold(mm["length"], mm["width"], mm["board"], mm["board"], mm["span"], mm.get("span-is") == "outside",
        mm.get("hinge-gap", 0.0), out=mm.get("folds") == "out", tuck=mm.get("tuck", "side"), **more)


WEDGE = {"length": 150, "width": 60, "board": 6, "span": 40, "span-is": "inside"}
PUMP = {"length": 16, "width": 13, "board": .75, "span": 6, "span-is": "inside"}


def strips(bench):
    """Strips and tapers that stop before the pivot; all that belongs to a bellows besides its cloth."""
    for name, m, unit in (
        ("short strip", WEDGE | {"pivot-gap": 7, "trim": 3}, "mm"),
        ("short taper", WEDGE | {"pivot-gap": 7, "form": "taper", "patch": {"lap": 9}}, "mm"),
        ("short taper with a gap", WEDGE | {"pivot-gap": 5, "hinge-gap": 1.2, "form": "taper", "patch": {"lap": 9}},
            "mm"),
        ("strip, cards", PUMP | {"overlap": 3, "card": {"inset": .0625}, "hinge": {"leaf": 1.5}}, "in"),
        ("strip, tuck in the end, cards", PUMP | {"tuck": "end", "card": {"inset": .125}, "patch": {"diameter": 2}},
            "in"),
        ("taper, hinge, patches", WEDGE | {"hinge-gap": 1, "form": "taper", "hinge": {"leaf": 12},
            "patch": {"diameter": 20, "count": 3}}, "mm"),
        ("strip, outside", WEDGE | {"span-is": "outside", "span": 50, "card": {"inset": 1.5},
            "patch": {"length": 70, "width": 30}}, "mm"),
    ):
        found, mm = asked(bench, name, m, unit)
        it, said = wedge_of(mm), found.get("", {})
        bench.checks(name, said, {
            "half opening angle": degrees(it.alpha), "span between the boards": it.span,
            "fold room left when closed": it.wedge.room(it.tuck), "free volume fully open": it.full_air(),
        }, 1e-9, 1e-8)
    # Cards worked by a second author, inset 1/16 in: tuck in the side, then in the end (1/8).
    for m, end, side in (({"card": {"inset": .0625}}, (12.875, 2.875), 15.16563),
            ({"tuck": "end", "card": {"inset": .125}}, (12.46876, 2.75), 14.52737)):
        found = bench.members("bellows", PUMP | m, "in")
        bench.checks("cards, worked", found.get("card-1", {}),
            {"cut length": end[0] * INCH, "cut height": end[1] * INCH}, 1e-6)
        bench.check("cards, worked: side", found.get("card-3", {}).get("long side"), side * INCH, 1e-6)


def doubles(bench):
    """Two wedges on one leaf."""
    for name, m, unit in (
        ("double", {"length": 5, "width": 3, "board": .25, "leaf": .5, "span": 2.5}, "in"),
        ("double, taper", {"length": 150, "width": 90, "board": 8, "leaf": 12, "span": 55, "second-span": 52,
            "form": "taper", "trim": 4}, "mm"),
        ("double, short", {"length": 150, "width": 90, "board": 8, "leaf": 12, "span": 55, "pivot-gap": 6,
            "hinge": {"leaf": 10}}, "mm"),
        ("double, gap", {"length": 150, "width": 90, "board": 8, "leaf": 14, "span": 55, "hinge-gap": .8,
            "form": "taper"}, "mm"),
    ):
        found, mm = asked(bench, name, m | {"boards": "double", "span-is": "inside"}, unit)
        total = 0.0
        for word, key in (("first", "span"), ("second", "second-span")):
            it = Wedge(mm["length"], mm["width"], mm["board"], mm.get(key, mm["span"]), False, mm.get("hinge-gap", 0.0))
            bench.checks(f"{name}/{word}", found.get(word, {}), {
                "half opening angle": degrees(it.alpha), "height of the side panels": it.height(),
                "corner fold meets the centre line at": it.tuck(), "fold room left when closed": it.room(),
            }, 1e-9, 1e-8)
            # Half way shut: by turning a board's corner half as far.
            def turned(angle, half=it.gap / 2):
                return 2 * ((mm["length"] + 1j * half) * np.exp(1j * angle)).imag
            total += turned(it.alpha / 2)
        bench.checks(name, found.get("first", {}), {"span of both wedges, leaf at the centre": total})
    # Worked by a second author, inches.
    for length, span, both in ((5, 2.5, 2.520086), (4.875, 5.25, 5.469566)):
        m = {"boards": "double", "length": length, "width": 6, "board": .25, "leaf": .5, "span": span,
            "span-is": "inside"}
        said = bench.members("bellows", m, "in").get("first", {})
        bench.check(f"double {span}: worked", said.get("span of both wedges, leaf at the centre"), both * INCH, 1e-6)


BOX = {"boards": "parallel", "length": 300, "width": 200, "board": 12, "span": 90, "span-is": "inside"}


def boxes(bench):
    """Boards that rise level: strips and pieces, pleats, outward folds, cards and gussets."""
    for name, m, unit in (
        ("box", BOX | {"card": {"inset": 2, "thickness": 1.2}, "cloth": .8, "vacuum": "8 inH2O"}, "mm"),
        ("box of 3 pleats", BOX | {"pleats": 3, "tuck": "end", "trim": 5, "cloth": .8, "card": {"inset": 2}}, "mm"),
        ("box, outside", BOX | {"span-is": "outside", "span": 110, "overlap": 40}, "mm"),
        ("box in pieces", BOX | {"form": "pieces", "lap": 15, "trim": 4}, "mm"),
        ("box, gussets", BOX | {"form": "pieces", "gusset": {"lap": 10}, "card": {"inset": 2}}, "mm"),
        ("box, gussets of 60", BOX | {"form": "pieces", "pleats": 2, "gusset": {"rib-angle": 60}}, "mm"),
        ("box, worked", {"boards": "parallel", "length": 12, "width": 8, "board": .5, "span": 4, "span-is": "inside",
            "card": {"inset": .0625}}, "in"),
        ("box outward", BOX | {"folds": "out", "span": 80, "card": {"inset": 2}, "trim": 3}, "mm"),
        ("box outward, short", BOX | {"folds": "out", "span": 90, "length": 340}, "mm"),
        ("box outward, pleats", BOX | {"folds": "out", "pleats": 2, "width": 150}, "mm"),
    ):
        found, mm = asked(bench, name, m, unit)
        gusset = mm.get("gusset")
        said = found.get("side-1" if m.get("form") == "pieces" else "", {})
        high = mm["span"] - (2 * mm["board"] if mm["span-is"] == "outside" else 0)
        it = BoxFold(mm["length"], mm["width"], mm["board"], high, mm.get("pleats", 1), out=mm.get("folds") == "out")
        wanted = {"free volume fully open": it.full_air(), "fold depth": it.middles()[0] - it.levels(0)[1]}
        if it.out:
            wanted |= outward_box(it)
        else:
            wanted["fold room left when closed"] = min(it.length, it.width) - 2 * it.depth()
        if "cloth" in mm:
            layers = it.pleats * (6 * [mm["cloth"]] + 4 * [mm["card"].get("thickness", 0)])
            wanted["closed stack at the corners"] = sum(layers)
        if "vacuum" in mm:
            wanted["force on the board alone"] = 8 * WATER * mm["length"] / 1000 * mm["width"] / 1000
        bench.checks(name, said, wanted, 1e-9, 1e-8)
        if gusset is not None:
            rib = radians(gusset.get("rib-angle", 45))
            bench.check(f"{name}: least", said.get("least corner angle of a gusset"),
                degrees(most_rib_angle(rib, False)), 1e-9)
    bench.check("box, worked: card", found_card(bench), 7.698223 * INCH, 1e-6)
    # Outward by a second author: S 80, the crease 96.56854 from the corner.
    said = bench.part("bellows", BOX | {"folds": "out", "span": 80})[0]
    bench.check("box outward: worked", said.get("end crease meets the centre line at"), 96.56854, 1e-6)


def found_card(bench):
    """The long side of a tucked card; tuck in the end puts it on the width."""
    m = {"boards": "parallel", "length": 12, "width": 8, "board": .5, "span": 4, "span-is": "inside", "tuck": "end"}
    return bench.members("bellows", m | {"card": {"inset": .0625}}, "in").get("card-1", {}).get("long side")


def shut_outward(alpha, side, end):
    """How far a corner folded outward misses the end's edge: rays from the corner, reflected one after the other."""
    rays = np.cumsum([0.0, -side, -(pi - alpha - side - end), -end])
    for crease in (1, 2):
        rays[crease + 1:] = 2 * rays[crease] - rays[crease + 1:]
    return rays[-1] - pi / 2


def outward_box(it):
    """Where the outward creases meet the middle of a pleat, from the corner line."""
    half, short = it.pleat / 2, min(it.length, it.width)
    even = brentq(lambda each: shut_outward(0.0, each, each), 1e-9, pi / 4, xtol=1e-15)
    side = end = half / tan(even)
    if 2 * side > short + 1e-9:
        own = np.arctan2(half, short / 2)
        other = brentq(lambda one: shut_outward(0.0, one, own), 1e-9, pi / 4, xtol=1e-15)
        side, end = (half / tan(own), half / tan(other)) if it.length < it.width else (half / tan(other),
            half / tan(own))
    return {"side crease meets the centre line at": side, "end crease meets the centre line at": end}


def outward(bench):
    """Wedges whose folds go outward."""
    for name, m, unit in (
        ("outward", {"length": 12, "width": 16, "board": .5, "span": 4, "span-is": "inside", "card": {"inset": .125}},
            "in"),
        ("outward, short end", {"length": 16, "width": 13, "board": .75, "span": 6, "span-is": "inside",
            "form": "taper"}, "in"),
        ("outward, gap", {"length": 300, "width": 320, "board": 12, "span": 80, "span-is": "inside", "hinge-gap": 2},
            "mm"),
        ("outward, outside", {"length": 300, "width": 320, "board": 12, "span": 80, "span-is": "outside"}, "mm"),
    ):
        found, mm = asked(bench, name, m | {"folds": "out"}, unit)
        wedge = wedge_of(mm | {"folds": "out"}).wedge
        side, end = wedge.outward()
        corner, hinge = wedge.side_panel()
        meet = np.array([wedge.across_side(side), 0.0])
        # How far the fold stands from its board's edge, along which it lies when shut.
        along = (hinge - corner) / np.linalg.norm(hinge - corner)
        off = abs(along[0] * (meet - corner)[1] - along[1] * (meet - corner)[0])
        bench.checks(name, found.get("", {}), {
            "side crease from the board's edge": degrees(side), "end crease from the board's edge": degrees(end),
            "side crease meets the centre line at": wedge.height() - meet[0], "side fold stands out by": off,
            "end crease meets the centre line at": wedge.span() / 2 / tan(end),
            "end fold stands out by": wedge.span() / 2,
        }, 1e-8, 1e-8)
    # Worked by a second author, inches: length 12, width 16, span 4.
    m = {"length": 12, "width": 16, "board": .5, "span": 4, "span-is": "inside", "folds": "out"}
    bench.checks("outward: worked", bench.part("bellows", m, "in")[0], {
        "side crease from the board's edge": 20.10148, "side crease meets the centre line at": 8.325154 * INCH,
        "end crease meets the centre line at": 5.464819 * INCH, "side fold stands out by": 1.387526 * INCH,
    }, 1e-6)


def pieces(bench):
    """Wedges covered in pieces: laps, notches, gussets, cards between them."""
    for name, m, unit in (
        ("pieces", PUMP | {"lap": 1, "trim": .25, "hinge-gap": .125}, "in"),
        ("pieces, tuck in the end", WEDGE | {"lap": 8, "tuck": "end", "card": {"inset": 1.5}}, "mm"),
        ("pieces, gussets", PUMP | {"lap": 1, "hinge-gap": .125, "card": {"inset": .125},
            "gusset": {"lap": .5, "skive": .375}}, "in"),
        ("pieces, gussets of 60", PUMP | {"trim": .25, "gusset": {"rib-angle": 60}}, "in"),
        ("pieces, gussets given", WEDGE | {"gusset": {"rib-angle": 45, "corner-angle": 75, "lap": 6}}, "mm"),
    ):
        found, mm = asked(bench, name, m | {"form": "pieces"}, unit)
        if "gusset" not in mm:
            continue
        own = mm["gusset"]
        rib = radians(own.get("rib-angle", 45))
        it = wedge_of(mm, rib=rib)
        end, side = it.rib_ends()
        def apart(angle, end=end, side=side):
            across = np.sqrt(end**2 + side**2 - 2 * end * side * cos(angle))
            return 2 * end * side * sin(angle) / across
        # Flush: the widest angle at which the leather reaches from board to board when they stand open.
        angles = np.linspace(.01, pi - .01, 400)
        widest = angles[np.argmax([apart(one) for one in angles])]
        flush = brentq(lambda one: apart(one) - it.span, widest, pi - .01, xtol=1e-14)
        angle = radians(own["corner-angle"]) if "corner-angle" in own else flush
        said = found.get("gusset-1", {})
        bench.checks(f"{name}/gusset-1", said, {
            "side at the end's rib": end, "side at the side's rib": side, "flush corner angle": degrees(flush),
            "least corner angle": degrees(most_rib_angle(rib, False)), "corner angle of the gusset": degrees(angle),
            "board to board without the lap": apart(angle),
        }, 1e-8, 1e-7)
        # The ribs of the wedge itself open no wider at the corner than the leather.
        most = max(it.rib_angle(theta) for theta in np.linspace(0, it.alpha, 401))
        least = said.get("corner angle of the gusset", 0.0)
        bench.check(f"{name}: leather does not bind", float(radians(least) >= most - 1e-9), 1.0)
        bench.check(f"{name}: ribs", found.get("side-1", {}).get("ribs cut at"), degrees(rib), 1e-12)


def motion(bench):
    """Stroke, air and pull against the folded solid: signed volume and its slope by differences."""
    for name, m in (
        ("motion", WEDGE | {"rest": 36, "closed": 3, "finger": 190, "vacuum": "20 inH2O"}),
        ("motion, strip of the exhauster", millimetres(PUMP, "in") | {"rest": 139.7, "closed": 12.7,
            "vacuum": "8 inH2O"}),
        ("motion, tuck in the end", WEDGE | {"tuck": "end", "rest": 36, "closed": 3, "finger": 170,
            "vacuum": "10 inH2O"}),
        ("motion, outside", WEDGE | {"span-is": "outside", "span": 50, "rest": 45, "closed": 15, "finger": 200,
            "vacuum": "5 inH2O"}),
        ("motion, pieces", WEDGE | {"form": "pieces", "rest": 36, "closed": 3, "vacuum": "1.5 kPa"}),
        ("motion outward", WEDGE | {"width": 160, "folds": "out", "rest": 36, "closed": 3, "vacuum": "8 inH2O"}),
    ):
        it, found = wedge_of(m), bench.members("bellows", m)
        said = found.get("side-1" if m.get("form") == "pieces" else "", {})
        angles = [Wedge(m["length"], 1, m["board"], m[key], m["span-is"] == "outside").alpha for key in ("rest",
            "closed")]
        number, _, unit = m["vacuum"].partition(" ")
        pascal = float(number) * (WATER if unit == "inH2O" else 1000)
        bare = pascal * m["width"] * m["length"] / 2e6
        wanted = {"free volume fully open": it.full_air(), "force at the open end, board alone": bare}
        moving = {"volume from rest to closed", "force at the open end, shut"}
        if it.out:
            # Nothing is said of what is not known.
            bench.check(f"{name}: no model of folds that go outward", float(not moving & set(said)), 1.0)
        else:
            wanted["volume from rest to closed"] = it.air(angles[0]) - it.air(angles[1])
            wanted["force at the open end, shut"] = bare * it.pull(0.0)
        if "finger" in m:
            wanted["stroke at the finger"] = hypot(*np.subtract(*([m["finger"] * cos(2 * a),
                m["finger"] * sin(2 * a)] for a in angles)))
            wanted["force at the finger, shut"] = bare * it.pull(0.0) * m["length"] / m["finger"]
        bench.checks(name, said, wanted, 1e-6)
    # Six layers of cloth and four cards over the tuck, which begins where the shut end reaches to.
    m = WEDGE | {"cloth": .4, "card": {"inset": 1.5, "thickness": .9}}
    said, it = bench.part("bellows", m)[0], wedge_of(m)
    from_hinge = m["length"] - it.span / 2
    bench.check("stack with cards", said.get("closed stack, least span"), (6 * .4 + 4 * .9) / from_hinge * m["length"],
        1e-9)
    # Moments by quadrature: pressure over the board, turned about the hinge.
    said = bench.part("bellows", WEDGE | {"vacuum": "20 inH2O"})[0]
    strips = np.polynomial.legendre.leggauss(20)
    arm = (strips[0] + 1) / 2 * .150
    moment = float((strips[1] / 2 * .150 * arm).sum()) * .060 * 20 * WATER
    bench.check("board alone by moments", said.get("force at the open end, board alone"), moment / .150, 1e-9)


def cards(bench):
    """Sides of cards as they are told: worked values by inward offset of the half panels; tuck in the side, in the end."""
    for long, wide, span, inset, side, end in (
        (16, 13, 6, .0625, ((12.875, 12.875), (15.16563, 3.690285)), ((12.73438, 7.978154), (15.26369, 2.861941))),
        (16, 13, 6, .125, ((12.75, 12.75), (14.33126, 3.487255)), ((12.46876, 7.919329), (14.52737, 2.723882))),
        (9, 6, 3, .0625, ((5.875, 5.875), (8.084469, 1.764176)), ((5.730692, 3.406518), (8.181294, 1.363549))),
    ):
        for tuck, wanted in (("side", side), ("end", end)):
            m = {"length": long, "width": wide, "board": .75, "span": span, "span-is": "inside", "tuck": tuck}
            found = bench.members("bellows", millimetres(m | {"card": {"inset": inset}}, "in"))
            for card, sides in zip(("card-1", "card-3"), wanted):
                told = dict(zip(("long side", "short side"), (one * INCH for one in sides)))
                bench.checks(f"{card} of {long} x {wide}, inset {inset}, tuck in the {tuck}", found.get(card, {}), told, 1e-6)


ROUNDS = (cards, strips, doubles, boxes, outward, pieces, motion)
