"""What is varied: axes, each with the choices that the user gave by plain options or by --vary."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ...materials.dataclass import dataclass
from ...scenes.changes import Change, Path, path_of, refuse, value_of
from ...scenes.errors import show
from ...scenes.model import SURFACES

AS_IS = "as it stands"
_UNITS = ("m", "cm", "mm", "in", "ft")
_SIZE = re.compile(r"^\s*(width|diagonal)\s*[= ]\s*([0-9.]+(?:[eE][-+]?\d+)?)\s*(m|cm|mm|in|ft)\s*$")


@dataclass(frozen=True)
class Setting:
    """One value of an axis: its name in tables and pictures, and what it changes in the scene file."""

    label: str
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True)
class Axis:
    """One thing that is varied; the first choice is the reference.

    name  what the user varies: "fabric", "ceiling", "projector.light_output_lm"
    """

    name: str
    choices: tuple[Setting, ...]


def split_values(text: str) -> list[str]:
    """Values between commas; commas inside brackets, braces and quotes do not part. Source: made here."""
    parts, depth, quote = [""], 0, ""
    for letter in text:
        if quote:
            quote = "" if letter == quote else quote
        elif letter in "\"'":
            quote = letter
        elif letter in "[{":
            depth += 1
        elif letter in "]}":
            depth -= 1
        elif letter == "," and depth == 0:
            parts.append("")
            continue
        parts[-1] += letter
    return [part.strip() for part in parts]


def axes_of(
    *,
    vary: Sequence[str] = (),
    fabric: Sequence[str] = (),
    hang: Sequence[str] = (),
    finish: Sequence[str] = (),
    light_output: Sequence[float] = (),
    size: Sequence[str] = (),
    seat_position: Sequence[str] = (),
    light: Sequence[str] = (),
    vary_option: str = "--vary",
    document: Mapping[str, Any] | None = None,
) -> list[Axis]:
    """Axes from the options of `compare`; the same key given again adds a choice to its axis.

    light_output  [lm]; all other options are texts as the user typed them
    vary_option   how the command calls `vary`, for messages
    document      the parsed scene file, whose room may have surfaces and parts of its own names
    raises SceneErrors, one error for each option that cannot be read. Values are judged by the scene's loader later.
    """
    found: dict[Path, Axis] = {}
    room = (document or {}).get("room", {})
    for each in fabric:
        _add(found, "fabric", ("screen", "fabric"), each, f"--fabric {show(each)}")
    for each in hang:
        _add(found, "hang", ("screen", "hang"), each, f"--hang {show(each)}")
    for each in finish:
        surface, value = _pair(each, "--finish", 'ceiling="charcoal matt paint"')
        _add(found, surface, _finish_path(surface, room), value_of(value), f"--finish {each}")
    for lumens in light_output:
        _add(found, "light output lm", ("projector", "light_output_lm"), float(lumens), f"--light-output {lumens:g}")
    for each in size:
        _add_size(found, each)
    for each in seat_position:
        seat, place = _pair(each, "--seat-position", '"front left=[-0.6, 3.3, 1.1]"')
        value = value_of(place if place.lstrip().startswith("[") else f"[{place}]")
        _add(found, f"{seat}, eye [m]", ("seat", seat, "eye_m"), value, f"--seat-position {each}")
    for each in light:
        state, lux = _pair(each, "--light", '"lamps on=20"')
        _add(found, f"{state} lx", ("light", state, "screen_lx"), value_of(lux), f"--light {each}")
    for each in vary:
        key, values = _pair(each, vary_option, 'screen.fabric="matt white",silver')
        path = path_of(key, f"{vary_option} {each}")
        for value in split_values(values):
            _add(found, ".".join(path), path, value_of(value), f"{vary_option} {key}={value}")
    return [_with_reference(axis) for axis in found.values()]


def axes_of_values(keys: Mapping[str, tuple[str, Sequence[Any]]]) -> list[Axis]:
    """Axes from code: by dotted key of the scene file the axis's name and its values, a Fabric or a Finish among them.

    raises SceneErrors for a key that is none, no value, or one given twice
    """
    found: dict[Path, Axis] = {}
    for key, (name, values) in keys.items():
        path = path_of(key, name)
        several = list(values) if isinstance(values, Iterable) and not isinstance(values, str) else [values]
        if not several:
            raise refuse(name, "no value is given", allowed="at least one")
        for value in several:
            own = getattr(value, "name", None)  # a material made in code
            if own is None or value == AS_IS:
                _add(found, name, path, value, f"{name}={_short(value)}")
            else:
                _append(found, path, name, Setting(str(own), (Change(path, value, f"{name}={own}"),)))
    return [_with_reference(axis) for axis in found.values()]


def _pair(text: str, option: str, example: str) -> tuple[str, str]:
    """The two sides of NAME=VALUE, the name's own quotes and equal signs in quotes left whole."""
    quote = ""
    for i, letter in enumerate(text):
        if quote:
            quote = "" if letter == quote else quote
        elif letter in "\"'":
            quote = letter
        elif letter == "=" and text[:i].strip() and text[i + 1 :].strip():
            return text[:i].strip(), text[i + 1 :].strip()
    raise refuse(option, f"{show(text)} is not NAME=VALUE", allowed=f"such as {option} {example}")


def _finish_path(surface: str, room: Mapping[str, Any]) -> Path:
    if surface in SURFACES or surface in room.get("finish", {}):
        return ("room", "finish", surface)
    if surface == "border":
        return ("screen", "border_finish")
    parts = [part.get("name") for part in room.get("part", [])]
    return ("room", "part" if surface in parts else "object", surface, "finish")


def _add_size(found: dict[Path, Axis], text: str) -> None:
    match = _SIZE.match(text)
    number = float(match[2]) if match and match[2].count(".") < 2 else math.nan
    if match is None or not math.isfinite(number):
        allowed = f'"width 2.4 m" or "diagonal 100 in"; units {", ".join(_UNITS)}'
        raise refuse("--size", f"{show(text)} is no size of a screen", allowed=allowed)
    change = Change(("screen", f"{match[1]}_{match[3]}"), number, f"--size {show(text)}")
    _append(found, ("screen", "size"), "size", Setting(f"{match[1]} {number:g} {match[3]}", (change,)))


def _add(found: dict[Path, Axis], name: str, path: Path, value: object, option: str) -> None:
    if value == AS_IS:
        _append(found, path, name, Setting(AS_IS))
        return
    label = value if isinstance(value, str) else _short(value)
    _append(found, path, name, Setting(label, (Change(path, value, option),)))


def _short(value: object) -> str:
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, dict):
        return ", ".join(f"{key} {_short(item) if not isinstance(item, str) else item}" for key, item in value.items())
    return show(value)


def _append(found: dict[Path, Axis], path: Path, name: str, choice: Setting) -> None:
    axis = found.get(path, Axis(name, ()))
    if any(choice.label == other.label for other in axis.choices):
        option = choice.changes[0].option if choice.changes else f"{name}={AS_IS}"
        raise refuse(option, f"{name}: the value {choice.label} is given twice", allowed="each value once")
    found[path] = Axis(axis.name, (*axis.choices, choice))


def _with_reference(axis: Axis) -> Axis:
    """An axis of one choice is compared with the scene as it stands."""
    return axis if len(axis.choices) > 1 else Axis(axis.name, (Setting(AS_IS), *axis.choices))
