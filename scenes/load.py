"""Loads a scene: a file or a library name in, a frozen, checked Scene out, or all errors of the file at once."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path as FilePath
from typing import Any, cast

from pydantic import ValidationError

from ..materials.text.nearest import nearest
from ..materials.text.problem import MOST_FAULTS
from ..materials.text.reading import Unreadable
from ..materials.text.reading import read_bytes as read_regular
from ..materials.text.toml_lines import key_lines
from ..materials.text.toml_text import toml_text
from .build import build
from .checks import impossible
from .cloth.find import find_drapery
from .cloth.notes import drape_notes
from .errors import NOTHING, SceneError, SceneErrors, key_text
from .given import FOLDER, TEXT, Kind, is_file, takes
from .lamps.behind import through_notes
from .lamps.find import find_lighting
from .lens_by_casing import lens_by_casing
from .library import scene_names, scene_path
from .lookup import DEFAULT_BORDER, find_materials
from .made import taken_out, with_digests
from .model import Document, Scene
from .normalise import Normalised, Path, RawProblem, normalise
from .parts import Parts
from .read import decode, parse, read_bytes
from .room_tables import scene_table
from .rooms.shapes import find_shapes, misnamed
from .tables import SceneTable
from .viewers import with_bodies
from .warn import warnings
from .words import misspelt, problem

LARGEST_OWN_BYTES = 500_000_000  # of a scan, the largest of a scene's own files

__all__ = ["SceneError", "SceneErrors", "load_scene", "scene_from_document", "scene_from_text"]


@takes(path_or_name=Kind(is_file, "a name of the library or a file's path"))
def load_scene(path_or_name: str | FilePath) -> Scene:
    """The scene of a TOML file or of a library name; a bare name of the library means the library's scene.

    raises SceneErrors with everything that is wrong, in the order of the file
    """
    name = str(path_or_name)
    path = FilePath(path_or_name)
    if name in scene_names():
        path = scene_path(name)
    elif not path.exists() and not path.suffix and path.name == name:
        near = nearest(name, scene_names())
        hint = f": did you mean {' or '.join(near[:2])}?" if near else ""
        raise SceneErrors(
            [SceneError(name, 0, "", NOTHING, f"no such file, nor a scene of the library{hint}", ", ".join(scene_names()))]
        )
    data = read_bytes(path, name)
    scene = _from_bytes(data, name, path.parent)
    object.__setattr__(scene, "files", (path, *scene.files))
    return scene


@takes(text=TEXT, path=TEXT, folder=FOLDER)
def scene_from_text(text: str, path: str = "<text>", folder: str | FilePath = ".") -> Scene:
    """The scene of a text as a file would hold it; `folder` is where its own libraries are looked for.

    raises SceneErrors, see load_scene
    """
    return _from_bytes(text.encode("utf-8", "surrogatepass"), path, FilePath(folder))


def scene_from_document(document: Document) -> Scene:
    """The scene of a parsed file, in which a Fabric or a Finish may stand where the file has a name or a table.

    raises SceneErrors without lines, see load_scene
    """
    return _scene(document, None, toml_text(with_digests(document.table)).encode())


def _from_bytes(data: bytes, name: str, folder: FilePath) -> Scene:
    text = decode(data, name)
    return _scene(Document(parse(text, name), name, folder), key_lines(text), data)


def _scene(document: Document, lines: dict[Path, int] | None, data: bytes) -> Scene:
    raw, made = taken_out(document.table)
    name, folder = document.name, document.folder
    model = scene_table(raw)
    file = normalise(raw, model)
    lens_by_casing(file)
    materials, shapes = find_materials(file.table, folder, made), find_shapes(file.table, folder)
    parts = build(file, materials, shapes)
    drapery = find_drapery(file.table, parts.screen, parts.projector, folder)
    if parts.screen is not None:
        parts.screen = replace(parts.screen, drape=drapery.drape)
    lighting = find_lighting(file.table, folder)
    parts.lamps, parts.windows, parts.light_names = lighting.lamps, lighting.windows, lighting.names
    found = [*materials.problems, *shapes.problems, *drapery.problems, *lighting.problems]
    problems = [*file.problems, *_faults(file, model), *found, *impossible(parts), *misnamed(file.table, shapes)]
    errors = materials.errors + lighting.errors
    if problems or errors:
        raise SceneErrors(_located(problems, raw, lines, name, file) + errors)
    own_files = list(dict.fromkeys(materials.own_files + shapes.own_files + drapery.own_files + lighting.own_files))
    scene, digest = _finished(file.table, parts, own_files, name, [*lighting.notes, *through_notes(parts)]), hashlib.sha256(data)
    object.__setattr__(scene, "warnings", (*shapes.warnings, *scene.warnings))
    for path in own_files:
        digest.update(_again(path))
    for key, value in (("document", document), ("checked", True), ("_sha256", digest.hexdigest())):
        object.__setattr__(scene, key, value)
    return scene


def _faults(file: Normalised, model: type[SceneTable]) -> list[RawProblem]:
    """What the tables refuse."""
    try:
        model.model_validate(file.table)
    except ValidationError as fault:
        errors = fault.errors(include_url=False)[:MOST_FAULTS]
        typos = {place for error in errors for place in misspelt(error, model)}
        known = {item.path for item in file.problems}
        found = [problem(error, model, file) for error in errors if error["type"] != "missing" or error["loc"] not in typos]
        return [item for item in found if item.path not in known]
    return []


def _located(
    problems: list[RawProblem], raw: dict[str, Any], lines: dict[Path, int] | None, name: str, file: Normalised
) -> list[SceneError]:
    """Problems with the line they stand on and the value the user wrote."""
    located = []
    for item in dict.fromkeys(problems):
        path = _as_written(item.path, file)
        value = _value(raw, path) if item.show_value else NOTHING
        located.append(SceneError(name, _line(lines, path), key_text(path), value, item.message, item.allowed))
    return located


def _as_written(path: Path, file: Normalised) -> Path:
    for reach in range(len(path), 0, -1):
        if path[:reach] in file.written:
            return (*file.written[path[:reach]][0], *path[reach:])
    return path


def _line(lines: dict[Path, int] | None, path: Path) -> int:
    """Line of a key, or of the nearest table around it; 1 for what the whole file lacks, 0 where there is no file."""
    if lines is None:
        return 0
    return next((lines[path[:reach]] for reach in range(len(path), 0, -1) if path[:reach] in lines), 1)


def _value(raw: Any, path: Path) -> Any:
    for part in path:
        try:
            raw = raw[part]
        except (KeyError, IndexError, TypeError):
            return NOTHING
    return raw


def _finished(table: dict[str, Any], parts: Parts, own_files: list[FilePath], name: str, notes: list[str]) -> Scene:
    if parts.room is None or parts.projector is None or parts.screen is None:
        raise AssertionError(f"{name}: the tables found no fault, yet a part is missing")
    seats = tuple(parts.seats.values())
    return Scene(
        title=cast(str, table.get("title")) or FilePath(name).stem,
        path=name,
        room=with_bodies(parts.room, parts.screen, seats),
        projector=parts.projector,
        screen=parts.screen,
        seats=seats,
        lights=tuple(parts.lights.values()),
        lamps=tuple(parts.lamps.values()),
        windows=tuple(parts.windows.values()),
        notes=(*_notes(table, parts), *notes),
        warnings=warnings(parts.room, parts.projector, parts.screen, seats),
        files=tuple(own_files),
    )


def _again(path: FilePath) -> bytes:
    """The bytes of a file that was read already.  raises SceneErrors where it is gone or has changed its nature since"""
    try:
        return read_regular(path, LARGEST_OWN_BYTES, "the file that was read")
    except Unreadable as fault:
        raise SceneErrors([SceneError(str(path), 0, "", NOTHING, str(fault), fault.allowed)]) from None


def _notes(table: dict[str, Any], parts: Parts) -> tuple[str, ...]:
    """Defaults that were taken and that bear on the numbers."""
    notes = []
    screen, projector = table["screen"], table["projector"]
    if screen.get("border_m") and "border_finish" not in screen:
        notes.append(f'border_finish is left out: "{DEFAULT_BORDER}" is taken')
    if parts.screen:
        notes += drape_notes(parts.screen)
    if "pixels" not in projector:
        notes.append("pixels is left out: the raster has the screen's shape")
    if "corner_to_centre" not in projector:
        notes.append("corner_to_centre is left out: the light is taken as even over the raster")
    return tuple(notes)
