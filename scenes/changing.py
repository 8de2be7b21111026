"""Scenes that change safely: every change goes through the loader's own checks and gives a new scene with a hash of its own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, cast

from .given import NUMBERS, TEXT, Kind, is_list, is_number, takes

if TYPE_CHECKING:
    from ..materials.fabric import Fabric
    from ..materials.finish import Finish
    from .model import Scene

_ONE_VALUE = object()
_KEY = Kind(
    lambda value: isinstance(value, str) or (isinstance(value, Mapping) and all(isinstance(key, str) for key in value)),
    "a dotted key, or a mapping of keys to values",
)


class Changing:
    """The part of a Scene that makes others of it; the scene itself never changes."""

    @takes(key=_KEY)
    def change(self, key: str | Mapping[str, Any], value: Any = _ONE_VALUE) -> Scene:
        """A scene with one key of its file changed, or with many, loaded and checked anew.

        key      dotted as in the file, entries of lists by their names: "screen.width_m", 'seat."front left".eye_m',
                 "room.finish.ceiling", "light.lamp.screen_lx" (a new state is made); or a mapping of such keys to values
        value    as the file would hold it, lengths in the unit the key names; a Fabric or a Finish where one belongs
        raises   SceneErrors: all that is wrong with the changed scene, or a key that leads nowhere
        Source: `load_scene`.
        """
        from .change import changed_scene

        if isinstance(key, Mapping):
            if value is not _ONE_VALUE:
                raise TypeError("change takes a key and its value, or one mapping of keys to values")
            return changed_scene(cast("Scene", self), key)
        if value is _ONE_VALUE:
            raise TypeError(f"change: which value should {key} have?")
        return changed_scene(cast("Scene", self), {key: value})

    def with_fabric(self, fabric: str | Fabric | Mapping[str, Any]) -> Scene:
        """Another fabric: a library name, a Fabric, or the keys of [screen.fabric]. raises SceneErrors"""
        return self.change("screen.fabric", fabric)

    @takes(surface=TEXT)
    def with_finish(self, surface: str, finish: str | float | Sequence[float] | Finish | Mapping[str, Any]) -> Scene:
        """Another finish on a wall, "ceiling", "floor", an object, or "border".

        finish  a library name, a grey reflectance or linear RGB [1], a Finish, or the keys of a finish table
        raises  SceneErrors, also for a surface the scene does not have
        """
        from .change import surface_key

        if is_list(finish):
            finish = {"reflectance": [float(part) if is_number(part) else part for part in finish]}
        return self.change({surface_key(cast("Scene", self), surface): finish})

    @takes(name=TEXT, eye_m=Kind(NUMBERS.fits, "a list of three numbers"))
    def with_seat(self, name: str, eye_m: Sequence[float]) -> Scene:
        """A seat's eye moved to [right, out, up] [m]. raises SceneErrors"""
        from ..materials.text.toml_text import toml_key

        return self.change(f"seat.{toml_key(name)}.eye_m", [float(part) for part in eye_m])

    def with_hang(self, hang: str) -> Scene:
        """Hung another way: "pull-down", "motorised", "tab-tensioned" or "fixed frame"; folds follow the hang. raises SceneErrors"""
        return self.change("screen.hang", hang)

    def with_fold_scale(self, factor: float) -> Scene:
        """The estimated folds of the hang times a factor [1], low, typical and high alike; they stay an estimate. raises SceneErrors"""
        return self.change("screen.hanging.amplitude_scale", factor)

    def with_light_output(self, light_output_lm: float) -> Scene:
        """Another light output [lm]. raises SceneErrors"""
        return self.change("projector.light_output_lm", light_output_lm)

    def to_toml(self) -> str:
        """The scene as a file would hold it, comments lost; `scene_from_text` reads it back.

        raises  SceneErrors for a scene put together in code, or with a fabric whose numbers stand in no table
        """
        from .change import scene_text

        return scene_text(cast("Scene", self))
