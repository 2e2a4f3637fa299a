"""Spoils cut programs by chance, each in one known way, to see that the check finds it and finds it for what it is.

Programs are changed as text, row by row; the hash at the head is made right again, so that the slip itself must be found.
Each slip is tried on the program that is checked in the least time and has what it takes; once, times
``POUCHWORK_TRIALS``.
"""

import hashlib
import math
import os
import random
import re

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon

import rs274

# A tractrix shows it clearly when corners of more than this are not turned (radians), by a chord or not at all.
SHARP = 1.2
_STROKE = re.compile(r"\( stroke (\d+) ([A-Z]+) pass (\d+) \)")
_FIGURE = re.compile(r"([A-Z])([-+.\d]+)")


def figures(row):
    """The words of a row; nothing for a comment."""
    return {} if row.startswith("(") else {letter: float(text) for letter, text in _FIGURE.findall(row)}


def flat(row):
    """Whether a row moves in the plane."""
    return "X" in figures(row)


def written(words):
    """A row of words again."""
    order = [letter for letter in "GXYIJF" if letter in words]
    return " ".join(f"{letter}{words[letter]:.4f}" if letter in "XYIJ" else f"{letter}{words[letter]:g}" for letter in order)


def to(code, place):
    """A straight row to a place."""
    return written({"G": code, "X": place[0], "Y": place[1]})


class Text:
    """A program as rows, with the rows of its blocks."""

    def __init__(self, text, frame):
        self.head = rs274.head_of(text)
        self.head = text[: len(text) - len(self.head[1])]
        self.rows = text[len(self.head) :].splitlines()
        self.frame = frame
        heads = [(i, _STROKE.fullmatch(row)) for i, row in enumerate(self.rows)]
        heads = [(i, said) for i, said in heads if said]
        ends = [i for i, _ in heads[1:]] + [self.last()]
        # (first row, row behind the last, number, layer, pass)
        self.blocks = [(i, end, int(said[1]), said[2], int(said[3])) for (i, said), end in zip(heads, ends)]

    def last(self):
        """The row that begins the end: the beam put out, or the blade raised, a last time."""
        return len(self.rows) - 1 - (self.rows[-2].startswith("M5") or self.rows[-2].startswith("G0 Z"))

    def made(self, rows=None, head=None):
        """The text again, its hash made right."""
        body = "\n".join(rows or self.rows) + "\n"
        digest = hashlib.sha256(body.encode()).hexdigest()
        return re.sub(r"body: sha256 \w+", f"body: sha256 {digest}", head or self.head) + body

    def fed(self, rows):
        """Rows whose first cut has a feed, as it had before."""
        feed = next(row.split("F")[1] for row in self.rows if "F" in row)
        i = next(i for i, row in enumerate(rows) if row[:3] in ("G1 ", "G2 ", "G3 "))
        return rows if "F" in rows[i] else [*rows[:i], f"{rows[i]} F{feed}", *rows[i + 1 :]]

    def swapped(self, first, end, rows):
        """The text with other rows in place of some."""
        return self.made(self.rows[:first] + rows + self.rows[end:])

    def cuts(self, layer=None):
        """Numbers of strokes that cut through, on a layer."""
        found = {number: None for _, _, number, own, _ in self.blocks if own in ((layer,) if layer else ("HOLES", "EDGES"))}
        return list(found)

    def of(self, number):
        """Blocks of a stroke."""
        return [block for block in self.blocks if block[2] == number]

    def role_rows(self, block, role):
        """Rows of a block that move in the plane with a role."""
        now, found = None, []
        for i in range(block[0], block[1]):
            said = re.fullmatch(r"\( (\w+) \)", self.rows[i])
            now = said[1] if said else now
            if now == role and flat(self.rows[i]):
                found.append(i)
        return found

    def at(self, i):
        """Where the tool is after a row."""
        while not flat(self.rows[i]):
            i -= 1
        words = figures(self.rows[i])
        return np.array([words["X"], words["Y"]])

    def ring(self, number):
        """The wanted line that a stroke is for."""
        rows = self.role_rows(self.of(number)[0], "contour")
        points = []
        for i in rows:
            words = figures(self.rows[i])
            points.append(self.at(i))
            if "I" in words:
                # Half way round, so that an arc counts as more than its ends.
                a, b = self.at(i - 1), self.at(i)
                centre = a + (words["I"], words["J"])
                middle = (a + b) / 2 - centre
                if np.hypot(*middle) > 1e-6:
                    points.append(centre + middle / np.hypot(*middle) * np.hypot(*(a - centre)))
        return self.frame.rings[self.frame.nearest_ring(np.array(points) + self.frame.origin)]

    def bent(self, number, change, flip=False):
        """A stroke with every place changed; mirrored arcs go the other way."""
        rows = list(self.rows)
        for block in self.of(number):
            for i in range(block[0], block[1]):
                words = figures(rows[i])
                if "X" not in words:
                    continue
                new = change(np.array([words["X"], words["Y"]]))
                if "I" in words:
                    a = self.at(i - 1)
                    off = change(a + (words["I"], words["J"])) - change(a)
                    words["I"], words["J"] = off
                    if flip:
                        words["G"] = 5 - words["G"]
                words["X"], words["Y"] = new
                rows[i] = written(words)
        return self.made(rows)


def shifted(it, chance):
    number = chance.choice(it.cuts("EDGES"))
    return it.bent(number, lambda p: p + (0.2, 0))


def grown(it, chance):
    number = chance.choice(it.cuts("EDGES"))
    middle = np.array(it.ring(number).polygon.centroid.coords[0]) - it.frame.origin
    return it.bent(number, lambda p: middle + (p - middle) * 1.05)


def mirrored(it, chance):
    numbers = it.cuts("EDGES")
    chance.shuffle(numbers)
    for number in numbers:
        polygon = it.ring(number).polygon
        middle = (polygon.bounds[0] + polygon.bounds[2]) / 2
        back = affinity.scale(polygon, -1, 1, origin=(middle, 0))
        if back.exterior.hausdorff_distance(polygon.exterior) > 0.3:
            low = middle - it.frame.origin[0]
            return it.bent(number, lambda p: np.array([2 * low - p[0], p[1]]), flip=True)
    return None


def doubled(it, chance):
    number, new = chance.choice(it.cuts()), max(block[2] for block in it.blocks) + 1
    rows = []
    for first, end, _, layer, turn in it.of(number):
        rows += [f"( stroke {new} {layer} pass {turn} )", *it.rows[first + 1 : end]]
    return it.swapped(it.last(), it.last(), rows)


def twice_round(it, chance):
    number = chance.choice(it.cuts("EDGES"))
    block = it.of(number)[0]
    rows = it.role_rows(block, "contour")
    again = [it.rows[i] for i in range(rows[0], rows[-1] + 1)]
    if len([i for i in range(block[0], block[1]) if it.rows[i].startswith("G0 X")]) != 1:
        return None
    return it.swapped(rows[-1] + 1, rows[-1] + 1, again)


def left_out(it, chance):
    blocks = it.of(chance.choice(it.cuts()))
    return it.swapped(blocks[0][0], blocks[-1][1], [])


def hole_last(it, chance):
    holes = it.cuts("HOLES")
    chance.shuffle(holes)
    owners = {it.ring(number).address: number for number in it.cuts("EDGES")} if holes else {}
    for number in holes:
        outline = owners.get(it.ring(number).address)
        if outline is None:
            continue
        own, behind = it.of(number), it.of(outline)[-1][1]
        rows = it.rows[: own[0][0]] + it.rows[own[-1][1] : behind] + it.rows[own[0][0] : own[-1][1]] + it.rows[behind:]
        return it.made(rows)
    return None


def mark_last(it, chance):
    marks = [block for block in it.blocks if block[3] in ("CREASE", "PUNCH")]
    if not marks:
        return None
    first, end = chance.choice(marks)[:2]
    return it.made(it.fed(it.rows[:first] + it.rows[end : it.last()] + it.rows[first:end] + it.rows[it.last() :]))


def faster(it, chance):
    number = chance.choice(it.cuts())
    i = it.role_rows(it.of(number)[0], "contour")[-1]
    words = figures(it.rows[i])
    words["F"] = 1.5 * next(f["F"] for f in map(figures, reversed(it.rows[: i + 1])) if "F" in f)
    return it.swapped(i, i + 1, [written(words)])


def centre_astray(it, chance):
    rows = [i for i, row in enumerate(it.rows) if "I" in figures(row) and np.hypot(*(it.at(i) - it.at(i - 1))) > 0.2]
    i = chance.choice(rows)
    words, way = figures(it.rows[i]), it.at(i) - it.at(i - 1)
    words["I"], words["J"] = np.array([words["I"], words["J"]]) + 0.02 * way / np.hypot(*way)
    return it.swapped(i, i + 1, [written(words)])


def endless(it, _chance):
    return it.made(it.rows[:-1])


def strange_word(it, chance):
    i = chance.choice([i for i, row in enumerate(it.rows) if flat(row)])
    return it.swapped(i, i + 1, [it.rows[i] + " A1.0"])


def inches(it, _chance):
    return it.made(["G20" if row == "G21" else row for row in it.rows])


def mark_gone(it, chance):
    block = chance.choice([block for block in it.blocks if block[3] not in ("HOLES", "EDGES", "NUMBERS")][1:])
    return it.swapped(block[0], block[1], [])


def mark_shifted(it, chance):
    block = chance.choice([block for block in it.blocks if block[3] not in ("HOLES", "EDGES", "NUMBERS")][1:])
    return it.bent(block[2], lambda p: p + (0.1, 0.1))


def pass_gone(it, chance):
    last = [block for block in it.blocks if block[4] > 1]
    if not last:
        return None
    block = chance.choice(last)
    return it.swapped(block[0], block[1], [])


def kerf_told(it, _chance):
    return it.made(head=re.sub(r"kerf: x [\d.]+", "kerf: x 0.31", it.head))


def off_the_bed(it, chance):
    i = chance.choice([i for i, row in enumerate(it.rows) if row.startswith("G0 X")])
    return it.swapped(i, i, [to(0, (-20, 10))])


def beam_on(it, chance):
    rows = [i for i, row in enumerate(it.rows) if row.startswith("G0 X")][1:]
    i = chance.choice(rows)
    first = i
    while not flat(it.rows[first - 1]):
        first -= 1
    return it.swapped(first, i, [row for row in it.rows[first:i] if row != "M5 S0"])


def tab_rows(it, chance):
    """First row and all rows of a tab: put out, over it, lit again."""
    tabs = [i for i, row in enumerate(it.rows) if row == "( tab )"]
    if not tabs:
        return None, []
    i = chance.choice(tabs)
    end = next(k for k in range(i, len(it.rows)) if it.rows[k].startswith("M3"))
    return i, it.rows[i : end + 1]


def tab_closed(it, chance):
    i, rows = tab_rows(it, chance)
    if i is None:
        return None
    over = next(row for row in rows if row.startswith("G0"))
    return it.swapped(i, i + len(rows), ["G1" + over[2:]])


def tab_crossed(it, chance):
    """A lead of the same piece runs through the tab, which then holds nothing, though the head still counts it."""
    i, rows = tab_rows(it, chance)
    if i is None:
        return None
    a, b = it.at(i), it.at(i + len(rows) - 1)
    middle, across = (a + b) / 2, np.array([a[1] - b[1], b[0] - a[0]]) / np.hypot(*(b - a))
    lit = rows[-1]
    cut = ["( lead )", "M5 S0", to(0, middle - 0.3 * across), lit, to(1, middle + 0.3 * across), "M5 S0"]
    end = next(block[1] for block in it.blocks if block[0] <= i < block[1])
    return it.swapped(end, end, cut)


def tab_narrow(it, chance):
    i, rows = tab_rows(it, chance)
    if i is None:
        return None
    a, b = it.at(i), it.at(i + len(rows) - 1)
    over = next(k for k, row in enumerate(rows) if row.startswith("G0"))
    rows = rows[:over] + [to(0, (a + b) / 2)] + rows[over + 1 :] + [to(1, b)]
    return it.swapped(i, i + len(rows) - 1, rows)


def wrong_side(it, chance):
    block = chance.choice([block for block in it.blocks if block[3] == "EDGES" and block[4] == 1])
    kerf = max(it.frame.cutting.kerf)
    line = it.ring(block[2]).polygon.buffer(-kerf / 2, quad_segs=32)
    if line.geom_type != "Polygon":
        return None
    points = np.array(line.exterior.coords) - it.frame.origin
    lead, contour = it.role_rows(block, "lead"), it.role_rows(block, "contour")
    if not lead or it.role_rows(block, "tab"):
        return None
    start = it.at(lead[0])
    at = int(np.hypot(*(points - start).T).argmin())
    points = np.vstack([points[at:-1], points[: at + 1]])
    rows = [to(1, points[0]), "( contour )", *(to(1, p) for p in points[1:]), "M5 S0"]
    return it.swapped(lead[1], block[1], rows)


def through_the_piece(it, chance):
    block = chance.choice([block for block in it.blocks if block[3] == "EDGES" and block[4] == 1])
    lead = it.role_rows(block, "lead")
    if not lead:
        return None
    inside = np.array(it.ring(block[2]).polygon.representative_point().coords[0]) - it.frame.origin
    rows = list(it.rows)
    rows[lead[0]], rows[lead[1]] = to(0, inside), to(1, it.at(lead[1]))
    return it.made(rows)


def stronger(it, chance):
    i = chance.choice([i for i, row in enumerate(it.rows) if row.startswith("M3")])
    return it.swapped(i, i + 1, [f"M3 S{1.2 * figures(it.rows[i])['S']:g}"])


def burning_still(it, chance):
    i = chance.choice([i for i, row in enumerate(it.rows) if row.startswith("M3")]) + 1
    return it.swapped(i, i, ["G4 P0.5"])


def lit_in_vain(it, chance):
    i = chance.choice([i for i, row in enumerate(it.rows) if row.startswith("M3")])
    return it.swapped(i, i, [it.rows[i], "M5 S0"])


def lit_at_the_end(it, _chance):
    rows = list(it.rows)
    while rows[-2] == "M5 S0":
        del rows[-2]
    return it.made(rows)


def no_waits(it, _chance):
    rows = [row for row in it.rows if not row.startswith("G4 ")]
    return it.made(rows) if len(rows) < len(it.rows) else None


def other_beam(it, _chance):
    return it.made([row.replace("M3 ", "M4 ") for row in it.rows])


def not_closed(it, chance):
    block = it.of(chance.choice(it.cuts()))[0]
    i = it.role_rows(block, "contour")[-1]
    words, a, b = figures(it.rows[i]), it.at(i - 1), it.at(i)
    if "I" in words or np.hypot(*(b - a)) < 1:
        return None
    return it.swapped(i, i + 1, [written({**words, "X": b[0] - 0.1 * (b - a)[0], "Y": b[1] - 0.1 * (b - a)[1]})])


def corners(it):
    """Rows of contours in which the blade is turned a lot."""
    offset = float(re.search(r"offset ([\d.]+) mm", it.head)[1])
    found = []
    for block in it.blocks:
        for i in it.role_rows(block, "contour") if block[3] in ("HOLES", "EDGES") else ():
            words = figures(it.rows[i])
            chord = np.hypot(*(it.at(i) - it.at(i - 1)))
            round_tip = "I" in words and abs(math.hypot(words["I"], words["J"]) - offset) < 1e-3
            if round_tip and chord > 2 * offset * math.sin(SHARP / 2) and it.rows[i + 1].startswith("G1 X"):
                found.append(i)
    return found


def no_swivel(it, chance):
    rows = corners(it)
    if not rows:
        return None
    i = chance.choice(rows)
    return it.swapped(i, i + 1, [])


def chord_swivel(it, chance):
    rows = corners(it)
    if not rows:
        return None
    i = chance.choice(rows)
    return it.swapped(i, i + 1, [written({k: v for k, v in figures(it.rows[i]).items() if k not in "IJ"} | {"G": 1})])


def not_led(it, chance):
    """A contour as the tip should go, run by the pivot."""
    numbers = it.cuts("EDGES")
    chance.shuffle(numbers)
    for number in numbers:
        points = np.array(it.ring(number).polygon.exterior.coords)
        # A shape of few corners: on large curves it would make little difference.
        if len(points) <= 8 and Polygon(points).area > 100 and len(it.of(number)) == 1:
            block = it.of(number)[0]
            rows = it.role_rows(block, "contour")
            points = points - it.frame.origin
            at = int(np.hypot(*(points[:-1] - it.at(rows[0])).T).argmin())
            points = np.vstack([points[at:-1], points[: at + 1]])
            return it.swapped(rows[0], rows[-1] + 1, [to(1, p) for p in points])
    return None


def dragged_in_the_air(it, chance):
    raised = [i for i, row in enumerate(it.rows) if row.startswith("G0 Z") and flat(it.rows[i - 1]) and i < it.last()]
    i = chance.choice(raised)
    return it.swapped(i, i + 1, [])


def shallow(it, chance):
    deepest = min(figures(row).get("Z", 0) for row in it.rows)
    i = chance.choice([i for i, row in enumerate(it.rows) if figures(row).get("Z") == deepest])
    return it.swapped(i, i + 1, [f"G1 Z{deepest * 0.75:.4f}"])


def plunge(it, chance):
    i = chance.choice([i for i, row in enumerate(it.rows) if row.startswith("G1 Z") and "F" not in row])
    return it.swapped(i, i + 1, ["G0" + it.rows[i][2:]])


def overcuts(it, layer):
    """Rows of overcuts on a layer."""
    return [(block, i) for block in it.blocks if block[3] == layer for i in it.role_rows(block, "overcut")[-1:]]


def overcut_inside(it, chance):
    block, i = chance.choice(overcuts(it, "EDGES"))
    inside = np.array(it.ring(block[2]).polygon.representative_point().coords[0]) - it.frame.origin
    return it.swapped(i, i + 1, [to(1, inside)])


def no_overcut(it, chance):
    for _ in range(20):
        block, i = chance.choice(overcuts(it, "EDGES"))
        if sum(row.startswith("G0 X") for row in it.rows[block[0] : block[1]]) == 1:
            return it.swapped(i, i + 1, [])
    return None


def lead_inside(it, chance):
    block = chance.choice([block for block in it.blocks if block[3] == "EDGES"])
    rows = it.role_rows(block, "lead")
    if len(rows) < 2:
        return None
    inside = np.array(it.ring(block[2]).polygon.representative_point().coords[0]) - it.frame.origin
    return it.swapped(rows[0], rows[0] + 1, [to(0, inside)])


def not_in_line(it, _chance):
    """The first cut, which only brings the blade into line."""
    first = it.blocks[0]
    lead = it.role_rows(first, "lead")
    mark = next((i for i in range(first[0], first[1]) if it.rows[i] == "( mark )"), None)
    if not lead or mark is None:
        return None
    return it.made(it.fed(it.rows[: first[0] + 1] + it.rows[mark:]))


BOTH, BEAM, BLADE = ("laser", "knife"), ("laser",), ("knife",)
OFF = r"stands off by|differs by|falls out 0|the tip strays"
SLIPS = (
    ("a stroke moved by 0.2 mm", BOTH, OFF, shifted),
    ("a stroke 5 % too large", BOTH, OFF, grown),
    ("a stroke mirrored", BOTH, OFF, mirrored),
    ("a stroke doubled", BOTH, r"is cut by 2 strokes", doubled),
    ("a contour run round twice", BOTH, r"mm long|does not close", twice_round),
    ("a stroke left out", BOTH, r"is cut by 0 strokes", left_out),
    ("a hole after its outline", BOTH, r"comes after the", hole_last),
    ("a mark after its outline", BOTH, r"comes after the", mark_last),
    ("another feed", BOTH, r"another feed|are faster", faster),
    ("the middle of an arc astray", BOTH, r"an arc of two radii", centre_astray),
    ("no end", BOTH, r"does not end", endless),
    ("a word that is not known", BOTH, r"a word that is not known", strange_word),
    ("inches", BOTH, r"a word that is not known", inches),
    ("a mark left out", BOTH, r"PUNCH: |CREASE: |DOTS: ", mark_gone),
    ("a mark moved", BOTH, r"PUNCH: |CREASE: |DOTS: ", mark_shifted),
    ("a pass left out", BOTH, r"not run along once in each pass", pass_gone),
    ("another kerf told", BOTH, r"kerf is told", kerf_told),
    ("a way beyond the bed", BOTH, r"leaves the bed", off_the_bed),
    ("beam on through the air", BEAM, r"through the air with the beam lit", beam_on),
    ("a tab closed", BEAM, r"tabs are left standing", tab_closed),
    ("a tab cut through by a lead", BEAM, r"tabs are left standing", tab_crossed),
    ("a tab half as wide", BEAM, r"a tab of", tab_narrow),
    ("kerf on the wrong side", BEAM, r"stands off by|differs by", wrong_side),
    ("a lead through its piece", BEAM, r"leads cut into", through_the_piece),
    ("another power", BEAM, r"another power", stronger),
    ("a lit beam that waits", BEAM, r"a lit beam stands still", burning_still),
    ("a beam lit in vain", BEAM, r"a lit beam does not move", lit_in_vain),
    ("beam on at the end", BEAM, r"the end comes with the beam on", lit_at_the_end),
    ("no waits", BEAM, r"come sooner than", no_waits),
    ("another word for the beam", BEAM, r"the beam is lit by", other_beam),
    ("a contour left open", BEAM, r"does not close", not_closed),
    ("a turn left out", BLADE, r"the tip strays|left uncut", no_swivel),
    ("a turn by its chord", BLADE, r"the tip strays|left uncut", chord_swivel),
    ("a pivot that is not led", BLADE, r"the tip strays|left uncut", not_led),
    ("a blade down through the air", BLADE, r"through the air with the blade down", dragged_in_the_air),
    ("a cut not deep enough", BLADE, r"a height of", shallow),
    ("a blade that falls", BLADE, r"falls as fast as it can", plunge),
    ("an overcut into its piece", BLADE, r"deep in", overcut_inside),
    ("no overcut", BLADE, r"an overcut of", no_overcut),
    ("a lead through its piece", BLADE, r"deep in", lead_inside),
    ("a blade not brought into line", BLADE, r"PUNCH: |CREASE: |DOTS: ", not_in_line),
)


def first_spoilt(found, slip, seed):
    """The first program that can be spoilt this way: its path, the spoilt text, its frame."""
    for path, frame in found:
        text = path.read_text(encoding="ascii")
        spoilt = slip(Text(text, frame), random.Random(f"{seed} {path.name}"))
        if spoilt is not None and spoilt != text:
            return path, spoilt, frame
    return None, None, None


def run(found, check, tally, only=""):
    """Tries every slip whose name has a word, or all; ``found`` is (path, frame), those checked in the least time first."""
    trials, tried, never = max(1, int(float(os.environ.get("POUCHWORK_TRIALS", "1")))), 0, []
    for name, processes, wanted, slip in SLIPS:
        for process in processes if only in name else ():
            own = [one for one in found if one[1].process == process]
            for seed in range(trials):
                path, spoilt, frame = first_spoilt(own, slip, f"{name} {seed}")
                if spoilt is None:
                    never.append(f"{name} ({process})")
                    break
                tried += 1
                failures = check(path.name, spoilt, frame).run().failures
                good = any(re.search(wanted, words) for words in failures)
                tally.check(good, f"{path.name}: {name} {seed}, and not found as that: {failures[:3]}")
    print(f"{tried} slips tried; nothing to try them on: {', '.join(never) or 'none'}")
