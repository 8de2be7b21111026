"""What is judged in boxes alone says so: rooms and things of other shapes are refused by name, in one line."""

from __future__ import annotations

from ..errors import NOTHING, SceneError, SceneErrors
from ..model import Box, Scene


def refuse_shapes(scene: Scene, what: str, *, parts: bool = False) -> None:
    """Refuse a room that is no box, things that are meshes and, where asked, parts of surfaces.

    what    who cannot judge them, to begin the sentence: "halfgain place"
    raises  SceneErrors with one line
    """
    room = scene.room
    meshes = [each.name for each in room.objects if not isinstance(each, Box)]
    if room.shell is not None:
        key, message = "room", f"{what} knows rooms that are boxes, not yet outlines and meshes"
    elif meshes:
        key, message = "room.object", f'{what} knows things that are boxes, not yet meshes such as "{meshes[0]}"'
    elif parts and room.parts:
        key, message = "room.part", f'{what} does not know parts of surfaces yet, such as "{room.parts[0].name}"'
    else:
        return
    raise SceneErrors(
        [SceneError(scene.path, 0, key, NOTHING, message, "width_m, depth_m, height_m and box; measure takes any room")]
    )
