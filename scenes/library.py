"""The library of scenes: names, what they are, and copies to edit."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path
from typing import NamedTuple

from ..materials.text.nearest import nearest
from .errors import NOTHING, SceneError, SceneErrors
from .leavings import work_folder

_FOLDER = Path(__file__).resolve().parent / "data"
DEFAULT_SCENE = "long-lounge"


class Description(NamedTuple):
    """A library scene's title and one line about it."""

    title: str
    line: str


def scene_names() -> tuple[str, ...]:
    """Names of the library's scenes, in alphabetical order; a name is its file's name."""
    return tuple(sorted(path.stem for path in _FOLDER.glob("*.toml")))


def scene_path(name: str) -> Path:
    """File of a library scene.  raises SceneErrors where the library has no such scene"""
    if name not in scene_names():
        near = nearest(name, scene_names())
        hint = f": did you mean {' or '.join(near[:2])}?" if near else ""
        raise SceneErrors([SceneError(name, 0, "", NOTHING, f"is no scene of the library{hint}", ", ".join(scene_names()))])
    return _FOLDER / f"{name}.toml"


def describe(name: str) -> Description:
    """Title of a library scene and the first line of its first comment.  raises SceneErrors for an unknown name"""
    text = scene_path(name).read_text(encoding="utf-8")
    comment = next((line for line in text.splitlines() if line.startswith("#")), "#")
    return Description(str(tomllib.loads(text).get("title", name)), comment.lstrip("# ").rstrip())


def copy_scene(name: str, target: str | Path) -> Path:
    """Copies a library scene to a new file; returns its path.

    Never overwrites; the target holds the whole scene or does not come to be.
    raises SceneErrors for an unknown name, a target that exists or has no folder; OSError for a fault of the disk
    """
    source, path = scene_path(name), Path(target)
    if not path.parent.is_dir():
        raise _refused(path, "cannot be written: its folder does not exist")
    if path.exists() or path.is_symlink():
        raise _refused(path, "exists already: nothing is overwritten")
    try:
        with work_folder(path.parent) as work:
            with (work / "scene").open("xb") as file:
                file.write(source.read_bytes())
                file.flush()
                os.fsync(file.fileno())
            _place(work / "scene", path)
    except FileExistsError:  # came to be since we looked
        raise _refused(path, "exists already: nothing is overwritten") from None
    except OSError as fault:
        fault.filename = str(path)  # not the temporary name, which the user never gave
        raise
    return path


def _place(temporary: Path, path: Path) -> None:
    """Gives a finished file its name, if that is free; link refuses an existing name, replace would not."""
    try:
        os.link(temporary, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without links: claim the name first
        os.close(os.open(path, os.O_CREAT | os.O_EXCL))
        os.replace(temporary, path)


def _refused(path: Path, message: str) -> SceneErrors:
    return SceneErrors([SceneError(str(path), 0, "", NOTHING, message)])
