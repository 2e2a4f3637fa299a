"""Bed windows and register dots: where a file's lines lie on the sheet, and what must hold for both.

Everything is worked out from lay.json, the machine's own record and the written lines.
"""

import numpy as np
import shapely
from shapely.geometry import Point, Polygon, box

from lengths import length

# Half the width of a register dot's cross (mm), and how near a mark must come to its place.
ARM, MARK = 1.0, 1e-3
# Lengths in files have four decimals.
SLACK = 1e-3
# The waste that counts as the largest has at least this share of the largest.
LARGEST = 0.95


def bed(job, machine):
    """Width and depth inside the margin."""
    own = job.machines[machine]["machine"]
    unit = own.get("unit")
    margin = length(own["margin"], unit) if "margin" in own else 0.0
    return tuple(length(own[key], unit) - 2 * margin for key in ("width", "depth"))


def of_sheet(lay, name):
    """The windows of a sheet by number; ``{None: None}`` where it is cut at once."""
    rows = {row["number"]: row for row in lay.get("windows", []) if row["sheet"] == name}
    return rows or {None: None}


def origin(row, kerf):
    """Where the file's origin lies on the sheet."""
    return np.zeros(2) if row is None else np.array([row["corner_x"] - kerf[0] / 2, row["corner_y"] - kerf[1] / 2])


def moved(page, by):
    """Every line of a file where it lies on the sheet."""
    for line in page.lines:
        line.points = np.asarray(line.points) + by
        if line.circle:
            line.circle = (line.circle[0] + by[0], line.circle[1] + by[1], line.circle[2])
    return page


def check_windows(name, windows, lying, tally):
    """No two windows overlap, and every piece lies whole in its own."""
    boxes = {n: box(row["x0"], row["y0"], row["x1"], row["y1"]) for n, row in windows.items() if row}
    numbers = sorted(boxes)
    tally.check(numbers == list(range(1, len(numbers) + 1)), f"{name}: windows are numbered {numbers}")
    for i, one in enumerate(numbers):
        for two in numbers[i + 1 :]:
            common = boxes[one].intersection(boxes[two]).area
            tally.check(common < 1e-6, f"{name}: windows {one} and {two} overlap by {common:.3f} mm²")
    for it in lying:
        at, address = it.row.get("window"), it.row["address"]
        if not boxes:
            tally.check(at is None, f"{name}: {address} lies in window {at}, and there is none")
        elif tally.check(at in boxes, f"{name}: {address} lies in no window"):
            over = it.shape.difference(boxes[at].buffer(SLACK)).area
            tally.check(over == 0, f"{name}: {address} reaches over window {at}")


def check_bed(name, page, size, tally):
    """No line of a window's file, but for the rule, leaves the bed."""
    points = [line.points for line in page.lines if line.layer != "RULE"]
    low, high = np.vstack(points).min(axis=0), np.vstack(points).max(axis=0)
    fits = (low >= -SLACK).all() and (high <= np.array(size) + SLACK).all()
    tally.check(fits, f"{name}: from {low.round(3)} to {high.round(3)}, the bed takes {size}")


def crosses(lines):
    """Middles of the crosses that strokes make, and how many strokes make none."""
    middles = np.array([(line.points[0] + line.points[-1]) / 2 for line in lines]).reshape(-1, 2)
    found, left = [], set(range(len(lines)))
    while left:
        i = min(left)
        left.discard(i)
        near = [j for j in left if np.hypot(*(middles[i] - middles[j])) < MARK]
        ways = [lines[k].points[-1] - lines[k].points[0] for k in (i, *near)]
        good = len(ways) == 2 and abs(np.dot(*ways)) < MARK and all(abs(np.hypot(*w) - 2 * ARM) < MARK for w in ways)
        left -= set(near)
        if not good:
            return found, 1 + len(left)
        found.append(middles[i])
    return found, 0


def check_marks(name, page, wanted, tally):
    """A cross on every register dot of the file, and nowhere else."""
    lines = [line for line in page.lines if line.layer == "DOTS"]
    found, odd = crosses(lines)
    tally.check(odd == 0, f"{name}: {odd} strokes on DOTS make no cross")
    tally.check(len(found) == len(wanted), f"{name}: {len(found)} register dots, {len(wanted)} wanted")
    for x, y in wanted:
        away = min((float(np.hypot(*(p - (x, y)))) for p in found), default=np.inf)
        tally.check(away <= MARK, f"{name}: no register dot at x {x:.2f} y {y:.2f}")


def dots_of(lay, name, window):
    """Places of the dots in a file."""
    rows = [row for row in lay.get("dots", []) if row["sheet"] == name]
    return [(row["x"], row["y"]) for row in rows if window is None or window in row["windows"]]


def check_dots(name, sheet, lying, cutting, places, tally):
    """Every dot on the sheet, clear of pieces and flaws, on the largest piece of waste."""
    if not places:
        return
    pieces = [Polygon(it.shape.exterior) for it in lying]
    apart = cutting.gap + max(cutting.kerf)
    waste = sheet.outline.difference(shapely.union_all([p.buffer(apart) for p in pieces] + list(sheet.flaws)))
    parts = list(getattr(waste, "geoms", [waste]))
    largest = max(part.area for part in parts)
    big = [part for part in parts if part.area >= LARGEST * largest]
    for x, y in places:
        dot, at = Point(x, y), f"{name}: the register dot at x {x:.2f} y {y:.2f}"
        rim = sheet.outline.exterior.distance(dot)
        tally.check(sheet.outline.contains(dot) and rim >= ARM, f"{at} is beyond the sheet's edge, or {rim:.2f} mm from it")
        near = min((p.distance(dot) for p in pieces), default=np.inf)
        least = ARM + cutting.gap / 2 - SLACK
        tally.check(near >= least, f"{at} is {near:.3f} mm from a piece, wanted {least:.3f}")
        flaw = min((f.distance(dot) for f in sheet.flaws), default=np.inf)
        tally.check(flaw >= ARM - SLACK, f"{at} is {flaw:.3f} mm from a flaw")
        tally.check(any(part.contains(dot) for part in big), f"{at} is not on the largest piece of waste")
