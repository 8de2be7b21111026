"""Where each key of a TOML text stands, so that an error can name its line.

The standard library's reader keeps no positions. This one reads the same text and keeps nothing else. It reads first: the
standard reader's time and memory grow with the square of a key's parts, and it calls itself for every bracket, so what is
nested beyond all sense is refused here. For the rest it is lenient: what is no TOML the standard reader says better.
Source: TOML 1.0.0 (toml.io): keys, strings, arrays, inline tables, tables, arrays of tables.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from contextlib import suppress
from functools import lru_cache

Path = tuple[str | int, ...]

_BARE_KEY = re.compile(r"[^ \t\r\n=.\]#,}\"']*")
_BARE_VALUE = re.compile(r"[^,\]}#\n]*")
_BLANK = re.compile(r"(?:[ \t\r\n\ufeff]+|#[^\n]*)*")
_SPACES = re.compile(r"[ \t]*")
_PLAIN = {'"': re.compile(r'[^"\\\n]*'), "'": re.compile(r"[^'\n]*")}  # of a string: what needs no second look
MOST_KEYS = 100_000  # keys and values of one file
MOST_DEEP = 32  # parts of a key, and brackets in brackets
MOST_DIGITS = 3000  # of a number; Python writes no more than 4300 decimal ones, as many as 3500 hexadecimal ones make


class BeyondSense(Exception):
    """A text that no file of tables needs: `line` and `path` of what is nested too deeply, or a number too long."""

    def __init__(self, message: str, allowed: str, line: int, path: Path = ()) -> None:
        super().__init__(message)
        self.allowed, self.line, self.path = allowed, line, path


def key_lines(text: str) -> dict[Path, int]:
    """Line (from 1) of every key, table header and array element in `text`, by its path.

    Elements of arrays and of arrays of tables are counted from 0. A table that is only implied by a longer header gets
    the line of the first header or dotted key that implies it.
    raises  BeyondSense for more than MOST_DEEP levels, or MOST_DIGITS digits
    """
    return dict(_lines(text))


@lru_cache(maxsize=2)
def _lines(text: str) -> Mapping[Path, int]:
    """Of the last texts, since whoever reads one asks for its lines several times over."""
    reader = _Reader(text)
    with suppress(IndexError):  # broken text: what was found before the break is still right
        reader.read()
    return reader.lines


def line_of(path: Path, lines: Mapping[Path, int]) -> int:
    """Line of a key path, or of the nearest table around it where the key itself is missing; 0 if unknown."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return 0


class _Reader:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.deep = 0
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}  # elements so far of each array of tables

    def read(self) -> None:
        table: Path = ()
        while self.skip_blank():
            line = self.line
            if self.text[self.at] == "[":
                table = self.header(line)
            else:
                self.pair(table)

    def header(self, line: int) -> Path:
        is_array = self.text.startswith("[[", self.at)
        self.move(2 if is_array else 1)
        path: Path = ()
        keys = self.key()
        for i, key in enumerate(keys):
            path = (*path, key)
            if is_array and i == len(keys) - 1:
                self.note(path, line)
                count = self.counts.get(path, 0)
                self.counts[path] = count + 1
                path = (*path, count)
            elif path in self.counts:
                path = (*path, self.counts[path] - 1)
            self.note(path, line)
        while self.text[self.at] != "]":
            self.move(1)
        self.move(2 if is_array else 1)
        return path

    def pair(self, table: Path) -> None:
        line = self.line
        path = table
        for key in self.key():
            path = (*path, key)
            self.note(path, line)
        while self.text[self.at] != "=":
            self.move(1)
        self.move(1)
        self.skip_blank()
        self.value(path)

    def key(self) -> list[str]:
        keys = []
        while True:
            self.skip_spaces()
            if self.text[self.at] in "\"'":
                keys.append(self.string())
            else:
                keys.append(self.run_of(_BARE_KEY))
                if not keys[-1]:
                    self.move(1)  # never stand still on broken text
            self.skip_spaces()
            if self.text[self.at] != ".":
                return keys
            if len(keys) == MOST_DEEP:
                raise BeyondSense("a key of too many parts", f"at most {MOST_DEEP}", self.line)
            self.move(1)

    def value(self, path: Path) -> None:
        sign = self.text[self.at]
        if sign in "\"'":
            self.string()
        elif sign == "[":
            self.elements(path, "]")
        elif sign == "{":
            self.elements(path, "}")
        else:
            digits = self.run_of(_BARE_VALUE).strip()
            if len(digits) > MOST_DIGITS and not digits.strip("0123456789abcdefxoABCDEF_+-.:TZ"):
                raise BeyondSense("a number has too many digits", f"at most {MOST_DIGITS}", self.line, path)

    def elements(self, path: Path, end: str) -> None:
        if self.deep == MOST_DEEP:
            raise BeyondSense("brackets nested too deeply", f"at most {MOST_DEEP} in each other", self.line)
        self.deep += 1
        self.inside(path, end)
        self.deep -= 1

    def inside(self, path: Path, end: str) -> None:
        self.move(1)
        index = 0
        while True:
            self.skip_blank()
            start = self.at
            if self.text[self.at] == end:
                break
            if self.text[self.at] == ",":
                self.move(1)
            elif end == "]":
                self.note((*path, index), self.line)
                self.value((*path, index))
                index += 1
            else:
                self.pair(path)
            if self.at == start:
                self.move(1)  # never stand still on broken text
        self.move(1)

    def string(self) -> str:
        quote = self.text[self.at]
        mark = quote * 3 if self.text.startswith(quote * 3, self.at) else quote
        self.move(len(mark))
        start = self.at
        while not self.text.startswith(mark, self.at):
            if not self.run_of(_PLAIN[quote]):
                self.move(2 if quote == '"' and self.text[self.at] == "\\" else 1)
        if len(mark) == 3:  # up to two quotes may stand right before the closing three
            while self.text.startswith(mark, self.at + 1):
                self.move(1)
        body = self.text[start : self.at]
        self.move(len(mark))
        if quote == '"' and "\\" in body:
            try:
                return str(json.loads(f'"{body}"'))
            except ValueError:
                return body
        return body

    def skip_spaces(self) -> None:
        self.run_of(_SPACES)

    def skip_blank(self) -> bool:
        self.line += self.run_of(_BLANK).count("\n")
        return self.at < len(self.text)

    def run_of(self, pattern: re.Pattern[str]) -> str:
        """What a pattern matches here; it may match nothing. Goes behind it, in the same line."""
        found = pattern.match(self.text, self.at)
        assert found is not None
        self.at = found.end()
        return found.group()

    def move(self, count: int) -> None:
        step = self.text[self.at : self.at + count]
        if len(step) < count:
            raise IndexError
        self.line += step.count("\n")
        self.at += count

    def note(self, path: Path, line: int) -> None:
        if len(path) > 2 * MOST_DEEP:
            raise BeyondSense("tables nested too deeply", f"at most {2 * MOST_DEEP} levels", line)
        self.lines.setdefault(path, line)
        if len(self.lines) > MOST_KEYS:
            raise BeyondSense(f"more than {MOST_KEYS} keys and values", "", line)
