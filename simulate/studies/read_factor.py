"""One [[factor]] table to a Factor; what is wrong in it as problems with their keys."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from pydantic import ValidationError

from ...materials.text.problem import Problem, problems_of
from ...materials.text.toml_lines import Path as Place
from ...scenes.changes import Change, Path, path_of
from ...scenes.errors import SceneErrors, show
from ..choices.axes import Setting
from .amounts import ALLOWED, Amount, amount_of
from .factors import Factor, LevelFactor, Shown, SpreadFactor
from .table import AXES, FactorTable, LevelTable

_TOO_LARGE = 1e300  # whole numbers above do not fit a float
Refuse = Callable[..., None]  # refuse(key, message, value=None, allowed="")
_WAYS = {
    "values": ("values",), "levels": ("level",), "steps": ("first", "last", "steps"), "range": ("low", "high"),
    "tolerance": ("plus_minus", "plus", "minus", "sd"),
}  # fmt: skip
_WAYS_TOLD = "values, [[factor.level]], first/last/steps, low/high, plus_minus, plus/minus, or sd"


def factor_of(given: Any, file: str, lines: Mapping[Place, int], prefix: Place, problems: list[Problem]) -> Factor | None:
    """The factor of a table as parsed; None where it is wrong, with what is wrong added to `problems`.

    lines, prefix  where the table stands in the file
    """
    if not isinstance(given, Mapping):
        problems.append(_problem(file, lines, prefix, "should be a table", given, "[[factor]]"))
        return None
    try:
        table = FactorTable.model_validate(dict(given))
    except ValidationError as fault:
        problems += problems_of(fault, model=FactorTable, file=file, lines=lines, prefix=prefix)
        return None
    before = len(problems)

    def refuse(key: str, message: str, value: Any = None, allowed: str = "") -> None:
        problems.append(_problem(file, lines, (*prefix, key) if key else prefix, message, value, allowed))

    place = _place(file, lines, prefix)
    way = _way(table, refuse)
    paths = _paths(table, place, refuse) if way != "levels" else ()
    found: Factor | None = None
    if way == "levels":
        found = _levels(table, file, lines, prefix, problems)
    elif way in ("values", "steps"):
        found = _listed(table, _values(table, refuse), paths, place, refuse)
    elif way is not None:
        found = _spread(table, way, paths, place, refuse)
    return found if len(problems) == before else None


def _problem(file: str, lines: Mapping[Place, int], path: Place, message: str, value: Any, allowed: str) -> Problem:
    from ...materials.text.problem import dotted
    from ...materials.text.toml_lines import line_of

    return Problem(file, line_of(path, lines), dotted(path), value, message, allowed)


def _place(file: str, lines: Mapping[Place, int], prefix: Place) -> str:
    from ...materials.text.toml_lines import line_of

    line = line_of(prefix, lines)
    return f"{file}:{line}" if line else f"{file}, factor[{int(prefix[1]) + 1}]"


def _given(table: FactorTable) -> set[str]:
    return {key for key in table.model_fields_set if getattr(table, key) is not None}


def _way(table: FactorTable, refuse: Refuse) -> str | None:
    given = _given(table)
    ways = [way for way, keys in _WAYS.items() if given & set(keys)]
    if len(ways) != 1:
        named = [key for keys in _WAYS.values() for key in keys if key in given]
        message = f"{' and '.join(named)} stand beside each other" if ways else "says neither values nor a spread"
        refuse(named[-1] if named else "", message, None, f"one of: {_WAYS_TOLD}")
        return None
    return ways[0]


def _paths(table: FactorTable, place: str, refuse: Refuse) -> tuple[Path, ...]:
    if (table.key is None) == (table.keys is None):
        refuse(
            "keys" if table.key else "",
            "key and keys stand beside each other" if table.key else "names no key",
            None,
            "key, or keys",
        )
        return ()
    found = []
    for each in [table.key] if table.key is not None else table.keys or []:
        try:
            found.append(path_of(str(each), place))
        except SceneErrors as fault:
            refuse("key" if table.key is not None else "keys", fault.errors[0].message, None, fault.errors[0].allowed)
    return tuple(found)


def _values(table: FactorTable, refuse: Refuse) -> list[Any]:
    if table.values is not None:
        return table.values
    if table.first is None or table.last is None or table.steps is None:
        refuse("", "lacks one of first, last, steps", None, "all three")
        return []
    if table.spacing == "ratio":
        if not (table.first > 0.0 and table.last > 0.0):
            refuse("spacing", "goes by ratio from or to nought", "ratio", "first and last above 0")
            return []
        return [float(f"{x:.12g}") for x in np.geomspace(table.first, table.last, table.steps)]
    return [float(f"{x:.12g}") for x in np.linspace(table.first, table.last, table.steps)]  # 0.3, not 0.30000000000000004


def _name(table: FactorTable, paths: tuple[Path, ...]) -> str:
    if table.name is not None:
        return table.name
    last = paths[0][-1] if paths else "factor"
    where = f"{paths[0][-2]} " if last in ("eye_m", "finish", "screen_lx", "reflectance") and len(paths[0]) > 1 else ""
    return f"{where}{last}" + (f" {table.axis}" if table.axis else "")


def _listed(table: FactorTable, values: list[Any], paths: tuple[Path, ...], place: str, refuse: Refuse) -> Factor | None:
    if table.axis is not None or table.distribution is not None or table.value is not None:
        refuse("values" if table.values else "first", "stands beside axis, distribution or value, which are for spreads")
        return None
    if not values or not paths:
        return None
    shown: list[Shown] = []
    for value in values:
        number = isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < _TOO_LARGE
        shown.append(float(value) if number else str(getattr(value, "name", None) or _told(value)))
    twice = next((each for i, each in enumerate(shown) if each in shown[:i]), None)
    if twice is not None:
        refuse("values", "holds a value twice", twice, "each value once")
        return None
    choices = tuple(
        Setting(f"{label:g}" if isinstance(label, float) else label, tuple(Change(path, value, place) for path in paths))
        for label, value in zip(shown, values, strict=True)
    )
    return LevelFactor(_name(table, paths), place, choices, tuple(shown))


def _told(value: Any) -> str:
    if isinstance(value, str):
        return value
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {_told(item)}" for key, item in value.items())
    return show(value)


def _levels(table: FactorTable, file: str, lines: Mapping[Place, int], prefix: Place, problems: list[Problem]) -> Factor | None:
    choices: list[Setting] = []
    if table.name is None:
        problems.append(_problem(file, lines, prefix, "has levels and no name", None, "name"))
        return None
    for i, given in enumerate(table.level or []):
        at = (*prefix, "level", i)
        if not isinstance(given, Mapping):
            problems.append(_problem(file, lines, at, "should be a table", given, "name and set"))
            continue
        try:
            level = LevelTable.model_validate(dict(given))
        except ValidationError as fault:
            problems += problems_of(fault, model=LevelTable, file=file, lines=lines, prefix=at)
            continue
        place = _place(file, lines, at)
        try:
            changes = tuple(Change(path_of(key, place), value, place) for key, value in level.set.items())
        except SceneErrors as fault:
            problems.append(_problem(file, lines, (*at, "set"), fault.errors[0].message, None, fault.errors[0].allowed))
            continue
        choices.append(Setting(level.name, changes))
    names = [choice.label for choice in choices]
    if len(set(names)) < len(names):
        problems.append(_problem(file, lines, (*prefix, "level"), "has two levels of one name", None, "each name once"))
    return LevelFactor(table.name, _place(file, lines, prefix), tuple(choices), tuple(names)) if choices else None


def _spread(table: FactorTable, way: str, paths: tuple[Path, ...], place: str, refuse: Refuse) -> Factor | None:
    axis = None if table.axis is None else AXES.index(table.axis)
    kind = table.distribution or ("normal" if table.sd is not None else "uniform")
    name = _name(table, paths)
    if way == "range":
        if table.low is None or table.high is None or not table.low < table.high:
            refuse("low" if table.low is not None else "high", "low and high are not a range", table.low, "low below high")
        elif kind == "normal":
            refuse("distribution", "has no ends", kind, "sd in place of low and high; or uniform, triangular")
        elif table.value is not None:
            refuse("value", "stands beside low and high", table.value, "one of the two")
        else:
            return SpreadFactor(name, place, paths, axis, kind, Amount(0.0), Amount(0.0), range=(table.low, table.high))
        return None
    ends = _ends(table, kind, refuse)
    return None if ends is None else SpreadFactor(name, place, paths, axis, kind, *ends, value=table.value)


def _ends(table: FactorTable, kind: str, refuse: Refuse) -> tuple[Amount, Amount] | None:
    """Amounts from the value to the ends of a tolerance; of a normal one nought and the standard deviation."""
    amounts: dict[str, Amount] = {}
    for key in ("plus_minus", "plus", "minus", "sd"):
        given = getattr(table, key)
        if given is None:
            continue
        try:
            amounts[key] = amount_of(given)
        except ValueError as fault:
            refuse(key, str(fault), given, ALLOWED)
            return None
        if amounts[key].value < 0.0:
            refuse(key, "is negative", given, "an amount from 0")
            return None
    if kind == "normal":
        if set(amounts) != {"sd"} or amounts["sd"].value == 0.0:
            refuse(next(iter(amounts)), "a normal spread has one standard deviation", None, "sd alone, above 0")
            return None
        return Amount(0.0), amounts["sd"]
    if "sd" in amounts:
        refuse("sd", f"is for a normal spread, not a {kind} one", table.sd, "plus_minus, or plus and minus")
        return None
    if "plus_minus" in amounts and len(amounts) > 1:
        refuse("plus_minus", "stands beside plus or minus", table.plus_minus, "plus_minus, or plus and minus")
        return None
    low = amounts.get("plus_minus", amounts.get("minus", Amount(0.0)))
    high = amounts.get("plus_minus", amounts.get("plus", Amount(0.0)))
    if low.value == 0.0 and high.value == 0.0:
        refuse(next(iter(amounts)), "leaves no spread", 0, "an amount above 0")
        return None
    return Amount(-low.value, low.unit), high
