"""From checked tables to the scene's parts; from a file with faults, whatever parts of it are sound."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, TypeVar, cast

from pydantic import BaseModel, ValidationError

from ..materials.fabric import Fabric
from ..materials.finish import Finish
from .cloth.hanging import Hang
from .lamps.table import LightTable
from .lookup import Materials
from .model import SURFACES, Ageing, Body, Box, Casing, Film, Light, Mount, Projector, Room, Screen, Seat, SurfacePart, Thing
from .normalise import Normalised, Path
from .parts import Parts
from .rooms.mesh import Mesh
from .rooms.shapes import Shapes
from .tables import ObjectTable, PartTable, ProjectorTable, RoomTable, ScreenTable, SeatTable

T = TypeVar("T", bound=BaseModel)
_UNKNOWN = Finish("unknown", (0.0, 0.0, 0.0))  # stands where an error is already noted, so that geometry can be checked
_STAND_INS: dict[type[BaseModel], dict[str, Any]] = {  # for keys that no check of geometry reads
    RoomTable: {"finish": dict.fromkeys(SURFACES, 0.0)},
    ObjectTable: {"name": "unnamed object", "finish": 0.0},
    PartTable: {"name": "unnamed part", "finish": 0.0},
    ProjectorTable: {"light_output_lm": 1.0, "native_contrast": 1e9},
    ScreenTable: {"fabric": "unknown"},
    LightTable: {},
    SeatTable: {"name": "unnamed seat"},
}


def build(file: Normalised, materials: Materials, shapes: Shapes) -> Parts:
    """All parts of a scene that can be made. Where the tables found no fault, that is all of them."""
    table = file.table
    parts = Parts(units={path: unit for path, (_, unit) in file.written.items()})
    raw_room = table.get("room")
    if isinstance(raw_room, dict):
        things = {i: _thing(entry, i, materials, shapes) for i, entry in _entries(raw_room.get("object"), ObjectTable)}
        parts.objects = {i: thing for i, thing in things.items() if thing is not None}
        parts.parts = {i: _part(entry, i, materials) for i, entry in _entries(raw_room.get("part"), PartTable)}
        parts.room = _room(raw_room, parts, materials, shapes)
    projector = sound(table.get("projector"), ProjectorTable)
    parts.projector = _projector(projector) if projector else None
    screen = sound(table.get("screen"), ScreenTable)
    parts.screen = _screen(screen, materials) if screen and (screen.width_m or screen.diagonal_m) else None
    parts.lights = {i: _light(entry) for i, entry in _entries(table.get("light"), LightTable)}
    parts.seats = {i: Seat(entry.name, entry.eye_m, entry.body) for i, entry in _entries(table.get("seat"), SeatTable)}
    return parts


def sound(raw: Any, model: type[T]) -> T | None:
    """The table as a model, without faulty optional and unknown keys, stand-ins put in; None where more is wrong."""
    if not isinstance(raw, dict):
        return None
    data = dict(raw)
    for _ in range(3):
        try:
            return model.model_validate(data)
        except ValidationError as fault:
            for key in {error["loc"][0] for error in fault.errors(include_url=False) if error["loc"]}:
                info = model.model_fields.get(str(key))
                if key in _STAND_INS[model]:
                    data[str(key)] = _STAND_INS[model][str(key)]
                elif info is not None and info.is_required():
                    return None
                else:
                    data.pop(str(key), None)
    return None


def _entries(raw: Any, model: type[T]) -> list[tuple[int, T]]:
    if not isinstance(raw, list):
        return []
    return [
        (i, _told_apart(entry, raw[i], i))
        for i, entry in ((i, sound(item, model)) for i, item in enumerate(raw))
        if entry is not None
    ]


def _told_apart(entry: T, raw: dict[str, Any], index: int) -> T:
    """The entry with a stand-in of its own for a faulty name, so that two of them are not taken for one name."""
    stand_in = _STAND_INS[type(entry)].get("name")
    if stand_in is None or getattr(entry, "name", None) != stand_in or raw.get("name") == stand_in:
        return entry
    return entry.model_copy(update={"name": f"{stand_in} {index + 1}"})


def _finish(path: Path, materials: Materials) -> Finish:
    return materials.finishes.get(path, _UNKNOWN)


def _thing(entry: ObjectTable, index: int, materials: Materials, shapes: Shapes) -> Thing | None:
    finish = _finish(("room", "object", index, "finish"), materials)
    if entry.box is not None and entry.mesh is None:
        return Box(entry.name, entry.box.min_m, entry.box.max_m, finish)
    mesh = shapes.bodies.get(index)
    return Body(entry.name, mesh, finish) if mesh is not None and entry.box is None else None


def _light(entry: LightTable) -> Light:
    return Light(entry.name, entry.screen_lx or 0.0, entry.lamps, entry.windows, tuple(entry.blinds_down))


def _part(entry: PartTable, index: int, materials: Materials) -> SurfacePart:
    everywhere = (-math.inf, math.inf)
    span = (entry.right_m or everywhere, entry.out_m or everywhere, entry.up_m or everywhere)
    return SurfacePart(entry.name, entry.on, span, _finish(("room", "part", index, "finish"), materials))


def _room(raw: dict[str, Any], parts: Parts, materials: Materials, shapes: Shapes) -> Room | None:
    objects, on_surfaces = tuple(parts.objects.values()), tuple(parts.parts.values())
    if shapes.shell is not None:
        return shaped_room(shapes.shell, materials.finishes, objects, on_surfaces)
    if "outline_m" in raw or "mesh" in raw:
        return None
    table = sound({**raw, "object": [], "part": []}, RoomTable)
    if table is None:
        return None
    finish = {surface: _finish(("room", "finish", surface), materials) for surface in SURFACES}
    return Room(table.width_m, table.depth_m, table.height_m, finish, objects, parts=on_surfaces)


def shaped_room(
    shell: Mesh, finishes: Mapping[Path, Finish], objects: tuple[Thing, ...] = (), parts: tuple[SurfacePart, ...] = ()
) -> Room:
    """A room of a shell's shape; its measures are what it spans [m]."""
    low, high = shell.bounds
    whole = dict(shell.part_of)
    finish = {
        name: finishes.get(("room", "finish", name)) or finishes.get(("room", "finish", whole.get(name, name)), _UNKNOWN)
        for name in shell.names
    }
    return Room(float(high[0] - low[0]), float(-low[1]), float(high[2]), finish, objects, shell, parts)


def _projector(table: ProjectorTable) -> Projector:
    """The projector; the lens of a casing that does not say where it is stands in the middle of the face towards the screen."""
    given = dict(table)
    if table.casing is not None:
        width, _, height = table.casing.size_m
        lens = table.casing.lens_m or (width / 2, 0.0, height / 2)
        given["casing"] = Casing(table.casing.size_m, lens, table.casing.air_m, by_wall=table.casing.wall_m is not None)
    if table.film is not None:
        given["film"] = Film(**dict(table.film))
    if table.ageing is not None:
        given["ageing"] = Ageing(**dict(table.ageing))
    return Projector(**given)


def _screen(table: ScreenTable, materials: Materials) -> Screen:
    """Width and height from the aspect and whichever of width and diagonal is given."""
    width = table.width_m
    if width is None:
        width = cast(float, table.diagonal_m) * table.aspect / math.hypot(table.aspect, 1.0)
    return Screen(
        width_m=width,
        height_m=width / table.aspect,
        aspect=table.aspect,
        bottom_m=table.bottom_m,
        right_m=table.right_m,
        gap_to_wall_m=table.gap_to_wall_m,
        border_m=table.border_m,
        border_finish=materials.border or _UNKNOWN,
        fabric=cast(Fabric, materials.fabric),
        hang=Hang(table.hang),
        mount=None if table.mount is None else Mount(**dict(table.mount)),
        backed=table.backed,
    )
