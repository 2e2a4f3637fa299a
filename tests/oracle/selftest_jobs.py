"""Tries the reading of jobs: companions, growth, tables of holes, drawn outlines; and the comparison of creases."""

import json
import tempfile
from pathlib import Path

import ezdxf
import numpy as np
from shapely.geometry import Polygon

import mock_lay
from creases import whole_lines
from cut_simulation import simulate
from jobs import read_job
from outlines import read_outline
from trials import check, near
from wanted import pieces

JOB = """[job]
unit = "mm"
notes = 4
spares = "1"

[machines]
laser = "trial-laser"
knife = "trial-knife"

[[part]]
name = "pump"
kind = "bellows"
positions = "1-2"
length = "16 in"
width = "13 in"
board = "3/4 in"
span = "6 in"
span-is = "inside"
form = "pieces"
vacuum = "20 inH2O"
stroke = "3 in"
material = "cloth"
cut-with = "laser"

[part.card]
inset = "1/16 in"
material = "board"
cut-with = "knife"
face = "grain"
spares = "none"

[part.gusset]
rib-angle = "45°"
lap = "1/4 in"
material = "skin"
cut-with = "knife"
stretch = "material"
wet-glue = ["1 %", "2 %"]

[[part]]
name = "flap"
kind = "flap"
count = 1
port-length = 20
port-width = 5
margin = 3
material = "skin"
cut-with = "knife"
from-thickness = ["34 thou", "36 thou"]

[[part]]
name = "board"
kind = "gasket"
count = 1
length = 100
width = 50
hole-table = "holes.csv"
material = "board"
cut-with = "knife"

[[part.circle]]
at = [70, 25]
holes = 3
across = 20
diameter = "#30 drill"
start = "45 deg"

[[part]]
name = "skins"
kind = "pouch"
count = 1
form = "strip"
well = 20
dip = 2
land = 4
end = 6
dips = 3
pitch = 30
material = "skin"
cut-with = "knife"

[[part.break]]
after = 2
add = 5

[part.dot]
diameter = 5
material = "cloth"
cut-with = "laser"
"""
STUFF = {"cloth": "", "board": "", "skin": '[stretch]\nalong = "3 %"\nacross = "2 %"\nsource = "assumed"\n'}


def try_job():
    """A job with companions."""
    with tempfile.TemporaryDirectory() as room:
        folder = Path(room)
        for kind in ("materials", "machines"):
            (folder / kind).mkdir()
        for name, text in STUFF.items():
            (folder / "materials" / f"{name}.toml").write_text(f'[material]\nname = "{name}"\n\n{text}', encoding="utf-8")
        for name in ("laser", "knife"):
            (folder / "machines" / f"trial-{name}.toml").write_text(f'[machine]\nprocess = "{name}"\n', encoding="utf-8")
        (folder / "holes.csv").write_text("x;y (in);diameter;note\n10;1/2;4;a\n\n20;1/2;#10 drill;\n", encoding="utf-8")
        (folder / "job.toml").write_text(JOB, encoding="utf-8")
        job = read_job(folder)
    check("parts and companions", list(job.parts) == [
        "pump", "pump/card", "pump/gusset", "flap", "board", "skins", "skins/dot",
    ])
    card, gusset = job.parts["pump/card"], job.parts["pump/gusset"]
    check("a card's own", (card.material, card.machine, card.face, card.name) == ("board", "knife", "grain", "pump"))
    check("growth, wet and dry", np.allclose(gusset.stretch, (1.03 * 1.01 - 1, 1.02 * 1.02 - 1), atol=1e-12))
    check("growth of the rest", job.parts["pump"].stretch == (0, 0))
    check("a flap lies as it gives least", job.parts["flap"].grain == "across")
    wanted = pieces(job)
    names = set(wanted)
    for name in ("pump:2/side-1", "pump:1/side-2+1", "pump:1/card-6", "pump:2/gusset-2", "pump:1/gusset-1+1", "flap:1+1",
                 "skins:1", "skins:1/dot-1", "skins:1/dot-3+1"):
        check(f"{name} is wanted", name in names)
    check("no spare cards", not any(name.startswith("pump:1/card") and "+" in name for name in names))
    check("its count", sum(name.startswith("pump:") for name in names) == 2 * (4 + 6 + 2) + 4 + 2)
    check("each by its material", {wanted[f"pump:1/{it}"].part.material for it in ("end", "card-1", "gusset-1")} == {
        "cloth", "board", "skin",
    })
    holes = wanted["board:1"].member.round_holes
    near("holes of a table", holes[1][1], 12.7, 1e-12)
    near("a drill in a table", 2 * holes[1][2], .1935 * 25.4, 1e-12)
    near("on a circle", holes[2][0], 70 + 10 * .5**.5, 1e-12)
    long = np.ptp(wanted["skins:1"].member.outline[:, 0])
    check("a strip with a break", 65 + 20 + 12 < long < 65 + 20 + 12 + 3 * 20 * .04)


def try_drawn():
    """A drawn outline by both readers: the same plate with a round hole and a notch."""
    svg = """<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="0 0 80 60">
    <g transform="translate(10 10)"><path d="M0 0 h50 v20 a10 10 0 0 1 0 20 h-50 z"/></g>
    <circle cx="25" cy="25" r="4"/><rect x="35" y="20" width="6" height="8"/></svg>"""
    want = 50 * 40 + np.pi * 100 / 2
    with tempfile.TemporaryDirectory() as room:
        path = Path(room) / "it.svg"
        sizes = (('width="80mm" height="60mm"', None, 1), ("", "in", 25.4), ('width="8cm" height="6cm"', "in", 1))
        for size, unit, scale in sizes:
            path.write_text(svg.format(size=size), encoding="utf-8")
            drawn = read_outline(path, unit)
            near(f"drawn, {size or unit}", Polygon(drawn.outline).area, want * scale**2, 1e-4)
            there = np.array([25, 35, 4]) * scale
            check("a round hole", np.allclose(drawn.round_holes, [there]) and len(drawn.holes) == 1)
        document = ezdxf.new("R2000")
        document.header["$INSUNITS"] = 5
        space = document.modelspace()
        for a, b in (((6, 1), (1, 1)), ((1, 1), (1, 5)), ((1, 5), (6, 5)), ((6, 1), (6, 2)), ((6, 4), (6, 5))):
            space.add_line(a, b)
        space.add_arc((6, 3), 1, 270, 90)
        space.add_circle((2.5, 3.5), .4)
        space.add_lwpolyline([(3.5, 3.2), (4.1, 3.2), (4.1, 4), (3.5, 4)], close=True)
        document.saveas(Path(room) / "it.dxf")
        drawn = read_outline(Path(room) / "it.dxf", "in")
    near("drawn in lines and arcs", Polygon(drawn.outline).area, want, 1e-4)
    check("its holes", np.allclose(drawn.round_holes, [(25, 35, 4)]) and len(drawn.holes) == 1)
    check("a traced circle", np.allclose(read_round(), (5, 5, 3), atol=1e-6))


def read_round():
    """The outline of a file that is one circle."""
    with tempfile.TemporaryDirectory() as room:
        path = Path(room) / "it.svg"
        text = '<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm" viewBox="0 0 10 10">'
        path.write_text(f'{text}<circle cx="5" cy="5" r="3"/></svg>', encoding="utf-8")
        return read_outline(path).round_at


def try_creases():
    """Lines are one however they are cut up, and are not where they only touch."""
    whole = [((0, 0), (10, 0))]
    check("in two", len(whole_lines([((4, 0), (0, 0)), ((4, 0), (10, 0))])) == 1)
    check("twice", len(whole_lines(whole + [((10, 0), (0, 0))])) == 1)
    check("in five, not in order", len(whole_lines([((n, 0), (n + 2, 0)) for n in (8, 0, 4, 2, 6)])) == 1)
    for other in (
        ((10.01, 0), (12, 0)), ((0, .01), (10, .01)), ((10, 0), (12, .01)), ((5, 0), (5, 3)), ((0, 0), (.02, .01)),
    ):
        check(f"apart: {other}", len(whole_lines(whole + [other])) == 2)
    [one] = whole_lines([((3, 4), (0, 0)), ((3, 4), (6, 8))])
    near("as long as both", float(np.hypot(*(one[1] - one[0]))), 10, 1e-9)


PALLET = """[job]
unit = "mm"

[machines]
laser = "trial-laser"
knife = "trial-knife"

[[hide]]
id = "H-1"
material = "skin"
corners = [[0, 0], [400, 0], [400, 300], [0, 300]]

[[leaf]]
id = "F-1"
material = "felt"
length = 400
width = 300

[[part]]
name = "pallet"
kind = "pallet"
count = 1
length = 50
width = 20
over = 5
material = "skin"
cut-with = "laser"

[part.felt]
material = "felt"
cut-with = "knife"
stretch = ["0 %", "25 %"]
"""
CUT = '[[cut]]\non = "{}"\nkerf = "{} mm"\ngap = "1 mm"\nedge = "5 mm"\n'


def pallet_lay(folder, slip):
    """A lay of a pallet and its felt, each on its sheet by its machine, written by hand; or with one slip."""
    lay = folder / "out" / "lay-1"
    for place in (folder / "machines", folder / "materials", lay):
        place.mkdir(parents=True)
    (folder / "job.toml").write_text(PALLET, encoding="utf-8")
    sheets = (("skin", "laser", .4, "H-1", "pallet:1"), ("felt", "knife", .1, "F-1", "pallet:1/felt"))
    rows = []
    for stuff, machine, kerf, sheet, address in sheets:
        text = f'[machine]\nprocess = "{machine}"\nsmallest-hole = "2 mm"\n'
        (folder / "machines" / f"trial-{machine}.toml").write_text(text, encoding="utf-8")
        cut = CUT.format(machine, kerf)
        (folder / "materials" / f"{stuff}.toml").write_text(f'[material]\nname = "{stuff}"\n{cut}', encoding="utf-8")
        on = "H-1" if slip == "felt on the skin" else sheet
        x = 20 if on == sheet else 120
        rows.append({"address": address, "sheet": on, "host": None, "x": x, "y": 20, "turn": 0, "mirrored": False})
        high = 30 / 1.25 if stuff == "felt" and slip != "felt as the skin" else 30
        wide = .4 if slip == "one kerf" else kerf
        strokes = [
            mock_lay.Stroke("RULE", "", ((10, 310, 0), (110, 310, 0)), False),
            mock_lay.pose(mock_lay.Stroke("EDGES", address, mock_lay.outline(60, high, 0, wide)), 20, 20, 0),
        ]
        mock_lay.write_svg(lay / f"{sheet}-{machine}.svg", strokes, None)
        mock_lay.write_dxf(lay / f"{sheet}-{machine}.dxf", strokes, None)
    if slip == "felt forgotten":
        rows.pop()
    names = [{"id": sheet, "grain": 0.0} for *_, sheet, _ in sheets]
    (lay / "lay.json").write_text(json.dumps({"sheets": names, "pieces": rows, "left": []}), encoding="utf-8")
    return lay


def try_pallet():
    """Companions are cut by their own kerf and growth, on their own sheet."""
    for slip in (None, "felt on the skin", "felt as the skin", "one kerf", "felt forgotten"):
        with tempfile.TemporaryDirectory() as room:
            folder = Path(room) / "job"
            tally = simulate(folder, pallet_lay(folder, slip), say=lambda _: None)
        check(f"pallet, {slip}: {tally.failures[:3]}", bool(tally.failures) == (slip is not None))
        check(f"pallet, {slip}: looked at", tally.passed > 15)


TRIALS = (try_job, try_drawn, try_creases, try_pallet)
