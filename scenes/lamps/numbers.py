"""The numbers of a photometric file in their order, each with the line it stands on, so that every fault finds its place."""

from __future__ import annotations

import re
from typing import NamedTuple

from .unusable import UnusablePhotometry

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?\Z")
_LONGEST = 40  # letters of one number
CLOSEST_DEG = 1e-6  # nearer angles would fall together where a symmetry mirrors them


def lines_of(text: str) -> list[str]:
    """Lines of a text by line feeds and carriage returns alone: other characters that end lines stand in names of old code pages."""
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


class Token(NamedTuple):
    """What stands between two delimiters, and the line it stands on, from 1."""

    text: str
    line: int


class Numbers:
    """Reads numbers one after the other; a name says in messages what each is.

    tokens  in the file's order;  last_line  of the file, where what is missing should have stood;  comma  decimal commas are taken
    """

    def __init__(self, tokens: list[Token], last_line: int, *, comma: bool = False) -> None:
        self._tokens, self._at, self._last_line, self._comma = tokens, 0, last_line, comma

    @property
    def line(self) -> int:
        """Line of the number read last."""
        return self._tokens[self._at - 1].line if self._at else self._last_line

    def number(self, name: str, low: float, high: float) -> float:
        """The next number, within low to high.  raises UnusablePhotometry"""
        if self._at == len(self._tokens):
            raise UnusablePhotometry(f"ends before {name}", f"{low:g} to {high:g}", line=self._last_line, key=name)
        token = self._tokens[self._at]
        self._at += 1
        return self.checked(token, name, low, high)

    def checked(self, token: Token, name: str, low: float, high: float) -> float:
        """A token as a number within low to high.  raises UnusablePhotometry"""
        text = token.text.replace(",", ".") if self._comma and token.text.count(",") == 1 else token.text
        allowed = f"{low:g} to {high:g}"
        if len(text) > _LONGEST or not _NUMBER.match(text):
            raise UnusablePhotometry("should be a number", allowed, line=token.line, key=name, value=token.text)
        value = float(text)
        if not low <= value <= high:
            raise UnusablePhotometry("is out of range", allowed, line=token.line, key=name, value=token.text)
        return value

    def whole(self, name: str, low: int, high: int) -> int:
        """The next number, a whole one.  raises UnusablePhotometry"""
        value = self.number(name, low, high)
        if value != int(value):
            raise UnusablePhotometry(
                "should be a whole number", f"{low} to {high}", line=self.line, key=name, value=self._tokens[self._at - 1].text
            )
        return int(value)

    def rising(self, name: str, count: int, low: float, high: float) -> tuple[list[float], list[int]]:
        """`count` angles, each above the one before, and their lines.  raises UnusablePhotometry"""
        values: list[float] = []
        lines: list[int] = []
        for i in range(count):
            value = self.number(f"{name} {i + 1}", low, high)
            if values and not value > values[-1] + CLOSEST_DEG:
                raise UnusablePhotometry(
                    "should be above the one before", f"above {values[-1]:g}, at most {high:g}", line=self.line,
                    key=f"{name} {i + 1}", value=self._tokens[self._at - 1].text,
                )  # fmt: skip
            values.append(value)
            lines.append(self.line)
        return values, lines

    def end(self, announced: str) -> None:
        """Nothing may follow.  raises UnusablePhotometry naming what was announced"""
        left = len(self._tokens) - self._at
        if left:
            token = self._tokens[self._at]
            more = "a value" if left == 1 else f"{left} values"
            raise UnusablePhotometry(f"has {more} more than {announced}", line=token.line, value=token.text)
