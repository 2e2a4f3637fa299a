#!/usr/bin/env python3
"""Reads cut files with code that is not ours and says what is wrong with them.

    python3 dxf_svg_check.py FILE...

DXF: ezdxf's strict reader, its audit without an error and without a fix, millimetres, our layer names only, extents
as said, closed polylines that say so, arcs within a hair of one radius.
SVG: svgelements (at 25.4 units an inch, so that a unit is a millimetre) and svgpathtools; page in millimetres with the
same numbers in the view box, circles still circles, arcs still arcs and round, groups named as layers, nothing moved
by a transform, and the same lengths from both readers.
Both: the hash of the body as the manifest says. Ends with a count; exit code 1 if anything failed.

Needs: ezdxf, svgelements, svgpathtools.
"""

import hashlib
import math
import re
import sys
import xml.etree.ElementTree as ElementTree

LAYERS = ["RULE", "NUMBERS", "CREASE", "PUNCH", "DOTS", "HOLES", "EDGES"]
SVG = "{http://www.w3.org/2000/svg}"
passed = 0
failed = 0


def check(good, words):
    """Counts one check and prints it when it fails."""
    global passed, failed
    if good:
        passed += 1
    else:
        failed += 1
        print("FAILED:", words)
    return good


def near(one, two):
    """Alike within what svgelements' own figure for a millimetre allows (about 5e-7 of a length)."""
    return abs(one - two) <= 1e-6 + 1e-6 * abs(two)


def body_hash(lines):
    """The hash that the manifest's last line claims."""
    found = [l for l in lines if l.startswith("body: sha256 ")]
    return found[-1].split()[-1] if found else None


def check_dxf(path):
    import ezdxf

    raw = open(path, "rb").read()
    lines = raw.split(b"\n")
    head = []
    at = 0
    while lines[at].strip() == b"999":
        head.append(lines[at + 1].decode("ascii", "replace"))
        at += 2
    check(head and head[0] == "pouchwork manifest 1", f"{path}: no manifest at the head")
    body = b"\n".join(lines[at:])
    check(body_hash(head) == hashlib.sha256(body).hexdigest(), f"{path}: hash of the body")
    check("unit: mm" in head, f"{path}: the manifest does not say its unit")
    check(all(len(l) <= 255 for l in lines), f"{path}: a line longer than 255 characters")
    try:
        drawing = ezdxf.readfile(path)
    except Exception as error:  # any refusal is a failure
        check(False, f"{path}: strict reading: {error}")
        return
    audit = drawing.audit()
    check(not audit.errors, f"{path}: audit errors {[str(e.message) for e in audit.errors]}")
    check(not audit.fixes, f"{path}: audit fixes {[str(e.message) for e in audit.fixes]}")
    header = drawing.header
    check(header.get("$INSUNITS") == 4, f"{path}: $INSUNITS is {header.get('$INSUNITS')}")
    check(header.get("$MEASUREMENT") == 1, f"{path}: $MEASUREMENT")
    check(drawing.dxfversion in ("AC1009", "AC1015"), f"{path}: version {drawing.dxfversion}")
    if drawing.dxfversion == "AC1015":
        seed = int(header["$HANDSEED"], 16) if isinstance(header["$HANDSEED"], str) else header["$HANDSEED"]
        lines = [line.strip() for line in body.split(b"\n")]
        pairs = list(zip(lines[::2], lines[1::2]))
        numbers = [int(value, 16) for code, value in pairs if code in (b"5", b"105")][1:]
        check(len(numbers) == len(set(numbers)), f"{path}: a handle stands twice")
        check(seed > max(numbers), f"{path}: $HANDSEED not above every handle")
    space = drawing.modelspace()
    kinds = {"LWPOLYLINE", "POLYLINE", "CIRCLE", "ARC", "LINE"}
    low, high = [math.inf] * 2, [-math.inf] * 2
    for entity in space:
        kind, layer = entity.dxftype(), entity.dxf.layer
        check(kind in kinds, f"{path}: entity {kind}")
        check(layer in LAYERS, f"{path}: layer {layer}")
        check(layer in drawing.layers, f"{path}: layer {layer} has no entry")
        points = []
        if kind in ("LWPOLYLINE", "POLYLINE"):
            corners = [tuple(p) for p in entity.get_points("xyb")] if kind == "LWPOLYLINE" else [
                (v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0)) for v in entity.vertices
            ]
            closed = entity.closed if kind == "LWPOLYLINE" else entity.is_closed
            check(all(abs(b) <= 1 + 1e-9 for _, _, b in corners), f"{path}: a bulge beyond half a turn")
            apart = math.dist(corners[0][:2], corners[-1][:2])
            check(not (closed and apart < 1e-6), f"{path}: a closed polyline repeats its first point")
            check(closed or apart > 1e-6 or len(corners) > 2, f"{path}: a polyline of no length")
            if layer == "HOLES":
                ends_within = any(math.dist(c[:2], corners[-1][:2]) < 1e-3 for c in corners[:-1])
                check(closed or ends_within, f"{path}: a hole that does not close")
            points = [c[:2] for c in corners]
        elif kind == "CIRCLE":
            c, r = entity.dxf.center, entity.dxf.radius
            check(r > 0, f"{path}: a circle without radius")
            points = [(c.x - r, c.y - r), (c.x + r, c.y + r)]
        elif kind == "ARC":
            points = [(entity.start_point.x, entity.start_point.y), (entity.end_point.x, entity.end_point.y)]
        elif kind == "LINE":
            points = [tuple(entity.dxf.start)[:2], tuple(entity.dxf.end)[:2]]
            check(math.dist(*points) > 0, f"{path}: a line of no length")
        for p in points:
            low = [min(a, b) for a, b in zip(low, p)]
            high = [max(a, b) for a, b in zip(high, p)]
    if len(space):
        least, most = header["$EXTMIN"], header["$EXTMAX"]
        for axis in (0, 1):
            check(least[axis] <= low[axis] + 2e-4, f"{path}: $EXTMIN {least} above {low}")
            check(most[axis] >= high[axis] - 2e-4, f"{path}: $EXTMAX {most} below {high}")


def check_svg(path):
    import svgelements
    import svgpathtools

    raw = open(path, "rb").read().decode("utf-8")
    desc = re.search(r"<desc>(.*?)</desc>\n", raw, re.S)
    if check(desc, f"{path}: no manifest"):
        text = ElementTree.fromstring(f"<d>{desc.group(1)}</d>").text or ""
        body = raw[: desc.start()] + raw[desc.end():]
        check(text.startswith("pouchwork manifest 1"), f"{path}: head of the manifest")
        wanted = hashlib.sha256(body.encode("utf-8")).hexdigest()
        check(body_hash(text.split("\n")) == wanted, f"{path}: hash of the body")
    root = ElementTree.fromstring(raw)
    width, height = root.get("width", ""), root.get("height", "")
    box = root.get("viewBox", "").split()
    check(width.endswith("mm") and height.endswith("mm"), f"{path}: page not in mm")
    check(box == ["0", "0", width[:-2], height[:-2]], f"{path}: view box {box} for {width} x {height}")
    circles, paths = [], []
    for element in root.iter():
        check("transform" not in element.attrib, f"{path}: a transform")
        check("style" not in element.attrib and element.tag != SVG + "style", f"{path}: a style")
    groups = [e for e in root if e.tag == SVG + "g"]
    names = [g.get("id") for g in groups]
    bare = [re.sub(r"-[0-9]+$", "", name or "") for name in names]
    check(all(name in LAYERS for name in bare), f"{path}: unknown group in {names}")
    check(len(set(names)) == len(names), f"{path}: a group's name stands twice in {names}")
    cuts = [i for i, name in enumerate(bare) if name in ("HOLES", "EDGES")]
    check(cuts == list(range(len(bare) - len(cuts), len(bare))), f"{path}: marks after cuts in {names}")
    for group in groups:
        for element in group:
            if element.tag == SVG + "circle":
                circles.append(element)
            elif check(element.tag == SVG + "path", f"{path}: element {element.tag}"):
                paths.append(element)
                check(not re.search("[CcQqSsTt]", element.get("d")), f"{path}: a curve that is no arc")
    # First reader.
    drawing = svgelements.SVG.parse(path, ppi=25.4)
    check(near(drawing.width, float(width[:-2])), f"{path}: svgelements reads width {drawing.width}")
    read_circles = [e for e in drawing.elements() if isinstance(e, svgelements.Circle)]
    read_paths = [e for e in drawing.elements() if isinstance(e, svgelements.Path)]
    check(len(read_circles) == len(circles), f"{path}: svgelements sees {len(read_circles)} of {len(circles)} circles")
    check(len(read_paths) == len(paths), f"{path}: svgelements sees {len(read_paths)} of {len(paths)} paths")
    for seen, written in zip(read_circles, circles):
        for one, two in ((seen.cx, "cx"), (seen.cy, "cy"), (seen.rx, "r"), (seen.ry, "r")):
            check(near(one, float(written.get(two))), f"{path}: circle {two} {one}")
    # Second reader.
    found, attributes = svgpathtools.svg2paths(path, convert_circles_to_paths=False)
    check(len(found) == len(paths), f"{path}: svgpathtools sees {len(found)} of {len(paths)} paths")
    for one, two, written in zip(found, read_paths, paths):
        arcs = [s for s in one if isinstance(s, svgpathtools.Arc)]
        said = len(re.findall("A", written.get("d")))
        name = written.get("id")
        check(len(arcs) == said, f"{path}: {name}: {len(arcs)} arcs of {said}")
        for arc in arcs:
            check(abs(arc.radius.real - arc.radius.imag) < 1e-9, f"{path}: {name}: an arc that is not round")
            check(abs(arc.delta) <= 90.5, f"{path}: {name}: an arc of {arc.delta} degrees")
        lengths = one.length(), two.length(error=1e-7)
        check(abs(lengths[0] - lengths[1]) < 1e-3 + 1e-5 * lengths[0], f"{path}: {name}: lengths {lengths}")


def main():
    for path in sys.argv[1:]:
        if path.lower().endswith(".dxf"):
            check_dxf(path)
        elif path.lower().endswith(".svg"):
            check_svg(path)
        else:
            check(False, f"{path}: neither .dxf nor .svg")
    check(len(sys.argv) > 1, "no file given")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
