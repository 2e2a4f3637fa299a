"""Tries the folding: stand-in blanks must fold, spoilt ones must be found, worked values must come out of it."""

from copy import deepcopy
from math import cos, degrees, pi, radians, sin, tan

import numpy as np
from scipy.optimize import brentq
from shapely.geometry import Polygon

import folds_blanks
import folds_parts
from fold_check import EXACT, PASCAL, SAME, Trial
from folds import Piece, Tally
from folds_box import BoxFold, most_rib_angle
from folds_cases import CASES, Case
from folds_wedge import WedgeFold, opening_angle, stroke
from wanted import Pose

BY_NAME = {case.name: case for case in CASES}


def right_ones(tally):
    """Every trial by its stand-in blank."""
    for case in CASES:
        Trial(case, *folds_blanks.make(case), tally, EXACT, SAME).run()


def written_ones(tally):
    """The same as they come out of files: turned, pushed about, four decimals, mapped back."""
    for number, case in enumerate(CASES):
        pieces, said = folds_blanks.make(case)
        for place, (member, piece) in enumerate(sorted(pieces.items())):
            pose = Pose(37.1234567 * place + 5, 41.7654321 + number, 90 * ((place + number) % 4), place % 5 == 4)
            def there_and_back(points):
                return (np.round(pose.on(points), 4) - pose.moved) @ pose.turned
            pieces[member] = Piece(there_and_back(piece.outline), [there_and_back(crease) for crease in piece.creases])
        Trial(case, pieces, said, tally).run()


# Spoilt blanks: each takes case, pieces and figures and spoils one thing.


def _points(piece, change):
    piece.outline = np.array([change(*p) for p in piece.outline])


def _creases(piece, change):
    piece.creases = [[change(*p) for p in crease] for crease in piece.creases]


def _meeting(factor):
    """Moves every place where a diagonal meets the centre line, as seen from its corner line."""
    def spoil(case, pieces, _):
        half = case.mm(case.width) / 2
        def change(x, y):
            near = abs(abs(x) - half)
            on = y == 0 and 1e-9 < near < 1.4 * case.mm(case.span)
            return (np.sign(x) * (half + (abs(x) - half) * factor), y) if on else (x, y)
        _creases(pieces[""], change)
    return spoil


def _longer(share):
    """Side panels as long as the boards, not as their height."""
    def spoil(case, pieces, _):
        half = case.mm(case.width) / 2
        def change(x, y):
            return np.sign(x) * (half + (abs(x) - half) * share) if abs(x) > half + 1e-9 else x, y
        _points(pieces[""], change)
        pieces[""].creases[0] = [change(*p) for p in pieces[""].creases[0]]
    return spoil


def _outline(change, member=""):
    def spoil(case, pieces, _):
        _points(pieces[member], lambda x, y: change(case, x, y))
    return spoil


def _without_crease(number):
    def spoil(case, pieces, _):
        del pieces[""].creases[number]
    return spoil


def _short_crease(case, pieces, _):
    (a, b) = pieces[""].creases[2]
    pieces[""].creases[2] = (a, tuple(np.add(a, np.subtract(b, a) * 0.9)))


def _one_more(case, pieces, _):
    pieces[""].creases.append(((-2.0, -case.mm(case.span) / 2), (-2.0, case.mm(case.span) / 2)))


def _pleat_line(case, pieces, _):
    x, y = pieces[""].creases[1][1]
    pieces[""].creases[1] = ((-x, y + 1), (x, y + 1))


def _figure(label, factor):
    def spoil(_, __, said):
        for own in said.values():
            if label in own:
                own[label] *= factor
    return spoil


def _card(number, change):
    def spoil(case, pieces, _):
        card = pieces[f"card-{number}"]
        pieces[f"card-{number}"] = Piece(change(case, card.outline), [])
    return spoil


def _on_the_tuck(case, outline):
    """A side card for the whole half side."""
    it = folds_blanks.Wedged(case, case.mm(case.span), False)
    whole = folds_blanks._inset([(0, 0), (it.h, 0), (0, it.s / 2)], case.mm(case.card["inset"]))
    return folds_blanks._boxed(folds_blanks._cut_tip(whole, case.mm(case.card["inset"]), it.a)).outline


def _gusset(angle):
    def spoil(case, pieces, said):
        other = deepcopy(case)
        other.gusset["corner-angle"] = angle
        it = folds_blanks.Wedged(case, case.mm(case.span),
            False) if case.boards == "wedge" else folds_blanks.Boxed(case)
        for key in [key for key in pieces if key.startswith("gusset")]:
            pieces[key] = folds_blanks.gusset(other, it)[0]
        said[""]["corner angle of the gusset"] = angle
    return spoil


def _notch(case, pieces, _):
    _points(pieces["side-1"], lambda x, y: (x * 0.9, y) if y == 0 else (x, y))


def _drop(member):
    def spoil(_, pieces, __):
        del pieces[member]
    return spoil


def _by_chord(case, x, y):
    """Half the chord over the boards, no margin of its own: too narrow by what the turned board edge takes."""
    it = folds_blanks.Wedged(case, case.mm(case.span), False)
    return x, np.sign(y) * (abs(y) - it.t * (1 - cos(it.a)) - case.mm(case.trim)) if abs(y) > it.s / 2 else y


SPOILT = (
    ("diagonal 2 % short", "taper", _meeting(0.98), "boards' edges when shut"),
    ("diagonal 2 % short, end", "taper, tuck in the end", _meeting(0.98), "boards' edges when shut"),
    ("diagonal at half a right angle", "strip", _meeting(1 / tan(pi / 4 - opening_angle(4.875, .875) / 2)),
        "edges when shut"),
    ("sides as long as the boards", "wide strip", _longer(1 / cos(opening_angle(150, 40))), "overlap"),
    ("overlap left out", "wide strip", _outline(lambda case, x, y: (x * 0.97, y)), "overlap"),
    ("margin by the chord over the boards", "taper, tuck in the end", _outline(_by_chord), "bare"),
    ("no margin at all", "strip", _outline(lambda case, x, y: (x, y * 0.6)), "bare"),
    ("a diagonal left out", "taper", _without_crease(2), "facets"),
    ("the corner line left out", "taper", _without_crease(1), "facets"),
    ("a diagonal that stops short", "taper", _short_crease, "middle of the cloth"),
    ("a crease too many", "taper", _one_more, "facets"),
    ("no-glue lines left out", "strip", lambda case, pieces, said: pieces[""].creases.__delitem__(slice(-4, None)),
        "outside the free cloth"),
    ("runs on to the pivot", "stops before the pivot", _outline(lambda case, x, y: (x * 1.02, y)),
        "stops before the pivot"),
    ("half a leaf forgotten", "double", _outline(lambda case, x, y: (x, y + 1 if y < 0 else y), "second"), "bare"),
    ("box: diagonals short", "box", _meeting(0.95), "edges when shut"),
    ("box: one pleat line off", "box of three pleats", _pleat_line, "edges when shut"),
    ("box: bare edges", "box", _outline(lambda case, x, y: (x, y * 0.9)), "bare edge"),
    ("box: an overlap too long", "box, tuck in the end", _outline(lambda case, x, y: (x + np.sign(x), y)),
        "overlap behind"),
    ("out: side crease off", "folds out", _meeting(1.01), "edges when shut"),
    ("out: box crease off", "box folds out", _meeting(0.99), "edges when shut"),
    ("surplus by the tangent", "taper", _figure("glue margin, surplus at the open corners", 1.02), "surplus"),
    ("lack doubled", "strip", _figure("glue margin, lack at the hinge corners", 2), "lack"),
    ("fold room", "strip", _figure("fold room left when closed", 1.05), "fold room"),
    ("stack", "strip", _figure("closed stack, least span", 2 / 3), "closed stack"),
    ("stands out", "folds out", _figure("side fold stands out by", 1.01), "stands out"),
    ("depth", "box", _figure("fold depth", 2), "fold depth"),
    ("force of a bare board", "taper", _figure("force at the open end, shut", 1.01), "force"),
    ("volume", "box", _figure("free volume fully open", 1.001), "volume"),
    ("sum of the chords", "double", _figure("span of both wedges, leaf at the centre", .99), "span of both"),
    ("card too large", "cards", _card(1, lambda case, outline: outline * 1.01), "card"),
    ("card on the tuck", "cards", _card(4, _on_the_tuck), "beyond its panel"),
    ("card lies off its box", "box", _card(2, lambda case, outline: outline + (1, 0)), "box starts"),
    ("card with its tip", "cards", _card(3, lambda case, outline: outline * (1.2, 1)),
        "card"),
    ("a card too few", "cards", _drop("card-6"), "cards"),
    ("gusset too small to shut", "box with gussets", _gusset(55), "degrees"),
    ("gusset too flat to open", "box with gussets", _gusset(100), "board to board"),
    ("gusset too small, wedge", "pieces with gussets", _gusset(40), "degrees"),
    ("notch too shallow", "pieces with gussets", _notch, "notches"),
    ("no wrap", "pieces", _drop("wrap"), "hinge end"),
    ("lap left out", "pieces", _outline(lambda case, x, y: (max(x, 0.0), y), "side-1"), "lap"),
)


def spoilt_ones(tally):
    """Every slip is found, and by the check that is meant for it."""
    for words, name, spoil, mark in SPOILT:
        case = BY_NAME[name]
        pieces, said = folds_blanks.make(case)
        pieces, said = deepcopy(pieces), deepcopy(said)
        spoil(case, pieces, said)
        own = Tally()
        Trial(case, pieces, said, own, EXACT, SAME).run()
        tally.check(any(mark in one for one in own.failures), f"found: {words}: {own.failures[:2]}")


# Worked values: by a second author with f64 arithmetic, six figures.


class Values:
    """Counts worked values by their number."""

    def __init__(self, tally):
        self.tally = tally

    def near(self, number, words, got, want, relative=1e-5, off=1e-9):
        self.tally.near(f"worked value {number}, {words}", got, want, off, relative)


def wedge_of(length, width, span, board=0.1, **more):
    """A wedge without gap."""
    return WedgeFold(length, width, board, board, span, **more)


def folded(model, diagonals):
    """Sheets and reach of a wedge folded with these creases at each upper and lower corner.

    ``diagonals``: places along the cloth from the corner line, plus into the side, minus into the end.
    """
    half, s = model.width / 2, model.span / 2
    creases = [((-half - model.height, 0), (half + model.height, 0))]
    for i in (-1, 1):
        for meet in diagonals:
            creases += [((i * half, j * s), (i * (half + meet), 0)) for j in (-1, 1)]
    sheets = model.sheets([np.array(c, float) for c in creases], 1e-9 * model.length)
    miss = model.fold_shut(sheets)
    return sheets, miss


def closing(model, diagonals):
    """How far the first side's edge lies off its board after folding: signed, by the far end of the side."""
    sheets, _ = folded(model, diagonals)
    sheet = sheets[0]
    far = model.width / 2 + model.height
    for facet in sheet.laid:
        flat, shut = sheet.corners(facet), sheet.folded(facet)
        for p, q in zip(flat, shut):
            if abs(p[0] - far) < 1e-9 * far:
                return float(q[1] - model.width / 2)
    return None


def reach_of(model, diagonals):
    sheets, _ = folded(model, diagonals)
    return model.measure(Tally(), "", sheets, 1e-6)["reach"]


def tuck_of(model, kind):
    """Where the diagonal has to meet the centre line: by trying until the corner closes."""
    sign = 1 if kind == "side" else -1
    most = model.span / 2
    return brentq(lambda x: closing(model, (0.0, sign * x)), most * .3, most * .999, xtol=1e-14)


def even_of(model):
    """Half of the middle sector in each panel: places in side and end."""
    s = model.span / 2
    beta = brentq(lambda b: closing(model, (s * tan(b), -s * tan(b))), .1, .6, xtol=1e-14)
    return s * tan(beta), beta


def outward(model, share=0.5):
    """Sectors at the board edges of a cloth that folds out, found by closing it: (side, end)."""
    s, alpha = model.span / 2, model.alpha
    def places(one, two):
        return s / tan(alpha + one), -s / tan(two)
    def miss(total):
        return closing(model, places(share * total, (1 - share) * total))
    total = brentq(miss, .4, pi / 4 - 1e-3, xtol=1e-14)
    return share * total, (1 - share) * total


def strokes(see):
    for number, case, want in (
        (41, (5, 6, 1.1875, .06), 1.353484), (42, (4.875, 6.5, .8125, .0625), 1.000268),
            (43, (150, 190, 38, 2), 45.61933),
    ):
        see.near(number, "stroke", stroke(*case), want)
    rest = brentq(lambda span: stroke(4.875, 6.5, span, .0625) - .5, .07, 2)
    see.near(44, "rest span", rest, .437446)


def corners_shut(see):
    for number, case, want in (
        (49, (5, 1.125, 1.25), (.551198, 4.409586, .833333, .551198, .590569, .620098)),
        (50, (16, 13, 6), (2.481511, 13.23472, 3.893314, 2.481511, 2.744301, 2.946794)),
        (51, (150, 45, 40), (17.48949, 131.1712, 26.56845, 17.48949, 18.81992, 19.82143)),
    ):
        model = wedge_of(*case)
        x, into_end = tuck_of(model, "side"), tuck_of(model, "end")
        even, _ = even_of(model)
        got = (
            x, model.height - x, float(np.hypot(x, model.span / 2)), reach_of(model, (0.0, x))["right"],
            reach_of(model, (even, -even))["right"], reach_of(model, (0.0, -into_end))["right"],
        )
        for words, one, two in zip(("x", "OP", "AP", "reach, side", "reach, even", "reach, end"), got, want):
            see.near(number, words, one, two)
        see.near(number, "tuck in the end meets as far", into_end, x, 1e-9)
    for number, case, want in (
        (52, (5, 1.125, 1.25), (.0226036, -.115196, -.125)), (53, (4.875, .9375, .875), (.137799, .0660307, .0625)),
        (54, (6, 6, 6), (2.535898, .803848, 0)), (55, (150, 45, 40), (10.02101, 5.357150, 5)),
    ):
        model = wedge_of(*case)
        x = tuck_of(model, "side")
        for words, meet, spare in (("side", x, want[0]), ("end", -x, want[1])):
            reach = reach_of(model, (0.0, meet))
            see.near(number, f"spare width, {words}", model.width - reach["left"] - reach["right"], spare)
        see.near(number, "spare width, simple", model.width - model.span, want[2])


def sectors(see):
    for case, want in (((5, 9, 1.25), 41.40962), ((16, 13, 6), 39.59654), ((1, 9, 1), 30.0)):
        model = wedge_of(*case)
        see.near(56, f"middle sector {case}", degrees(np.arctan2(tuck_of(model, "side"), model.span / 2)), want)
    for number, case, want in ((57, (5, 9, 1.25), (.236228, 62.11443, 69.29519)),
        (58, (16, 13, 6), (1.079964, 59.39481, 70.20173))):
        model = wedge_of(*case)
        offset, beta = even_of(model)
        got = (offset, 90 - degrees(model.alpha) - degrees(beta), 90 - degrees(beta))
        for words, one, two in zip(("offset", "side crease", "end crease"), got, want):
            see.near(number, words, one, two)
    for case, want in (((5, 9, 1.25), .31434), ((16, 13, 6), .32462), ((1, 9, 1), .37240)):
        see.near(59, f"tuck slack {case}", wedge_of(*case).slackest(), want, 0, 1e-4)
    for case, cloth, card, want in (((5, 9, 1.25), .010, 0, .0685714), ((16, 13, 6), .035, .05, .504615),
        ((150, 145, 40), .25, 0, 1.730769)):
        model = wedge_of(*case)
        sheets, _ = folded(model, (0.0, tuck_of(model, "side")))
        shut = model.measure(Tally(), "", sheets, 1e-6)
        thick = shut["layers"] * cloth + 4 * card
        see.near(60, f"least end span {case}", thick * model.length / (model.length - shut["reach"]["end"]), want)


def lengths_of(polygon):
    ring = np.array(polygon.exterior.coords)
    return sorted(np.linalg.norm(np.diff(ring, axis=0), axis=1), reverse=True)


def cards(see):
    rows = (
        (61, (16, 13, 6), .0625, (12.875, 2.875), (15.16563, 12.54456, 3.690285), (12.73438, 7.978154, 2.875),
            (15.26369, 14.99298, 2.861941)),
        (62, (16, 13, 6), .125, (12.75, 2.75), (14.33126, 11.85439, 3.487255), (12.46876, 7.919329, 2.75),
            (14.52737, 14.26972, 2.723882)),
        (63, (9, 6, 3), .0625, (5.875, 1.375), (8.084469, 6.832624, 1.764176), (5.730692, 3.406518, 1.375),
            (8.181294, 8.066865, 1.363549)),
        (64, (300, 200, 100), 2, (196, 46), (270.7030, 228.7858, 59.07224), (191.3822, 113.6280, 46),
            (273.8014, 269.9718, 45.63357)),
    )
    for number, case, inset, square, triangle, trapezoid, other in rows:
        model = wedge_of(*case)
        x = tuck_of(model, "side")
        for sign, end, side in ((1, square, triangle), (-1, trapezoid, other)):
            sheets, _ = folded(model, (0.0, sign * x))
            shapes = [
                Polygon(folds_parts.facet_on(model, sheets, panel)).buffer(-inset, join_style="mitre", mitre_limit=1e6)
                for panel in ("end", "right")
            ]
            x0, y0, x1, y1 = shapes[0].bounds
            ring = np.array(shapes[0].exterior.coords)[:-1]
            low = np.ptp(ring[np.abs(ring[:, 1] - y0) < 1e-9][:, 0])
            got = (x1 - x0, y1 - y0) if sign > 0 else (x1 - x0, low, y1 - y0)
            for one, two in zip(got, end):
                see.near(number, "end card", float(one), two)
            for one, two in zip(lengths_of(shapes[1]), side):
                see.near(number, "side card", float(one), two)
            flat = folds_parts.facet_on(model, sheets, "right")
            edges = lengths_of(Polygon(flat))
            see.near(number, "scaled about its incentre", lengths_of(shapes[1])[0],
                edges[0] * (1 - inset / folds_parts.inradius(*edges)), 1e-9)


def out_ones(see):
    model = wedge_of(12, 16, 4, out=True)
    b1, b3 = outward(model)
    see.near(65, "side sector", degrees(b1), 20.10148)
    see.near(65, "middle sector", 180 - degrees(model.alpha + b1 + b3), 130.2030)
    side, end = model.span / 2 / tan(model.alpha + b1), model.span / 2 / tan(b3)
    see.near(65, "side from the hinge", model.height - side, 8.325154)
    see.near(65, "end from the corner", end, 5.464819)
    sheets, _ = folded(model, (side, -end))
    see.near(65, "side stands out", model.measure(Tally(), "", sheets, 1e-6)["beyond"]["side"], 1.387526)
    # On a board wide enough the angles are found; whether 13 is wide enough is a comparison.
    model = wedge_of(16, 30, 6, out=True)
    b1, b3 = outward(model)
    end = model.span / 2 / tan(b3)
    see.near(66, "end from the corner", end, 8.33361)
    see.near(66, "least width", 2 * end, 16.6672)
    see.tally.check(2 * end > 13, "worked value 66, does not fit 13")
    b1, b3 = outward(model, .25)
    for words, got, want in (
        ("side sector", degrees(b1), 9.89913), ("end sector", degrees(b3), 29.6974),
            ("end from the corner", model.span / 2 / tan(b3), 5.26011),
    ):
        see.near(67, words, got, want)
    see.tally.check(model.span / tan(b3) < 13, "worked value 67, fits 13")
    for span, want in ((80, (96.56854, 193.1371)), (2, (2.414214, 4.828427))):
        place = box_closing(span, out=True)
        see.near(68, "crease from the corner", place, want[0])
        see.near(68, "least side", 2 * place, want[1])


def box_closing(span, out=False, split=False, tuck="side"):
    """Where the creases of a box have to meet the middle line: by trying until the corners close."""
    size = 20 * span
    model = BoxFold(size, size, 0, span, overlap=span, out=out, tuck=tuck)
    case = Case("", size, size, span / 9, span, "mm", boards="parallel")
    def miss(place):
        made = folds_blanks.Boxed(case)
        ways = (place, -place) if out or split else (place,)
        end = model.ends()[1]
        creases = made.lines(-end, end)
        for at, into in ((size / 2, 1), (1.5 * size, -1), (-size / 2, -1), (-1.5 * size, 1)):
            own = tuple(into * way for way in ways)
            creases += made.fans(at, own)
            if not (out or split):
                creases.append(((at, -span / 2), (at, span / 2)))
        sheets = model.sheets([np.array(c, float) for c in creases], 1e-9 * size)
        model.fold_shut(sheets)
        sheet = sheets[0]
        for facet in sheet.laid:
            for p, q in zip(sheet.corners(facet), sheet.folded(facet)):
                if abs(p[0] - 1.5 * size) < 1e-9 * size and abs(abs(p[1]) - span / 2) < 1e-9 * size:
                    return float(q[1] - size / 2)
        return None
    low, high = (.6, 3.0) if out else (.1, .35) if split else (.3, .7)
    return brentq(miss, low * span, high * span, xtol=1e-13)


def doubles(see):
    for number, length, chord, each in ((69, 5, 2.5, 1.260043), (70, 4.875, 5.25, 2.734783)):
        whole = wedge_of(length, 1, chord).alpha
        span = brentq(lambda span: 2 * wedge_of(length, 1, span).alpha - whole, chord / 3, chord * .7)
        see.near(number, "each span", span, each)
        see.near(number, "sum", 2 * span, {69: 2.520086, 70: 5.469566}[number])
    for (length, span), want in (((5, 1.25), .156557), ((16, 6), 1.130022), ((4.875, 2.625), .713346)):
        # Two side triangles on one leaf edge; the end panel has to leave it square, in one sheet it leaves it aslant.
        alpha = wedge_of(length, 1, span).alpha
        square, aslant = np.array([0.0, span]), span * np.array([sin(alpha), cos(alpha)])
        see.near(71, "misfit", float(np.linalg.norm(square - aslant)), want)


def boxes(see):
    for number, (length, width, span), inset, square, tucked in (
        (72, (12, 8, 4), .0625, (11.875, 1.875), (7.698223, 3.948223, 1.875)),
            (73, (300, 200, 90), 2, (296, 41), (190.3431, 108.3431, 41)),
    ):
        place = box_closing(span, tuck="end")
        see.near(number, "diagonal", place, span / 2, 1e-9)
        case = Case("", length, width, 1, span, "mm", boards="parallel", tuck="end")
        model = case.models()[None]
        sheets = model.sheets([np.array(c, float) for c in folds_blanks.Boxed(case).blank().creases], 1e-9)
        model.fold_shut(sheets)
        for panel, want in (("right", square), ("end", tucked)):
            shape = Polygon(folds_parts.facet_on(model, sheets, panel)).buffer(-inset, join_style="mitre",
                mitre_limit=1e6)
            x0, y0, x1, y1 = shape.bounds
            ring = np.array(shape.exterior.coords)[:-1]
            low = float(np.ptp(ring[np.abs(ring[:, 1] - y0) < 1e-9][:, 0]))
            got = (x1 - x0, y1 - y0) if panel == "right" else (x1 - x0, low, y1 - y0)
            for one, two in zip(got, want):
                see.near(number, f"card, {panel}", float(one), two)
    for span, want in ((4, .828427), (90, 18.63961)):
        see.near(74, "even offset", box_closing(span, split=True), want)


def gussets(see):
    for number, rib, beta, angle, edge, sizes in (
        (75, 3, 45, 90, 4.242641, (6, 6)), (75, 3, 45, 60, 4.242641, (7.348469, 4.242641)),
            (81, 3, 60, 60, 3.464102, (6, 3.464102)),
        (82, 3, 67.5, 45, 3.247177, (6, 2.485281)),
    ):
        end = BoxFold(1, 1, 0, 2 * rib, rib=radians(beta)).rib_ends()[0]
        see.near(number, "edge", end, edge)
        for got, want in zip(folds_parts.diagonals(end, radians(angle)), sizes):
            see.near(number, "diagonal", got, want)
    for beta, out, rise, want, number in (
        (45, False, 0, 0, 77), (45, False, 30, 7.6819, 77), (45, False, 45, 16.8421, 77), (45, False, 60, 28.9550, 77),
            (45, False, 90, 60, 77),
        (60, False, 0, 30, 78), (60, False, 90, 41.4096, 78), (67.5, False, 0, 45, 79), (67.5, False, 90, 31.3997, 79),
        (45, True, 0, 180, 80), (45, True, 45, 117.2006, 80), (45, True, 90, 60, 80),
    ):
        box = BoxFold(1, 1, 0, 1, out=out, rib=radians(beta))
        see.near(number, f"rib ends, {beta} at {rise}", degrees(box.rib_angle(radians(rise))), want, 1e-5, 1e-5)
    see.near(77, "greatest", degrees(most_rib_angle(radians(45), False)), 60, 1e-9)


def air(see):
    for case, want in (((5, 1.5, 1.25), 4.650735), ((16, 13, 6), 612.9331), ((150, 45, 40), 133794.6)):
        model = wedge_of(*case)
        see.near(84, "full volume", model.full_air(), want)
        see.near(84, "by the folded solid", model.air(model.alpha), want)
    for number, case, share, want in (
        (85, (5, 1.5, 1.25), .5, 1.642142), (85, (150, 45, 40), .5, 46162.11), (86, (5, 1.5, 1.25), .75, 2.687117),
            (86, (16, 13, 6), .9, 479.0779),
    ):
        model = wedge_of(*case)
        see.near(number, f"volume at {share}", model.air(np.arcsin(share * sin(model.alpha))), want)
    for case, want in (((5, 1.5, 1.25), .660645), ((16, 13, 6), .709104), ((150, 45, 40), .642110)):
        see.near(87, "pull when shut", wedge_of(*case).pull(0.0), want)
    for number, case, share, want in (
        (88, (5, 1.5, 1.25), .25, .68911), (88, (5, 1.5, 1.25), .5, .78829), (88, (5, 1.5, 1.25), .75, 1.03566),
            (88, (5, 1.5, 1.25), .9, 1.46317),
        (89, (16, 13, 6), .5, .81119), (89, (16, 13, 6), .9, 1.36999), (89, (150, 45, 40), .5, .77552),
            (89, (150, 45, 40), .9, 1.48680),
    ):
        model = wedge_of(*case)
        see.near(number, f"pull at {share}", model.pull(np.arcsin(share * sin(model.alpha))), want, 0, 1e-5)
    for length, width, vacuum, want in ((5, 1.125, 5, 2.259875), (4.875, .9375, 20, 7.344592), (16, 13, 20, 334.2606)):
        # A bare board: pressure on its area, its middle at half the length, pulled at the end.
        moment = vacuum * PASCAL * (length * .0254) * (width * .0254) * (length * .0254 / 2)
        see.near(90, "bare board", moment / (length * .0254), want)


def run(tally):
    """Everything."""
    right_ones(tally)
    written_ones(tally)
    spoilt_ones(tally)
    see = Values(tally)
    for one in (strokes, corners_shut, sectors, cards, out_ones, doubles, boxes, gussets, air):
        one(see)
