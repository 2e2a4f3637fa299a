"""Small random jobs to be laid: hides with flaws, zones and readings, cloth and leaves; parts of several kinds.

``write(folder, seed)`` makes the job folder of a seed.
"""

import math
import random
from pathlib import Path

MATERIAL = """[material]
name = "trial calf"
sort = "leather"
tannage = "vegetable"
source = "assumed"

[[cut]]
on = "laser"
kerf = "{kerf:.3f} mm"
gap = "{gap:.2f} mm"
edge = "{edge:.2f} mm"
least-web = "1 mm"
source = "assumed"
"""
MACHINE = """[machine]
process = "laser"
width = "{wide} mm"
depth = "{deep} mm"
margin = "5 mm"
smallest-hole = "2 mm"
source = "assumed"

[laser]
wavelength = "450 nm"
power = "10 W"
class = "4"
enclosed = false
extraction = "outdoors"
"""
HEAD = """[job]
title = "trial"
unit = "mm"
spares = "none"

[machines]
laser = "trial-laser"
"""


def _wave(chance, size):
    """Corners of a round line whose radius waves; none below 0."""
    waves = [(k, chance.uniform(0, 0.25 / k), chance.uniform(0, math.tau)) for k in range(2, 6)]
    corners = []
    for i in range(28):
        angle = math.tau * i / 28
        radius = size * (1 + sum(high * math.sin(k * angle + start) for k, high, start in waves))
        corners.append((1.6 * size + radius * math.cos(angle), 1.6 * size + radius * math.sin(angle)))
    return corners


def _list(corners):
    return "[" + ", ".join(f"[{x:.3f}, {y:.3f}]" for x, y in corners) + "]"


def _spot(chance, wide, high):
    return f"[{chance.uniform(0.1, 0.9) * wide:.2f}, {chance.uniform(0.1, 0.9) * high:.2f}]"


def _rest(chance, kind, wide, high, readings):
    """Flaws, zones and readings of a sheet."""
    text = ""
    for _ in range(chance.randrange(3)):
        text += f"\n[[{kind}.flaw]]\nat = {_spot(chance, wide, high)}\ndiameter = {chance.uniform(8, 40):.2f}\n"
    for _ in range(chance.randrange(4)):
        grade = chance.randint(1, 4)
        text += f"\n[[{kind}.zone]]\ngrade = {grade}\n"
        if chance.random() < 0.3:
            text += f"at = {_spot(chance, wide, high)}\ndiameter = {chance.uniform(0.2, 0.6) * min(wide, high):.2f}\n"
        else:
            x, y = chance.uniform(-0.1, 0.7) * wide, chance.uniform(-0.1, 0.7) * high
            a, b, lean = (chance.uniform(0.2, 0.6) * wide, chance.uniform(0.2, 0.6) * high, chance.uniform(-30, 30))
            text += f"corners = {_list([(x, y), (x + a, y + lean), (x + a + lean, y + b), (x + lean, y + b)])}\n"
    for n in range(readings):
        thick = chance.choice((0.8, 0.9, 1.0, 1.1)) if n else 0.9
        text += f"\n[[{kind}.reading]]\nat = {_spot(chance, wide, high)}\nthickness = \"{thick} mm\"\n"
    return text


def _sheet(chance, name):
    kind = chance.choice(("hide", "hide", "hide", "cloth", "leaf"))
    text = f"\n[[{kind}]]\nid = \"{name}\"\nmaterial = \"trial-calf\"\n"
    text += chance.choice(("up = \"grain\"\n", "up = \"flesh\"\n"))
    if name != "S-1" and chance.random() < 0.6:
        text += f"grade = {chance.randint(1, 3)}\n"
    # Where its thickness is not read here and there it is one figure.
    readings = chance.choice((0, 0, 2, 4))
    if not readings:
        text += f"thickness = \"{0.9 if name == 'S-1' else chance.choice((0.9, 1.2))} mm\"\n"
    if kind == "hide":
        size = chance.uniform(90, 190)
        wide = high = 3.2 * size
        text += f"corners = {_list(_wave(chance, size))}\ngrain = {chance.choice((0, 90, 37.5))}\n"
    else:
        wide, high = chance.uniform(250, 500), chance.uniform(150, 300)
        text += f"length = {wide:.2f}\nwidth = {high:.2f}\n"
        if kind == "cloth":
            text += f"selvedge = {chance.uniform(5, 12):.2f}\n"
    return text + _rest(chance, kind, wide, high, readings)


def _part(chance, number):
    kind = chance.choice(("disk", "ring", "gasket", "strip", "strip", "facing"))
    small = chance.uniform(14, 30)
    sizes = {
        "disk": f"diameter = {small:.2f}",
        "ring": f"outside = {2 * small:.2f}\ninside = {chance.uniform(0.8, 1.5) * small:.2f}",
        "gasket": f"length = {3 * small:.2f}\nwidth = {small + 12:.2f}\ncorner = {chance.uniform(0, 6):.2f}",
        "strip": f"length = {chance.uniform(2, 5) * small:.2f}\nwidth = {0.6 * small:.2f}",
        "facing": f"seat = {small:.2f}\nland = {chance.uniform(2, 4):.2f}",
    }
    text = f"\n[[part]]\nname = \"{kind}-{number}\"\nkind = \"{kind}\"\ncount = {chance.randint(1, 6)}\n{sizes[kind]}\n"
    text += "material = \"trial-calf\"\ncut-with = \"laser\"\n"
    if chance.random() < 0.4:
        text += chance.choice(("face = \"grain\"\n", "face = \"flesh\"\n"))
    if kind in ("gasket", "strip"):
        text += chance.choice(("", "grain = \"any\"\n", "grain = \"along length\"\n", "grain = \"across length\"\n"))
        if "length\"" in text and chance.random() < 0.5:
            text += f"grain-within = {chance.randint(3, 25)}\n"
    if chance.random() < 0.4:
        text += f"grade = {chance.randint(1, 3)}\n"
    if chance.random() < 0.25:
        text += "from-thickness = [\"0.75 mm\", \"1.05 mm\"]\n"
    if kind == "gasket":
        text += f"\n[[part.hole]]\nat = [{1.5 * small:.2f}, {small / 2 + 6:.2f}]\ndiameter = {small - 2:.2f}\n"
    return text


def write(folder, seed):
    """The job folder of a seed."""
    folder, chance = Path(folder), random.Random(seed)
    for room in ("machines", "materials"):
        (folder / room).mkdir(parents=True)
    figures = {"kerf": chance.choice((0, 0.1, 0.2)), "gap": chance.uniform(0.3, 2), "edge": chance.uniform(1, 6)}
    (folder / "materials" / "trial-calf.toml").write_text(MATERIAL.format(**figures), encoding="utf-8")
    is_small = chance.random() < 0.25
    bed = {"wide": 230, "deep": 260} if is_small else {"wide": 1500, "deep": 1500}
    (folder / "machines" / "trial-laser.toml").write_text(MACHINE.format(**bed), encoding="utf-8")
    text = HEAD + "".join(_sheet(chance, f"S-{n + 1}") for n in range(chance.choice((1, 1, 2))))
    text += "".join(_part(chance, n + 1) for n in range(chance.randint(2, 6)))
    (folder / "job.toml").write_text(text, encoding="utf-8")
