"""Wanted shapes of pouches and facings: what is dished, and what lies on a valve's seat."""

from functools import cache
from math import tanh

import numpy as np

from dishes import free_diameter
from shapes import Member, disk, plate


@cache
def film_constant():
    """How a film blown up on a square frame gains: its side when laid flat is d (1 + constant (h/d)²), for small h.

    A film under even pressure on the unit square, by its series in single sums. The gain in area is half the mean of
    the slope squared, which is half of pressure times mean height; the side gains half of that.
    """
    odd = np.arange(1, 400, 2)
    mean = 1 / 12 - 16 / np.pi**5 * sum(tanh(n * np.pi / 2) / n**5 for n in odd)
    signs = (-1.0) ** ((odd - 1) / 2)
    top = 1 / 8 - float(np.sum(4 * signs / (np.pi**3 * odd**3.0 * np.cosh(np.minimum(odd * np.pi / 2, 700)))))
    return mean / top**2 / 4


def film_side(d, h):
    """Side of the flat square with about the area of a film blown up by ``h`` on a square of side ``d``."""
    return d * (1 + film_constant() * (h / d) ** 2)


def free_side(m):
    """What the skin measures across one well when laid flat."""
    rule = m.get("rule", "arc")
    if rule == "area" and m.get("form") == "square":
        return film_side(m["well"], m["dip"])
    return free_diameter(rule, m["well"], m["dip"], m.get("nose"), m.get("lifter"))


def centres(m):
    """Distances of a strip's wells from its first."""
    if "at" in m:
        return list(m["at"])
    place, found = 0.0, []
    for number in range(1, m["dips"] + 1):
        found.append(place)
        place += m["pitch"] + sum(gap["add"] for gap in m.get("break", []) if gap["after"] == number)
    return found


def pouch_strip(m, free):
    """A strip for a row of wells: each takes more than its own width of it."""
    wells, gain = centres(m), free - m["well"]
    high = free + 2 * m["land"]
    long = max(wells) - min(wells) + m["well"] + 2 * m["end"] + len(wells) * gain
    member = Member(plate(0, 0, long, high))
    if "bleed" in m:
        for number, well in enumerate(sorted(wells)):
            at = m["end"] + free / 2 + well - min(wells) + number * gain
            member.punches.append((at, high / 2, m["bleed"] / 2))
    return member


def pouch(m):
    """Skin that, dished into its well, still has its land all round; with its lifter and its dot."""
    form, free = m.get("form", "disk"), free_side(m)
    if form == "strip":
        member = pouch_strip(m, free)
    elif form == "square":
        side = free + 2 * m["land"]
        member = Member(plate(-side / 2, -side / 2, side, side, m.get("corner", m["land"])))
    elif form == "ring":
        member = disk(free + (m["ring"] - m["well"]) + 2 * m.get("over", 0.0))
    elif form == "cup":
        member = disk(free + 2 * m["pull"])
    else:
        member = disk(free + 2 * m["land"])
    if "bleed" in m and form != "strip":
        member.punches.append((0.0, 0.0, m["bleed"] / 2))
    return [member, *_lifters(m, form)]


def _lifters(m, form):
    """The companions of a pouch; on a strip one for each well."""
    made, across = [], m.get("lifter")
    names = [f"-{number}" for number in range(1, len(centres(m)) + 1)] if form == "strip" else [""]
    for name in names:
        if across and form == "square":
            made.append(Member(plate(-across / 2, -across / 2, across, across), name="lifter", companion="lifter-plate"))
        elif across:
            made.append(disk(across, name=f"lifter{name}", companion="lifter-plate"))
    for name in names:
        if "dot" in m:
            made.append(disk(m["dot"]["diameter"], name=f"dot{name}", companion="dot"))
    return made


def facing(m):
    """The leathers of a valve: each covers its seat's bore and a land all round."""
    which = m.get("members", "both")
    made = []
    for name in {"both": ("outer", "inner"), "one": ("one",)}.get(which, (which,)):
        own = "inner-" if name == "inner" else ""
        def figure(key, own=own):
            return m.get(own + key, m.get(key))
        across = figure("seat") + 2 * figure("land")
        made.append(disk(across, bores=[figure("stem")], name=None if name == "one" else name))
    return made
