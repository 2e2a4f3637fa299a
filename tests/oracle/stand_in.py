"""A stand-in for the program, for trying the comparisons: closed forms where they sum and fold.

    python stand_in.py FAULT measure TEXT --json
    python stand_in.py FAULT why it -C JOBDIR --json

FAULT is ``none``, or the name of a slip that it then makes.
"""

import json
import sys
import tomllib
from math import asin, atan, atan2, cos, degrees, hypot, pi, radians, sin, sqrt, tan
from pathlib import Path

from lengths import length


def dish(rule, d, h, nose, lifter):
    """Free diameter of a dished skin."""
    a = d / 2
    if rule == "area":
        return 2 * hypot(a, h)
    if rule == "lifter":
        return lifter + 2 * hypot((d - lifter) / 2, h)
    if rule == "ball":
        straight = sqrt(a * a - 2 * nose * h + h * h)
        return 2 * (straight + nose * (atan2(a, nose - h) - atan2(straight, nose)))
    return 2 * (a * a + h * h) / (2 * h) * 2 * atan(h / a)


NAMES = {
    "arc": "over the well, by the arc",
    "area": "over the well, equal area",
    "ball": "over the well, under a round nose",
    "lifter": "over the well, flat lifter",
}


def pouch(m, words, fault):
    """Terms of a pouch."""
    rule = words.get("rule", "arc")
    used = "area" if fault == "area for arc" and rule == "arc" else rule
    free = dish(used, m["well"], m["dip"], m.get("nose"), m.get("lifter"))
    lands = m["land"] if fault == "one land" else 2 * m["land"]
    terms = {
        NAMES[rule]: free,
        "cut diameter": free + lands,
        "rim to be gathered": 100 * (free / m["well"] - 1),
        "by equal area it would be": dish("area", m["well"], m["dip"], 0, 0) + 2 * m["land"],
        "by the arc it would be": dish("arc", m["well"], m["dip"], 0, 0) + 2 * m["land"],
    }
    if "depth" in m:
        terms["clearance at the bottom"] = m["depth"] - m["dip"] - m.get("leather", 0)
    if "pitch" in m:
        terms["room to the next, dished"] = m["pitch"] - m["well"] - 2 * m["land"]
    return [("it:1", terms)]


def bellows(m, words, fault):
    """Terms of a bellows."""
    long, wide, board, gap = m["length"], m["width"], m["board"], m.get("hinge-gap", 0.0)
    def angle(span):
        if words["span-is"] == "outside":
            k = board + gap / 2
            return asin(span / (2 * hypot(long, k))) - atan(k / long)
        return asin(span / sqrt(4 * long * long + gap * gap)) - atan(gap / 2 / long)
    alpha = angle(m["span"])
    inside = 2 * long * sin(alpha) + gap * cos(alpha)
    height = long if fault == "height is length" else long * cos(alpha)
    trim, overlap = m.get("trim", 0.0), m.get("overlap", wide / 3)
    fold = inside / 2 * tan(radians(45) - alpha / (1 if fault == "whole angle" else 2))
    reach = inside / 2 * cos(alpha) if words.get("tuck") == "end" else fold
    misfit = board * tan(alpha) if fault == "misfit by tangent" else 2 * board * sin(alpha / 2)
    opened, hinge = inside + 2 * board + 2 * trim, 2 * board + gap + 2 * trim
    terms = {
        "half opening angle": degrees(alpha),
        "span between the boards": inside,
        "span over the boards": 2 * long * sin(alpha) + (gap + 2 * board) * cos(alpha),
        "height of the side panels": height,
        "cut length": 2 * height + 2 * wide + overlap,
        "width at the open end": opened,
        "width at the hinge end": hinge,
        "saved by the taper": (opened - hinge) * (height + wide + overlap),
        "corner fold meets the centre line at": fold,
        "fold room left when closed": wide - 2 * reach,
        "glue margin, surplus at the open corners": misfit,
        "glue margin, lack at the hinge corners": misfit,
        "closed stack, least span": 6 * m.get("cloth", 0) / (1 - sin(alpha)),
        "longer round four corners of thick cloth": pi * m.get("cloth", 0),
    }
    if "finger" in m:
        terms["stroke at the finger"] = 2 * m["finger"] * sin(angle(m["rest"]) - angle(m["closed"]))
    return [("it:1", terms)]


def others(kind, m, rows):
    """Terms of a facing, a hinge, a row of holes."""
    if kind == "facing":
        inner = m.get("inner-land", m["land"])
        sizes = (("outer", m["land"]), ("inner", inner))
        return [(f"it:1/{name}", {"cut diameter": m["seat"] + 2 * land, "hole": m["stem"]}) for name, land in sizes]
    if kind == "hinge":
        return [("it:1", {"cut width": 2 * m["leaf"] + m["gap"], "crease from the edge": m["leaf"]})]
    row = rows[0]
    pitch, diameter = length(row["pitch"]), length(row["diameter"])
    return [("it:1", {"first centre to last": (row["holes"] - 1) * pitch, "thinnest web": pitch - diameter})]


def why(folder, fault):
    """The answer to ``why it``."""
    part = tomllib.loads((Path(folder) / "job.toml").read_text(encoding="utf-8"))["part"][0]
    words = {key: value for key, value in part.items() if key in ("rule", "span-is", "form", "tuck")}
    skip = {"name", "kind", "count", "material", "cut-with", "row", *words}
    m = {key: length(value) for key, value in part.items() if key not in skip}
    kinds = {"pouch": pouch, "bellows": bellows}
    kind = part["kind"]
    found = kinds[kind](m, words, fault) if kind in kinds else others(kind, m, part.get("row"))
    pieces = [
        {"address": address, "terms": [{"label": label, "value": value} for label, value in terms.items()]}
        for address, terms in found
    ]
    return {"schema": "pouchwork/why/1", "pieces": pieces}


def main():
    """The command line."""
    fault, command, text = sys.argv[1:4]
    if command == "why":
        print(json.dumps(why(sys.argv[5], fault)))
        return
    mm = length(text)
    if fault == "rounded inch" and "in" in text:
        mm = mm / 25.4 * 25.39998
    if fault == "drill list" and text == "#52 drill":
        mm = length("#51 drill")
    print(json.dumps({"schema": "pouchwork/measure/1", "mm": mm}))


if __name__ == "__main__":
    main()
