"""What a variant has at a key before a tolerance moves it: a number, three reflectances, or one measure of a place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from ...materials.dataclass import dataclass
from ...materials.fabric import Fabric
from ...materials.finish import Finish
from ...materials.library import Library, UnknownName
from ...scenes.changes import Change, Path
from ...scenes.model import Scene
from ...scenes.units import UNITS, to_metres

NOMINAL = "a key that holds a number, a finish, a place (with axis), or a number of the fabric's sheet"
FABRIC: Path = ("screen", "fabric")


class NoNumber(ValueError):
    """There is no number at a key: str() says why."""


@dataclass(frozen=True)
class Nominal:
    """A value before it is moved.

    parts          the numbers: one, or three for a finish in colour
    whole          a place [right, out, up] of which one part moves, else ()
    before         changes that must be made first: a fabric by name spelt out, so that one of its numbers can differ
    finish         True for reflectances, which stay within 0 and 1
    metres_a_unit  of the key's own unit [m], None where it holds no length
    """

    parts: tuple[float, ...]
    whole: tuple[float, ...] = ()
    before: tuple[Change, ...] = ()
    finish: bool = False
    metres_a_unit: float | None = None


def nominal_of(scene: Scene, library: Library, changes: Sequence[Change], path: Path, axis: int | None) -> Nominal:
    """What stands at a path once `changes` are made to the scene's file.

    library  of the scene, its own files over the built-in ones;  axis  0 right, 1 out, 2 up, for a place
    raises   NoNumber
    """
    table = scene.document.table if scene.document is not None else {}
    unit = metres_a_unit(path)
    if path[-1:] == ("finish",) or path[-1:] == ("border_finish",) or (path[:2] == ("room", "finish") and len(path) == 3):
        return Nominal(_reflectance(scene, library, _value_at(table, changes, path), path), finish=True)
    if path[:2] == FABRIC and len(path) == 3:
        own, before = _sheet(library, _value_at(table, changes, FABRIC))
        return Nominal((_number(own.get(path[2]), path),), before=before, metres_a_unit=unit)
    found = _value_at(table, changes, path)
    if found is None and unit is not None:
        found = _other_unit(table, changes, path, unit)
    if axis is not None:
        if not isinstance(found, list | tuple) or len(found) != 3:
            raise NoNumber("holds no place, but an axis is given")
        place = tuple(_number(part, path) for part in found)
        return Nominal((place[axis],), place, metres_a_unit=unit)
    return Nominal((_number(found, path),), metres_a_unit=unit)


def metres_a_unit(path: Path) -> float | None:
    """Length of one unit of a key [m] by its ending; None where the key holds no length. Source: UNITS."""
    unit = next((each for each in UNITS if path[-1].endswith(each.suffix)), None)
    return None if unit is None else unit.numerator / unit.denominator


def _number(value: Any, path: Path) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e300:
        raise NoNumber("is not stated in the scene" if value is None else "holds no number there")
    return float(value)


def _value_at(table: Mapping[str, Any], changes: Sequence[Change], path: Path) -> Any:
    """What the last change at this path, or in or above it, leaves there; None where nothing stands."""
    found: Any = _inside(table, path)
    for change in changes:
        depth = len(change.path)
        if change.path == path[:depth]:
            found = _inside(change.value, path[depth:])
        elif change.path[: len(path)] == path:
            inner = dict(found) if isinstance(found, Mapping) else {}
            inner[change.path[len(path)]] = change.value
            found = inner
    return found


def _inside(table: Any, path: Path) -> Any:
    for part in path:
        if isinstance(table, Mapping):
            table = table.get(part)
        elif isinstance(table, list | tuple):
            table = next((item for item in table if isinstance(item, Mapping) and item.get("name") == part), None)
        else:
            return None
    return table


def _other_unit(table: Mapping[str, Any], changes: Sequence[Change], path: Path, metres: float) -> Any:
    """The same length where the scene states it in another unit, in this one's."""
    base = next(path[-1].removesuffix(unit.suffix) for unit in UNITS if path[-1].endswith(unit.suffix))
    for unit in UNITS:
        found = _value_at(table, changes, (*path[:-1], base + unit.suffix))
        if found is not None:
            there = to_metres(list(found) if isinstance(found, tuple) else found, unit)
            return [part / metres for part in there] if isinstance(there, list) else there / metres
    return None


def _reflectance(scene: Scene, library: Library, value: Any, path: Path) -> tuple[float, ...]:
    """Three reflectances, or one where they are alike."""
    if value is None and path == ("screen", "border_finish"):
        value = scene.screen.border_finish
    if isinstance(value, str):
        try:
            value = library.find_finish(value)
        except UnknownName:
            raise NoNumber(f'names a finish that no library holds, "{value}"') from None
    if isinstance(value, Finish):
        value = value.reflectance
    if isinstance(value, Mapping):
        value = value.get("reflectance")
    parts = tuple(float(part) for part in value) if isinstance(value, list | tuple) else (_number(value, path),)
    return parts[:1] if len(set(parts)) == 1 else parts


def _sheet(library: Library, value: Any) -> tuple[Mapping[str, Any], tuple[Change, ...]]:
    """The keys of a fabric's sheet, and what spells them out where the scene names it."""
    if isinstance(value, str):
        try:
            value = library.find_fabric(value)
        except UnknownName:
            raise NoNumber(f'names a fabric that no library holds, "{value}"') from None
    if isinstance(value, Fabric):
        if value.stated is None:
            raise NoNumber("is of a fabric whose numbers stand in no table")
        own = {key: item for key, item in value.stated.items() if key not in ("name", "source")}
        return own, (Change(FABRIC, own, ""),)
    return (value if isinstance(value, Mapping) else {}), ()
