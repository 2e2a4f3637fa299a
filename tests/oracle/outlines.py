"""Outlines of parts out of SVG and DXF files, in millimetres, y up, in the coordinates of the file.

SVG by svgelements, DXF by ezdxf; a bare tracing that ezdxf refuses is read by its pairs.
"""

import io
import math
import xml.etree.ElementTree as ET
from dataclasses import dataclass

import ezdxf
import numpy as np
import svgelements
from shapely.geometry import Polygon

from drawings import bulge_arc, full_circle, read_traced_dxf
from lengths import UNITS
from shapes import ring_of

# Ends that lie so near belong together (mm).
JOIN = 0.05
# Units that a DXF file may state, in millimetres ($INSUNITS).
INSUNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}


@dataclass(frozen=True, eq=False)
class Drawn:
    """A closed line with the holes inside it."""

    outline: np.ndarray
    holes: tuple
    round_holes: tuple
    round_at: tuple | None


def _svg_text(path, unit):
    """The file with a size that has a unit."""
    root = ET.parse(path).getroot()
    sides = [root.get(key, "") for key in ("width", "height")]
    if unit is not None and not any(side and side[-1].isalpha() for side in sides):
        view = root.get("viewBox", "").replace(",", " ").split()[2:]
        for key, side, seen in zip(("width", "height"), sides, view or sides):
            root.set(key, f"{float(side or seen) * unit}mm")
    return ET.tostring(root, encoding="unicode")


def _svg_loops(path, unit):
    """Loops of an SVG file as ``(points, whether round)``."""
    page = svgelements.SVG.parse(io.StringIO(_svg_text(path, unit)), ppi=96, reify=True)
    scale = 25.4 / 96
    loops = []
    for shape in page.elements():
        if not isinstance(shape, svgelements.Shape):
            continue
        for line in svgelements.Path(shape).as_subpaths():
            line = svgelements.Path(line)
            points, bent = [], True
            for seg in line:
                if isinstance(seg, svgelements.Move):
                    continue
                straight = isinstance(seg, (svgelements.Line, svgelements.Close))
                bent &= isinstance(seg, svgelements.Arc) or seg.length() < 1e-9
                at = [1.0] if straight else np.linspace(0, 1, 257)[1:]
                points += [seg.point(t) for t in at if seg.end is not None]
            if len(points) > 2:
                loops.append((np.array([(p.x * scale, (page.height - p.y) * scale) for p in points]), bent))
    return loops


def _joined(runs):
    """Runs of points put end to end until they close."""
    loops, runs = [], [np.asarray(run, float) for run in runs]
    while runs:
        line = runs.pop()
        grown = True
        while grown and np.hypot(*(line[0] - line[-1])) > JOIN:
            grown = False
            for n, run in enumerate(runs):
                for way in (run, run[::-1]):
                    if np.hypot(*(way[0] - line[-1])) <= JOIN:
                        line, grown = np.vstack([line, way[1:]]), True
                        runs.pop(n)
                        break
                if grown:
                    break
        loops.append((line, False))
    return loops


def _dxf_loops(path, unit):
    """Loops of a DXF file as ``(points, whether round)``."""
    try:
        document = ezdxf.readfile(path)
    except (ezdxf.DXFError, OSError):
        scale = unit or 1.0
        return [(line.points * scale, line.circle is not None) for line in read_traced_dxf(path).lines if line.closed]
    scale = INSUNITS.get(document.header.get("$INSUNITS", 0)) or unit or 1.0
    loops, runs = [], []
    for entity in document.modelspace():
        kind = entity.dxftype()
        if kind == "CIRCLE":
            x, y = entity.dxf.center.x, entity.dxf.center.y
            loops.append((full_circle(x, y, entity.dxf.radius) * scale, True))
        elif kind == "LINE":
            runs.append(np.array([(p.x, p.y) for p in (entity.dxf.start, entity.dxf.end)]) * scale)
        elif kind == "ARC":
            turns = np.radians(np.linspace(0, (entity.dxf.end_angle - entity.dxf.start_angle) % 360, 513))
            turns += math.radians(entity.dxf.start_angle)
            round_it = np.column_stack([np.cos(turns), np.sin(turns)]) * entity.dxf.radius
            runs.append((round_it + (entity.dxf.center.x, entity.dxf.center.y)) * scale)
        elif kind in ("LWPOLYLINE", "POLYLINE"):
            if kind == "LWPOLYLINE":
                corners, closed = [tuple(p) for p in entity.get_points("xyb")], entity.closed
            else:
                corners = [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in entity.vertices]
                closed = entity.is_closed
            points = [np.array(corners[0][:2])]
            for (x, y, bulge), (bx, by, _) in zip(corners, corners[1:] + ([corners[0]] if closed else [])):
                points.extend(bulge_arc((x, y), (bx, by), bulge))
            (loops if closed else runs).append((np.array(points) * scale, False) if closed else np.array(points) * scale)
    return loops + _joined(runs)


def _round(points, bent):
    """Centre and radius of a loop that is a circle."""
    x, y = Polygon(points).centroid.coords[0]
    reach = np.hypot(*(points - (x, y)).T)
    return (x, y, float(reach.mean())) if bent and np.ptp(reach) < 1e-5 * max(reach.mean(), 1) else None


def read_outline(path, unit=None):
    """The largest closed line of a file and those inside it; ``unit`` (mm) for a file that states none."""
    scale = None if unit is None else float(UNITS[unit])
    loops = _svg_loops(path, scale) if path.suffix.lower() == ".svg" else _dxf_loops(path, scale)
    loops.sort(key=lambda loop: -Polygon(loop[0]).area)
    (first, bent), rest = loops[0], loops[1:]
    inside = [(points, _round(points, arcs)) for points, arcs in rest]
    return Drawn(
        ring_of(Polygon(first)),
        tuple(ring_of(Polygon(points)) for points, ring in inside if ring is None),
        tuple(ring for _, ring in inside if ring is not None),
        _round(first, bent),
    )
