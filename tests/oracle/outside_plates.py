"""Figures of plates: gaskets of every shape with their holes, two boards against each other, outlines by their corners.

Webs and sizes come from shapely on the shapes that the oracle draws; what is round is measured from its centre, so that
only an outline of many chords is not exact.
"""

from itertools import combinations
from math import acos, hypot, pi, sqrt

import numpy as np
from scipy.integrate import quad
from shapely.geometry import LinearRing, Point, Polygon

import dishes
from outside_bench import INCH, millimetres
from shapes import circle
from wanted_holes import circle_holes, row_holes
from wanted_plates import gasket, outline, strip

# A chord of a 1024th of a turn stands off its arc by 5e-6 of the radius.
CHORD = 5e-6


def thinnest(member):
    """The thinnest web of a plate, and how sure that is."""
    rounds = [(Point(x, y), r) for x, y, r in member.round_holes]
    others = [LinearRing(points) for points in member.holes]
    rim, found = LinearRing(member.outline), []
    if member.round_at:
        x, y, r = member.round_at
        found += [r - Point(x, y).distance(at) - own for at, own in rounds]
        found += [r - max(hypot(px - x, py - y) for px, py in ring.coords) for ring in others]
    else:
        found += [rim.distance(at) - own for at, own in rounds] + [rim.distance(ring) for ring in others]
    found += [a.distance(b) - r - s for (a, r), (b, s) in combinations(rounds, 2)]
    found += [ring.distance(at) - r for at, r in rounds for ring in others]
    found += [a.distance(b) for a, b in combinations(others, 2)]
    return min(found), CHORD * float(np.ptp(member.outline, axis=0).max())


def plate(bench, name, kind, m, unit="mm", more=None, **files):
    """One plate: size of its box, thinnest web, and what else is wanted. Gives what the program said."""
    mm = millimetres(m, unit)
    member = {"gasket": gasket, "strip": strip, "outline": outline}[kind](mm)[0]
    said = bench.part(kind, m, unit, **files)[0]
    length, width = np.ptp(member.outline, axis=0)
    sure = CHORD * max(length, width)
    if member.round_at:
        bench.check(f"{name}: cut diameter", said.get("cut diameter"), 2 * member.round_at[2], 1e-9)
    else:
        bench.check(f"{name}: cut length", said.get("cut length"), length, 0, sure)
        bench.check(f"{name}: cut width", said.get("cut width"), width, 0, sure)
    if member.round_holes or member.holes:
        web, sure = thinnest(member)
        bench.check(f"{name}: thinnest web", said.get("thinnest web"), web, 1e-9, sure)
    bench.checks(name, said, more or {})
    return said


def gaskets(bench):
    """Rectangles, round ends, rings, frames, flanges, elbows, patches pressed shut by the wind."""
    # 88 holes at 9 to the inch (MMD 1997.07.26.09): first to last 87/9 in, within the 10 in of MMD 2004.12.18.03.
    row = '[[part.row]]\nholes = 88\nfirst = ["1/2 in", "1/2 in"]\npitch = "1/9 in"\ndiameter = "1/16 in"\n'
    said = bench.why("gasket", tables=row, length="11 in", width="1 in")[0]
    bench.check("row of 88: first to last", said.get("first centre to last"), 87 / 9 * INCH, 1e-9)
    bench.check("row of 88: web", said.get("thinnest web"), (1 / 9 - 1 / 16) * INCH, 1e-7)
    row = {"holes": 9, "first": [20, 18], "pitch": 17, "diameter": 8, "break": [{"after": 4, "add": 6}], "span": 141}
    holes = row_holes(row)
    plate(bench, "gasket", "gasket", {"length": 190, "width": 40, "corner": 6, "row": [row]}, more={
        "first centre to last": hypot(holes[-1][0] - holes[0][0], holes[-1][1] - holes[0][1]),
        "pitch error at the last hole": holes[-1][0] - holes[0][0] - 141,
    })
    slot = {"at": [40, 16], "length": 30, "width": 6}
    m = {"shape": "obround", "length": 120, "width": 32, "slot": [slot], "hole": [{"at": [90, 14], "diameter": 11}]}
    plate(bench, "obround", "gasket", m)
    m = {"shape": "ring", "outside": 80, "bore": 50, "hole": [{"at": [40, 7], "diameter": 5}]}
    plate(bench, "ring gasket", "gasket", m)
    m = {"shape": "frame", "length": 304.8, "width": 228.6, "border": 25.4, "corner": 12.7, "inner-corner": 6.35}
    screw = [{"at": [12.7, 12.7], "diameter": 4.305}, {"at": [150, 12], "diameter": 4.305}]
    more = {"window length": 304.8 - 50.8, "window width": 228.6 - 50.8}
    plate(bench, "frame", "gasket", m, more=more)
    plate(bench, "frame with screws", "gasket", m | {"screw": screw}, more=more)
    flanges(bench)
    for unit, opening, gap, land, bore in (("in", 2, .125, .25, .75), ("mm", 60, 5, 8, None), ("mm", 40, 2, 6, 12)):
        m = {"shape": "self-energising", "opening": opening, "gap": gap,
            "land": land} | ({"bore": bore} if bore else {})
        k, free = INCH if unit == "in" else 1.0, dishes.by_arc(opening, gap)
        plate(bench, f"self-energising {opening} {unit}", "gasket", m, unit, {"free side": free * k})


def belt(body, ear, at):
    """Area within a cord round a body and two ears across from each other, by the cord's ends: no polygon."""
    lean = acos((body - ear) / 2 / at)
    straight = sqrt(at**2 - ((body - ear) / 2) ** 2)
    # Four trapezoids between radii and cord, the body's two sectors, the ears' two.
    return 4 * (body + ear) / 4 * straight + (body / 2) ** 2 * (pi - 2 * lean) + (ear / 2) ** 2 * 2 * lean


def flanges(bench):
    """A body with ears: what a cord round all of it would hold."""
    for unit, body, bore, ears, ear, at, screw, shape in (
        ("in", 3, 2, 2, 1, 1.9375, .25, "flange"), ("mm", 60, 30, 3, 18, 40, 5, "flange"), ("mm", 60, 30, 4, 18, 40, 5,
            "flange"),
        ("mm", 50, 25, 5, 14, 33, 4, "flange"), ("in", .75, .375, 1, .375, .5, .098, "elbow"), ("mm", 40, 20, 1, 16,
            29, 4, "elbow"),
    ):
        k = INCH if unit == "in" else 1.0
        m = {"shape": shape, "outside": body, "bore": bore, "ear": ear, "ear-at": at, "ear-hole": screw}
        m |= {"ears": ears} if shape == "flange" else {}
        turns = 2 * pi * np.arange(ears) / ears
        far = [np.append(at * way(turns) - sign * ear / 2, -sign * body / 2) for way,
            sign in ((np.cos, 1), (np.sin, 1))]
        plate(bench, f"{shape} of {ears} {unit}", "gasket", m, unit, {
            "ears": ears, "body's centre from the left": -far[0].min() * k,
            "body's centre from below": -far[1].min() * k,
        })
    # The oracle's own cord by polygons against its closed form.
    drawn = Polygon(gasket({"shape": "flange", "outside": 60, "ear": 18, "ear-at": 40})[0].outline).area
    bench.check("flange of 2: area within the cord", drawn, belt(60, 18, 40), 1e-5)


def circles(bench):
    """Holes on a circle: chords and webs from their places by trigonometry."""
    for holes, across, diameter, start in ((6, 111.125, 4.305, 30), (5, 70, 9, 0), (8, 96, 6, 11.25)):
        ring = {"at": [63.5, 63.5], "holes": holes, "across": across, "diameter": diameter, "start": start}
        places = circle_holes(ring)
        (x, y, _), (u, v, _) = places[:2]
        m = {"shape": "ring", "outside": 127, "bore": 50, "circle": [ring]}
        plate(bench, f"circle of {holes}", "gasket", m, more={"centre to next centre": hypot(u - x, v - y),
            "turn of the first hole": start})
        # On a rectangle the turn is seen in the web to the edge.
        plate(bench, f"circle of {holes} on a square", "gasket", {"length": 127, "width": 126, "circle": [ring]})


def windows(bench):
    """Windows, slots and tables of holes, on plates and strips."""
    pair = [{"at": [100, 63], "length": 127, "width": 76, "corner": 6.35},
        {"at": [306, 60], "length": 127, "width": 76}]
    m = {"length": 406.4, "width": 127, "corner": 9.5, "window": pair,
        "hole": [{"at": [203.2, 63.5], "diameter": 38.1}]}
    plate(bench, "two windows", "gasket", m, more={"length of window 1": 127, "width of window 2": 76})
    plate(bench, "a window's round corner", "gasket", {"length": 60, "width": 50,
        "window": [{"at": [25, 25], "length": 30, "width": 30, "corner": 9}],
        "hole": [{"at": [44, 44], "diameter": 7}]})
    table = [{"x": 14.0 + 13.1 * n, "y": 12.0 + 2.3 * (n % 3), "diameter": (4.305, 7.144)[n % 2]} for n in range(9)]
    said = plate(bench, "hole table", "gasket", {"length": 140, "width": 30, "hole-table": table})
    bench.checks("hole table", said, {"diameter of 5 holes of the table": 4.305,
        "diameter of 4 holes of the table": 7.144})
    slots = [{"at": [30, 12], "length": 20, "width": 5}, {"at": [70, 13], "length": 14, "width": 6, "way": "width",
        "ends": "square"}]
    plate(bench, "strip with slots", "strip", {"length": 100, "width": 25.4, "slot": slots})
    plate(bench, "strip with a row", "strip", {"length": 100, "width": 25,
        "row": [{"at": [0, 22, 37], "first": [20, 12], "diameter": 6}]})


def lens_share(r, s, apart):
    """What two round holes have in common as a share of the smaller, by quadrature across the lens."""
    def common(y):
        # From x to x at a height: the two chords' overlap.
        a, b = (sqrt(max(q * q - y * y, 0.0)) for q in (r, s))
        return max(min(a, apart + b) - max(-a, apart - b), 0.0)
    small = min(r, s)
    knee = sqrt(max(r * r - ((apart**2 + r * r - s * s) / (2 * apart)) ** 2, 0.0)) if apart else small
    return 2 * quad(common, 0, small, points=[min(knee, small)], limit=200, epsabs=1e-12)[0] / (pi * small**2)


# Places and diameters of pairs: first, opposite.
PAIRS = [
    ((20, 20, 10), (22, 21, 10)), ((50, 20, 9), (53, 18, 12)), ((80, 22, 14), (81, 23, 6)), ((110, 20, 8),
        (116, 21, 9)),
    ((140, 21, 12), (140, 25, 12)),
]


def two_boards(bench):
    """Lens of two holes: how far off centre, what is left open, and the web that remains."""
    first = [{"at": [x, y], "diameter": d} for (x, y, d), _ in PAIRS]
    for seen in ("through", "own"):
        other = [{"at": [x if seen == "through" else 160 - x, y], "diameter": d} for _, (x, y, d) in PAIRS]
        m = {"length": 160, "width": 40, "hole": first, "opposite-hole": other, "opposite-seen": seen}
        for meet in ("shared", "larger"):
            name = f"two boards, {seen}, {meet}"
            said = plate(bench, name, "gasket", m | {"meet": meet})
            for n, ((x, y, d), (u, v, e)) in enumerate(PAIRS, 1):
                apart = hypot(u - x, v - y)
                bench.check(f"{name}: hole {n} off centre", said.get(f"hole {n}: off centre"), apart, 1e-9)
                want, got = 100 * lens_share(d / 2, e / 2, apart), said.get(f"hole {n}: left open")
                one, two = (Polygon(circle(*c[:2], c[2] / 2)) for c in ((x, y, d), (u, v, e)))
                fine = 100 * one.intersection(two).area / min(one.area, two.area)
                # Larger: the whole of the smaller is open.
                bench.check(f"{name}: hole {n} left open", got, want, 1e-7)
                bench.check(f"{name}: hole {n} left open, by polygons", got, fine, 2e-5)
    row = {"holes": 4, "first": [20, 15], "pitch": 30, "diameter": 9}
    m = {"length": 130, "width": 30, "row": [row], "opposite-row": [row | {"pitch": 30.4, "diameter": 10}]}
    said = plate(bench, "two rows", "gasket", m)
    for n in range(4):
        label = f"hole {n + 1} of the row"
        bench.checks("two rows", said, {f"{label}: off centre": .4 * n,
            f"{label}: left open": 100 * lens_share(4.5, 5, .4 * n)}, 1e-7, 1e-9)


# Corners with the bow of the side after each; unit.
OUTLINES = [
    ([[0, 0], [96, 0, 9], [96, 44], [70, 58, 6], [24, 58], [0, 40]], "mm"), ([[0, 0, 20], [80, 0, 20]], "mm"),
    ([[0, 0], [4, 0, .5], [4, 3, -.25], [0, 3]], "in"), ([[10, 5], [10, 45, 12], [70, 60, -4], [60, 0]], "mm"),
    ([[0, 0, 30], [60, 0, 30]], "mm"),
]


def arcs(corners):
    """Area, circumference and radii of corners with bows, by quadrature round the arcs."""
    points = np.array([corner[:2] for corner in corners], float)
    ccw = len(points) < 3 or LinearRing(points).is_ccw
    area = round_it = 0.0
    radii = {}
    for n, (a, b) in enumerate(zip(points, np.roll(points, -1, axis=0))):
        chord, bow = float(np.hypot(*(b - a))), corners[n][2] if len(corners[n]) > 2 else 0.0
        area += (a[0] * b[1] - a[1] * b[0]) / 2 * (1 if ccw else -1)
        if not bow:
            round_it += chord
            continue
        radius = ((chord / 2) ** 2 + bow**2) / 2 / abs(bow)
        middle = abs(bow) - radius
        turn = acos(max(min(-middle / radius, 1), -1))
        radii[n + 1] = radius
        round_it += 2 * quad(lambda u, r=radius: r, 0, turn)[0]
        # The cap over the chord, by strips square to it.
        def strip_at(u, r=radius, m=middle):
            return (m + r * np.cos(u)) * r * np.cos(u)
        area += 2 * quad(strip_at, 0, turn)[0] * (1 if bow > 0 else -1)
    return area, round_it, radii


def outlines(bench):
    """Typed corners: area and circumference by quadrature, and by shapely on many chords."""
    for n, (corners, unit) in enumerate(OUTLINES, 1):
        k, name = INCH if unit == "in" else 1.0, f"outline {n}"
        area, way, radii = arcs(corners)
        wanted = {"area": area * k * k, "circumference": way * k}
        wanted |= {f"radius after corner {number}": r * k for number, r in radii.items()}
        said = plate(bench, name, "outline", {"corners": corners}, unit, wanted)
        drawn = Polygon(outline({"corners": corners})[0].outline)
        bench.check(f"{name}: area by chords", said.get("area"), drawn.area * k * k, 2e-6)
        bench.check(f"{name}: circumference by chords", said.get("circumference"), drawn.length * k, 2e-6)
    drilled = {"hole": [{"at": [26, 28], "diameter": 22}], "slot": [{"at": [68, 26], "length": 30, "width": 9}]}
    area = arcs(OUTLINES[0][0])[0] - pi * 11**2 - (21 * 9 + pi * 4.5**2)
    mark = {"mark": [{"from": [16, 48], "to": [84, 48]}]}
    m = {"corners": OUTLINES[0][0]} | drilled | mark
    plate(bench, "outline with holes", "outline", m, more={"area of the material": area})
    corners = [[0, 0], [90, 0], [90, 30], [40, 30], [40, 70], [0, 70]]
    said = plate(bench, "outline, corners rounded", "outline", {"corners": corners, "corner": 8})
    # Five quarter turns to the left, one to the right.
    left, lost = 90 * 30 + 40 * 40, 8**2 * (1 - pi / 4)
    bench.checks("outline, corners rounded", said, {"area": left - 4 * lost, "circumference": 320 - 6 * (16 - 4 * pi)},
        1e-9)
    drawn = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">'
    drawn += '<path d="M30,10 H70 A20,20 0 0 1 70,50 H30 A20,20 0 0 1 30,10 Z"/><circle cx="50" cy="30" r="8"/></svg>'
    said = bench.part("outline", {"outline": "o.svg"}, files={"o.svg": drawn})[0]
    bench.checks("outline from a file", said, {
        "cut length": 80, "cut width": 40, "area": 40 * 40 + pi * 400, "circumference": 80 + 40 * pi,
        "area of the material": 1600 + pi * 336, "thinnest web": 12,
    }, 1e-6)


ROUNDS = (gaskets, circles, windows, two_boards, outlines)
