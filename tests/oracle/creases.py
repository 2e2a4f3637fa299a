"""Straight lines as geometry: the same however they are cut up, in any order and direction."""

import numpy as np
import shapely
from shapely.strtree import STRtree

# A mark may lie this far from its place (mm).
MARK = 1e-3


def _one_line(first, second):
    """Two lines as one where they lie on each other or end to end, or nothing."""
    pair = sorted((first, second), key=lambda ends: -float(np.hypot(*(ends[1] - ends[0]))))
    (a, b), other = pair
    long = float(np.hypot(*(b - a)))
    along = (b - a) / long
    far = [(p - a) @ along for p in other]
    off = [abs(along[0] * (p - a)[1] - along[1] * (p - a)[0]) for p in other]
    if max(off) > MARK or max(far) < -MARK or min(far) > long + MARK:
        return None
    return np.array([a + min(0.0, *far) * along, a + max(long, *far) * along])


def whole_lines(pairs):
    """Straight lines with those put together that lie end to end or on each other."""
    lines = [np.asarray(pair, float) for pair in pairs]
    lines = [pair for pair in lines if np.hypot(*(pair[1] - pair[0])) > MARK]
    joined = True
    while joined:
        joined = False
        tree = STRtree([shapely.LineString(pair) for pair in lines])
        taken, kept = set(), []
        for n, pair in enumerate(lines):
            if n in taken:
                continue
            for other in sorted(map(int, tree.query(shapely.LineString(pair), predicate="dwithin", distance=MARK))):
                one = _one_line(pair, lines[other]) if other > n and other not in taken else None
                if one is not None:
                    pair, joined = one, True
                    taken.add(other)
            kept.append(pair)
        lines = kept
    return lines
