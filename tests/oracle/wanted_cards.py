"""Wanted shapes of what belongs to a bellows besides its cloth: cards, gussets, patches, hinge."""

from math import atan2, degrees, pi, radians, sin

import numpy as np
from shapely.geometry import Polygon

from shapes import Member, disk, narrowed, plate, ring_of, to_corner, turned, widened, without_straights
from wanted_plates import folded as folded_strip
from wanted_plates import least_corner

# A card's tip sharper than this is cut square (degrees), so many insets from where its border would end.
SHARP, TIP = 30.0, 3.0


def blunted(points, inset):
    """A card without its tip at the far end, where that is sharp."""
    points = without_straights(points)
    tip = int(points[:, 0].argmax())
    one, two = (points[n % len(points)] - points[tip] for n in (tip - 1, tip + 1))
    one, two = one / np.hypot(*one), two / np.hypot(*two)
    if degrees(np.arccos(np.clip(one @ two, -1, 1))) >= SHARP:
        return points
    middle = (one + two) / np.hypot(*(one + two))
    square = turned(middle, pi / 2)
    at, far = points[tip] + TIP * inset * middle, 4 * float(np.ptp(points[:, 0]) + np.ptp(points[:, 1]))
    keep = [at - far * square, at + far * (middle - square), at + far * (middle + square), at + far * square]
    return ring_of(Polygon(points).intersection(Polygon(keep)))


def half_side(folded):
    """The upper half of a side panel as it is stiffened: the middle line at y 0."""
    reach = folded.corner.side
    if folded.wedge is None:
        return half_straight(folded.length, folded.span, reach)
    corner, hinge = folded.wedge.side_panel()
    points = [(reach, 0.0), (hinge[0], 0.0), tuple(hinge), tuple(corner)]
    return [p for n, p in enumerate(points) if np.hypot(*np.subtract(p, points[n - 1])) > 1e-9]


def half_straight(long, span, reach):
    """The upper half of a straight panel, its middle line shortened by the folds."""
    low = [(-long / 2 + reach, 0.0), (long / 2 - reach, 0.0)]
    half = [*low, (long / 2, span / 2), (-long / 2, span / 2)]
    return [p for n, p in enumerate(half) if np.hypot(*np.subtract(p, half[n - 1])) > 1e-9]


def cards(m, each):
    """Two cards to every panel and pleat: ends first."""
    inset, shapes = m["card"]["inset"], []
    for one in each:
        end = narrowed(half_straight(one.width, one.span, one.corner.end), inset)
        side = narrowed(half_side(one), inset)
        if one.wedge is not None:
            shapes += 2 * [end] + 4 * [blunted(side, inset)]
        else:
            shapes += 4 * one.pleats * [end] + 4 * one.pleats * [side]
    names = [f"card-{n}" for n in range(1, len(shapes) + 1)]
    return [Member(to_corner(shape), name=name, companion="card") for shape, name in zip(shapes, names)]


def kite(end, side, corner):
    """Points T, E, B, S of a kite: two sides from either T or B, and the angle at both; T and B along x.

    Built as a triangle on T, and mirrored on the line between the two other corners.
    """
    t = np.zeros(2)
    e, s = end * turned((1, 0), corner / 2), side * turned((1, 0), -corner / 2)
    along = (s - e) / np.hypot(*(s - e))
    foot = e + along * ((t - e) @ along)
    b = 2 * foot - t
    level = -atan2(*(b - t)[::-1])
    return [turned(p - (t + b) / 2, level) for p in (t, e, b, s)]


def gussets(m, each):
    """Leather between the ribs' ends at every corner."""
    given, [one] = m["gusset"], each
    rib = given.get("rib-angle", 45.0)
    leaning = 0.0 if one.wedge is None else one.wedge.alpha
    flush = 180 - degrees(leaning) - 2 * rib
    silent = max(flush, least_corner(rib, 90.0, m.get("folds", "in") == "out"))
    corner = radians(given.get("corner-angle", silent))
    end = one.span / 2 / sin(radians(rib))
    side = end
    if one.wedge is not None:
        open_corner = one.wedge.side_panel()[0]
        side = float(np.hypot(*(open_corner - (one.corner.side, 0.0))))
    shape = widened(kite(end, side, corner), given.get("lap", 0.0))
    count = 2 if one.wedge is not None else 4 * one.pleats
    return [Member(shape, name=f"gusset-{n}", companion="gusset") for n in range(1, count + 1)]


def hinge_end(m):
    """How high the closed boards stand at the hinge, the leaf of a double bellows among them."""
    gap = m.get("hinge-gap", 0.0)
    return 2 * m["board"] + (2 * gap + m["leaf"] if m.get("boards") == "double" else gap)


def patches(m):
    """Patches of leather or cloth, round ones or plates."""
    given = m["patch"]
    count = given.get("count", 2 if "diameter" in given else 1)
    made = []
    for n in range(1, count + 1):
        name = f"patch-{n}" if count > 1 else "patch"
        if "diameter" in given:
            made.append(disk(given["diameter"], name=name, companion="patch"))
            continue
        size = given.get("length"), given.get("width")
        if "lap" in given:
            long = m["width"] + 2 * (m.get("pivot-gap", 0.0) + given["lap"])
            size = long, hinge_end(m)
        made.append(Member(plate(0, 0, *size), name=name, companion="patch"))
    return made


def bellows_companions(m, each):
    """Every piece of another material that the part asks for."""
    made = []
    if "card" in m:
        made += cards(m, each)
    if "gusset" in m:
        made += gussets(m, each)
    if "patch" in m:
        made += patches(m)
    if "hinge" in m:
        given = m["hinge"]
        gap = given.get("gap", m.get("hinge-gap", 0.0))
        # Two wedges on one leaf have a hinge each.
        names = ("hinge-1", "hinge-2") if m.get("boards") == "double" else ("hinge",)
        made += [folded_strip(m["width"], 2 * given["leaf"] + gap, gap, name, "hinge") for name in names]
    return made

