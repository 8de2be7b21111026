"""One question of a site survey, and how what is answered is read."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction
from typing import Any

from ...materials.dataclass import dataclass
from ...materials.text.nearest import nearest
from ...materials.text.plain import first_names
from .lengths import EXAMPLES, Length, NoLength, length_words, parse_length

Given = Mapping[str, Any]  # answers so far, by key
Words = str | Callable[[Given], str]


class RefusedAnswer(Exception):
    """An answer that cannot be: str() says why, `allowed` what would do."""

    def __init__(self, message: str, allowed: str = "") -> None:
        super().__init__(message)
        self.allowed = allowed


@dataclass(frozen=True)
class Question:
    """A question.

    key      its name in a file of answers;  ask  in a few words;  hint  where to put the tape, or where to look; "" none
    read     an answer's text to its value; raises RefusedAnswer. The unit of a bare number and the answers so far come with it
    default  text that is taken for an empty answer, None: there must be one;  shown  the default in words, where they differ
    empty    what no answer stands for, where there is no default: "not known", "no more"; None: an answer is wanted
    """

    key: str
    ask: str
    read: Callable[[str, str, Given], Any]
    hint: str = ""
    default: Words | None = None
    empty: str | None = None

    def default_text(self, given: Given) -> str | None:
        """The default as an answer; None where there is none."""
        return self.default(given) if callable(self.default) else self.default

    def value(self, text: str, unit: str, given: Given) -> Any:
        """What an answer means; None for what is left open. raises RefusedAnswer"""
        said = text.strip()
        if not said:
            default = self.default_text(given)
            if default is None and self.empty is None:
                raise RefusedAnswer("needs an answer")
            if default is None:
                return None
            said = default
        return self.read(said, unit, given)


_BETWEEN = re.compile(r"[\s;x\u2013-]+|,\s+|\bto\b")  # two numbers
_FAR = 3  # times the most that may be
Limit = float | Fraction | Callable[[Given], float | Fraction]


def length(low: Limit, high: Limit) -> Callable[[str, str, Given], Length]:
    """Reads a length between limits [m], which may depend on other answers."""

    def read(text: str, unit: str, given: Given) -> Length:
        try:
            found = parse_length(text, unit)
        except NoLength as fault:
            raise RefusedAnswer(str(fault), EXAMPLES) from None
        least, most = (Fraction(limit(given) if callable(limit) else limit).limit_denominator(10**6) for limit in (low, high))
        if not least <= found.metres <= most:
            allowed = f"{length_words(least, found.suffix)} to {length_words(most, found.suffix)}"
            raise RefusedAnswer(f"is {length_words(found.metres, found.suffix)}{_other_unit(text, unit, least, most)}", allowed)
        return found

    return read


def _other_unit(text: str, unit: str, least: Fraction, most: Fraction) -> str:
    """A guess at the unit that a bare number was meant in, where it is far beyond what may be."""
    if not text.strip().replace(".", "", 1).isdigit() or parse_length(text, unit).metres < _FAR * most:
        return ""
    for other in ("_cm", "_in", "_mm"):
        if other != unit and least <= parse_length(text, other).metres <= most:
            return f": did you mean {text.strip()} {other[1:]}?"
    return ""


def number(low: float, high: float, unit: str = "") -> Callable[[str, str, Given], float]:
    """Reads a number between limits."""
    allowed = f"{low:g} to {high:g}{f' {unit}' if unit else ''}"

    def read(text: str, _: str, __: Given) -> float:
        said = text.strip().removesuffix(unit).strip() if unit else text.strip()
        if re.search(r",\d{3}$", said):
            raise RefusedAnswer("may mean thousands or a decimal: write a point, or no comma", allowed)
        try:
            value = float(said.replace(",", "."))
        except ValueError:
            value = math.nan
        if math.isnan(value):
            raise RefusedAnswer("is no number", allowed)
        if not low <= value <= high:
            raise RefusedAnswer("is out of range", allowed)
        return value

    return read


def contrast(low: float, high: float) -> Callable[[str, str, Given], float]:
    """Reads a contrast between limits, as 2000 or as sheets have it, 2000:1."""
    plain = number(low, high)
    return lambda text, unit, given: plain(re.sub(r"\s*:\s*1\s*$", "", text), unit, given)


def pair(low: float, high: float, words: str, *, shares: bool = False) -> Callable[[str, str, Given], tuple[float, float]]:
    """Reads two numbers between limits, with a blank, a comma, "to", "x" or "-" between them.

    shares  True where per cent may stand for shares, as sheets have it: "20 % 60 %", "±60%"
    """

    def read(text: str, unit: str, given: Given) -> tuple[float, float]:
        if shares:
            text = re.sub(
                r"(\d+(?:[.,]\d+)?)\s*%", lambda found: f"{float(found[1].replace(',', '.')) / 100:g}", text.replace("±", " ")
            )
        parts = [part for part in _BETWEEN.split(text.strip()) if part]
        if len(parts) == 1:
            parts = parts * 2
        if len(parts) != 2:
            raise RefusedAnswer("are not two numbers", words)
        first, second = (number(low, high)(part, unit, given) for part in parts)
        return first, second

    return read


def name(text: str, _: str, __: Given) -> str:
    """Reads a short text; what it may hold the scene file says."""
    if not text.isprintable() or len(text) > 60:
        raise RefusedAnswer("cannot be shown on a line", "up to 60 letters that print")
    return text


def one_of(known: Callable[[], Iterable[str]], what: str) -> Callable[[str, str, Given], str]:
    """Reads a word of a list, by the beginning where that is clear."""

    def read(text: str, _: str, __: Given) -> str:
        words = list(known())
        if text in words:
            return text
        begins = [word for word in words if word.casefold().startswith(text.casefold())]
        if len(begins) == 1:
            return begins[0]
        near = begins[:2] or nearest(text, words)[:2]
        hint = f", did you mean {' or '.join(near)}?" if near else ""
        raise RefusedAnswer(f"is no {what}{hint}", first_names(words, 8))

    return read


def finish(text: str, unit: str, given: Given) -> str | float:
    """Reads a finish of the library, an everyday word for one, or a grey reflectance."""
    from ...materials.finish_words import meant
    from ...materials.library import load_library

    known = load_library().finishes
    if text in known:
        return text
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if 0.0 <= value <= 1.0:
        return value
    if not math.isnan(value):
        raise RefusedAnswer("is a reflectance out of range", "0 to 1")
    near = [*meant(text, known), *nearest(text, known)]
    hint = f", did you mean {' or '.join(dict.fromkeys(near[:3]))}?" if near else ""
    raise RefusedAnswer(f"is no finish of the library{hint}", "a finish (halfgain materials lists all) or a reflectance 0 to 1")
