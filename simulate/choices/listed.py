"""A list of variants from a file: CSV with a scene key a column, or TOML with one [[variant]] table each."""

from __future__ import annotations

from pathlib import Path as FilePath
from typing import Any

from ...materials.text.csv_reading import NotCsv, csv_rows
from ...materials.text.plain import plain
from ...materials.text.toml_read import TomlFault, toml_tables
from ...scenes.changes import Change, Path, path_of, refuse, value_of
from ...scenes.errors import NOTHING, SceneError, SceneErrors, key_text
from ...scenes.read import decode, read_bytes
from .axes import Axis, Setting

NAME = "name"
MOST_LISTED = 1000  # more than any comparison takes
_LEAVES = ("fabric", "border_finish")  # tables that stand for one value
FORMS = "a .csv file with a header of scene keys, or a .toml file of [[variant]] tables"


def listed_variants(file: FilePath) -> Axis:
    """The variants of a list as one axis; the first is the reference.

    CSV: an empty cell leaves the scene as it stands; a column `name` names the variants.
    TOML: in each [[variant]] a `name` and scene keys, dotted or as tables.
    raises SceneErrors with file and line of everything that is wrong
    """
    kind = file.suffix.lower()
    if kind not in (".csv", ".toml"):
        raise refuse(f"--variants {file}", "is neither a CSV nor a TOML file", allowed=FORMS)
    text = decode(read_bytes(file, str(file), "a list of variants", FORMS), str(file), FORMS)
    choices = _from_csv(text, str(file)) if kind == ".csv" else _from_toml(text, str(file))
    if len(choices) < 2:
        raise _wrong(file, 0, "lists fewer than two variants", allowed=FORMS)
    names = [choice.label for choice in choices]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise _wrong(file, 0, f'lists two variants called "{twice}"', allowed="each name once")
    return Axis("variant", tuple(choices))


def _wrong(file: object, line: int, message: str, *, key: str = "", value: Any = NOTHING, allowed: str = "") -> SceneErrors:
    return SceneErrors([SceneError(str(file), line, key, value, message, allowed)])


def _from_csv(text: str, file: str) -> list[Setting]:
    """Source: RFC 4180; values are read as in --vary."""
    header: list[str] = []
    paths: list[Path | None] = []
    found = []
    try:
        for line, row in csv_rows(text):
            if not header:
                header = row
                paths = [None if key == NAME else path_of(key, f"{file}:{line}") for key in header]
                continue
            if len(row) != len(header):
                raise _wrong(file, line, f"has {len(row)} cells where the header has {len(header)}")
            found.append(_row(row, header, paths, f"{file}:{line}"))
            if len(found) > MOST_LISTED:
                raise _wrong(file, line, "lists too many variants", allowed=f"at most {MOST_LISTED}")
    except NotCsv as fault:
        raise _wrong(file, fault.line, str(fault), allowed=fault.allowed or FORMS) from None
    return found


def _row(row: list[str], header: list[str], paths: list[Path | None], option: str) -> Setting:
    changes, name = [], ""
    for cell, key, path in zip(row, header, paths, strict=True):
        if path is None:
            name = plain(cell)
        elif cell:
            changes.append(Change(path, value_of(cell), f"{option}, {key}"))
    return Setting(name or _label(changes), tuple(changes))


def _label(changes: list[Change]) -> str:
    return plain(", ".join(f"{change.path[-1]} {change.value}" for change in changes)) or "as it stands"


def _from_toml(text: str, file: str) -> list[Setting]:
    try:
        document = toml_tables(text)
    except TomlFault as fault:
        key = key_text(fault.path)
        raise _wrong(file, fault.line, f"is not TOML: {fault.words}", key=key, allowed=fault.allowed) from None
    entries = document.pop("variant", [])
    if document:
        raise _wrong(file, 0, "unknown key", key=next(iter(document)), allowed="[[variant]] tables")
    if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        raise _wrong(file, 0, "write each variant as a table of its own", key="variant", allowed="[[variant]]")
    found = []
    for i, entry in enumerate(entries):
        option = f"{file}, variant[{i + 1}]"
        name = entry.pop(NAME, "")
        if not isinstance(name, str):
            raise _wrong(file, 0, "should be a text", key=f"variant[{i + 1}].{NAME}", value=name)
        changes = [Change(path, value, f"{option}.{'.'.join(path)}") for path, value in _flat(entry, (), option)]
        found.append(Setting(plain(name) or _label(changes), tuple(changes)))
    return found


def _flat(table: dict[str, Any], way: Path, option: str) -> list[tuple[Path, Any]]:
    """Tables to (path, value); a fabric's or finish's own table is one value."""
    found: list[tuple[Path, Any]] = []
    for key, value in table.items():
        path = (*way, *(path_of(key, option) if not way and ("." in key or '"' in key) else (key,)))
        finish = "finish" in path[-2:] and path != ("room", "finish")
        whole = path[-1] in _LEAVES or finish
        if isinstance(value, dict) and not whole:
            found += _flat(value, path, option)
        else:
            found.append((path, value))
    return found
