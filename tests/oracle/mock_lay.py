"""A small job with its lay and its cut files, written by hand, right or with one slip.

The cut lines are worked out here from the sizes below, by adding and taking off half a kerf, and not by the code that
is tried on them. ``write(folder, slip)`` makes the whole folder; ``SLIPS`` names every slip that must be found.
"""

import itertools
import json
from dataclasses import dataclass, replace
from math import atan, cos, hypot, radians, sin, tan
from pathlib import Path

import ezdxf

KERF = 0.2
JOB = """[job]
title = "trial"
unit = "mm"
spares = "none"

[machines]
laser = "trial-laser"

[[hide]]
id = "H-1"
material = "trial-calf"
corners = [[0, 0], [400, 0], [400, 300], [0, 300]]
grain = 0
up = "grain"

[[hide.flaw]]
at = ["350 mm", "250 mm"]
diameter = "40 mm"

[[part]]
name = "plate"
kind = "gasket"
count = 1
length = "100 mm"
width = "40 mm"
corner = "5 mm"
material = "trial-calf"
cut-with = "laser"

[[part.hole]]
at = ["20 mm", "12 mm"]
diameter = "10 mm"

[[part.screw]]
at = ["90 mm", "30 mm"]
diameter = "1.5 mm"

[[part.slot]]
at = ["60 mm", "20 mm"]
length = "30 mm"
width = "6 mm"
ends = "square"

[[part]]
name = "mate"
kind = "gasket"
count = 1
mate-of = "plate"
material = "trial-calf"
cut-with = "laser"

[[part]]
name = "big-ring"
kind = "ring"
count = 1
outside = "80 mm"
inside = "50 mm"
material = "trial-calf"
cut-with = "laser"

[[part]]
name = "guest"
kind = "disk"
count = 2
diameter = "20 mm"
material = "trial-calf"
cut-with = "laser"

[[part]]
name = "fold"
kind = "hinge"
count = 1
length = "60 mm"
leaf = "10 mm"
gap = "1 mm"
grain = "along length"
material = "trial-calf"
cut-with = "laser"

[[part]]
name = "flap"
kind = "strip"
count = 1
length = "52 mm"
width = "20.8 mm"
stretch = ["4 %", "4 %"]
material = "trial-calf"
cut-with = "laser"
"""
MATERIAL = """[material]
name = "trial calf"
sort = "leather"
tannage = "vegetable"

[[cut]]
on = "laser"
kerf = "0.2 mm"
gap = "1.5 mm"
edge = "6 mm"
"""
MACHINE = """[machine]
process = "laser"
width = "290 mm"
depth = "330 mm"
margin = "5 mm"
smallest-hole = "2 mm"
"""

SLIPS = [
    "kerf on the wrong side", "no kerf", "missing hole", "hole too much", "shifted by 0.05", "mirrored", "doubled",
    "missing piece", "extra piece", "no cross", "cross off", "hole as edge", "over the edge", "on the flaw", "too near",
    "not closed", "circle as chords", "wrong unit", "no stretch", "crease off", "host before guest", "rule short",
    "strange layer", "lay lacks a piece", "turned", "wrong radius", "mark as cut", "dot off", "dot lost", "dot doubled",
    "dot on a piece", "dot shut in",
]
# The same job cut in two bed windows: right, and with a slip.
WINDOWS = "two windows"
WINDOW_SLIPS = [
    "two windows, file moved", "two windows, overlapping", "two windows, piece across", "two windows, piece in the other",
    "two windows, beyond the bed", "two windows, dot lost",
]


@dataclass(frozen=True)
class Stroke:
    """One line: corners with bulges, or a circle."""

    layer: str
    address: str
    corners: tuple = ()
    closed: bool = True
    circle: tuple | None = None


def plate(x, y, w, h, r):
    """Corners of a plate, counter-clockwise, rounded by quarter turns."""
    if r <= 0:
        return ((x, y, 0), (x + w, y, 0), (x + w, y + h, 0), (x, y + h, 0))
    b = tan(radians(22.5))
    return (
        (x + r, y, 0), (x + w - r, y, b), (x + w, y + r, 0), (x + w, y + h - r, b),
        (x + w - r, y + h, 0), (x + r, y + h, b), (x, y + h - r, 0), (x, y + r, b),
    )


def outline(w, h, r, k):
    """The cut round a plate: half the kerf outside, corners rounded by it."""
    return plate(-k / 2, -k / 2, w + k, h + k, r + k / 2)


def members(slip):
    """The strokes of each address in the part's own coordinates."""
    k = {"kerf on the wrong side": -KERF, "no kerf": 0.0}.get(slip, KERF)
    if slip == "kerf on the wrong side":
        plate_cut = plate(KERF / 2, KERF / 2, 100 - KERF, 40 - KERF, 5 - KERF / 2)
    else:
        plate_cut = outline(100, 40, 5, k)
    gasket = [
        Stroke("PUNCH", "", ((89.5, 30, 0), (90.5, 30, 0)), False),
        Stroke("PUNCH", "", ((90, 29.5, 0), (90, 30.5, 0)), False),
        Stroke("HOLES", "", circle=(20, 12, 5 - k / 2)),
        Stroke("HOLES", "", plate(45 + k / 2, 17 + k / 2, 30 - k, 6 - k, 0)),
        Stroke("EDGES", "", plate_cut),
    ]
    if slip == "missing hole":
        gasket.pop(2)
    if slip == "hole too much":
        gasket.insert(2, Stroke("HOLES", "", circle=(80, 10, 3)))
    if slip == "no cross":
        gasket.pop(1)
    if slip == "cross off":
        gasket[:2] = [replace(s, corners=tuple((x + .05, y, b) for x, y, b in s.corners)) for s in gasket[:2]]
    if slip == "hole as edge":
        gasket[-3] = replace(gasket[-3], layer="EDGES")
    if slip == "not closed":
        gasket[-1] = replace(gasket[-1], closed=False)
    if slip == "mark as cut":
        gasket.insert(0, Stroke("EDGES", "", ((30, 30, 0), (40, 30, 0)), False))
    grown = 1.0 if slip == "no stretch" else 1 / 1.04
    crease = 0.05 if slip == "crease off" else 0.0
    ring = [Stroke("HOLES", "", circle=(0, 0, 25 - k / 2)), Stroke("EDGES", "", circle=(0, 0, 40 + k / 2))]
    guest = [Stroke("EDGES", "", circle=(0, 0, 10 + k / 2 + (.012 if slip == "wrong radius" else 0)))]
    if slip == "circle as chords":
        turns = [radians(360 * i / 250) for i in range(250)]
        guest = [Stroke("EDGES", "", tuple((cos(u) * (10 + k / 2), sin(u) * (10 + k / 2), 0) for u in turns))]
    return {
        "plate:1": gasket,
        "mate:1": [mirror(s) for s in gasket],
        "guest:1": guest,
        "guest:2": guest,
        "big-ring:1": ring,
        "fold:1": [
            Stroke("CREASE", "", ((0, 10 + crease, 0), (60, 10 + crease, 0)), False),
            Stroke("CREASE", "", ((0, 11, 0), (60, 11, 0)), False),
            Stroke("EDGES", "", outline(60, 21, 0, k)),
        ],
        "flap:1": [Stroke("EDGES", "", outline(52 * grown, 20.8 * grown, 0, k))],
    }


def mirror(s):
    """A stroke seen from its back."""
    ring = s.circle and (-s.circle[0], *s.circle[1:])
    return replace(s, corners=tuple((-x, y, -b) for x, y, b in s.corners), circle=ring)


def pose(s, x, y, turn):
    """A stroke turned and moved."""
    c, d = cos(radians(turn)), sin(radians(turn))
    def on(px, py):
        return x + c * px - d * py, y + d * px + c * py
    ring = s.circle and (*on(*s.circle[:2]), s.circle[2])
    return replace(s, corners=tuple((*on(px, py), b) for px, py, b in s.corners), circle=ring)


# Address: x, y, turn, host.
PLACES = {
    "plate:1": (20, 20, 0, None),
    "mate:1": (260, 60, 30, None),
    "guest:1": (74, 180, 0, "big-ring:1"),
    "guest:2": (150, 180, 10, None),
    "big-ring:1": (70, 180, 45, None),
    "fold:1": (250, 190, 180, None),
    "flap:1": (300, 150, 77, None),
}


# Register dots, and the bed windows with their corners.
DOTS = [(125.0, 290.0), (125.0, 8.0)]
BOXES = [(0, 0, 130, 300), (130.3, 0, 400, 300)]


def strokes(slip):
    """Every stroke of the sheet, in cutting order."""
    made = []
    for address, lines in members(slip).items():
        x, y, turn, _host = PLACES[address]
        if slip == "shifted by 0.05" and address == "mate:1":
            x += 0.05
        if slip == "turned" and address == "plate:1":
            turn += 0.02
        if slip == "mirrored" and address == "plate:1":
            lines, x = [mirror(s) for s in lines], x + 100
        if slip == "missing piece" and address == "flap:1":
            continue
        there = [replace(pose(s, x, y, turn), address=address) for s in lines]
        made += there * (2 if slip == "doubled" and address == "guest:2" else 1)
    if slip == "extra piece":
        made.append(Stroke("EDGES", "guest:3", circle=(200, 250, 10.1)))
    if slip == "host before guest":
        made.sort(key=lambda s: s.address.startswith("guest"))
    if slip == "strange layer":
        made.append(Stroke("CUT", "", ((300, 100, 0), (320, 100, 0)), False))
    for x, y in DOTS:
        x += 0.05 if slip == "dot off" else 0
        arms = [((x - 1, y, 0), (x + 1, y, 0)), ((x, y - 1, 0), (x, y + 1, 0))]
        if slip == "dot lost" or (slip == "dot doubled" and y > 200):
            arms = arms[1:] if slip == "dot lost" else arms * 2
        made += [Stroke("DOTS", "", arm, False) for arm in arms]
    end = 99.9 if slip == "rule short" else 100
    return [Stroke("RULE", "", ((10, 310, 0), (10 + end, 310, 0)), False), *made]


def _bulge_d(corners, closed, height):
    d = f"M{corners[0][0]:.4f} {height - corners[0][1]:.4f}"
    ends = list(corners[1:]) + ([corners[0]] if closed else [])
    for (ax, ay, b), (bx, by, _) in zip(corners, ends):
        if b:
            radius = hypot(bx - ax, by - ay) / 2 / sin(2 * atan(abs(b)))
            d += f" A{radius:.6f} {radius:.6f} 0 0 {int(b < 0)} {bx:.4f} {height - by:.4f}"
        else:
            d += f" L{bx:.4f} {height - by:.4f}"
    return d + (" Z" if closed else "")


def write_svg(path, lines, slip, height=320.0):
    """The strokes as SVG in their order, a group a run of one layer."""
    box = "0 0 400 320" if slip != "wrong unit" else "0 0 1511.811 1209.449"
    text = f'<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="320mm" viewBox="{box}">\n'
    runs = {}
    for layer, strokes in itertools.groupby(lines, key=lambda s: s.layer):
        runs[layer] = runs.get(layer, 0) + 1
        name = layer if runs[layer] == 1 else f"{layer}-{runs[layer]}"
        text += f'<g id="{name}">\n'
        for s in strokes:
            title = f"<title>{s.address}</title>" if s.address else ""
            if s.circle:
                x, y, r = s.circle
                text += f'<circle cx="{x:.4f}" cy="{height - y:.4f}" r="{r:.4f}">{title}</circle>\n'
            else:
                text += f'<path d="{_bulge_d(s.corners, s.closed, height)}">{title}</path>\n'
        text += "</g>\n"
    path.write_text(text + "</svg>\n", encoding="utf-8")


def write_dxf(path, lines, slip):
    """The strokes as DXF."""
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 1 if slip == "wrong unit" else 4
    space = document.modelspace()
    for s in lines:
        there = {"layer": s.layer}
        if s.circle:
            space.add_circle(s.circle[:2], s.circle[2], dxfattribs=there)
        elif len(s.corners) == 2 and not s.closed:
            space.add_line(s.corners[0][:2], s.corners[1][:2], dxfattribs=there)
        else:
            space.add_lwpolyline(s.corners, format="xyb", close=s.closed, dxfattribs=there)
    document.saveas(path)


FIRST = ("plate:1", "guest:1", "big-ring:1")


def write_windows(lay, record, lines, slip):
    """The same lay in two bed windows, a file each; a window's file begins at its own corner, half a kerf out."""
    boxes = [list(b) for b in BOXES]
    if slip.endswith("overlapping"):
        boxes[0][2] = 131
    if slip.endswith("across"):
        boxes[1][0] = 145
    for row in record["pieces"]:
        row["window"] = 1 if row["address"] in FIRST else 2
        if slip.endswith("in the other") and row["address"] == "guest:2":
            row["window"] = 1
    corners = [(0, 0), (122, 0)]
    if slip.endswith("beyond the bed"):
        corners[1] = (124.5, 0)
    record["windows"] = [
        {"sheet": "H-1", "number": n + 1, "corner_x": x, "corner_y": y, **dict(zip(("x0", "y0", "x1", "y1"), b))}
        for n, (b, (x, y)) in enumerate(zip(boxes, corners))
    ]
    for dot in record["dots"]:
        dot["windows"] = [1, 2]
    (lay / "lay.json").write_text(json.dumps(record), encoding="utf-8")
    for n, (x, y) in enumerate(corners):
        off = 0.05 if slip.endswith("file moved") else 0
        here = [s for s in lines if not s.address or (s.address in FIRST) == (n == 0)]
        if slip.endswith("dot lost") and n == 1:
            here = [s for s in here if s.layer != "DOTS"]
        here = [pose(s, KERF / 2 - x + off, KERF / 2 - y, 0) for s in here]
        write_svg(lay / f"H-1-w{n + 1}-laser.svg", here, slip)
        write_dxf(lay / f"H-1-w{n + 1}-laser.dxf", here, slip)


def write(folder, slip):
    """The job with its lay and its files; gives the lay's folder."""
    folder, lay = Path(folder), Path(folder) / "out" / "lay-1"
    for room in (folder / "machines", folder / "materials", lay):
        room.mkdir(parents=True)
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    (folder / "materials" / "trial-calf.toml").write_text(MATERIAL, encoding="utf-8")
    (folder / "machines" / "trial-laser.toml").write_text(MACHINE, encoding="utf-8")
    rows = []
    saved = dict(PLACES)
    moved = {"over the edge": (385, 280), "on the flaw": (335, 240), "too near": (121.5, 180)}
    if slip in moved:
        PLACES["guest:2"] = (*moved[slip], 10, None)
    for address, (x, y, turn, host) in PLACES.items():
        rows.append({"address": address, "sheet": "H-1", "host": host, "x": x, "y": y, "turn": turn, "mirrored": False})
    if slip == "lay lacks a piece":
        rows = [row for row in rows if row["address"] != "flap:1"]
    dots = [{"sheet": "H-1", "x": x, "y": y, "windows": []} for x, y in DOTS]
    if slip in ("dot on a piece", "dot shut in"):
        dots[0].update(zip("xy", (60.0, 40.0) if slip == "dot on a piece" else (84.0, 190.0)))
    sheet = {"id": "H-1", "group": 0, "generation": 1, "grain": 0.0, "face": "grain", "edge": 6.1}
    record = {"schema": 1, "seed": 1, "sheets": [sheet], "pieces": rows, "windows": [], "dots": dots, "left": []}
    lines = strokes(slip)
    if slip and slip.startswith(WINDOWS):
        write_windows(lay, record, lines, slip)
        return lay
    (lay / "lay.json").write_text(json.dumps(record), encoding="utf-8")
    write_svg(lay / "H-1-laser.svg", lines, slip)
    write_dxf(lay / "H-1-laser.dxf", lines, slip)
    PLACES.update(saved)
    return lay
