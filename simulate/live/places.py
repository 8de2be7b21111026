"""What of a scene stands where, as keys: scenes of one key share light paths, or light maps, whatever their finishes and lumens.

Keys are of everything but what is known not to matter, so that a part of a scene that is yet to come counts until it is left out here.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import replace
from functools import wraps

from ...materials.finish import Finish
from ...scenes.cloth.hanging import Hang
from ...scenes.cloth.surface import Drape, cloth_of
from ...scenes.digest import digest_of
from ...scenes.model import Projector, Scene, Screen
from ..light.projector import OBSTRUCTED
from ..measuring.flatten import SceneArrays

_BARE = Finish("bare", (0.0, 0.0, 0.0))
_NOWHERE = (0.0, 0.0, 0.0)
_LAST_SCENES = 32


def _kept(key: Callable[[Scene], str]) -> Callable[[Scene], str]:
    """A key that is worked out once for each of the last scenes, which are told by the digest of their file."""
    last: OrderedDict[str, str] = OrderedDict()

    @wraps(key)
    def once(scene: Scene) -> str:
        if scene.sha256 not in last:
            last[scene.sha256] = key(scene)
            while len(last) > _LAST_SCENES:
                last.popitem(last=False)
        return last[scene.sha256]

    return once


@_kept
def geometry_key(scene: Scene) -> str:
    """What tells one geometry of light paths from another; seats, and the lens of a flat screen, are not in it.

    Source: as `answers.geometry_match`, from the scene itself, so that a repaint need not lower it first.
    """
    lens = _NOWHERE if cloth_of(scene.screen).flat else scene.projector.lens_m
    return digest_of((_room_key(scene), _screen_key(scene), replace(_lamp_apart(scene.projector), lens_m=lens)))


def places_key(scene: Scene) -> str:
    """What must be alike for two scenes of one geometry to share lowered arrays: seats, and what `still_key` holds."""
    return digest_of((still_key(scene), [list(seat.eye_m) for seat in scene.seats]))


@_kept
def still_key(scene: Scene) -> str:
    """What must be alike for two scenes of one geometry to share a map of the lit screen: lens, fall-off, and lamps that burn."""
    burning = sorted(
        {name for light in scene.lights for share in (light.lamps, light.windows) for name in share if share[name] > 0.0}
    )
    blinds = sorted((light.name, list(light.blinds_down)) for light in scene.lights if light.blinds_down)
    return digest_of((_lamp_apart(scene.projector), scene.lamps, scene.windows, burning, blinds, list(scene.room.finishes)))


def map_key(scene: Scene, arrays: SceneArrays) -> str:
    """What tells one light map from another: the cloth flat, the lens in it; seats only where heads stand in the beam."""
    heads = [list(seat.eye_m) for seat in scene.seats] if arrays.projector.flags[OBSTRUCTED] else []
    flat = replace(_screen(scene.screen), hang=Hang.FIXED_FRAME, drape=Drape())
    return digest_of((_room_key(scene), flat, _lamp_apart(scene.projector), heads))


@_kept
def drawn_key(scene: Scene) -> str:
    """What tells one 3-D drawing of the room from another: room and cloth, whatever their finishes; people and lens apart."""
    return digest_of((_room_key(scene), _screen_key(scene)))


@_kept
def _room_key(scene: Scene) -> str:
    """The room, its things and parts without finishes."""
    room = scene.room
    return digest_of(room.with_finishes(dict.fromkeys(room.finishes, _BARE)))


@_kept
def _screen_key(scene: Scene) -> str:
    return digest_of(_screen(scene.screen))


def _screen(screen: Screen) -> Screen:
    """The screen without fabric and finish."""
    return replace(screen, fabric=None, border_finish=_BARE)  # type: ignore[arg-type]


def _lamp_apart(projector: Projector) -> Projector:
    """The projector without what only scales its light or lifts its black."""
    return replace(projector, light_output_lm=1.0, in_use=None, native_contrast=2.0, checkerboard_contrast=None)
