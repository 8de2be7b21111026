"""A scene's text with keys changed by hand on the page: comments, units and order stay where the text allows it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from ...materials.text.toml_lines import key_lines
from ...materials.text.toml_read import TomlFault, toml_tables
from ...materials.text.toml_text import toml_document, toml_text
from ...scenes.changes import NAMED_LISTS, Change, changed, path_of, refuse, written_path
from ...scenes.read import parse
from ...scenes.units import UNITS

PAGE = "page"  # what an error about a change calls its file
_ADDED = {"seat": ("seat",), "light": ("light",), "object": ("room", "object")}  # lists that the page adds to
_SAME_SIZE = ("width", "diagonal")  # a screen has one of them


class Edit(NamedTuple):
    """One change by hand.

    what   "set" a key to a value, "add" an entry to a list, or "take" the entry of a name out of it
    key    dotted key as `path_of` reads it; of a list: seat, light or object
    value  as the file would hold it, lengths in metres; for "take" the name
    """

    what: str
    key: str
    value: Any


def edited(text: str, edits: Sequence[Edit]) -> str:
    """The text with edits made one after the other.

    raises  SceneErrors where the text is no TOML, or an edit leads nowhere
    """
    for edit in edits:
        if edit.what == "set":
            text = _set(text, edit)
        elif edit.what == "add":
            text = _add(text, edit)
        else:
            text = _take(text, edit)
    return text


def _set(text: str, edit: Edit) -> str:
    """One key changed where it stands, in the unit it stands in; a text that cannot be edited so is spelt anew."""
    table = parse(text, PAGE)
    path, value = _in_file_unit(table, path_of(edit.key, PAGE), edit.value)
    wanted = changed(table, [Change(path, value, PAGE)])
    for attempt in (_replaced, _inserted):
        found = attempt(text, table, path, value)
        if found is not None and _tables(found) == wanted:
            return found
    return toml_document(wanted)


def _tables(text: str) -> Mapping[str, Any] | None:
    try:
        return toml_tables(text)
    except TomlFault:
        return None


def _in_file_unit(table: Mapping[str, Any], path: tuple[str, ...], value: Any) -> tuple[tuple[str, ...], Any]:
    """A length in metres under the key and in the unit that the text has for it."""
    here: Any = table
    for part in path[:-1]:
        here = _entry(here, part)
    if not path[-1].endswith("_m") or not isinstance(here, Mapping):
        return path, value
    base = path[-1].removesuffix("_m")
    for unit in UNITS:
        if base + unit.suffix in here:
            return (*path[:-1], base + unit.suffix), _lengths(value, unit.denominator / unit.numerator)
    return path, _lengths(value, 1.0)


def _lengths(value: Any, factor: float) -> Any:
    """Lengths in another unit, rounded to what a tape measure tells: a tenth of a millimetre."""
    if isinstance(value, list | tuple):
        return [_lengths(part, factor) for part in value]
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        return value
    found = round(value * factor, max(0, 4 - round(math.log10(factor))))
    return int(found) if found == int(found) else found


def _entry(table: Any, part: str) -> Any:
    if isinstance(table, list):
        return next((item for item in table if isinstance(item, Mapping) and item.get("name") == part), None)
    return table.get(part) if isinstance(table, Mapping) else None


def _replaced(text: str, table: dict[str, Any], path: tuple[str, ...], value: Any) -> str | None:
    """The line of the key, or of the same length under another key, with the new value; its comment stays."""
    lines, where, last = key_lines(text), written_path(table, path), path[-1]
    rows = text.split("\n")
    for key in dict.fromkeys((last, *_rivals(path))):
        row = lines.get((*where[:-1], key), 0) - 1
        if row < 0:
            continue
        before, equals, rest = rows[row].partition("=")
        if rows[row].lstrip().startswith("[") or not equals or before.strip().strip("\"'") != key:
            return _without_block(rows, row, path, value)
        comment = _comment_of(rest)
        if comment is None:
            return None
        rows[row] = f"{before.replace(key, last)}= {toml_value(value)}{comment}"
        return "\n".join(rows)
    return None


def _rivals(path: tuple[str, ...]) -> list[str]:
    """Keys that cannot stand beside this one: the same length in other units, and of a screen's width and diagonal the other."""
    base = next((path[-1].removesuffix(unit.suffix) for unit in UNITS if path[-1].endswith(unit.suffix)), None)
    if base is None:
        return []
    bases = _SAME_SIZE if path[:-1] == ("screen",) and base in _SAME_SIZE else (base,)
    return [name + unit.suffix for name in bases for unit in UNITS]


def _comment_of(rest: str) -> str | None:
    """What follows a value that ends on its line, from the blanks before its comment on; None where it goes on below."""
    cuts = [i for i, letter in enumerate(rest) if letter == "#"] + [len(rest)]
    for cut in cuts:
        value = rest[:cut]
        if _tables(f"x = {value.strip()}\n") is not None and value.strip():
            return value[len(value.rstrip()) :] + rest[cut:]
    return None


def _without_block(rows: list[str], row: int, path: tuple[str, ...], value: Any) -> str | None:
    """A table under a heading of its own gives way to one value in the table around it."""
    if not rows[row].lstrip().startswith("["):
        return None
    rest = [*rows[:row], *rows[_end_of_block(rows, row) :]]
    return _below_header("\n".join(rest), path, value)


def _end_of_block(rows: Sequence[str], row: int) -> int:
    """The row after a heading's last line; comments right before the next heading are that one's."""
    end = next((k for k in range(row + 1, len(rows)) if rows[k].lstrip().startswith("[")), len(rows))
    while end < len(rows) and end - 1 > row and rows[end - 1].lstrip().startswith("#"):
        end -= 1
    return end


def _inserted(text: str, table: dict[str, Any], path: tuple[str, ...], value: Any) -> str | None:
    return _below_header(text, path, value)


def _below_header(text: str, path: tuple[str, ...], value: Any) -> str | None:
    """A new key as the last line of its table's own, or under a new heading at the end."""
    table = _tables(text)
    if table is None:
        return None
    where = written_path(dict(table), path)
    row = key_lines(text).get(tuple(where[:-1]), 0) - 1
    rows = text.split("\n")
    line = f"{_bare(path[-1])} = {toml_value(value)}"
    if row < 0:
        if len(path) < 2 or any(isinstance(part, int) for part in where[:-1]):
            return None
        return text.rstrip("\n") + f"\n\n[{'.'.join(_bare(part) for part in path[:-1])}]\n{line}\n"
    if not rows[row].lstrip().startswith("["):
        return None
    end = _end_of_block(rows, row)
    while end - 1 > row and not rows[end - 1].strip():
        end -= 1
    return "\n".join([*rows[:end], line, *rows[end:]])


def _add(text: str, edit: Edit) -> str:
    """A new entry at the end of the text. raises SceneErrors for a list that is none"""
    way = _list_way(edit.key)
    if not isinstance(edit.value, Mapping) or not isinstance(edit.value.get("name"), str):
        raise refuse(PAGE, f"a new {edit.key} wants a name")
    parse(text, PAGE)
    lines = [f"{_bare(key)} = {toml_value(value)}" for key, value in edit.value.items()]
    return text.rstrip("\n") + f"\n\n[[{'.'.join(way)}]]\n" + "\n".join(lines) + "\n"


def _take(text: str, edit: Edit) -> str:
    """The text without an entry. raises SceneErrors where no entry has the name"""
    way, table = _list_way(edit.key), parse(text, PAGE)
    holder: Any = table
    for part in way[:-1]:
        holder = holder.get(part, {})
    entries = holder.get(way[-1], [])
    index = next((i for i, item in enumerate(entries) if isinstance(item, Mapping) and item.get("name") == edit.value), -1)
    if index < 0:
        raise refuse(PAGE, f'the scene has no {edit.key} called "{edit.value}"')
    wanted = toml_tables(text)
    holder = wanted
    for part in way[:-1]:
        holder = holder[part]
    del holder[way[-1]][index]
    if not holder[way[-1]]:
        del holder[way[-1]]
    row = key_lines(text).get((*way, index), 0) - 1
    rows = text.split("\n")
    if row >= 0 and rows[row].lstrip().startswith("[["):
        found = "\n".join([*rows[:row], *rows[_end_of_block(rows, row) :]])
        if _tables(found) == wanted:
            return found
    return toml_document(wanted)


def _list_way(key: str) -> tuple[str, ...]:
    if key not in _ADDED or _ADDED[key][-1] not in NAMED_LISTS:
        raise refuse(PAGE, f"{key!r} is no list of a scene", allowed=", ".join(_ADDED))
    return _ADDED[key]


def toml_value(value: Any) -> str:
    """A value as TOML writes it on one line. Source: TOML 1.0.0."""
    return toml_text({"x": value}).strip().removeprefix('"x" = ')


def _bare(key: str) -> str:
    plain = key.isascii() and key.replace("-", "").replace("_", "").isalnum()
    return key if plain else toml_value(key)
