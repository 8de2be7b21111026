"""Lengths as people say them: 4.2, 420 cm, 165 in, 13 ft 6 in, 5' 6 1/2"; exact, in the unit they were said in."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise

from ...materials.dataclass import dataclass
from ..units import UNITS

SUFFIXES = tuple(unit.suffix for unit in UNITS)
METRES = {unit.suffix: Fraction(unit.numerator, unit.denominator) for unit in UNITS}
_WORDS = {
    "_m": ("m", "metre", "metres", "meter", "meters"),
    "_cm": ("cm",),
    "_mm": ("mm",),
    "_in": ("in", "inch", "inches", '"', "\u2033", "\u201d", "''"),
    "_ft": ("ft", "foot", "feet", "'", "\u2032", "\u2019"),
}
_SUFFIX_OF = {word: suffix for suffix, words in _WORDS.items() for word in words}
_NUMBER = r"\d+\s+\d+/\d+|\d+/\d+|\d+(?:[.,]\d+)?|[.,]\d+"
_PART = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?P<unit>[a-z]+|''|[\"'\u2032\u2033\u2019\u201d])?\s*", re.IGNORECASE | re.ASCII)
_LONGEST = 40  # letters
_SMALLER = {"_ft": "_in", "_m": "_cm"}  # what may follow, also unsaid: 13 ft 6, 4 m 20
EXAMPLES = "a length such as 4.2 m, 420 cm, 165 in, 13 ft 6 in or 13' 6 1/2\""


class NoLength(Exception):
    """A text that is no length; str() says why."""


@dataclass(frozen=True)
class Length:
    """A length: metres, exactly; the unit it was said in, as a key of a scene file ends; the words.

    suffix  "_m", "_cm", "_mm" or "_in" (feet too are written in inches)
    """

    metres: Fraction
    suffix: str
    said: str

    def in_unit(self, suffix: str) -> Fraction:
        """The number in a unit. Source: UNITS."""
        return self.metres / METRES[suffix]


def parse_length(text: str, unit: str = "_m") -> Length:
    """A length from words.

    unit    of a number that names none: "_m", "_cm", "_mm", "_in" or "_ft"
    raises  NoLength
    """
    said = text.strip()
    if not said or len(said) > _LONGEST:
        raise NoLength("is no length")
    parts: list[tuple[Fraction, str]] = []
    at, named = 0, True
    while at < len(said):
        match = _PART.match(said, at)
        if match is None or match.end() == at:
            raise NoLength("is no length")
        if parts and not named:
            raise NoLength("is no length: a number before another one needs its unit")
        parts.append((_number(match["number"]), _unit(match["unit"], parts, unit)))
        at, named = match.end(), match["unit"] is not None
    for (_, before), (_, after) in pairwise(parts):
        if _SMALLER.get(before) != after:
            raise NoLength("is no length: its parts do not follow one another")
    metres = sum((number * METRES[suffix] for number, suffix in parts), Fraction(0))
    first = parts[0][1]
    return Length(metres, "_in" if first == "_ft" else first, said)


def _unit(word: str | None, parts: list[tuple[Fraction, str]], default: str) -> str:
    if word is None:
        return _SMALLER.get(parts[-1][1], default) if parts else default
    suffix = _SUFFIX_OF.get(word.casefold())
    if suffix is None:
        raise NoLength(f'has no unit "{word[:12]}"')
    return suffix


def _number(text: str) -> Fraction:
    """A decimal, a fraction or a mixed number; a comma is a point where no thousands can be meant."""
    if re.search(r",\d{3}$", text):
        raise NoLength("may mean thousands or a decimal: write a point")
    whole, _, part = text.replace(",", ".").rpartition(" ")
    numerator, slash, denominator = part.partition("/")
    if slash and int(denominator) == 0:
        raise NoLength("divides by nought")
    value = Fraction(int(numerator), int(denominator)) if slash else Fraction(part)
    return value + (Fraction(whole.strip()) if whole.strip() else 0)


def length_words(metres: Fraction | float, suffix: str) -> str:
    """A length as one says it in a unit: 4.2 m, 420 cm, 13 ft 6 in."""
    exact = Fraction(metres).limit_denominator(10**6)
    if suffix == "_in":
        inches = exact / METRES["_in"]
        feet, rest = divmod(round(inches * 8), 96)  # eighths
        shown = _decimals(Fraction(rest, 8), 3)
        return f"{feet} ft {shown} in" if feet else f"{shown} in"
    decimals = {"_m": 3, "_cm": 1, "_mm": 0, "_ft": 3}[suffix]
    return f"{_decimals(exact / METRES[suffix], decimals)} {suffix[1:]}"


def _decimals(value: Fraction, most: int) -> str:
    text = f"{float(value):.{most}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
