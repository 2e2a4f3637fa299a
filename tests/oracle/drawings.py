"""Lines out of written SVG and DXF files, in millimetres with y up.

SVG: plain XML and a path reader of its own, which keeps arcs exact until they are flattened. DXF: ezdxf. Nothing of
the program under test is used.
"""

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass

import ezdxf
import numpy as np

# Arcs become chords that stand off by no more than this (mm).
SAGITTA = 0.0003
_WORD = re.compile(r"[A-Za-z]|[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


class Unread(ValueError):
    """Something in a drawing that this reader does not take."""


@dataclass
class Line:
    """One connected line of a drawing."""

    layer: str
    points: np.ndarray
    closed: bool
    circle: tuple | None = None
    title: str | None = None
    order: int = 0


def _steps(radius, sweep):
    if radius <= 0:
        return 1
    step = 2 * math.acos(max(1 - SAGITTA / radius, 0.0)) if radius > SAGITTA else 1.0
    return max(2, math.ceil(abs(sweep) / min(step, math.pi / 12)))


def arc(centre, radius, start, sweep):
    """Points of an arc without its first; angles in radians."""
    angles = start + sweep * np.arange(1, _steps(radius, sweep) + 1) / _steps(radius, sweep)
    return np.column_stack([centre[0] + radius * np.cos(angles), centre[1] + radius * np.sin(angles)])


def bulge_arc(a, b, bulge):
    """Points from a to b, a left out, along an arc whose bulge is the tangent of a quarter of its angle."""
    if abs(bulge) < 1e-12:
        return np.array([b])
    a, b = np.asarray(a, float), np.asarray(b, float)
    chord = b - a
    sweep = 4 * math.atan(bulge)
    # The centre stands off the middle of the chord, to the left for a counter-clockwise arc of less than half a turn.
    off = np.array([-chord[1], chord[0]]) * (1 / math.tan(sweep / 2)) / 2
    centre = (a + b) / 2 + off
    start = math.atan2(*(a - centre)[::-1])
    points = arc(centre, float(np.hypot(*(a - centre))), start, sweep)
    points[-1] = b
    return points


def _svg_arc(a, b, radius, large, sweep):
    """An SVG arc of a circle in the page's own coordinates, a left out (SVG 1.1, appendix F.6)."""
    a, b = np.asarray(a, float), np.asarray(b, float)
    chord = b - a
    length = float(np.hypot(*chord))
    if length == 0:
        return np.empty((0, 2))
    radius = max(radius, length / 2)
    off = math.sqrt(max(radius * radius - length * length / 4, 0.0)) / length
    side = 1 if large == sweep else -1
    centre = (a + b) / 2 + side * off * np.array([chord[1], -chord[0]])
    first, last = (math.atan2(*(p - centre)[::-1]) for p in (a, b))
    turn = (last - first) % (2 * math.pi)
    if not sweep:
        turn -= 2 * math.pi
    points = arc(centre, radius, first, turn)
    points[-1] = b
    return points


def _bezier(a, b, c, d):
    t = np.linspace(0, 1, 257)[1:, None]
    a, b, c, d = (np.asarray(p, float) for p in (a, b, c, d))
    return a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t**2 * (1 - t) + d * t**3


def path_lines(d):
    """``(points, closed)`` of each subpath; commands M L H V C A Z, small letters too."""
    words = _WORD.findall(d)
    if "".join(words) != re.sub(r"[\s,]+", "", d):
        raise Unread(f"path data: {d[:40]}")
    made, points, at, start = [], [], np.zeros(2), np.zeros(2)
    i, command = 0, None
    def take(count):
        nonlocal i
        figures = [float(word) for word in words[i : i + count]]
        i += count
        return figures
    while i < len(words):
        if words[i].isalpha():
            command = words[i]
            i += 1
        relative, kind = command.islower(), command.upper()
        base = at if relative else np.zeros(2)
        if kind == "Z":
            made.append((np.array(points), True))
            points, at = [], start
            continue
        if kind == "M":
            if len(points) > 1:
                made.append((np.array(points), False))
            at = start = base + take(2)
            points = [at]
            command = "l" if relative else "L"
            continue
        if not points:
            points = [at]
        if kind == "L":
            new = np.array([base + take(2)])
        elif kind == "H":
            new = np.array([[base[0] + take(1)[0], at[1]]])
        elif kind == "V":
            new = np.array([[at[0], base[1] + take(1)[0]]])
        elif kind == "C":
            x1, y1, x2, y2, x, y = take(6)
            new = _bezier(at, base + (x1, y1), base + (x2, y2), base + (x, y))
        elif kind == "A":
            rx, ry, _turn, large, sweep, x, y = take(7)
            if abs(rx - ry) > 1e-9:
                raise Unread("an elliptic arc")
            new = _svg_arc(at, base + (x, y), rx, int(large), int(sweep))
        else:
            raise Unread(f"path command {command}")
        points.extend(new)
        at = np.asarray(points[-1])
    if len(points) > 1:
        made.append((np.array(points), False))
    return made


def _plain(points):
    """Points of a closed line, the first not repeated."""
    points = np.asarray(points, float)
    if len(points) > 1 and np.allclose(points[0], points[-1], atol=1e-9):
        points = points[:-1]
    return points


def full_circle(x, y, radius):
    """A circle as points."""
    return arc((x, y), radius, 0.0, 2 * math.pi)


@dataclass
class Page:
    """A drawing: its lines in file order, and its size (mm) where it says one."""

    lines: list
    size: tuple | None = None
    notes: list = None


def _local(tag):
    return tag.rsplit("}", 1)[-1]


def read_svg(path):
    """A plain SVG drawing whose page is in millimetres."""
    root = ET.parse(path).getroot()
    notes = []
    sides = []
    for key in ("width", "height"):
        match = re.fullmatch(r"([\d.]+)mm", root.get(key, ""))
        if not match:
            raise Unread(f"{key} is not in mm: {root.get(key)}")
        sides.append(float(match[1]))
    box = [float(word) for word in root.get("viewBox").replace(",", " ").split()]
    if box != [0.0, 0.0, *sides]:
        notes.append(f"view box {box} on a page of {sides}")
    height = sides[1]
    lines = []
    def up(points):
        return np.asarray(points, float) * (1, -1) + (0, height)
    def walk(node, layer):
        if node.get("transform"):
            raise Unread("a transform")
        name = _local(node.tag)
        if name == "g":
            layer = re.sub(r"-[0-9]+$", "", node.get("id", layer))
        title = next((child.text for child in node if _local(child.tag) == "title"), None)
        if name == "circle":
            x, y, r = (float(node.get(key)) for key in ("cx", "cy", "r"))
            ring = (x, height - y, r)
            lines.append(Line(layer, full_circle(*ring), True, ring, title, len(lines)))
        elif name == "path":
            for points, closed in path_lines(node.get("d")):
                lines.append(Line(layer, _plain(up(points)) if closed else up(points), closed, None, title, len(lines)))
        elif name in ("ellipse", "rect", "polygon", "polyline", "line", "use", "text", "image"):
            raise Unread(f"a <{name}>")
        for child in node:
            walk(child, layer)
    walk(root, "")
    return Page(lines, tuple(sides), notes)


def _corner_lines(corners, closed):
    """Points along corners with bulges."""
    points = [np.array(corners[0][:2])]
    ends = corners[1:] + ([corners[0]] if closed else [])
    for (x, y, bulge), (bx, by, _) in zip(corners, ends):
        points.extend(bulge_arc((x, y), (bx, by), bulge))
    return _plain(points) if closed else np.array(points)


def read_dxf(path):
    """A DXF drawing in millimetres, read strictly: a file that needs mending is refused."""
    document = ezdxf.readfile(path)
    notes = []
    if document.header.get("$INSUNITS", 0) != 4:
        notes.append(f"$INSUNITS is {document.header.get('$INSUNITS', 0)}, not 4 (mm)")
    lines = []
    for entity in document.modelspace():
        kind, layer, number = entity.dxftype(), entity.dxf.layer, len(lines)
        if kind == "CIRCLE":
            ring = (entity.dxf.center.x, entity.dxf.center.y, entity.dxf.radius)
            lines.append(Line(layer, full_circle(*ring), True, ring, None, number))
        elif kind == "LINE":
            ends = np.array([(p.x, p.y) for p in (entity.dxf.start, entity.dxf.end)])
            lines.append(Line(layer, ends, False, None, None, number))
        elif kind == "ARC":
            centre, radius = (entity.dxf.center.x, entity.dxf.center.y), entity.dxf.radius
            first = math.radians(entity.dxf.start_angle)
            turn = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360)
            points = np.vstack([arc(centre, radius, first, 1e-12)[-1:], arc(centre, radius, first, turn)])
            lines.append(Line(layer, points, False, None, None, number))
        elif kind == "LWPOLYLINE":
            corners = [tuple(p) for p in entity.get_points("xyb")]
            lines.append(Line(layer, _corner_lines(corners, entity.closed), bool(entity.closed), None, None, number))
        elif kind == "POLYLINE":
            corners = [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in entity.vertices]
            closed = bool(entity.is_closed)
            lines.append(Line(layer, _corner_lines(corners, closed), closed, None, None, number))
        else:
            raise Unread(f"an entity {kind}")
    return Page(lines, None, notes)


def read_traced_dxf(path):
    """Closed lines of a bare DXF file, by its pairs of code and value: tracings may lack what ezdxf asks for."""
    words = [line.strip() for line in open(path, encoding="utf-8", errors="replace")]
    pairs = list(zip(map(int, words[::2]), words[1::2]))
    lines, current = [], None
    def finish():
        if current is None:
            return
        kind, figures = current
        def all_of(code):
            return [float(value) for own, value in figures if own == code]
        if kind == "CIRCLE":
            ring = (all_of(10)[0], all_of(20)[0], all_of(40)[0])
            lines.append(Line("", full_circle(*ring), True, ring))
        elif kind == "LWPOLYLINE":
            corners = []
            for code, value in figures:
                if code == 10:
                    corners.append([float(value), 0.0, 0.0])
                elif code in (20, 42):
                    corners[-1][1 if code == 20 else 2] = float(value)
            closed = int(all_of(70)[0]) & 1 == 1
            lines.append(Line("", _corner_lines([tuple(c) for c in corners], closed), closed))
    for code, value in pairs:
        if code == 0:
            finish()
            current = (value, []) if value in ("CIRCLE", "LWPOLYLINE") else None
        elif current is not None:
            current[1].append((code, value))
    return Page(lines, None, [])


def read(path):
    """A drawing by the ending of its name."""
    return read_svg(path) if str(path).lower().endswith(".svg") else read_dxf(path)
