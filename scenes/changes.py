"""One change of a scene file: which key, by its dotted path, gets which value."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from ..materials.dataclass import dataclass
from ..materials.text.nearest import nearest
from ..materials.text.toml_read import TomlFault, toml_tables
from .errors import NOTHING, SceneError, SceneErrors, show
from .units import UNITS

Path = tuple[str, ...]
NAMED_LISTS = ("seat", "light", "object", "part", "lamp", "window")  # tables in lists that a path finds by their name
_WHOLE_LIGHT = ((), ("screen_lx",), ("lamps",), ("windows",))  # what of a light state, beyond its name, makes one
_EITHER = ("width", "diagonal")  # a screen has one of them


@dataclass(frozen=True)
class Change:
    """`value` at `path` of a scene file; entries of [[seat]], [[light]], [[lamp]], [[window]], [[room.object]], [[room.part]] are named.

    option  what the user typed, for messages
    """

    path: Path
    value: Any
    option: str


def refuse(option: str, message: str, value: Any = NOTHING, allowed: str = "") -> SceneErrors:
    """An error about something the user typed: made here, raised by the caller."""
    return SceneErrors([SceneError(option, 0, "", value, message, allowed)])


def path_of(key: str, option: str) -> Path:
    """The path of a dotted key such as `screen.fabric` or `seat."front left".eye_m`.

    raises SceneErrors where it is no key. Source: dotted keys of TOML 1.0.0.
    """
    try:
        table: Any = toml_tables(f"{key.strip()} = 0")
    except TomlFault:
        message = f"{show(key)} is no key of a scene"
        raise refuse(option, message, allowed='a path such as screen.fabric or seat."front left".eye_m') from None
    path: list[str] = []
    while isinstance(table, dict) and table:
        if len(table) > 1:
            raise refuse(option, f"{show(key)} is more than one key")
        name, table = next(iter(table.items()))
        path.append(name)
    return tuple(path)


def value_of(text: str) -> Any:
    """A typed value as TOML has it; what is no TOML is a text: 2000, 0.5, [0, 3, 1.1], { gain = 1 }, silver."""
    try:
        document = toml_tables(f"value = {text.strip()}")
    except TomlFault:
        return text.strip()
    return document["value"] if len(document) == 1 else text.strip()


def changed(document: Mapping[str, Any], changes: Iterable[Change]) -> dict[str, Any]:
    """A copy of a parsed scene file with the changes made.

    A length takes the place of the same length in another unit, a screen's diagonal that of its width.
    raises SceneErrors where a path leads nowhere
    """
    new, changes = _copied(document), tuple(changes)
    whole = {change.path[1] for change in changes if change.path[:1] == ("light",) and change.path[2:] in _WHOLE_LIGHT}
    for change in changes:
        *way, last = change.path
        table: Any = new
        for depth, part in enumerate(way):
            table = _step(table, part, way[:depth], change, whole)
        if way == ["light"] and isinstance(table, list) and isinstance(change.value, Mapping):
            _state(table, last, change.value)
            continue
        if not isinstance(table, dict) or (isinstance(table.get(last), list) and last in NAMED_LISTS):
            raise refuse(change.option, f"{'.'.join(change.path)} is no key that takes one value")
        _clear_same_length(table, last, way)
        table[last] = change.value
    return new


def _copied(value: Any) -> Any:
    """A copy of nested tables and lists; what stands in them, materials made in code too, is the same."""
    if isinstance(value, Mapping):
        return {key: _copied(item) for key, item in value.items()}
    return [_copied(item) for item in value] if isinstance(value, list | tuple) else value


def written_path(document: dict[str, Any], path: Path) -> tuple[str | int, ...]:
    """A path with places in lists, from 0, in place of names, as the loader's errors have it; -1 where no entry has that name."""
    found: list[str | int] = []
    table: Any = document
    for part in path:
        if isinstance(table, list):
            index = next((i for i, item in enumerate(table) if isinstance(item, dict) and item.get("name") == part), -1)
            found.append(index)
            table = table[index] if index >= 0 else None
        else:
            found.append(part)
            table = table.get(part) if isinstance(table, dict) else None
    return tuple(found)


def _state(table: list[Any], name: str, value: Mapping[str, Any]) -> None:
    """A light state given as a whole, in place of the one of that name or after the last."""
    at = next((i for i, item in enumerate(table) if isinstance(item, dict) and item.get("name") == name), len(table))
    table[at : at + 1] = [{"name": name, **_copied(value)}]


def _step(table: Any, part: str, way: list[str], change: Change, whole: set[str]) -> Any:
    """One step down the path: into a table, which is made where it is missing, or to the entry of that name.

    whole  light states of which enough is given to make them
    """
    if isinstance(table, list):
        entries = [item for item in table if isinstance(item, dict)]
        for item in entries:
            if item.get("name") == part:
                return item
        names = [str(item.get("name")) for item in entries]
        if way == ["light"] and part in whole:
            table.append({"name": part})
            return table[-1]
        near = nearest(part, names)
        hint = f", did you mean {' or '.join(near[:2])}?" if near else ""
        what = "light state" if way[-1] == "light" else way[-1]
        more = ["a new one by screen_lx, lamps or windows"] if way[-1] == "light" else []
        raise refuse(change.option, f'the scene has no {what} called "{part}"{hint}', allowed=", ".join(names + more))
    if not isinstance(table, dict):
        raise refuse(change.option, f"{'.'.join(change.path)} leads nowhere: {'.'.join(way)} is no table")
    inner = table.get(part)
    if not isinstance(inner, dict | list):  # a material by name, or made in code, gives way to a table of its own
        inner = table[part] = [] if part == "light" and not way else {}
    return inner


def _clear_same_length(table: dict[str, Any], key: str, way: list[str]) -> None:
    """Remove what states the same length in another unit, and of width and diagonal the other."""
    base = next((key.removesuffix(unit.suffix) for unit in UNITS if key.endswith(unit.suffix)), None)
    if base is None:
        return
    bases = _EITHER if way == ["screen"] and base in _EITHER else (base,)
    for name in bases:
        for unit in UNITS:
            table.pop(name + unit.suffix, None)
