"""Wanted shapes of flat parts: gaskets, strips, traced outlines, spacers, and what is cut square or slanting."""

from math import acos, cos, degrees, pi, radians, sin

import numpy as np
from shapely.geometry import MultiPoint, Polygon

from dishes import by_arc
from shapes import Member, circle, disk, lines, narrowed, obround, plate, ring_of, to_corner, widened
from wanted_holes import bore


def gasket(m):
    """A plate, a frame, a ring, a flange, or a patch that air presses shut, with its holes."""
    shape = m.get("shape", "rectangle")
    if shape == "ring":
        middle = m["outside"] / 2
        member = disk(m["outside"], middle, middle, [m["bore"]])
    elif shape == "obround":
        member = Member(obround(m["length"] / 2, m["width"] / 2, m["length"], m["width"]))
    elif shape == "frame":
        member = Member(plate(0, 0, m["length"], m["width"], m.get("corner", 0.0)))
        rim = m["border"]
        inside = (m["length"] - 2 * rim, m["width"] - 2 * rim)
        member.holes.append(plate(rim, rim, *inside, m.get("inner-corner", 0.0)))
    elif shape in ("flange", "elbow"):
        member = flange(m, 1 if shape == "elbow" else m.get("ears", 2))
    elif shape == "self-energising":
        side = by_arc(m["opening"], m["gap"]) + 2 * m["land"]
        member = Member(plate(0, 0, side, side))
        if m.get("bore"):
            member.round_holes.append((side / 2, side / 2, m["bore"] / 2))
    else:
        member = Member(plate(0, 0, m["length"], m["width"], m.get("corner", 0.0)))
    bore(member, m)
    return [member]


def flange(m, ears):
    """A round body with ears for its screws: what a cord drawn round all of it would hold."""
    turns = [2 * pi * n / ears for n in range(ears)]
    screws = [(m["ear-at"] * cos(u), m["ear-at"] * sin(u)) for u in turns]
    rounds = [circle(0, 0, m["outside"] / 2)] + [circle(x, y, m["ear"] / 2) for x, y in screws]
    outline = ring_of(MultiPoint(np.vstack(rounds)).convex_hull)
    x, y = -outline.min(axis=0)
    member = Member(outline + (x, y))
    if m.get("bore"):
        member.round_holes.append((x, y, m["bore"] / 2))
    if m.get("ear-hole"):
        member.round_holes += [(x + sx, y + sy, m["ear-hole"] / 2) for sx, sy in screws]
    return member


def strip(m):
    """A strip with slots and holes."""
    member = Member(plate(0, 0, m["length"], m["width"], m.get("corner", 0.0)))
    bore(member, m)
    return [member]


def folded(long, width, gap, name=None, companion=None):
    """A strip that folds along one line, or along two with the gap between them."""
    levels = sorted({(width - gap) / 2, (width + gap) / 2})
    creases = [((0.0, level), (long, level)) for level in levels]
    return Member(plate(0, 0, long, width), creases=creases, name=name, companion=companion)


def hinge(m):
    """The hinge strip of a pair of boards."""
    gap = m.get("gap", 0.0)
    width = m["width"] if "width" in m else m["leaf"] + gap + m["leaf"]
    return [folded(m["length"], width, gap)]


def bowed(a, b, bow, outward):
    """Points from a to b, b left out, on the circle through both ends and the top of the bow."""
    a, b = np.asarray(a, float), np.asarray(b, float)
    if not bow:
        return np.array([a])
    top = (a + b) / 2 + bow * outward
    # The centre is as far from either end as from the top.
    sides = 2 * np.array([b - a, top - a])
    centre = np.linalg.solve(sides, [b @ b - a @ a, top @ top - a @ a])
    radius = float(np.hypot(*(a - centre)))
    first, middle, last = (np.arctan2(*(p - centre)[::-1]) for p in (a, top, b))
    # From a to the top and on to b, either less than half a turn.
    half, rest = ((end - start + pi) % (2 * pi) - pi for start, end in ((first, middle), (middle, last)))
    turns = first + (half + rest) * np.linspace(0, 1, 1025)[:-1]
    return centre + radius * np.column_stack([np.cos(turns), np.sin(turns)])


def rounded(points, radius):
    """A closed line with every corner rounded, inside corners too."""
    made = []
    for before, at, after in zip(np.roll(points, 1, axis=0), points, np.roll(points, -1, axis=0)):
        one, two = ((end - at) / np.hypot(*(end - at)) for end in (before, after))
        half = np.arccos(np.clip(one @ two, -1, 1)) / 2
        if half > pi / 2 - 1e-9:
            made.append(np.array([at]))
            continue
        # The centre lies between the two sides; the arc meets each square to its radius.
        centre = at + (one + two) / np.hypot(*(one + two)) * radius / sin(half)
        ends = [at + way * radius / np.tan(half) - centre for way in (one, two)]
        first, last = (np.arctan2(y, x) for x, y in ends)
        turns = np.linspace(0, (last - first + pi) % (2 * pi) - pi, 257) + first
        made.append(centre + radius * np.column_stack([np.cos(turns), np.sin(turns)]))
    return np.vstack(made)


def cornered(corners, rounding=0.0):
    """A closed line by its corners, sides bowed or corners rounded."""
    points = np.array([corner[:2] for corner in corners], float)
    if rounding > 0:
        return ring_of(Polygon(rounded(points, rounding)))
    # Two corners enclose nothing by themselves and are taken to run counter-clockwise.
    ccw = len(points) < 3 or Polygon(points).exterior.is_ccw
    made = []
    for corner, a, b in zip(corners, points, np.roll(points, -1, axis=0)):
        along = (b - a) / np.hypot(*(b - a))
        outward = np.array([along[1], -along[0]]) * (1 if ccw else -1)
        made.append(bowed(a, b, corner[2] if len(corner) > 2 else 0.0, outward))
    return ring_of(Polygon(np.vstack(made)))


def outline(m):
    """A free shape, drawn or by its corners."""
    if "outline" in m:
        drawn = m["outline"]
        member = Member(drawn.outline, list(drawn.holes), list(drawn.round_holes), round_at=drawn.round_at)
    else:
        member = Member(cornered(m["corners"], m.get("corner", 0.0)))
    bore(member, m)
    member.creases += lines(*[(mark["from"], mark["to"]) for mark in m.get("mark", [])])
    return [member]


def spacer(m):
    """So many papers of one shape."""
    papers, shape, made = m.get("papers", 1), m.get("shape", "ring"), []
    for number in range(1, papers + 1):
        name = f"paper-{number}" if papers > 1 else None
        if shape == "plate":
            member = Member(plate(0, 0, m["length"], m["width"], m.get("corner", 0.0)), name=name)
        else:
            member = disk(m["outside"], bores=[m["inside"]] if shape == "ring" else [], name=name)
        bore(member, m)
        made.append(member)
    return made


def flap(m):
    """A strip over a row of ports, with a tack beside it."""
    tack = m.get("tack", 0.0)
    long = (m.get("ports", 1) - 1) * m.get("pitch", 0.0) + m["port-length"] + 2 * m["margin"]
    creases = lines(((0, tack), (long, tack))) if tack > 0 else []
    return [Member(plate(0, 0, long, m["port-width"] + 2 * m["margin"] + tack), creases=creases)]


def pallet(m):
    """A pallet's leather and its felt, alike."""
    over = 2 * m.get("over", 0.0)
    size = (m["length"] + over, m["width"] + over)
    return [Member(plate(0, 0, *size)), Member(plate(0, 0, *size), name="felt", companion="felt")]


def mute(m):
    """A mute's cloth with the strip that it hangs by."""
    over, hung = 2 * m.get("over", 0.0), m.get("hinge", 0.0)
    long = m["length"] + over
    creases = lines(((0, hung), (long, hung))) if hung > 0 else []
    return [Member(plate(0, 0, long, m["width"] + over + hung), creases=creases)]


def bushing(m):
    """A strip that lines a hole: as long as the middle of its thickness when bent."""
    middle = m["hole"] / 2 - m["felt"] / 2
    return [Member(plate(0, 0, 2 * pi * middle, m["depth"] + 2 * m.get("over", 0.0)))]


def card(m):
    """A rib's card, less its border."""
    short = m.get("short", m["long"])
    slant = (m["long"] - short) / 2
    whole = [(0, 0), (m["long"], 0), (m["long"] - slant, m["height"]), (slant, m["height"])]
    inset = m.get("inset", 0.0)
    return [Member(to_corner(narrowed(whole, inset) if inset > 0 else whole))]


def rib_ends(rib_angle, opened, outward=False):
    """The angle between the ends of two ribs at a corner (degrees), each turned up from its board by ``opened``.

    The board's corner is at the origin, its edges run along x and y. A rib's end leaves the corner at the rib angle
    from its edge, into the board's side of it, or away from it where the ribs fold outward.
    """
    b, up = radians(rib_angle), radians(opened)
    side = -1 if outward else 1
    one = np.array([cos(b), side * sin(b) * cos(up), sin(b) * sin(up)])
    two = np.array([side * sin(b) * cos(up), cos(b), sin(b) * sin(up)])
    return degrees(acos(np.clip(one @ two, -1, 1)))


def least_corner(rib_angle, opens=90.0, outward=False):
    """The least angle that a gusset needs at the board's corner: the widest between the ribs on their way."""
    return max(rib_ends(rib_angle, up, outward) for up in np.linspace(0, opens, 361))


def gusset(m):
    """A diamond of leather between two ribs."""
    b = m.get("rib-angle", 45.0)
    corner = radians(m.get("corner-angle", 180 - 2 * b))
    side = m["rib"] / sin(radians(b))
    across, up = side * cos(corner / 2), side * sin(corner / 2)
    return [Member(widened([(-across, 0), (0, -up), (across, 0), (0, up)], m.get("lap", 0.0)))]
