"""Reads a cut program in G-code and says which motions a machine would make, and what it would refuse.

The words are those of RS274/NGC as in Kramer, Proctor, Messina, "The NIST RS274NGC Interpreter, version 3", NIST IR
6556, 2000, and of them only what a flat cut needs: G0 G1 G2 G3 G4, G17 G21 G40 G90 G94, M2 M3 M4 M5, X Y Z I J F S P.
Everything else is refused, and so is what no cut may do: a way through the air with the beam lit or the blade down, a
lit beam that stands still, a program that does not end with its tool off.
"""

import math
import re
from dataclasses import dataclass, field

import numpy as np

# Characters of a line; difference between the two radii of an arc (mm). NIST IR 6556, 3.3 and 3.5.3.
LONGEST, RADII = 256, 0.002
# Lengths in files have four decimals (mm).
LEAST = 5e-5
# Chords stand off the arcs by no more than this (mm).
SAGITTA = 3e-4

SETTINGS = {"G17", "G21", "G40", "G90", "G94"}
MOTIONS = {"G0": 0, "G1": 1, "G2": 2, "G3": 3}
OTHERS = {"G4", "M2", "M3", "M4", "M5"}
FIGURES = set("XYZIJFSP")
_WORD = re.compile(r"([A-Z])([-+]?(?:\d+\.?\d*|\.\d+))")
_ROLE = re.compile(r"\( (lead|contour|tab|overcut|mark) \)")
_STROKE = re.compile(r"\( stroke (\d+) ([A-Z]+) pass (\d+) \)")


@dataclass
class Move:
    """One motion of the tool; kind 0 is through the air, 2 clockwise, 3 counter-clockwise."""

    kind: int
    a: np.ndarray
    b: np.ndarray
    line: int
    role: str | None
    # Heights before and after; none where none was said.
    heights: tuple = (None, None)
    centre: np.ndarray | None = None
    sweep: float = 0.0
    feed: float = 0.0
    # Power of the beam, 0 where it is off.
    power: float = 0.0

    def length(self):
        """How long its way in the plane is."""
        if self.kind < 2:
            return float(np.hypot(*(self.b - self.a)))
        return self.radius() * abs(self.sweep)

    def radius(self):
        """Radius of an arc at its start."""
        return float(np.hypot(*(self.a - self.centre)))

    def points(self):
        """Its points, the first among them, arcs as chords."""
        if self.kind < 2:
            return np.array([self.a, self.b])
        radius = self.radius()
        step = min(2 * math.acos(1 - SAGITTA / radius) if radius > SAGITTA else 1.0, math.pi / 12)
        count = max(2, math.ceil(abs(self.sweep) / step))
        start = math.atan2(*(self.a - self.centre)[::-1])
        angles = start + self.sweep * np.arange(count + 1) / count
        made = self.centre + radius * np.column_stack([np.cos(angles), np.sin(angles)])
        made[0], made[-1] = self.a, self.b
        return made


@dataclass
class Block:
    """What follows one line ``( stroke N LAYER pass N )``."""

    number: int
    layer: str
    turn: int
    moves: list = field(default_factory=list)

    def name(self):
        """How it is called in what is told."""
        return f"stroke {self.number} {self.layer} pass {self.turn}"

    def of(self, *roles):
        """Its moves with these roles."""
        return [move for move in self.moves if move.role in roles]


@dataclass
class Program:
    """A program that was read."""

    head: list
    body: str
    moves: list = field(default_factory=list)
    blocks: list = field(default_factory=list)
    # Waits as (line, seconds), and every word that lit the beam.
    waits: list = field(default_factory=list)
    beams: set = field(default_factory=set)
    faults: list = field(default_factory=list)

    def said(self, key):
        """What the head says after a key; none where it does not."""
        found = [line[len(key) + 2 :] for line in self.head if line.startswith(f"{key}: ")]
        return found[0] if found else None


def head_of(text):
    """The leading comments as lines, those that were too long put together again, and the rest of the text."""
    lines, at = [], 0
    for row in text.splitlines(keepends=True):
        bare = row.rstrip("\n")
        if not (bare.startswith("(") and bare.endswith(")")):
            break
        at += len(row)
        if bare.startswith("(+ ") and lines:
            lines[-1] += bare[3:-2]
        else:
            lines.append(bare[2:-2])
    return lines, text[at:]


class Machine:
    """What the words of a program do to a machine, line by line."""

    def __init__(self, program):
        self.program = program
        self.row = 0
        self.settings = set()
        self.at, self.height = [None, None], None
        self.feed = self.power = 0.0
        self.beam = False
        # The beam was lit and has not moved since.
        self.fresh = False
        self.ended = False
        self.role, self.block = None, None

    def fault(self, words):
        """Tells of the line at hand."""
        self.program.faults.append(f"line {self.row}: {words}")

    def lit(self):
        """Power of the beam, 0 while it is off."""
        return self.power if self.beam else 0.0

    def comment(self, row):
        """Roles and strokes stand in comments of their own."""
        if said := _ROLE.fullmatch(row):
            self.role = said[1]
        elif said := _STROKE.fullmatch(row):
            self.block = Block(int(said[1]), said[2], int(said[3]))
            self.program.blocks.append(self.block)
            self.role = None
        else:
            self.fault(f"a comment that says nothing known: {row[:40]}")

    def line(self, row):
        """One line of the body."""
        self.row += 1
        if len(row) > LONGEST or not row.isascii():
            self.fault("longer than a line may be, or not plain letters")
        if row.startswith("("):
            self.comment(row)
            return
        if self.ended:
            self.fault("something stands after the end")
            return
        words = _WORD.findall(row)
        if "".join(letter + figure for letter, figure in words) != row.replace(" ", "") or not words:
            self.fault(f"not words: {row[:40]}")
            return
        codes = [letter + figure for letter, figure in words if letter in "GM"]
        figures = {letter: float(figure) for letter, figure in words if letter in FIGURES}
        strange = [code for code in codes if code not in SETTINGS | set(MOTIONS) | OTHERS]
        strange += [letter for letter, _ in words if letter not in FIGURES | {"G", "M"}]
        letters = [letter for letter, _ in words if letter not in "GM"]
        if strange or len(set(letters)) < len(letters) or len(codes) > 1:
            self.fault(f"a word that is not known, or one too many: {row[:40]}")
            return
        self.obey(codes[0] if codes else None, figures)

    def obey(self, code, figures):
        """In the order of execution of NIST IR 6556: feed, power, beam, wait, motion, end."""
        if "F" in figures:
            self.feed = figures["F"]
        if "S" in figures:
            self.power = figures["S"]
        if code in SETTINGS:
            self.settings.add(code)
        elif code in ("M3", "M4"):
            self.program.beams.add(code)
            self.beam = self.fresh = True
            if self.power <= 0:
                self.fault("a beam that is lit without power")
        elif code == "M5":
            self.rest("put out")
            self.beam = self.fresh = False
        elif code == "G4":
            self.wait(figures)
        elif code in MOTIONS:
            self.motion(MOTIONS[code], figures)
        elif code == "M2":
            self.end()
        elif set(figures) & set("XYZIJP"):
            self.fault("a place without a word that goes there")

    def rest(self, what):
        """A beam that is lit must move before anything else is done."""
        if self.fresh and self.beam:
            self.fault(f"a lit beam does not move before it is {what}")

    def wait(self, figures):
        """A wait with the tool off."""
        if self.lit():
            self.fault("a lit beam stands still")
        self.program.waits.append((self.row, figures.get("P", 0.0)))

    def motion(self, kind, figures):
        """One motion, looked at and kept."""
        missing = SETTINGS - self.settings
        if missing:
            self.fault(f"a motion before {sorted(missing)}")
            self.settings |= missing
        if kind and self.feed <= 0:
            self.fault("a motion without a feed")
        if {"S", "P"} & set(figures) or (kind < 2 and {"I", "J"} & set(figures)):
            self.fault("a motion with words that it does not take")
        a, b = list(self.at), [figures.get(key, old) for key, old in zip("XY", self.at)]
        before, self.height = self.height, figures.get("Z", self.height)
        if {"X", "Y"} & set(figures):
            if "Z" in figures:
                self.fault("a motion that goes aslant through the height")
            self.flat(kind, figures, a, b)
        elif "Z" not in figures or kind > 1:
            self.fault("a motion to nowhere")
        else:
            self.down(kind, before)

    def down(self, kind, before):
        """A motion of the height alone."""
        if kind == 0 and before is not None and self.height < before:
            self.fault("the blade falls as fast as it can")
        if None in self.at:
            if self.height <= 0:
                self.fault("the blade is lowered before it has a place")
            return
        at = np.array(self.at)
        self.keep(Move(kind, at, at, self.row, self.role, (before, self.height), feed=self.feed))

    def flat(self, kind, figures, a, b):
        """A motion in the plane."""
        if None in b:
            self.fault("a motion of which half the place is not known")
            return
        self.at = b
        height = self.height
        if kind == 0:
            if self.lit():
                self.fault("a way through the air with the beam lit")
            if height is not None and height <= 0:
                self.fault("a way through the air with the blade down")
            start = a if None not in a else [0.0, 0.0]
            self.keep(Move(0, np.array(start), np.array(b), self.row, self.role, (height, height)))
            return
        if None in a:
            self.fault("a cut that begins nowhere")
            return
        move = Move(kind, np.array(a), np.array(b), self.row, self.role, (height, height), feed=self.feed)
        move.power = self.lit()
        if kind > 1 and not self.arc(move, figures):
            return
        if move.length() < LEAST:
            self.fault("a cut of no length")
        self.fresh = False
        self.keep(move)

    def arc(self, move, figures):
        """The centre and sweep of an arc; false where it is none."""
        if not {"I", "J"} & set(figures):
            self.fault("an arc without a centre")
            return False
        move.centre = move.a + np.array([figures.get("I", 0.0), figures.get("J", 0.0)])
        radii = [float(np.hypot(*(p - move.centre))) for p in (move.a, move.b)]
        if min(radii) < LEAST or abs(radii[0] - radii[1]) > RADII:
            self.fault(f"an arc of two radii, {radii[0]:.4f} and {radii[1]:.4f} mm")
        first, last = (math.atan2(*(p - move.centre)[::-1]) for p in (move.a, move.b))
        turn = (last - first if move.kind == 3 else first - last) % math.tau or math.tau
        move.sweep = turn if move.kind == 3 else -turn
        return True

    def keep(self, move):
        """A motion belongs to a stroke and has a role there, but for the blade's first and last way up."""
        self.program.moves.append(move)
        if self.block is not None:
            self.block.moves.append(move)
        if self.role is None and not (move.kind == 0 and move.heights[1] is not None and move.heights[1] > 0):
            self.fault("a motion that is told of no stroke")

    def end(self):
        """The end, with the tool off."""
        self.ended = True
        self.rest("put out")
        if self.beam or self.power:
            self.fault("the end comes with the beam on, or its power not zero")
        if self.height is not None and self.height <= 0:
            self.fault("the end comes with the blade down")


def read(text):
    """A program, with all that a machine would refuse."""
    head, body = head_of(text)
    program = Program(head, body)
    machine = Machine(program)
    machine.row = text.count("\n") - body.count("\n")
    for row in body.splitlines():
        machine.line(row)
    if not machine.ended:
        machine.fault("the program does not end")
    return program
