"""A scene with keys of its file changed: the changed file goes through the loader, so nothing comes to be that a file could not say."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ..materials.text.nearest import nearest
from ..materials.text.toml_text import toml_document, toml_key
from .changes import Change, changed, path_of
from .errors import NOTHING, SceneError, SceneErrors
from .load import scene_from_document
from .made import spelt_out
from .model import Document, Scene

BORDER = "border"


def changed_scene(scene: Scene, values: Mapping[str, Any]) -> Scene:
    """The scene with values under dotted keys; see `Changing.change`. raises SceneErrors"""
    document = document_of(scene)
    table = changed(document.table, [Change(path_of(key, scene.path), value, scene.path) for key, value in values.items()])
    new = scene_from_document(Document(table, document.name, document.folder))
    object.__setattr__(new, "files", tuple(dict.fromkeys((*scene.files, *new.files))))
    return new


def document_of(scene: Scene) -> Document:
    """What a scene was made of. raises SceneErrors for a scene put together in code, which stands in no file"""
    if scene.document is None:
        message = "this scene was put together in code: there is no file to change"
        raise SceneErrors(
            [SceneError(scene.path, 0, "", NOTHING, message, "a loaded scene, changed by `change` and `with_...` alone")]
        )
    return scene.document


def scene_text(scene: Scene) -> str:
    """The scene as a file would hold it; see `Changing.to_toml`. raises SceneErrors"""
    return toml_document(spelt_out(document_of(scene).table, scene.path))


def surface_key(scene: Scene, surface: str) -> str:
    """Dotted key of the finish of a wall, ceiling, floor, object or border. raises SceneErrors where there is none"""
    if surface == BORDER:
        return "screen.border_finish"
    room = scene.room
    if room.named(surface) or (room.shell is not None and surface in room.shell.nameable):
        return f"room.finish.{surface if surface.isidentifier() else toml_key(surface)}"
    for kind, things in (("object", room.objects), ("part", room.parts)):
        if surface in [each.name for each in things]:
            return f"room.{kind}.{toml_key(surface)}.finish"
    known = [*room.finishes, BORDER]
    near = nearest(surface, known)
    hint = f", did you mean {' or '.join(near[:2])}?" if near else ""
    raise SceneErrors([SceneError(scene.path, 0, "", NOTHING, f'the scene has no surface "{surface}"{hint}', ", ".join(known))])
