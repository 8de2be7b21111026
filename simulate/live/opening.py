"""The house of the live page for a first scene: its text, and the folder in which scenes are opened and saved."""

from __future__ import annotations

import hashlib
from importlib.metadata import version
from pathlib import Path

from ...scenes.change import document_of, scene_text
from ...scenes.library import scene_names
from ...scenes.load import load_scene
from ...scenes.model import Scene
from ..light.workers import default_threads
from .folder import SceneFolder
from .server import House


def house_of_file(chosen: str, *, seed: int, threads: int | None) -> House:
    """For a name of the library or a scene file, whose folder serves; a name's is the current one. raises SceneErrors"""
    loaded = load_scene(chosen)
    path = loaded.files[0]
    data = path.read_bytes()
    own = chosen not in scene_names()
    folder = SceneFolder(path.parent if own else Path(), loaded.files)
    first = {
        "text": data.decode("utf-8-sig"), "name": path.name if path.name.endswith(".toml") else f"{path.name}.toml",
        "seen": hashlib.sha256(data).hexdigest() if own and path.name.endswith(".toml") else "",
    }  # fmt: skip
    return _house(first, folder, seed, threads)


def house_of_scene(scene: Scene, *, seed: int, threads: int | None) -> House:
    """For a scene as it is, spelt as a file would hold it; it has no file yet. raises SceneErrors for one that stands in no file"""
    name = Path(scene.path).name
    first = {"text": scene_text(scene), "name": name if name.endswith(".toml") else "scene.toml", "seen": ""}
    return _house(first, SceneFolder(Path(document_of(scene).folder), scene.files), seed, threads)


def _house(first: dict[str, str], folder: SceneFolder, seed: int, threads: int | None) -> House:
    return House(first, folder, seed=seed, threads=threads or default_threads(), version=version("halfgain"))
