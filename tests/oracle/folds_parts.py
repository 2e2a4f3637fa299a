"""What goes with a bellows cloth: cards on their panels, gussets between ribs, patches over the pivot."""

from math import cos, degrees, sqrt

import numpy as np
from shapely.affinity import translate
from shapely.geometry import Polygon


def facet_on(model, sheets, panel):
    """The upper half panel of the first pleat on a board's edge: its corners from the panel's start and the fold up."""
    half = model.width / 2
    for sheet in sheets:
        for facet in range(len(sheet.facets)):
            flat = sheet.corners(facet)
            ring = list(zip(flat, np.roll(flat, -1, axis=0)))
            top = [
                (p, q) for p, q in ring
                if all(abs(r[1] - model.levels(r[0])[0]) <= 2 * sheet.near for r in (p, q))
                    and abs(p[0] - q[0]) > 4 * sheet.near
            ]
            if top and model.panel((top[0][0][0] + top[0][1][0]) / 2) == panel:
                return flat - (-half if panel == "end" else half, flat[:, 1].min())
    return None


def _tips(polygon):
    """Every corner: place, direction inward, angle."""
    ring = np.array(polygon.exterior.coords)[:-1]
    found = []
    for i, p in enumerate(ring):
        a, b = ring[i - 1] - p, ring[(i + 1) % len(ring)] - p
        a, b = a / np.linalg.norm(a), b / np.linalg.norm(b)
        angle = float(np.arccos(np.clip(np.dot(a, b), -1, 1)))
        found.append((p, (a + b) / max(np.linalg.norm(a + b), 1e-12), angle))
    return found


def check_card(tally, name, flat, card, inset, tight, tip):
    """One card against its half panel, pushed back to where the inset puts it."""
    panel = Polygon(flat)
    within = panel.buffer(-inset, join_style="mitre", mitre_limit=1e6)
    if not tally.check(not within.is_empty, f"{name}: no room for a card"):
        return
    drawn = Polygon(card.outline)
    x, y = drawn.bounds[:2]
    tally.check(max(abs(x), abs(y)) <= tight, f"{name}: its box starts at {x}, {y}")
    low = within.bounds[:2]
    lying = translate(drawn, *low)
    tally.check(panel.buffer(1e-9).contains(lying), f"{name}: goes beyond its panel")
    away = lying.distance(panel.exterior)
    tally.near(f"{name}: nearest crease or edge", away, inset, 3 * tight)
    tips = _tips(within)
    sharpest = min(angle for _, _, angle in tips)
    place, way, angle = max(tips, key=lambda one: one[0][0])
    wanted = within
    if tip and degrees(angle) < 30:
        level = place + 3 * inset * way
        across = np.array([-way[1], way[0]]) * within.length
        wanted = within.difference(Polygon([level - across, level + across, level + across - 3 * within.length * way,
                                            level - across - 3 * within.length * way]))
        cut = float(((np.array(lying.exterior.coords) - place) @ way).min())
        tally.near(f"{name}: the sharp tip is cut off", cut, 3 * inset, 2 * tight / np.sin(angle / 2))
    off = lying.hausdorff_distance(wanted)
    tally.near(f"{name}: stands off from its panel's inset", off, 0.0, 4 * tight / np.sin(sharpest / 2))


def check_cards(tally, name, model, sheets, cards, inset, tight, counts):
    """All cards, ends first; none may lie on a tuck, which is seen by its panel being no tuck."""
    wanted = sum(counts)
    tally.check(len(cards) == wanted, f"{name}: {len(cards)} cards, {wanted} wanted")
    for kind, panel, own in (("end", "end", cards[: counts[0]]), ("side", "right", cards[counts[0] :])):
        flat = facet_on(model, sheets, panel)
        if not tally.check(flat is not None, f"{name}: no half panel on the {kind}"):
            continue
        for number, card in enumerate(own, 1):
            check_card(tally, f"{name}: {kind} card {number}", flat, card, inset, tight,
                kind == "side" and hasattr(model, "height"))


def kite(outline, lap):
    """The four corners of a gusset without its lap: board corner, end rib, other board corner, side rib."""
    bare = Polygon(outline).buffer(-lap, join_style="mitre", mitre_limit=1e6) if lap else Polygon(outline)
    ring = np.array(bare.exterior.coords)[:-1]
    if len(ring) != 4:
        return None
    top, low = ring[ring[:, 1].argmax()], ring[ring[:, 1].argmin()]
    right, left = ring[ring[:, 0].argmax()], ring[ring[:, 0].argmin()]
    return right, top, left, low


def check_gusset(tally, name, model, outline, lap, tight, full):
    """A gusset against its ribs over the whole motion: 200 steps from shut to ``full`` (radians). Gives its angle."""
    corners = kite(outline, lap)
    if not tally.check(corners is not None, f"{name}: is no kite inside its lap"):
        return None
    t, e, b, s = corners
    tally.near(f"{name}: the corners at the boards lie on the middle line", max(abs(t[1]), abs(b[1])), 0.0, 4 * tight)
    tally.near(f"{name}: its middle lies at the origin", (t[0] + b[0]) / 2, 0.0, 4 * tight)
    end, side = model.rib_ends()
    for words, p, q, want in (("end rib", t, e, end), ("end rib below", b, e, end), ("side rib", t, s, side),
        ("side rib below", b, s, side)):
        tally.near(f"{name}: edge at the {words}", float(np.linalg.norm(p - q)), want, 6 * tight)
    def angle(p, q, r):
        one, two = q - p, r - p
        return float(np.arccos(np.dot(one, two) / np.linalg.norm(one) / np.linalg.norm(two)))
    own = angle(t, e, s)
    loose = 12 * tight / min(end, side)
    most = max(model.rib_angle(theta) for theta in np.linspace(0.0, full, 201))
    tally.check(own >= most - loose, f"{name}: its corner has {degrees(own)} degrees, the ribs open to {degrees(most)}")
    # Two boards' corners stand no further apart than the leather between them is long.
    apart = model.pleat if hasattr(model, "pleat") else model.span
    tally.check(np.linalg.norm(t - b) >= apart - 8 * tight,
        f"{name}: {np.linalg.norm(t - b)} long from board to board, opening {apart}")
    return own


def diagonals(edge, angle):
    """Diagonals of a rhombus by its corners: board to board, and across."""
    t = np.zeros(2)
    one = edge * np.array([cos(angle / 2), np.sin(angle / 2)])
    two = one * (1, -1)
    return float(np.linalg.norm(one + two - t)), float(np.linalg.norm(one - two))


def inradius(a, b, c):
    """Inradius of a triangle with these sides, by Heron."""
    s = (a + b + c) / 2
    return sqrt(s * (s - a) * (s - b) * (s - c)) / s
