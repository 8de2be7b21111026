"""Lengths of a parsed file to metres, by the tables' field names; remembers which key the user wrote."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import Any, get_args

from pydantic import BaseModel

from .tables import EXACTLY_ONE
from .units import Unit, is_length, to_metres, unit_of, variants

Path = tuple[str | int, ...]


@dataclass(frozen=True)
class RawProblem:
    """Something wrong at a place of the file; load.py adds the line and the value."""

    path: Path
    message: str
    allowed: str = ""
    show_value: bool = True


@dataclass
class Normalised:
    """`table` with lengths in metres; `written`: place by field name -> (place as the user wrote it, its unit)."""

    table: dict[str, Any]
    written: dict[Path, tuple[Path, Unit]] = field(default_factory=dict)
    problems: list[RawProblem] = field(default_factory=list)


def table_in(annotation: Any) -> type[BaseModel] | None:
    """The table model inside a field's type: itself, `X | None`, a list of X, or the one table of a union."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    found = [model for model in map(table_in, get_args(annotation)) if model]
    return found[0] if len(found) == 1 else None


def normalise(raw: dict[str, Any], model: type[BaseModel]) -> Normalised:
    """`raw` (a parsed file) with every length of `model` under its `_m` key, in metres.

    Unknown keys stay, for the model to refuse.
    """
    result = Normalised({})
    result.table = _walk(raw, model, (), result)
    return result


def _walk(raw: dict[str, Any], model: type[BaseModel], path: Path, result: Normalised) -> dict[str, Any]:
    table = dict(raw)
    for name, inner in _lengths_and_tables(model):
        value = table.get(name)
        if inner is None:
            _length(table, name, path, result)
        elif isinstance(value, dict):
            table[name] = _walk(value, inner, (*path, name), result)
        elif isinstance(value, list):
            table[name] = [
                _walk(item, inner, (*path, name, i), result) if isinstance(item, dict) else item for i, item in enumerate(value)
            ]
    _one_of(table, model, path, result)
    return table


@cache
def _lengths_and_tables(model: type[BaseModel]) -> list[tuple[str, type[BaseModel] | None]]:
    """Fields that are lengths, with None, and fields that hold tables, with their model."""
    found = [(name, None if is_length(name) else table_in(info.annotation)) for name, info in model.model_fields.items()]
    return [(name, inner) for name, inner in found if inner is not None or is_length(name)]


def _length(table: dict[str, Any], name: str, path: Path, result: Normalised) -> None:
    """Replaces whichever unit's key the table holds by the one in metres."""
    given = [key for key in variants(name) if key in table]
    for key in given[1:]:
        result.problems.append(
            RawProblem((*path, key), f"stands beside {given[0]}: give one of them", f"exactly one of {', '.join(variants(name))}")
        )
    if given:
        values = [table.pop(key) for key in given]
        table[name] = to_metres(values[0], unit_of(given[0]))
        result.written[(*path, name)] = ((*path, given[0]), unit_of(given[0]))


def _one_of(table: dict[str, Any], model: type[BaseModel], path: Path, result: Normalised) -> None:
    """Of some lengths (a screen's width or diagonal) a table takes exactly one."""
    names = EXACTLY_ONE.get(model.__name__)
    if names is None:
        return
    given = [name for name in names if name in table]
    if not given:
        result.problems.append(
            RawProblem(
                (*path, names[0]),
                f"is missing: give {' or '.join(names)}",
                f"one of {', '.join(key for name in names for key in variants(name))}",
                False,
            )
        )
    for name in given[1:]:
        first = result.written[(*path, given[0])][0][-1]
        result.problems.append(RawProblem(result.written[(*path, name)][0], f"stands beside {first}: give one of them"))
        del table[name]
