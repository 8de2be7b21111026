"""What pydantic finds wrong, in the user's words: message and what is allowed, in the unit the user wrote."""

from __future__ import annotations

import types
import typing
from typing import Annotated, Any, Literal, NamedTuple, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt
from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from ..materials.text.nearest import nearest
from .errors import key_text
from .normalise import Normalised, Path, RawProblem, table_in
from .tables import TAGS
from .units import Unit, from_metres, is_length, variants

_NOT_A = {
    "string_type": "should be text",
    "bool_type": "should be true or false",
    "dict_type": "should be a table",
    "model_type": "should be a table",
    "model_attributes_type": "should be a table",
    "list_type": "should be a list",
    "tuple_type": "should be a list",
    "float_type": "should be a number",
    "int_type": "should be a whole number",
    "int_from_float": "should be a whole number",
    "string_unicode": "should be text",
    "finite_number": "should be a finite number",
}
_RANGE = ("greater_than", "greater_than_equal", "less_than", "less_than_equal")
_UNIT_WORDS = {"_lm": "lm", "_lx": "lx", "_deg": "degrees", "_cd_m2": "cd/m2", "_temperature_k": "K"}
_MEANT = {  # keys that a designer may look for, without their unit, and what to write in their place
    "cabinet_to_wall": "give it as wall_m in [projector.casing], with size_m and lens_m of the casing from the data sheet, and lens_m as [right, up]"
}


class _Spot(NamedTuple):
    """Where an error is: the innermost table model, how much of the path reaches its field, the type found there."""

    table: type[BaseModel]
    reach: int
    annotation: Any
    limits: tuple[Any, ...]
    words: str = ""  # what the field itself says it allows


def problem(error: ErrorDetails, model: type[BaseModel], file: Normalised) -> RawProblem:
    """One of pydantic's errors as a RawProblem at the place the user wrote."""
    path = tuple(part for part in error["loc"] if part not in TAGS)
    spot = _spot(model, path)
    written, unit = file.written.get(path[: spot.reach], (path[: spot.reach], None))
    here = (*written, *path[spot.reach :])
    kind = error["type"]
    if kind == "missing" and isinstance(path[-1], str):
        return _missing(path, spot)
    if kind == "extra_forbidden":
        known = known_keys(spot.table)
        near = nearest(str(path[-1]), known)
        hint = f": did you mean {' or '.join(near[:2])}?" if near else ""
        meant = _MEANT.get(str(path[-1]).rpartition("_")[0])
        if meant and not near:
            return RawProblem(here, f"is not a known key: {meant}")
        return RawProblem(here, f"is not a known key{hint}", "" if near else ", ".join(known))
    whole = _bare(_spot(model, path[: spot.reach]).annotation)
    if kind in ("missing", "too_long", "tuple_type") and get_origin(whole) is tuple:
        return RawProblem(here[: len(written)], f"should be a list of {len(get_args(whole))} numbers")
    if kind == "literal_error":
        return _choice(error, spot, here)
    if kind.startswith("union_tag"):
        return RawProblem(here, "should be one of these", spot.words)
    if kind == "list_type" and table_in(spot.annotation):
        return RawProblem(here, f"should be written as [[{key_text(here)}]], once for each", show_value=False)
    limits = range_text(spot.limits, str(here[-1]) if unit is None else unit)
    return RawProblem(here, *_other(error, spot.words or limits))


def misspelt(error: ErrorDetails, model: type[BaseModel]) -> list[Path]:
    """Places of the fields that an unknown key probably means: one line about the spelling is enough for both."""
    if error["type"] != "extra_forbidden":
        return []
    table = _spot(model, tuple(part for part in error["loc"] if part not in TAGS)).table
    near = nearest(str(error["loc"][-1]), known_keys(table))[:1]
    fields = [
        name for name in table.model_fields if near and (name == near[0] or (is_length(name) and near[0] in variants(name)))
    ]
    return [(*error["loc"][:-1], name) for name in fields]


def _missing(path: Path, spot: _Spot) -> RawProblem:
    name = str(path[-1])
    allowed = spot.words or range_text(spot.limits, name) or ", ".join(map(_quoted, _choices(spot)))
    if is_length(name):
        allowed = f"one of {', '.join(variants(name))}"
    elif table_in(spot.annotation) and not spot.words:
        many = get_origin(_bare(spot.annotation)) is list
        allowed = f"[[{key_text(path)}]], at least one" if many else f"[{key_text(path)}]"
    return RawProblem(path, "is missing", allowed, False)


def _choice(error: ErrorDetails, spot: _Spot, here: Path) -> RawProblem:
    choices = _choices(spot)
    near = nearest(error["input"], choices) if isinstance(error["input"], str) and isinstance(choices[0], str) else []
    hint = f': did you mean "{near[0]}"?' if near else ""
    return RawProblem(here, f"is not one of the choices{hint}", ", ".join(map(_quoted, choices)))


def _other(error: ErrorDetails, limits: str) -> tuple[str, str]:
    kind, context = error["type"], error.get("ctx", {})
    if kind in _RANGE or kind == "int_parsing_size":
        return "is out of range", limits
    if kind in _NOT_A:
        return _NOT_A[kind], limits
    if kind in ("too_short", "too_long"):
        least, most = context.get("min_length"), context.get("max_length")
        return "has the wrong number of entries", f"at least {least}" if kind == "too_short" else f"at most {most}"
    if kind == "string_pattern_mismatch":
        return ("cannot serve as a name", 'up to 60 characters without / \\ : * ? " < > |, no blank or full stop at either end')
    if kind == "string_too_long":
        return "is too long", f"at most {context['max_length']} characters"
    if kind == "value_error":
        return str(context.get("error", error["msg"])), limits
    return "cannot be used here", limits


def known_keys(table: type[BaseModel]) -> list[str]:
    """Every key a table takes, lengths in each unit."""
    return [key for name in table.model_fields for key in (variants(name) if is_length(name) else (name,))]


def range_text(limits: tuple[Any, ...], unit: Unit | str) -> str:
    """`0.5 to 100 m`, from a field's limits; `unit` is the length's, or the key, whose ending names the unit."""
    factor = 1.0 if isinstance(unit, str) else from_metres(1.0, unit)
    low = next((limit for limit in limits if isinstance(limit, Ge | Gt)), None)
    high = next((limit for limit in limits if not isinstance(limit, Ge | Gt)), None)
    least = "" if low is None else f"{_bound(low) * factor:.6g}"
    most = "" if high is None else f"{_bound(high) * factor:.6g}"
    above, below = ("above " if isinstance(low, Gt) else ""), ("below " if isinstance(high, Lt) else "")
    if least and most:
        text = f"{above}{least} to {below}{most}"
    elif least:
        text = f"{above or 'at least '}{least}"
    else:
        text = f"{below or 'at most '}{most}" if most else ""
    if isinstance(unit, Unit):
        word = unit.suffix[1:]
    else:
        word = next((word for suffix, word in _UNIT_WORDS.items() if unit.endswith(suffix)), "")
    return f"{text} {word}".strip() if text else ""


def _bound(limit: Any) -> float:
    return float(getattr(limit, type(limit).__name__.lower()))


def _spot(model: type[BaseModel], path: Path) -> _Spot:
    """Walks the models along a place of the file."""
    table, reach, annotation, limits, words = model, 0, typing.cast(Any, model), typing.cast(tuple[Any, ...], ()), ""
    for i, part in enumerate(path):
        if isinstance(part, str) and get_origin(_bare(annotation)) is dict:  # any name: the same kind of value under each
            annotation, reach = get_args(_bare(annotation))[1], i + 1
            limits = tuple(_limits_of(annotation))
            continue
        inner = table_in(annotation)
        if isinstance(part, str):
            bare = _bare(annotation)
            if get_origin(bare) is dict:  # names are the user's own
                annotation, words = get_args(bare)[1], ""
                limits = tuple(_limits_of(annotation))
                continue
            if inner is None or part not in inner.model_fields:
                return _Spot(inner or table, i + 1, None, ())
            info = inner.model_fields[part]
            table, reach, annotation = inner, i + 1, typing.cast(Any, info.annotation)
            limits = tuple(_limits_in(info.metadata) + _limits_of(annotation))
            extra = info.json_schema_extra
            words = str(extra.get("allowed", "")) if isinstance(extra, dict) else ""
        else:
            annotation, limits = _element(annotation, part)
    return _Spot(table, reach, annotation, limits, words)


def _limits_in(metadata: typing.Iterable[Any]) -> list[Any]:
    """The bounds among a field's metadata."""
    found: list[Any] = []
    for item in metadata:
        if isinstance(item, FieldInfo):
            found += _limits_in(item.metadata)
        elif isinstance(item, Ge | Gt | Le | Lt):
            found.append(item)
    return found


def _limits_of(annotation: Any) -> list[Any]:
    """The bounds written into a type: of Annotated, and of a union's members."""
    if get_origin(annotation) is Annotated:
        return _limits_in(get_args(annotation)[1:]) + _limits_of(get_args(annotation)[0])
    if get_origin(annotation) in (typing.Union, types.UnionType):
        return [limit for member in get_args(annotation) for limit in _limits_of(member)]
    return []


def _bare(annotation: Any) -> Any:
    """A type without Annotated and without None."""
    if get_origin(annotation) is Annotated:
        return _bare(get_args(annotation)[0])
    if get_origin(annotation) in (typing.Union, types.UnionType):
        members = [member for member in get_args(annotation) if member is not type(None)]
        if len(members) == 1:
            return _bare(members[0])
    return annotation


def _element(annotation: Any, index: int) -> tuple[Any, tuple[Any, ...]]:
    """Type and limits of an entry of a list or tuple type."""
    bare = _bare(annotation)
    if get_origin(bare) not in (tuple, list):
        return annotation, ()
    arguments = get_args(bare)
    entry = arguments[index] if get_origin(bare) is tuple and index < len(arguments) else arguments[0]
    return entry, tuple(_limits_of(entry))


def _choices(spot: _Spot) -> tuple[Any, ...]:
    bare = _bare(spot.annotation)
    return get_args(bare) if get_origin(bare) is Literal else ()


def _quoted(choice: Any) -> str:
    return f'"{choice}"' if isinstance(choice, str) else str(choice)
