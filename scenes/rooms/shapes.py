"""Finds the shapes of a scene that are no boxes: the room by its outline or mesh, furniture by meshes; and what is wrong with them."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any

import numpy as np
from pydantic import BaseModel, ValidationError

from ...materials.text.nearest import nearest
from ...materials.text.plain import plain
from ..normalise import Path, RawProblem
from ..room_tables import MeshRoomTable, PlanRoomTable
from ..tables import FINISH_WORDS, ObjectTable
from ..warning import SceneWarning, WarningCode
from .bodies import overlapping_bodies
from .mesh import Mesh
from .outline import NoRoom, RoomPlan, shell_of
from .read_mesh import IFC, MeshPart, Placing, UnusableMesh, read_parts
from .sound_mesh import Ordered, first_hole, in_order, outward, shut_in, sides

_LEAK = 0.0005  # of all directions that a room may let out before it is said
_LARGEST_M = (100.0, 100.0, 50.0)  # of a room, as of one by its measures
_NO_ROOM = 0.5  # of all directions that must be shut in for a mesh to be a room at all
_STAND_IN: dict[str, Any] = {"finish": {}, "object": [], "part": []}  # what the shape does not hang on


@dataclass
class Shapes:
    """The room's shell, the meshes of things by their place in the file, the files they came from, and problems."""

    shell: Mesh | None = None
    bodies: dict[int, Mesh] = field(default_factory=dict)
    own_files: list[FilePath] = field(default_factory=list)
    problems: list[RawProblem] = field(default_factory=list)
    warnings: list[SceneWarning] = field(default_factory=list)


def find_shapes(table: dict[str, Any], folder: FilePath) -> Shapes:
    """What the scene `table` (lengths in metres) says of shapes.

    Wrong types and ranges are the tables' to refuse: such tables are passed over here.
    """
    found = Shapes()
    room = table.get("room")
    if not isinstance(room, dict):
        return found
    if "outline_m" in room and "mesh" not in room:
        _by_outline(room, table.get("window"), found)
    elif "mesh" in room:
        _by_mesh(room, table.get("screen"), folder, found)
    entries = room.get("object")
    for index, entry in enumerate(entries if isinstance(entries, list) and len(entries) <= 500 else []):
        if isinstance(entry, dict) and isinstance(entry.get("mesh"), str):
            _body(entry, index, folder, found)
    return found


def _valid(model: type[BaseModel], raw: dict[str, Any]) -> Any:
    """The table as a model, or None where the tables refuse it."""
    try:
        return model.model_validate(raw)
    except ValidationError:
        return None


def _by_outline(room: dict[str, Any], windows: Any, found: Shapes) -> None:
    table = _valid(PlanRoomTable, {**room, **_STAND_IN})
    if table is None or (table.height_m is None) == (table.heights_m is None):
        return
    count, path = len(table.outline_m), ("room",)
    for key, values in (("walls", table.walls), ("heights_m", table.heights_m)):
        if values is not None and len(values) != count:
            found.problems.append(
                RawProblem((*path, key), f"has {len(values)} entries for {count} corners", f"{count}, one for each corner", False)
            )
            return
    for i, (a, b) in enumerate(table.ceiling_bends):
        if max(a, b) > count or a == b:
            found.problems.append(
                RawProblem((*path, "ceiling_bends", i), "should be two corners of the outline", f"1 to {count}")
            )
            return
    heights = table.heights_m or [table.height_m] * count
    bends = tuple((a - 1, b - 1) for a, b in table.ceiling_bends)
    try:
        plan = RoomPlan(tuple(table.outline_m), tuple(table.walls), tuple(heights), bends)
        found.shell = shell_of(plan, _names_in_use(room, windows))
    except NoRoom as fault:
        where: Path = (*path, fault.key) if fault.index is None else (*path, fault.key, fault.index)
        found.problems.append(RawProblem(where, str(fault), fault.allowed, fault.index is not None))


def _names_in_use(room: dict[str, Any], windows: Any) -> set[str]:
    """Names of surfaces that finishes, parts and windows speak of."""
    finish, found = room.get("finish"), set()
    if isinstance(finish, dict):
        found |= set(finish)
    for entries, key in ((room.get("part"), "on"), (windows, "surface")):
        for entry in entries if isinstance(entries, list) else []:
            if isinstance(entry, dict) and isinstance(entry.get(key), str):
                found.add(entry[key])
    return found


def _placing(table: Any) -> Placing:
    """How a table's mesh is placed; IFC files have z up and, unless it is said otherwise, y towards the screen wall."""
    own = table.mesh.lower().endswith(IFC) and "axes" not in table.model_fields_set
    return Placing(table.unit, ("right", "in", "up") if own else table.axes, table.at_m, table.turn_deg)


def _read(path: Path, name: str, table: Any, folder: FilePath, found: Shapes, *, room: bool = False) -> list[MeshPart]:
    file = folder / name
    try:
        parts = read_parts(file, _placing(table), room=room, space=table.mesh_part if room else None)
    except UnusableMesh as fault:
        found.problems.append(
            RawProblem((*path, fault.key), str(fault), fault.allowed, fault.key != "unit" or table.unit is not None)
        )
        return []
    if file not in found.own_files:
        found.own_files.append(file)
    return parts


def _together(parts: list[MeshPart]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Corners, faces and the part of each face of several parts."""
    corners = np.concatenate([part.corners for part in parts])
    starts = np.cumsum([0, *(len(part.corners) for part in parts)])
    faces = np.concatenate([part.faces + start for part, start in zip(parts, starts, strict=False)])
    return corners, faces, np.repeat(np.arange(len(parts)), [len(part.faces) for part in parts])


def _body(entry: dict[str, Any], index: int, folder: FilePath, found: Shapes) -> None:
    """A thing by its mesh: closed bodies face outwards, sheets both ways."""
    table, path = _valid(ObjectTable, {**entry, "finish": 0.0}), ("room", "object", index)
    if table is None or table.box is not None:
        return
    parts = _read(path, table.mesh, table, folder, found)
    if table.mesh_part is not None and parts:
        names = list(dict.fromkeys(part.name for part in parts))
        parts = [part for part in parts if part.name == table.mesh_part]
        if not parts:
            found.problems.append(_no_part((*path, "mesh_part"), table.mesh_part, names))
    if not parts:
        return
    corners, faces, _ = _together(parts)
    mesh = in_order(corners, faces)
    ring, sheet = mesh.faces.copy(), mesh.sheet.copy()
    for body in range(len(mesh.open_edges)):
        mine = mesh.body == body
        if mesh.open_edges[body] or mesh.sheet[mine].any():
            sheet[mine] = True
        elif not outward(mesh, body):
            ring[mine] = ring[mine, ::-1]
    name = table.name
    found.bodies[index] = Mesh(mesh.corners, ring, np.zeros(len(ring), np.int32), (name,), sheet=sheet)
    if mesh.turned:
        text = f'"{name}": {mesh.turned} of {len(ring)} triangles faced against their neighbours and were turned'
        found.warnings.append(SceneWarning(WarningCode.MESH_TURNED, text, things=(f'"{name}"',)))


def _no_part(path: Path, wanted: str, names: list[str]) -> RawProblem:
    near = nearest(wanted, names)
    hint = f': did you mean "{plain(near[0])}"?' if near else ""
    return RawProblem(path, f"is no part of the mesh{hint}", ", ".join(f'"{plain(name)}"' for name in names[:12]))


def _by_mesh(room: dict[str, Any], screen: Any, folder: FilePath, found: Shapes) -> None:
    """A room by its mesh: the body round the screen faces inwards, bodies within it outwards, sheets both ways."""
    table, path = _valid(MeshRoomTable, {**room, **_STAND_IN}), ("room",)
    if table is None:
        return
    if table.mesh_part is not None and not table.mesh.lower().endswith(IFC):
        found.problems.append(RawProblem((*path, "mesh_part"), "belongs to an IFC file: of other meshes all of it is the room"))
        return
    parts = _read(path, table.mesh, table, folder, found, room=True)
    if not parts:
        return
    corners, faces, owner = _together(parts)
    mesh = in_order(corners, faces)
    around = _around(mesh, screen)
    ring, sheet = mesh.faces.copy(), mesh.sheet.copy()
    for body in range(len(mesh.open_edges)):
        mine = mesh.body == body
        if body == around:
            if outward(mesh, body):
                ring[mine] = ring[mine, ::-1]
            sheet[mine] = False
        elif mesh.open_edges[body] or mesh.sheet[mine].any():
            sheet[mine] = True
        elif not outward(mesh, body):
            ring[mine] = ring[mine, ::-1]
    if table.names == "sides":
        surface, names = sides(mesh.corners, ring)
    else:
        words = [part.name if table.names == "parts" else part.material for part in parts]
        if not any(words):
            message = f"the mesh has no {table.names} with names"
            found.problems.append(RawProblem((*path, "names"), message, "parts, materials, sides", "names" in room))
            return
        words = [word or "unnamed" for word in words]
        names = tuple(dict.fromkeys(words))
        surface = np.array([names.index(word) for word in words])[owner[mesh.owner]]
    found.shell = Mesh(mesh.corners, ring, surface, names, sheet=sheet)
    _judge(mesh, around, ring, found)
    found.warnings += overlapping_bodies(found.shell, mesh.body, around)


def _around(mesh: Ordered, screen: Any) -> int:
    """The body that is the room: the one with the largest extent. Source: a room holds all that is in it."""
    span = [
        np.prod(np.ptp(mesh.corners[mesh.faces[mesh.body == body]].reshape(-1, 3), axis=0))
        for body in range(len(mesh.open_edges))
    ]
    return int(np.argmax(span))


def _judge(mesh: Ordered, around: int, ring: np.ndarray, found: Shapes) -> None:
    """Holes, turned triangles and doubles of a room, named; a room that shuts in less than half of all directions is none."""
    path: Path = ("room", "mesh")
    mine = mesh.corners[ring[mesh.body == around]]
    size = np.ptp(mine.reshape(-1, 3), axis=0)
    if (size > _LARGEST_M).any():
        told = " x ".join(f"{each:.4g}" for each in size)
        allowed = " x ".join(f"{each:g}" for each in _LARGEST_M)
        found.problems.append(RawProblem(path, f"is {told} m large", f"at most {allowed} m: is it in another unit?"))
        return
    middle = 0.5 * (mine.reshape(-1, 3).min(axis=0) + mine.reshape(-1, 3).max(axis=0))
    shut = shut_in(mine, middle)
    if shut < _NO_ROOM:
        found.problems.append(
            RawProblem(
                path,
                f"is no room: from its middle {100 * (1 - shut):.0f} % of all directions lead out",
                "a closed mesh round the seats",
            )
        )
        return
    if mesh.open_edges[around]:
        x, y, z = first_hole(mesh, around)
        found.warnings.append(
            SceneWarning(
                WarningCode.ROOM_LEAKS,
                f"the room's mesh is not closed: {mesh.open_edges[around]} open edges, the first at [{x:.2f}, {-y:.2f}, {z:.2f}]; "
                f"from its middle {100 * (1 - shut):.2g} % of all directions lead out, and light that goes there is lost",
            )
        )
    if mesh.turned:
        text = f"{mesh.turned} of the room's {len(ring)} triangles faced against their neighbours and were turned"
        found.warnings.append(SceneWarning(WarningCode.MESH_TURNED, text))
    if mesh.doubled:
        text = f"{mesh.doubled} triangles of the room's mesh lay twice in one place; one of each was taken"
        found.warnings.append(SceneWarning(WarningCode.MESH_DOUBLED, text))


def misnamed(table: dict[str, Any], shapes: Shapes) -> list[RawProblem]:
    """What a room of named surfaces has wrong in its finishes and things: names that are missing or of no surface, box and mesh."""
    found: list[RawProblem] = []
    room = table.get("room")
    if not isinstance(room, dict):
        return found
    finish = room.get("finish")
    if shapes.shell is not None and isinstance(finish, dict):
        names, whole = shapes.shell.names, dict(shapes.shell.part_of)
        known = tuple(dict.fromkeys([*names, *whole.values(), *shapes.shell.nameable]))
        for name in finish:
            if name not in known:
                near = nearest(str(name), known)
                hint = f': did you mean "{near[0]}"?' if near else ""
                found.append(RawProblem(("room", "finish", name), f"is no surface of the room{hint}", ", ".join(known)))
        missing = [name for name in names if name not in finish and whole.get(name) not in finish]
        found += [RawProblem(("room", "finish", name), "is missing", FINISH_WORDS, False) for name in missing]
    entries = room.get("object")
    for index, entry in enumerate(entries if isinstance(entries, list) else []):
        if isinstance(entry, dict):
            found += _one_shape(entry, ("room", "object", index))
    return found


def _one_shape(entry: dict[str, Any], path: Path) -> list[RawProblem]:
    """A thing is a box or a mesh, and what says how a mesh is read belongs to a mesh."""
    if "box" in entry and "mesh" in entry:
        return [RawProblem((*path, "mesh"), "stands beside box: give one of them")]
    if "mesh" not in entry:
        alone = [key for key in ("mesh_part", "unit", "axes", "at_m", "turn_deg") if key in entry]
        if "box" not in entry:
            return [RawProblem((*path, "box"), "is missing", "[room.object.box]", False)]
        return [RawProblem((*path, key), "belongs to a mesh: this object is a box") for key in alone]
    return []
