"""Finds every finish and the fabric that a scene names or spells out, and says which it cannot find."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Any

from pydantic import ValidationError

from ..materials.fabric import Fabric
from ..materials.fabric_table import FabricTable
from ..materials.finish import Finish
from ..materials.finish_table import FinishTable
from ..materials.library import Library, LibraryErrors, UnknownName, load_library
from ..materials.solving.solve import FabricError
from .errors import NOTHING, SceneError
from .model import SURFACES
from .normalise import Path, RawProblem
from .tables import MOST_LIBRARIES

DEFAULT_BORDER = "black masking velvet"  # what frames are flocked with; said in a note where the scene has a border


@dataclass
class Materials:
    """Finishes by their place in the file, the fabric, and what was wrong; own_files: the scene's library files."""

    finishes: dict[Path, Finish] = field(default_factory=dict)
    fabric: Fabric | None = None
    border: Finish | None = None
    problems: list[RawProblem] = field(default_factory=list)
    errors: list[SceneError] = field(default_factory=list)
    own_files: list[FilePath] = field(default_factory=list)


def find_materials(table: dict[str, Any], folder: FilePath, made: Mapping[Path, Fabric | Finish] | None = None) -> Materials:
    """Looks up what the scene `table` uses, in its own libraries (relative to `folder`) and in the built-in one.

    made  materials made in code, by their place: nothing is looked up there
    Only values that can stand for a material are looked at: wrong types and ranges are the tables' to refuse.
    """
    found, made = Materials(), made or {}
    library, complete = _library(table.get("libraries", []), folder, found)
    for path, value in _finish_spots(table):
        there = made.get(path)
        finish = there if isinstance(there, Finish) else _finish(value, path, library, complete, found)
        if finish is not None:
            found.finishes[path] = finish
    screen = table.get("screen")
    if isinstance(screen, dict):
        there = made.get(("screen", "fabric"))
        found.fabric = there if isinstance(there, Fabric) else _fabric(screen.get("fabric"), library, complete, found)
    found.border = found.finishes.get(("screen", "border_finish"), library.find_finish(DEFAULT_BORDER))
    return found


def _library(names: Any, folder: FilePath, found: Materials) -> tuple[Library, bool]:
    """The built-in library with the scene's own files laid over it; False where one of those cannot be used."""
    if not isinstance(names, list) or len(names) > MOST_LIBRARIES or not all(isinstance(name, str) for name in names):
        return load_library(), False  # the tables refuse it
    found.own_files = [folder / name for name in names]
    try:
        return load_library(found.own_files), True
    except LibraryErrors as fault:
        for problem in fault.problems:
            at = next((i for i, path in enumerate(found.own_files) if str(path) == problem.file), None)
            if problem.line == 0 and not problem.key and at is not None:  # the file itself: the scene names it
                found.problems.append(RawProblem(("libraries", at), problem.message, problem.allowed))
            else:
                value = NOTHING if problem.value is None else problem.value
                found.errors.append(SceneError(problem.file, problem.line, problem.key, value, problem.message, problem.allowed))
        return load_library(), False


def _finish_spots(table: dict[str, Any]) -> list[tuple[Path, Any]]:
    """Every place of a scene that takes a finish, with what stands there."""
    spots: list[tuple[Path, Any]] = []
    room, screen = table.get("room"), table.get("screen")
    if isinstance(room, dict):
        finish, named = room.get("finish"), "outline_m" in room or "mesh" in room
        if isinstance(finish, dict):
            spots += [(("room", "finish", surface), value) for surface, value in finish.items() if surface in SURFACES or named]
        for key in ("object", "part"):
            entries = room.get(key)
            if isinstance(entries, list):
                spots += [
                    (("room", key, i, "finish"), entry["finish"])
                    for i, entry in enumerate(entries)
                    if isinstance(entry, dict) and "finish" in entry
                ]
    if isinstance(screen, dict) and "border_finish" in screen:
        spots.append((("screen", "border_finish"), screen["border_finish"]))
    return spots


def _finish(value: Any, path: Path, library: Library, complete: bool, found: Materials) -> Finish | None:
    if isinstance(value, str):
        try:
            return library.find_finish(value)
        except UnknownName as unknown:
            if complete:  # else it may stand in the file that could not be used
                found.problems.append(_unknown("finish", path, unknown, library.finishes))
    elif isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= 1:
        return Finish(f"reflectance {value:g}", (float(value),) * 3, source="the scene file")
    elif isinstance(value, dict):
        try:
            return FinishTable.model_validate(value).to_finish()
        except ValidationError:  # the scene's own tables report it
            pass
    return None


def _fabric(value: Any, library: Library, complete: bool, found: Materials) -> Fabric | None:
    path: Path = ("screen", "fabric")
    try:
        if isinstance(value, str):
            return library.find_fabric(value)
        if isinstance(value, dict):
            return FabricTable.model_validate(value).to_fabric()
    except UnknownName as unknown:
        if complete:
            found.problems.append(_unknown("fabric", path, unknown, library.fabrics))
    except FabricError as fault:
        found.problems.append(RawProblem((*path, fault.key), fault.message, fault.allowed))
    except ValidationError:
        pass
    return None


def _unknown(what: str, path: Path, unknown: UnknownName, names: Iterable[str]) -> RawProblem:
    if unknown.nearest:
        return RawProblem(
            path, f"is no {what} of the library: did you mean {_quoted(unknown.nearest)}? (halfgain materials lists all)"
        )
    known = list(names)
    more = f" and {len(known) - 5} more: halfgain materials lists all" if len(known) > 5 else ""
    return RawProblem(path, f"is no {what} of the library", f"{_quoted(known[:5], ', ')}{more}")


def _quoted(names: list[str], between: str = " or ") -> str:
    return between.join(f'"{name}"' for name in names)
