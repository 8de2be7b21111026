"""Where each key of a TOML text stands, so that an error can name its line.

The standard library's reader keeps no positions. This one reads the same text a second time and keeps nothing else; it
is lenient, as it is only asked about texts the standard reader has accepted.
Source: TOML 1.0.0 (toml.io): keys, strings, arrays, inline tables, tables, arrays of tables.
"""
from __future__ import annotations

import json
from contextlib import suppress

Path = tuple[str | int, ...]

_BARE_END = " \t\r\n=.]#,}\"'"


def key_lines(text: str) -> dict[Path, int]:
    """Line (from 1) of every key, table header and array element in `text`, by its path.

    Elements of arrays and of arrays of tables are counted from 0. A table that is only implied by a longer header gets
    the line of the first header or dotted key that implies it.
    """
    reader = _Reader(text)
    with suppress(IndexError):  # broken text: what was found before the break is still right
        reader.read()
    return reader.lines


class _Reader:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
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
                start = self.at
                while self.text[self.at] not in _BARE_END:
                    self.move(1)
                keys.append(self.text[start : self.at])
                if self.at == start:
                    self.move(1)  # never stand still on broken text
            self.skip_spaces()
            if self.text[self.at] != ".":
                return keys
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
            while self.at < len(self.text) and self.text[self.at] not in ",]}#\n":
                self.move(1)

    def elements(self, path: Path, end: str) -> None:
        self.move(1)
        index = 0
        while True:
            self.skip_blank()
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
        self.move(1)

    def string(self) -> str:
        quote = self.text[self.at]
        mark = quote * 3 if self.text.startswith(quote * 3, self.at) else quote
        self.move(len(mark))
        start = self.at
        while not self.text.startswith(mark, self.at):
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
        while self.text[self.at] in " \t":
            self.move(1)

    def skip_blank(self) -> bool:
        while self.at < len(self.text):
            if self.text[self.at] == "#":
                while self.at < len(self.text) and self.text[self.at] != "\n":
                    self.move(1)
            elif self.text[self.at] in " \t\r\n\ufeff":
                self.move(1)
            else:
                return True
        return False

    def move(self, count: int) -> None:
        step = self.text[self.at : self.at + count]
        if len(step) < count:
            raise IndexError
        self.line += step.count("\n")
        self.at += count

    def note(self, path: Path, line: int) -> None:
        self.lines.setdefault(path, line)
