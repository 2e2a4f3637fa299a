"""Holes of plates: rows, circles, tables, slots, windows; and what two boards leave open in common."""

from math import cos, hypot, radians, sin

from shapely.geometry import Polygon

from shapes import circle, obround, plate, ring_of


def stations(row):
    """Distances of a row's holes from its first."""
    if "at" in row:
        return list(row["at"])
    along, place = [], 0.0
    adds = {}
    for gap in row.get("break", []):
        adds[gap["after"]] = adds.get(gap["after"], 0.0) + gap["add"]
    for number in range(1, row["holes"] + 1):
        along.append(place)
        place += row["pitch"] + adds.get(number, 0.0)
    return along


def row_holes(row):
    """Centres and radii of a row."""
    x, y = row["first"]
    upright = row.get("way") == "width"
    places = [(x, y + far) if upright else (x + far, y) for far in stations(row)]
    return [(*place, row["diameter"] / 2) for place in places]


def circle_holes(ring):
    """Holes on a circle, counter-clockwise from the angle of the first."""
    x, y = ring["at"]
    turns = [radians(ring.get("start", 0.0) + 360 * n / ring["holes"]) for n in range(ring["holes"])]
    far = ring["across"] / 2
    return [(x + far * cos(u), y + far * sin(u), ring["diameter"] / 2) for u in turns]


def plain_holes(m, own=""):
    """Every round hole that lets air through, of this board or of the ``opposite-`` one."""
    found = [hole for row in m.get(f"{own}row", []) for hole in row_holes(row)]
    found += [(*hole["at"], hole["diameter"] / 2) for hole in m.get(f"{own}hole", [])]
    table = m.get("opposite-table" if own else "hole-table", [])
    found += [(hole["x"], hole["y"], hole["diameter"] / 2) for hole in table]
    if not own:
        found += [hole for ring in m.get("circle", []) for hole in circle_holes(ring)]
    return found


def lens(one, other):
    """What two round holes have in common, as fine polygons have it; a round hole where one lies in the other."""
    small, large = sorted((one, other), key=lambda hole: hole[2])
    if hypot(small[0] - large[0], small[1] - large[1]) + small[2] <= large[2] + 1e-9:
        return small, None
    common = Polygon(circle(*one)).intersection(Polygon(circle(*other)))
    return None, ring_of(common)


def two_boards(member, m, wide):
    """Holes where both boards have one."""
    others = plain_holes(m, "opposite-")
    if m.get("opposite-seen", "through") == "own":
        others = [(wide - x, y, r) for x, y, r in others]
    for hole in plain_holes(m):
        def apart(other, hole=hole):
            return hypot(other[0] - hole[0], other[1] - hole[1])
        partners = [other for other in others if apart(other) < other[2] + hole[2] - 1e-9]
        if not partners:
            continue
        partner = min(partners, key=apart)
        if m.get("meet", "shared") == "larger":
            member.round_holes.append(max(hole, partner, key=lambda one: one[2]))
            continue
        whole, cut = lens(hole, partner)
        if whole is not None:
            member.round_holes.append(whole)
        else:
            member.holes.append(cut)


def bore(member, m):
    """Adds rows, holes, circles, tables, screw holes, slots and windows."""
    if any(key in m for key in ("opposite-row", "opposite-hole", "opposite-table")):
        two_boards(member, m, float(member.outline[:, 0].max()))
    else:
        member.round_holes += plain_holes(m)
    member.round_holes += [(*hole["at"], hole["diameter"] / 2) for hole in m.get("screw", [])]
    for slot in m.get("slot", []):
        x, y = slot["at"]
        upright = slot.get("way") == "width"
        long, wide = slot["length"], slot["width"]
        if slot.get("ends") == "square":
            w, h = (wide, long) if upright else (long, wide)
            member.holes.append(plate(x - w / 2, y - h / 2, w, h))
        else:
            member.holes.append(obround(x, y, long, wide, upright))
    for window in m.get("window", []):
        (x, y), w, h = window["at"], window["length"], window["width"]
        member.holes.append(plate(x - w / 2, y - h / 2, w, h, window.get("corner", 0.0)))
