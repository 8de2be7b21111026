"""What the page's controls show: a scene as plain numbers in metres, and the libraries to choose from."""

from __future__ import annotations

from typing import Any

from ...materials.finish import Finish
from ...materials.finish_words import kind_of_surface, surfaces_for
from ...materials.hangs import HANGS
from ...materials.library import load_library
from ...materials.text.toml_text import toml_key
from ...scenes.change import surface_key
from ...scenes.cloth.level import LEVELS
from ...scenes.cloth.surface import cloth_of
from ...scenes.errors import SceneError
from ...scenes.geometry import picture, raster
from ...scenes.head import HEAD_RADIUS_M
from ...scenes.library import describe, scene_names
from ...scenes.model import Light, Room, Scene
from ...scenes.rooms.lines import hull, plan_outline
from ...scenes.throw import throw
from ..output.warned import gathered
from ..views.charts import CHARTS

LEVELS_SHOWN = ("2%", "10%", "30%")  # even pictures offered beside the charts


def libraries() -> dict[str, Any]:
    """Names and figures of all that a control offers, the same for every scene."""
    library = load_library()
    return {
        "fabrics": [
            {"name": each.name, "gain": each.gain, "half_gain_deg": each.half_gain_deg, "kind": each.kind}
            for each in sorted(library.fabrics.values(), key=lambda each: each.name)
        ],
        "finishes": [
            {"name": each.name, "reflectance": list(each.reflectance), "for": list(surfaces_for(each.name))}
            for each in sorted(library.finishes.values(), key=lambda each: each.name)
        ],
        "hangs": list(HANGS),
        "levels": list(LEVELS),
        "shows": [*CHARTS, *LEVELS_SHOWN],
        "scenes": [{"name": name, "title": describe(name).title, "line": describe(name).line} for name in scene_names()],
        "head_m": HEAD_RADIUS_M,
    }


def controls(scene: Scene) -> dict[str, Any]:
    """A scene for the controls: lengths in metres, reflectances linear RGB [1], each with the key that changes it."""
    room, screen, projector = scene.room, scene.screen, scene.projector
    return {
        "title": scene.title,
        "room": {
            "width_m": room.width_m, "depth_m": room.depth_m, "height_m": room.height_m, "box": room.shell is None,
            "right_m": list(room.limits[0]), "out_m": list(room.limits[1]), "rings": rings_from_above(room),
        },
        "surfaces": _surfaces(scene),
        "objects": [
            {"name": thing.name, "key": _named("room.object", thing.name), "from_above": hull(thing, (0, 1)).round(4).tolist()}
            for thing in room.objects
        ],
        "screen": {
            "width_m": screen.width_m, "height_m": screen.height_m, "bottom_m": screen.bottom_m, "right_m": screen.right_m,
            "gap_to_wall_m": screen.gap_to_wall_m, "border_m": screen.border_m, "hang": str(screen.hang.value),
            "fold_scale": 1.0 if screen.drape.hanging is None else screen.drape.hanging.amplitude_scale,
            "folds": _folds(scene),
        },
        "fabric": _fabric(scene),
        "projector": {
            "light_output_lm": projector.light_output_lm, "in_use": projector.in_use, "native_contrast": projector.native_contrast,
            "checkerboard_contrast": projector.checkerboard_contrast, "lens_m": projector.lens_m,
        },
        "picture": list(picture(scene)), "raster": list(raster(scene)),
        "seats": [{"name": seat.name, "key": _named("seat", seat.name), "eye_m": seat.eye_m} for seat in scene.seats],
        "lights": [  # even light, which the page itself adds to what it draws
            {"name": light.name, "key": _named("light", light.name), "screen_lx": light.screen_lx}
            for light in scene.lights if not light.traced
        ],
        "dimmed": [_dimmers(light) for light in scene.lights if light.traced],
        **_doubts(scene),
    }  # fmt: skip


def rings_from_above(room: Room) -> list[list[list[float]]]:
    """Walls of a room that is no box as closed lines [right, out] [m]; of a box none. Source: `plan_outline`, end to end."""
    if room.shell is None:
        return []
    segments = plan_outline(room).round(4)
    ends: dict[tuple[float, ...], list[int]] = {}
    for k, segment in enumerate(segments):
        for end in segment:
            ends.setdefault(tuple(end.tolist()), []).append(k)
    left, rings = dict.fromkeys(range(len(segments))), []
    while left:
        k, _ = left.popitem()
        ring = [tuple(end.tolist()) for end in segments[k]]
        while (following := next((i for i in ends[ring[-1]] if i in left), None)) is not None:
            del left[following]
            one, two = (tuple(end.tolist()) for end in segments[following])
            ring.append(two if one == ring[-1] else one)
        rings.append([list(place) for place in ring[:-1]])
    return [ring for ring in rings if len(ring) > 2]


def _dimmers(light: Light) -> dict[str, Any]:
    """A light state of lamps and windows, each with its share of full output [1]."""
    key = _named("light", light.name)
    return {
        "name": light.name,
        "key": key,
        "screen_lx": light.screen_lx,
        "lamps": dict(light.lamps),
        "windows": dict(light.windows),
    }


def _named(way: str, name: str) -> str:
    return f"{way}.{toml_key(name)}"


def _surfaces(scene: Scene) -> list[dict[str, Any]]:
    """Walls, ceiling, floor, objects and border, in the order of the tables' surface numbers."""
    finishes: list[tuple[str, Finish, str]] = []
    room = scene.room
    for name, finish in room.finishes.items():
        kind = kind_of_surface(name) if name in room.surfaces else "object"
        finishes.append((name, finish, kind))
    finishes.append(("border", scene.screen.border_finish, "border"))
    return [
        {
            "name": name,
            "key": surface_key(scene, name),
            "finish": finish.name,
            "reflectance": list(finish.reflectance),
            "kind": kind,
        }
        for name, finish, kind in finishes
    ]


def _fabric(scene: Scene) -> dict[str, Any]:
    fabric = scene.screen.fabric
    return {
        "name": fabric.name, "gain": fabric.gain, "half_gain_deg": fabric.half_gain_deg, "kind": fabric.kind, "albedo": fabric.albedo,
        "tint": list(fabric.tint),
        "in_library": fabric.name in load_library().fabrics,
    }  # fmt: skip


def _folds(scene: Scene) -> str:
    """Whether the cloth has folds, and whose they are: "stated", "estimated" or "flat"."""
    if scene.screen.drape.folds:
        return "stated"
    return "flat" if all(cloth_of(scene.screen, level).flat for level in LEVELS) and _scaled(scene) else "estimated"


def _scaled(scene: Scene) -> bool:
    """False where the folds are only flat because their scale is nought."""
    hanging = scene.screen.drape.hanging
    return hanging is None or hanging.flat or scene.screen.hang.is_frame or hanging.amplitude_scale > 0.0


def _doubts(scene: Scene) -> dict[str, Any]:
    """Feasibility, warnings with what would mend them, notes."""
    found = throw(scene)
    return {
        "throw": {"feasible": found.feasible, "lines": list(found.lines), "distance_m": found.distance_m},
        "warnings": [
            {
                "code": str(each.code.value), "text": each.text,
                "remedies": [{"key": remedy.key, "axis": remedy.axis, "to_m": remedy.to_m} for remedy in each.remedies],
            }
            for each in gathered(scene.warnings, scene.seats)
        ],
        "notes": list(scene.notes),
    }  # fmt: skip


def told(error: SceneError) -> dict[str, Any]:
    """A fault of a scene for the page: its line, its key, and the whole of it in words."""
    return {"line": error.line, "key": error.key, "text": str(error)}
