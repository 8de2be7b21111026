"""The scene as built: every key that the readings bear on, changed through the scene's own checks, with the reason."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from ...materials.dataclass import dataclass
from ...materials.fabric import PAIR_KINDS
from ...materials.finish import Finish
from ...materials.text.toml_text import toml_key
from ...scenes.errors import SceneErrors
from ...scenes.model import Scene
from ..measuring.flatten import BORDER
from ..measuring.targets import DARK
from .parameter import Parameter, ParameterKind
from .parameters import scene_key

if TYPE_CHECKING:
    from .check import Estimated

STRAY_STATE = "stray light"
AS_BUILT = "readings on site"
MOST = {ParameterKind.EVENNESS: 1.0, ParameterKind.REFLECTANCE: 1.0}  # that a scene file takes


@dataclass(frozen=True)
class KeyChange:
    """One key of the scene: what was stated, what it is now, by which estimate, and that in the estimate's unit."""

    key: str
    stated: Any
    now: Any
    by: Estimated
    value: float


@dataclass(frozen=True)
class Correction:
    """The scene as built, what was changed, and what could not be written (estimate and reason)."""

    scene: Scene
    changes: tuple[KeyChange, ...]
    left: tuple[tuple[Estimated, str], ...] = ()


def corrected(scene: Scene, values: Sequence[tuple[Estimated, float]]) -> Correction:
    """A scene with values of estimates in it [their units], one key after another; what no scene can hold is left as stated and told."""
    changes, left = [], []
    for each, found in values:
        value = min(found, MOST.get(each.parameter.kind, found))
        key, stated, now = _change(scene, each.parameter, value)
        if not key:
            left.append((each, "no key of a scene holds it"))
            continue
        try:
            scene = scene.change(key if isinstance(key, dict) else {key: now})
        except SceneErrors as fault:
            left.append((each, str(fault).splitlines()[0]))
            continue
        changes.append(KeyChange(next(iter(key)) if isinstance(key, dict) else key, stated, now, each, value))
    return Correction(scene, tuple(changes), tuple(left))


def _change(scene: Scene, parameter: Parameter, value: float) -> tuple[Any, Any, Any]:
    """Key, what is stated there, what is to stand there; no key where none holds it."""
    projector = scene.projector
    if parameter.kind is ParameterKind.LUMENS:
        share = value / projector.light_output_lm
        if share <= 1.0:
            return "projector.in_use", projector.in_use, _short(share)
        both = {"projector.light_output_lm": _short(value), "projector.in_use": 1.0}
        return both, projector.light_output_lm, _short(value)
    if parameter.kind is ParameterKind.GAIN:
        return _fabric(scene, value / scene.screen.fabric.gain)
    if parameter.kind is ParameterKind.REFLECTANCE:
        return _finish(scene, parameter, value)
    if parameter.kind is ParameterKind.EVENNESS:
        return "projector.corner_to_centre", projector.corner_to_centre, _short(value)
    if parameter.kind is ParameterKind.NATIVE:
        return "projector.native_contrast", projector.native_contrast, _short(value)
    if parameter.kind is ParameterKind.LENS:
        return "projector.checkerboard_contrast", projector.checkerboard_contrast, min(_short(value), projector.native_contrast)
    if any(light.name == parameter.what and light.traced for light in scene.lights):
        return "", None, None  # its lamps have levels of their own
    if parameter.what != DARK:
        return f"light.{toml_key(parameter.what)}.screen_lx", parameter.stated, max(0.0, _short(value))
    return (f"light.{toml_key(STRAY_STATE)}.screen_lx", None, _short(value))


def _fabric(scene: Scene, ratio: float) -> tuple[Any, Any, Any]:
    """A fabric that gives back everything by one factor: gain and albedo, or the diffuse part, alike."""
    fabric = scene.screen.fabric
    if fabric.stated is None or fabric.stated.get("gain") is None:
        return "", None, None
    table = {key: value for key, value in fabric.stated.items() if key not in ("albedo", "base_gain")}
    table |= {"name": f"{fabric.name}, as built", "gain": _short(fabric.gain * ratio), "source": AS_BUILT}
    if fabric.kind in PAIR_KINDS:
        table["albedo"] = min(1.0, _short(fabric.albedo * ratio))
    return "screen.fabric", fabric.gain, table


def _finish(scene: Scene, parameter: Parameter, luminous: float) -> tuple[Any, Any, Any]:
    finish = finish_of(scene, parameter.what)
    ratio = luminous / finish.luminous
    channels = [_short(min(1.0, channel * ratio)) for channel in finish.reflectance]
    table: dict[str, Any] = {
        "name": f"{finish.name}, as built",
        "reflectance": channels[0] if len(set(channels)) == 1 else channels,
    }
    if finish.absorption:
        table["absorption"] = {str(band): value for band, value in finish.absorption.items()}
    return scene_key(scene, parameter), _short(finish.luminous), table


def finish_of(scene: Scene, surface: str) -> Finish:
    """The finish of a wall, ceiling, floor, object, part or border."""
    return scene.screen.border_finish if surface == BORDER else scene.room.finishes[surface]


def _short(value: float) -> float:
    """Four digits: more no reading tells."""
    return float(f"{value:.4g}")
