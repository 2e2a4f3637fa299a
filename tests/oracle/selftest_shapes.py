"""Tries the wanted shapes against worked values of a second author (f64, six figures) and against handbook formulas."""

from math import acos, asin, cos, degrees, hypot, pi, sin, sqrt

import numpy as np
from shapely.geometry import Polygon

import wanted_bellows
import wanted_cards
import wanted_plates
import wanted_soft
from shapes import circle, narrowed
from trials import check, near
from wanted import KINDS, Pose, placed
from wanted_holes import lens
from wedge import Wedge

STILL = Pose(0, 0, 0, False)


def shape(member):
    """A member at true size, with its trim."""
    return placed(member, STILL, 0.0)[0]


def box(member):
    """Length and width of a member's box."""
    x0, y0, x1, y1 = shape(member).bounds
    return x1 - x0, y1 - y0


def edges(points):
    """Lengths of the edges of an outline."""
    points = np.asarray(points, float)
    return np.hypot(*(np.roll(points, -1, axis=0) - points).T)


def wedge_of(length, width, span, board=.1, **more):
    """Measures of a wedge bellows, its span between the boards."""
    return {"length": length, "width": width, "span": span, "board": board, "span-is": "inside", **more}


def try_pouches():
    """Square pouches and strips: worked values."""
    for d, h, arc, film in ((1, .125, 1.041159, 1.02411), (1.25, .125, 1.283071, 1.26961), (32, 3, 32.74480, 32.4429)):
        square = {"form": "square", "well": d, "dip": h, "land": d / 8}
        [member] = KINDS["pouch"](square)
        near(f"square {d}", box(member)[0], arc + d / 4)
        near(f"square {d} keeps its corners round", shape(member).area, (arc + d / 4) ** 2 - (4 - pi) * (d / 8) ** 2)
        # The rule for a film is the first term of its series: 0.12 % high at a dip of an eighth, less for less.
        area = wanted_soft.free_side({**square, "rule": "area"})
        check(f"film {d}: {area} is a little over {film}", 0 < area / film - 1 < .0012 * (8 * h / d) ** 2 + 5e-5)
    near("what a film gains", wanted_soft.film_constant(), 1.6188, 1e-4)
    for number, p, d, h, e, b, arcs, areas in (
        (12, 1.5, 1, .125, .5, .1875, (18.99391, 1.416159), (18.86932, 1.405776)),
        (30, 1.5, 1.125, .125, .5, .1875, (46.72536, 1.536679), (46.44829, 1.527443)),
        (10, 38, 25.4, 3, 10, 5, (396.7458, 36.33458), (394.3904, 36.09904)),
    ):
        for rule, (long, wide) in (("arc", arcs), ("area", areas)):
            m = {"form": "strip", "well": d, "dip": h, "land": b, "end": e, "dips": number, "pitch": p, "rule": rule}
            [member] = KINDS["pouch"](m)
            near(f"strip of {number}, {rule}: length", box(member)[0], long)
            near(f"strip of {number}, {rule}: width", box(member)[1], wide)
            at = {key: value for key, value in m.items() if key not in ("dips", "pitch")}
            at["at"] = [p * n for n in range(number)]
            near("the same by its places", box(KINDS["pouch"](at)[0])[0], long)
    strip = {"form": "strip", "well": 1, "dip": .125, "land": .1875, "end": .5, "dips": 12, "pitch": 1.5}
    for rule, slack in (("arc", 2.74395), ("area", 2.05176)):
        free = wanted_soft.free_side({**strip, "rule": rule})
        near(f"slack at the edge, {rule}", 100 * (free - 1) / 1.5, slack)
    gapped = KINDS["pouch"]({**strip, "break": [{"after": 6, "add": .75}]})[0]
    near("a break lengthens the strip", box(gapped)[0], 18.99391 + .75)


def try_strips():
    """Strips round wedges: worked values of widths, length, saving."""
    for long, wide, span, board, trim, overlap, opened, hinge, length, saved in (
        (5, 1.25, 1.125, .1875, .25, None, 2, .875, 12.85318, 7.464291),
        (4.875, .9375, .875, .1875, .25, None, 1.75, .875, 11.89816, 5.342163),
        (16, 13, 6, .75, .5, 3, 8.5, 2.5, 60.43247, 190.2974),
        (150, 45, 40, 6, 6, 15, 64, 24, 402.3214, 8346.427),
    ):
        m = wedge_of(long, wide, span, board, trim=trim)
        if overlap is not None:
            m["overlap"] = overlap
        [whole], [taper] = wanted_bellows.bellows(m), wanted_bellows.bellows({**m, "form": "taper"})
        near(f"wedge {long}: open width", box(whole)[1], opened)
        near(f"wedge {long}: length", box(whole)[0], length)
        near(f"wedge {long}: taper saves", shape(whole).area - shape(taper).area, saved)
        right = [y for x, y in taper.outline if x > length / 2 - 1e-3]
        near(f"wedge {long}: hinge width", max(right) - min(right) + 2 * trim, hinge)
        halves = wanted_bellows.bellows({**m, "boards": "double", "leaf": 2 * board, "second-span": span / 2})
        near(f"double {long}: first", shape(halves[0]).area, shape(whole).area)
        near(f"double {long}: second", box(halves[1])[1], opened - span / 2)
        check("its names", [half.name for half in halves] == ["first", "second"])
    leaf = wanted_bellows.bellows(wedge_of(150, 45, 40, 6, boards="double", leaf=5, trim=1))[0]
    check("half a leaf below", np.allclose(shape(leaf).bounds[1::2], (-20 - 2.5 - 1, 20 + 6 + 1)))
    short = wanted_bellows.bellows(wedge_of(150, 45, 40, 6, **{"form": "taper", "pivot-gap": 20}))[0]
    wedge = Wedge(150, 45, 6, 40)
    near("short of the pivot", box(short)[0], 45 + 2 * (wedge.height() - 20))
    # On the straight way from 26 at the corner to 6 at the hinge.
    ends = [y for x, y in short.outline if x > 22.5 + 1]
    near("its end", max(ends), 6 + 20 * 20 / wedge.height())
    near("one sheet for two wedges misfits", Wedge(5, 1, 1.25, 1.25).margin_misfit(), .156557)
    near("and a larger one", Wedge(16, 13, 6, 6).margin_misfit(), 1.130022)


def try_corners():
    """Corner folds, inward and outward: worked values, and closure by reflection."""
    for long, wide, span, x, op, ap in (
        (5, 1.125, 1.25, .551198, 4.409586, .833333),
        (16, 13, 6, 2.481511, 13.23472, 3.893314),
        (150, 45, 40, 17.48949, 131.1712, 26.56845),
    ):
        one = wanted_bellows.wedge_folded(wedge_of(long, wide, span))
        near(f"tuck {long}", one.corner.side, x)
        near(f"from the hinge {long}", one.length - one.corner.side, op)
        near(f"its crease {long}", hypot(one.corner.side, span / 2), ap)
        end = wanted_bellows.wedge_folded(wedge_of(long, wide, span, tuck="end")).corner
        check("tuck in the end", end.side == 0 and abs(end.end - x) < 1e-4)
    for long, wide, span, side, end in (
        (5, 1.125, 1.25, .0226036, -.115196), (4.875, .9375, .875, .137799, .0660307),
        (6, 6, 6, 2.535898, .803848), (150, 45, 40, 10.02101, 5.357150),
    ):
        wedge = Wedge(long, wide, .1, span)
        near(f"room {long}, tuck in the side", wedge.room("side"), side)
        near(f"room {long}, tuck in the end", wedge.room("end"), end)
    for share, sector in ((1.25 / 5, 41.40962), (6 / 16, 39.59654), (1, 30)):
        near(f"middle sector {share}", degrees(np.arctan2(Wedge(1, 1, .1, share).tuck(), share / 2)), sector)
    one = wanted_bellows.wedge_folded(wedge_of(12, 16, 4, folds="out"))
    near("out: from the hinge", one.length - one.corner.side, 8.325154)
    near("out: from the corner", one.corner.end, 5.464819)
    near("out: at the board's edge", degrees(one.wedge.outward()[0]), 20.10148)
    near("out: reach", (one.length - one.corner.side) * sin(one.wedge.alpha), 1.387526)
    wide_one = wanted_bellows.wedge_folded(wedge_of(16, 16.7, 6, folds="out"))
    near("out: wide enough", wide_one.corner.end, 8.33361)
    narrow = wanted_bellows.wedge_folded(wedge_of(16, 16.6, 6, folds="out"))
    near("out: not quite", narrow.corner.end, 8.3, 1e-9)
    for folded in (one, wide_one, narrow, wanted_bellows.wedge_folded(wedge_of(16, 13, 6, folds="out"))):
        near("out: closes square", outward_closure(folded), 90, 1e-9)
    for span in (80.0, 2.0):
        square = {"length": 300.0, "width": 300.0, "span": span, "board": 1, "boards": "parallel", "folds": "out"}
        near(f"box {span}: crease from the corner", wanted_bellows.box_folded(square).corner.side, 1.2071068 * span)
        for least, even in ((2.4143 * span, True), (2.4141 * span, False)):
            corner = wanted_bellows.box_folded({**square, "length": least}).corner
            check(f"box {span}: least side {least}", (abs(corner.side - corner.end) < 1e-9) == even)
            near("sectors of a box", sum(np.arctan(span / 2 / x) for x in (corner.side, corner.end)), pi / 4)


def outward_closure(folded):
    """Angle between the boards' edges when the panels of a wedge are folded out flat, by reflection."""
    a, hinge = map(np.array, folded.wedge.side_panel())
    def over(p, b):
        along = (b - a) / np.hypot(*(b - a))
        return a + 2 * along * ((p - a) @ along) - (p - a)
    side, end = np.array([folded.corner.side, 0.0]), np.array([-folded.corner.end, 0.0])
    edge = over(over(a + (-1.0, 0.0), end), side)
    one, two = (hinge - a) / np.hypot(*(hinge - a)), edge - a
    return degrees(acos(one @ two))


def try_cards():
    """Cards: worked values of their sides, and the border by another way."""
    for long, wide, span, inset, end, side, slant, other in (
        (16, 13, 6, 1 / 16, (12.875, 2.875), (15.16563, 12.54456, 3.690285),
         (12.73438, 7.978154, 2.875), (15.26369, 14.99298, 2.861941)),
        (16, 13, 6, 1 / 8, (12.75, 2.75), (14.33126, 11.85439, 3.487255),
         (12.46876, 7.919329, 2.75), (14.52737, 14.26972, 2.723882)),
        (9, 6, 3, 1 / 16, (5.875, 1.375), (8.084469, 6.832624, 1.764176),
         (5.730692, 3.406518, 1.375), (8.181294, 8.066865, 1.363549)),
        (300, 200, 100, 2, (196, 46), (270.7030, 228.7858, 59.07224),
         (191.3822, 113.6280, 46), (273.8014, 269.9718, 45.63357)),
    ):
        m = wedge_of(long, wide, span, card={"inset": inset})
        for tuck, triangle in (("side", side), ("end", other)):
            one = wanted_bellows.wedge_folded({**m, "tuck": tuck})
            inner = narrowed(wanted_cards.half_side(one), inset)
            for got, want in zip(sorted(edges(inner)), sorted(triangle)):
                near(f"side card {long} {inset}, tuck {tuck}", got, want)
            made = [member for member in wanted_bellows.bellows({**m, "tuck": tuck}) if member.companion == "card"]
            check("six cards", [card.name for card in made] == [f"card-{n}" for n in range(1, 7)])
            check_end_card(made[0], end if tuck == "side" else slant)
            # The tip goes three insets from where the border's lines would meet.
            lost = Polygon(inner).area - shape(made[2]).area
            lean = one.wedge.alpha
            near("its tip", lost, (3 * inset) ** 2 * np.tan(lean / 2), 1e-5)
    box_cards(12, 8, 4, 1 / 16, (11.875, 1.875), (7.698223, 3.948223, 1.875))
    box_cards(300, 200, 90, 2, (296, 41), (190.3431, 108.3431, 41))
    rib = {"long": 12, "short": 8, "height": 3, "inset": .25}
    want = Polygon([(0, 0), (12, 0), (10, 3), (2, 3)]).buffer(-.25, join_style="mitre", mitre_limit=100)
    got = KINDS["card"](rib)[0]
    near("a rib's card by a border of shapely", shape(got).area, want.area, 1e-9)
    near("its long side", max(edges(got.outline)), max(edges(list(want.exterior.coords)[:-1])), 1e-9)


def check_end_card(card, figures):
    """An end card: a plate, or long side, short side and height."""
    near("end card, length", box(card)[0], figures[0])
    near("end card, height", box(card)[1], figures[-1])
    low = [x for x, y in card.outline if y < 1e-9]
    near("end card, the side by the middle", max(low) - min(low), figures[1] if len(figures) > 2 else figures[0])


def box_cards(long, wide, span, inset, plain, slant):
    """Cards of parallel boards, the tuck in the end panels, one pleat and two."""
    m = {"length": long, "width": wide, "span": span, "board": 1, "boards": "parallel", "tuck": "end",
         "card": {"inset": inset}}
    made = wanted_bellows.bellows(m)[1:]
    check("eight cards", [card.name for card in made] == [f"card-{n}" for n in range(1, 9)])
    check_end_card(made[0], slant)
    check_end_card(made[4], plain)
    double = wanted_bellows.bellows({**m, "span": 2 * span, "pleats": 2})[1:]
    check("sixteen for two pleats", len(double) == 16)
    near("and alike", shape(double[0]).area, shape(made[0]).area, 1e-9)


def try_gussets():
    """Gussets: worked values of sides, diagonals and the angles between ribs."""
    for m, side, across, up in (
        ({"rib": 3}, 4.242641, 6, 6),
        ({"rib": 3, "corner-angle": 60}, 4.242641, 7.348469, 4.242641),
        ({"rib": 3, "lap": .5}, 5.242641, 7.414214, 7.414214),
        ({"rib": 3, "rib-angle": 60}, 3.464102, 6, 3.464102),
        ({"rib": 3, "rib-angle": 67.5}, 3.247177, 6, 2.485281),
        ({"rib": 50}, 70.71068, 100, 100),
    ):
        [member] = KINDS["gusset"](m)
        near(f"gusset {m}: side", edges(member.outline).max(), side)
        for got, want in zip(box(member), (across, up)):
            near(f"gusset {m}: diagonal", got, want)
    ribs = wanted_plates.rib_ends
    for angle, opened, outward, want in (
        (45, 0, False, 0), (45, 30, False, 7.6819), (45, 45, False, 16.8421), (45, 60, False, 28.9550),
        (45, 90, False, 60), (60, 0, False, 30), (60, 90, False, 41.4096), (67.5, 0, False, 45),
        (67.5, 90, False, 31.3997), (45, 0, True, 180), (45, 45, True, 117.2006), (45, 90, True, 60),
    ):
        near(f"ribs at {angle}, open {opened}, out {outward}", ribs(angle, opened, outward), want, 1e-5, 2e-5)
    near("the least corner", wanted_plates.least_corner(67.5), 45)
    for gap in (0.0, .5):
        m = wedge_of(16, 13, 6, 1, **{"hinge-gap": gap, "form": "pieces", "gusset": {"rib-angle": 30.0}})
        made = {member.name: member for member in wanted_bellows.bellows(m)}
        # Between ribs at 30 degrees the flush gusset is what the notches leave open: it stands as high as the span.
        flush = made["gusset-1"]
        near("a flush gusset reaches from board to board", box(flush)[0], 6)
        corner = wanted_bellows.wedge_folded(m).corner
        near("and from notch to notch", box(flush)[1], corner.side + corner.end)
        check("a notched side", shape(made["side-1"]).area < shape(made["side-1"]).convex_hull.area - 1)
        check("two of them", "gusset-2" in made and "gusset-3" not in made)


def try_pieces():
    """A bellows in pieces covers what one strip covers."""
    m = wedge_of(150, 45, 40, 6, **{"form": "taper", "overlap": 0.0})
    strip = shape(wanted_bellows.bellows(m)[0]).area
    made = wanted_bellows.bellows({**m, "form": "pieces"})
    check("its pieces", [piece.name for piece in made] == ["side-1", "side-2", "end", "wrap"])
    near("together the strip", sum(shape(piece).area for piece in made), strip, 1e-9)
    lapped = wanted_bellows.bellows({**m, "form": "pieces", "lap": 10.0})
    near("laps of a side", shape(lapped[0]).area - shape(made[0]).area, 10 * (52 + 12), 1e-9)
    trimmed = wanted_bellows.bellows({**m, "form": "pieces", "trim": 2.0, "gusset": {}})
    plain = wanted_bellows.bellows({**m, "form": "pieces", "gusset": {}})
    near("trim keeps off the notch", shape(trimmed[2]).area - shape(plain[2]).area, 2 * 2 * 45, 1e-9)
    box_m = {"length": 30, "width": 20, "span": 16, "board": 2, "boards": "parallel", "pleats": 2, "overlap": 0.0}
    one, four = wanted_bellows.bellows(box_m), wanted_bellows.bellows({**box_m, "form": "pieces"})
    near("a box in pieces", sum(shape(piece).area for piece in four), shape(one[0]).area, 1e-9)
    check("its creases", len(one[0].creases) == 2 + 1 + 4 + 4 * 4)
    patch = wanted_cards.patches(wedge_of(1, 40, 1, 6, **{"patch": {"lap": 5.0}, "pivot-gap": 3, "hinge-gap": 1}))
    check("a patch round the pivot", len(patch) == 1 and np.allclose(box(patch[0]), (56, 13)))


def try_plates():
    """Flat parts against handbook formulas."""
    # Length of an open belt round two pulleys (engineering handbooks): 2 s + R (pi + 2 f) + r (pi - 2 f).
    body, ear, away = 20.0, 6.0, 28.0
    lean, straight = asin((body - ear) / away), sqrt(away**2 - (body - ear) ** 2)
    m = {"shape": "flange", "outside": 2 * body, "bore": 18.0, "ears": 2, "ear": 2 * ear, "ear-at": away, "ear-hole": 5.0}
    belt = shape(KINDS["gasket"]({**m, "shape": "elbow"})[0])
    near("elbow", belt.exterior.length, 2 * straight + body * (pi + 2 * lean) + ear * (pi - 2 * lean))
    both = KINDS["gasket"](m)[0]
    near("flange", shape(both).exterior.length, 4 * straight + 4 * body * lean + 2 * ear * (pi - 2 * lean))
    check("its box", np.allclose(shape(both).bounds, (0, 0, 2 * (away + ear), 2 * body)))
    check("its holes", sorted(r for _, _, r in both.round_holes) == [2.5, 2.5, 9.0])
    # Two circles in common (Weisstein, MathWorld, "Circle-Circle Intersection").
    r, q, d = 5.0, 4.0, 6.0
    want = q * q * acos((d * d + q * q - r * r) / (2 * d * q)) + r * r * acos((d * d + r * r - q * q) / (2 * d * r))
    want -= sqrt((-d + q + r) * (d + q - r) * (d - q + r) * (d + r + q)) / 2
    near("a lens", Polygon(lens((0, 0, r), (d, 0, q))[1]).area, want, 2e-5)
    check("a hole in a larger one", lens((0, 0, r), (.5, 0, 2.0)) == ((.5, 0, 2.0), None))
    boards = {"length": 60, "width": 20, "hole": [{"at": [10, 10], "diameter": 8}, {"at": [30, 10], "diameter": 8}],
              "opposite-hole": [{"at": [47, 10], "diameter": 6}], "screw": [{"at": [5, 5], "diameter": 2}]}
    through, own = KINDS["gasket"](boards)[0], KINDS["gasket"]({**boards, "opposite-seen": "own"})[0]
    check("no partner", not through.holes and len(through.round_holes) == 1)
    check("seen from its own face", len(own.holes) == 1 and abs(Polygon(own.holes[0]).centroid.x - 11.7) < .6)
    larger = KINDS["gasket"]({**boards, "opposite-seen": "own", "meet": "larger"})[0]
    check("the larger one", (10, 10, 4.0) in larger.round_holes and not larger.holes)
    # A circular segment: radius (c² + 4 b²) / 8 b and its area (engineering handbooks).
    for bow, side in ((3.0, 1), (-3.0, -1), (12.0, 1)):
        radius = (20**2 + 4 * bow * bow) / (8 * abs(bow))
        half = acos(1 - abs(bow) / radius)
        segment = radius * radius * (half - sin(half) * cos(half))
        for corners in ([[0, 0, bow], [20, 0], [20, 30], [0, 30]], [[0, 0], [0, 30], [20, 30], [20, 0, bow]]):
            [member] = KINDS["outline"]({"corners": corners})
            near(f"a bow of {bow}", shape(member).area, 600 + side * segment, 2e-5)
    bent = KINDS["outline"]({"corners": [[0, 0], [30, 0], [30, 10], [10, 10], [10, 40], [0, 40]], "corner": 3.0})[0]
    near("rounded, one corner inside", shape(bent).area, 600 - 4 * (4 - pi) * 9 / 4, 2e-5)
    ring = KINDS["gasket"]({"shape": "frame", "length": 50, "width": 30, "border": 4,
                            "circle": [{"at": [25, 15], "holes": 4, "across": 50, "diameter": 1, "start": 90}]})[0]
    near("a frame", Polygon(ring.outline, ring.holes).area, 1500 - 42 * 22)
    check("holes on a circle", np.allclose(ring.round_holes[1][:2], (0, 15)))
    near("bushing", box(KINDS["bushing"]({"hole": 10, "felt": 2, "depth": 8, "over": 1})[0])[0], 8 * pi)
    papers = KINDS["spacer"]({"outside": 10, "inside": 4, "papers": 2})
    check("papers", [paper.name for paper in papers] == ["paper-1", "paper-2"] and papers[0].is_round())
    flap = KINDS["flap"]({"ports": 3, "pitch": 20, "port-length": 10, "port-width": 6, "margin": 4, "tack": 5})[0]
    check("flap", np.allclose(box(flap), (58, 19)) and np.allclose(flap.creases, [((0, 5), (58, 5))]))
    near("a plain circle", Polygon(circle(0, 0, 1)).area, pi, 2e-5)


TRIALS = (try_pouches, try_strips, try_corners, try_cards, try_gussets, try_pieces, try_plates)
