"""Tables of rooms that are no box: by their outline, or by a mesh; and which of the three a scene file means."""

from typing import Annotated, Any, Literal

from pydantic import Field, Strict

from .tables import FINISH_WORDS, FinishValue, MeshKeys, Name, ObjectTable, PartTable, RoomTable, SceneTable, StrictTable
from .units import variants

MOST_CORNERS, MOST_SURFACES = 200, 200
_Place = Annotated[float, Field(ge=-100, le=100)]
Corner = Annotated[tuple[_Place, _Place], Strict(False), Field(description="[right, out]")]
Pair = Annotated[tuple[Annotated[int, Field(ge=1)], Annotated[int, Field(ge=1)]], Strict(False)]
Height = Annotated[float, Field(ge=0.3, le=50)]


class NamedFinishTable(StrictTable):
    """What a room of named surfaces has of its own beside its shape."""

    finish: Annotated[dict[Name, FinishValue], Field(max_length=MOST_SURFACES)] = Field(
        description=f"What each surface is made of, by its name: {FINISH_WORDS}", json_schema_extra={"allowed": FINISH_WORDS}
    )
    object: Annotated[list[ObjectTable], Field(max_length=500)] = Field(default=[], description="Things in the room")
    part: Annotated[list[PartTable], Field(max_length=200)] = Field(
        default=[], description="Parts of surfaces: rugs, strips, doors"
    )


class PlanRoomTable(NamedFinishTable):
    """A room by its plan: corners in order along the walls, a name for each wall, a height or one for each corner."""

    outline_m: Annotated[list[Corner], Field(min_length=3, max_length=MOST_CORNERS)] = Field(
        description="Corners [right, out] in order along the walls, from the middle of the screen; the screen wall is at out = 0"
    )
    walls: Annotated[list[Name], Field(min_length=3, max_length=MOST_CORNERS)] = Field(
        description='Name of the wall from each corner to the next; the screen hangs on "front"; walls may share a name'
    )
    height_m: Height | None = Field(None, description="From floor to ceiling, where it is level")
    heights_m: Annotated[list[Height], Field(min_length=3, max_length=MOST_CORNERS)] | None = Field(
        None, description="Height of the ceiling at each corner, in place of height_m"
    )
    ceiling_bends: Annotated[list[Pair], Field(max_length=MOST_CORNERS)] = Field(
        default=[], description="Pairs of corners, counted from 1, between which the ceiling bends: ridges and edges of slopes"
    )


class MeshRoomTable(NamedFinishTable, MeshKeys):
    """A room by a mesh of its surfaces."""

    mesh: str = Field(description="GLB, OBJ, PLY or IFC file beside the scene")
    mesh_part: Name | None = Field(None, description="Of an IFC file the space that is the room; left out: its only one")
    names: Literal["parts", "materials", "sides"] = Field(
        "parts",
        description="What the surfaces of [room.finish] are: the mesh's parts (of an IFC file what stands behind each face), its materials, "
        "or six sides told by where they face",
    )


class PlanSceneTable(SceneTable):
    """A halfgain scene in a room by its plan."""

    room: PlanRoomTable  # type: ignore[assignment]


class MeshSceneTable(SceneTable):
    """A halfgain scene in a room by a mesh."""

    room: MeshRoomTable  # type: ignore[assignment]


def scene_table(raw: dict[str, Any]) -> type[SceneTable]:
    """The model of a parsed scene file: by the keys of its room. Source: definition."""
    room = raw.get("room")
    if isinstance(room, dict) and "mesh" in room:
        return MeshSceneTable
    if isinstance(room, dict) and any(key in room for key in variants("outline_m")):
        return PlanSceneTable
    return SceneTable


ROOM_TABLES: tuple[type[StrictTable], ...] = (RoomTable, PlanRoomTable, MeshRoomTable)
