"""Scenes put together in code, checked at the door of the simulation as the loader checks a file."""

from __future__ import annotations

import math
from dataclasses import is_dataclass
from typing import Any

from pydantic import ValidationError

from .checks import impossible
from .errors import NOTHING, SceneError, SceneErrors, key_text
from .lamps.recheck import lighting_table
from .model import SURFACES, Box, Scene, Thing
from .normalise import Normalised, Path, RawProblem, normalise
from .parts import Parts
from .tables import SceneTable
from .words import problem

_NO_KEYS = ("by_wall",)  # how a place was given: no key of its own
_SAME_M = 1e-6  # rounding between a screen's size and its sheet's


def check_scene(scene: Scene) -> None:
    """Refuse a scene that no file could have made: values out of range, an eye outside the room, cloth of another screen.

    A loaded scene was checked, and what passes here is not looked at again.
    raises  SceneErrors with all that is wrong, keys as a file would have them, no lines
    """
    if scene.checked:
        return
    file = normalise(_table(scene), SceneTable)
    parts = Parts(
        room=scene.room,
        projector=scene.projector,
        screen=scene.screen,
        objects=dict(enumerate(scene.room.objects)),
        parts=dict(enumerate(scene.room.parts)),
        lights=dict(enumerate(scene.lights)),
        lamps=dict(enumerate(scene.lamps)),
        windows=dict(enumerate(scene.windows)),
        light_names={"lamp": [lamp.name for lamp in scene.lamps], "window": [window.name for window in scene.windows]},
        seats=dict(enumerate(scene.seats)),
    )
    wrong = _ranges(file)
    problems = [*wrong, *([] if wrong else impossible(parts)), *_cloth(scene)]  # NaN would pass a comparison
    if problems:
        raise SceneErrors([_located(scene, file, each) for each in problems])
    object.__setattr__(scene, "checked", True)


def _table(scene: Scene) -> dict[str, Any]:
    """The scene as a parsed file would have it; materials are there for their numbers alone."""
    room, projector, screen = scene.room, scene.projector, scene.screen
    return {
        "format": 1,
        "title": scene.title,
        "room": {
            "width_m": room.width_m,
            "depth_m": room.depth_m,
            "height_m": room.height_m,
            "finish": {name: {"reflectance": list(finish.reflectance)} for name, finish in room.finish.items()}
            if room.shell is None
            else dict.fromkeys(SURFACES, 0.0),
            "object": [
                {"name": thing.name, "finish": {"reflectance": list(thing.finish.reflectance)}, **_shape(thing)}
                for thing in room.objects
            ],
            "part": [
                {"name": part.name, "on": part.on, "finish": {"reflectance": list(part.finish.reflectance)}}
                for part in room.parts
            ],
        },
        "projector": {key: _plain(value) for key, value in vars(projector).items() if value is not None},
        "screen": {
            "width_m": screen.width_m,
            "aspect": screen.aspect,
            "bottom_m": screen.bottom_m,
            "right_m": screen.right_m,
            "gap_to_wall_m": screen.gap_to_wall_m,
            "border_m": screen.border_m,
            "hang": str(screen.hang),
            "fabric": screen.fabric.name,
            "border_finish": {"reflectance": list(screen.border_finish.reflectance)},
            **({} if screen.backed is None else {"backed": screen.backed}),
            **({} if screen.mount is None else {"mount": _plain(screen.mount)}),
        },
        **lighting_table(scene.lights, scene.lamps, scene.windows),
        "seat": [
            {"name": seat.name, "eye_m": list(seat.eye_m), **({} if seat.body is None else {"body": seat.body})}
            for seat in scene.seats
        ],
    }


def _plain(value: Any) -> Any:
    """A part of the scene that is a table in a file, as one; anything else as it is."""
    if not is_dataclass(value):
        return value
    return {key: each for key, each in vars(value).items() if each is not None and key not in _NO_KEYS}


def _shape(thing: Thing) -> dict[str, Any]:
    return {"box": {"min_m": list(thing.min_m), "max_m": list(thing.max_m)}} if isinstance(thing, Box) else {"mesh": thing.name}


def _ranges(file: Normalised) -> list[RawProblem]:
    try:
        SceneTable.model_validate(file.table)
    except ValidationError as fault:
        return [problem(error, SceneTable, file) for error in fault.errors(include_url=False)]
    return []


def _cloth(scene: Scene) -> list[RawProblem]:
    """The cloth was made for a hang and a size: a screen changed beside it would hang by one and lie by the other."""
    screen, hanging = scene.screen, scene.screen.drape.hanging
    found = []
    if not math.isclose(screen.width_m, screen.height_m * screen.aspect, rel_tol=1e-9):
        found.append(
            RawProblem(("screen", "aspect"), "does not agree with width and height", f"{screen.width_m / screen.height_m:g}")
        )
    if missing := [name for name in scene.room.surfaces if name not in scene.room.finish]:
        found.append(RawProblem(("room", "finish", missing[0]), "is missing", show_value=False))
    if hanging is not None:
        other = hanging.hang != screen.hang, abs(hanging.width_m - screen.width_m - 2 * screen.border_m) > _SAME_M
        for wrong, key in zip(other, ("hang", "width_m"), strict=True):
            if wrong:
                found.append(
                    RawProblem(("screen", key), "was changed beside its cloth", "scene.change, which makes the cloth anew")
                )
    return found


def _located(scene: Scene, file: Normalised, each: RawProblem) -> SceneError:
    return SceneError(
        scene.path, 0, key_text(each.path), _value(file.table, each) if each.show_value else NOTHING, each.message, each.allowed
    )


def _value(table: Any, each: RawProblem) -> Any:
    path: Path = each.path
    for part in path:
        try:
            table = table[part]
        except (KeyError, IndexError, TypeError):
            return NOTHING
    return table
