"""Lengths as they are written at the bench, in millimetres.

A small reader of its own: fractions, mixed numbers, feet with inches, thousandths, leather ounces, number and letter
drills. It refuses what it does not know; it shares no line with the program it is compared with.
"""

import re
from fractions import Fraction

# Millimetres in a unit. Inch, foot and yard: NIST SP 811, appendix B (exact). Leather ounce: 1/64 in, common practice.
UNITS = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "inch": Fraction(254, 10),
    "inches": Fraction(254, 10),
    '"': Fraction(254, 10),
    "ft": Fraction(3048, 10),
    "feet": Fraction(3048, 10),
    "foot": Fraction(3048, 10),
    "'": Fraction(3048, 10),
    "yd": Fraction(9144, 10),
    "thou": Fraction(254, 10000),
    "oz": Fraction(254, 640),
}

# Number drills of ASME B94.11M in thousandths of an inch, #1 first.
NUMBER_DRILLS = [
    float(word)
    for word in """
    228 221 213 209 205.5 204 201 199 196 193.5 191 189 185 182 180 177 173 169.5 166 161
    159 157 154 152 149.5 147 144 140.5 136 128.5 120 116 113 111 110 106.5 104 101.5 99.5 98
    96 93.5 89 86 82 81 78.5 76 73 70 67 63.5 59.5 55 52 46.5 43 42 41 40
    39 38 37 36 35 33 32 31 29.2 28 26 25 24 22.5 21 20 18 16 14.5 13.5
    """.split()
]

# Letter drills of ASME B94.11M in thousandths of an inch, A first.
LETTER_DRILLS = [
    234, 238, 242, 246, 250, 257, 261, 266, 272, 277, 281, 290, 295,
    302, 316, 323, 332, 339, 348, 358, 368, 377, 386, 397, 404, 413,
]

_NUMBER = r"(?:(\d+)\s+(\d+)\s*/\s*(\d+)|(\d+)\s*/\s*(\d+)|(\d+\.?\d*|\.\d+))"
_TERM = re.compile(rf"\s*{_NUMBER}\s*([a-z]+|\"|')?\.?\s*-?")


class NotALength(ValueError):
    """A text that this reader does not take for a length."""


def _drill(text):
    number = re.fullmatch(r"#\s*(\d+)(\s+drill)?", text)
    if number and 1 <= int(number[1]) <= len(NUMBER_DRILLS):
        return NUMBER_DRILLS[int(number[1]) - 1] * 0.0254
    letter = re.fullmatch(r"([a-z])\s+drill", text)
    if letter:
        return LETTER_DRILLS[ord(letter[1]) - ord("a")] * 0.0254
    return None


def _figure(match):
    whole, top, bottom, alone_top, alone_bottom, decimal = match.groups()[:6]
    if whole is not None:
        return Fraction(int(whole)) + Fraction(int(top), int(bottom))
    if alone_top is not None:
        return Fraction(int(alone_top), int(alone_bottom))
    return Fraction(decimal)


def length(text, unit="mm"):
    """Millimetres in a text such as ``1 1/4 in``; ``unit`` is for a bare number."""
    if isinstance(text, (int, float)):
        return float(Fraction(repr(text)) * UNITS[unit])
    low = text.strip().lower()
    drill = _drill(low)
    if drill is not None:
        return drill
    sign = -1 if low.startswith("-") else 1
    rest = low.lstrip("+-").strip()
    total, seen = Fraction(0), 0
    while rest:
        match = _TERM.match(rest)
        if not match:
            raise NotALength(text)
        name = match[7] or unit
        if name not in UNITS or (seen and not match[7]):
            raise NotALength(text)
        total += _figure(match) * UNITS[name]
        seen += 1
        rest = rest[match.end():].strip()
    if not seen:
        raise NotALength(text)
    return float(sign * total)


def mean_length(value, unit="mm"):
    """One length, or the mean of several readings of it."""
    if isinstance(value, list):
        return sum(length(one, unit) for one in value) / len(value)
    return length(value, unit)


def angle(text):
    """Degrees in a text such as ``45 deg``, ``22 1/2°``."""
    match = re.fullmatch(rf"\s*(-?)\s*{_NUMBER}\s*(?:deg|°)\s*", str(text).lower())
    if not match:
        raise ValueError(f"not an angle: {text}")
    figures = re.match(_NUMBER, str(text).strip().lstrip("-").strip())
    return float(_figure(figures)) * (-1 if match[1] else 1)


def share(text):
    """A share written in per cent, ``2 %``, as 0.02."""
    match = re.fullmatch(r"\s*(-?\d+(?:\.\d+)?|-?\.\d+)\s*%\s*", text)
    if not match:
        raise ValueError(f"not a share: {text}")
    return float(match[1]) / 100


def spares(text):
    """``(share as a fraction, least)`` of a text such as ``1 in 20, at least 1``."""
    low = str(text).strip().lower()
    least = 0
    match = re.search(r"at least (\d+)\s*$", low)
    if match:
        least = int(match[1])
        low = low[: match.start()].strip().rstrip(",").strip()
    if low in ("none", ""):
        return Fraction(0), least
    match = re.fullmatch(r"(\d+) in (\d+)", low)
    if match:
        return Fraction(int(match[1]), int(match[2])), least
    match = re.fullmatch(r"(\d+)", low)
    if match:
        return Fraction(0), max(least, int(match[1]))
    match = re.fullmatch(r"(\d+(?:\.\d+)?)\s*%", low)
    if match:
        return Fraction(match[1]) / 100, least
    raise ValueError(f"not a number of spares: {text}")


def spare_count(rule, wanted):
    """How many spares a rule asks for ``wanted`` pieces of one size, broken ones counted whole."""
    part, least = rule
    asked = part * wanted
    return max(-(-asked.numerator // asked.denominator), least)
