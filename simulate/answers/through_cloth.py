"""Scenes whose cloth lets light through have no answers from kept paths: those start before the cloth alone."""

from __future__ import annotations

from dataclasses import replace

from ...scenes.errors import NOTHING, SceneError, SceneErrors
from ...scenes.lamps.behind import follows_light_through
from ...scenes.model import Scene


def refuse_light_through(scene: Scene) -> None:
    """Refuse a scene in which light is followed through the cloth.

    raises  SceneErrors naming the key that stops it
    """
    if follows_light_through(scene.screen, scene.lamps, scene.windows):
        said = f'light comes through the cloth ("{scene.screen.fabric.name}"): kept paths do not follow it'
        allowed = "backed = true where black cloth hangs behind it; or `measure`, `compare` and `advise` without a ledger"
        raise SceneErrors([SceneError(scene.path, 0, "screen.backed", NOTHING, said, allowed)])


def as_backed(scene: Scene) -> Scene:
    """The scene with black cloth behind its screen, for what only kept paths tell; itself where no light is followed through the cloth."""
    if not follows_light_through(scene.screen, scene.lamps, scene.windows):
        return scene
    return replace(scene, screen=replace(scene.screen, backed=True))
