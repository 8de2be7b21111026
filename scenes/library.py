"""The library of scenes: names, what they are, and copies to edit."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import NamedTuple

from ..materials.text.nearest import nearest
from .errors import NOTHING, SceneError, SceneErrors
from .new_file import write_new

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
    write_new(path, source.read_bytes())
    return path
