"""Figures of single wedges in one strip: against the wedge built in space, unfolded and folded shut."""

from math import degrees, hypot

import numpy as np
from shapely.geometry import Polygon

from outside_bench import INCH
from wedge import Wedge

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


ROUNDS = (wedges, worked_bellows)
