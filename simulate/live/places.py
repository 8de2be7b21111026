"""What of a scene stands where, as keys: scenes of one key share light paths, or light maps, whatever their finishes and lumens.

Keys are of everything but what is known not to matter, so that a part of a scene that is yet to come counts until it is left out here.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from ...materials.finish import Finish
from ...scenes.cloth.hanging import Hang
from ...scenes.cloth.surface import Drape, cloth_of
from ...scenes.digest import digest_of
from ...scenes.model import Projector, Scene, Screen
from ..light.projector import OBSTRUCTED
from ..measuring.flatten import SceneArrays

_BARE = Finish("bare", (0.0, 0.0, 0.0))
_NOWHERE = (0.0, 0.0, 0.0)


def geometry_key(scene: Scene) -> str:
    """What tells one geometry of light paths from another; seats, and the lens of a flat screen, are not in it.

    Source: as `answers.geometry_match`, from the scene itself, so that a repaint need not lower it first.
    """
    lens = _NOWHERE if cloth_of(scene.screen).flat else scene.projector.lens_m
    return digest_of((_room(scene), _screen(scene.screen), replace(_lamp_apart(scene.projector), lens_m=lens)))


def places_key(scene: Scene) -> str:
    """What must be alike for two scenes of one geometry to share lowered arrays: seats, lens, fall-off, and lamps that burn."""
    burning = sorted(
        {name for light in scene.lights for share in (light.lamps, light.windows) for name in share if share[name] > 0.0}
    )
    blinds = sorted((light.name, list(light.blinds_down)) for light in scene.lights if light.blinds_down)
    seats = [list(seat.eye_m) for seat in scene.seats]
    return digest_of(
        (seats, _lamp_apart(scene.projector), scene.lamps, scene.windows, burning, blinds, list(scene.room.finishes))
    )


def map_key(scene: Scene, arrays: SceneArrays) -> str:
    """What tells one light map from another: the cloth flat, lens and fabric in it; seats only where heads stand in the beam."""
    heads = [list(seat.eye_m) for seat in scene.seats] if arrays.projector.flags[OBSTRUCTED] else []
    flat = replace(_screen(scene.screen), hang=Hang.FIXED_FRAME, drape=Drape())
    fabric = tuple(np.asarray(part) for part in arrays.fabric)
    return digest_of((_room(scene), flat, _lamp_apart(scene.projector), heads, fabric))


def _room(scene: Scene) -> Any:
    """The room, its things and parts without finishes."""
    room = scene.room
    return room.with_finishes(dict.fromkeys(room.finishes, _BARE))


def _screen(screen: Screen) -> Any:
    """The screen without fabric and finish."""
    return replace(screen, fabric=None, border_finish=_BARE)  # type: ignore[arg-type]


def _lamp_apart(projector: Projector) -> Projector:
    """The projector without what only scales its light or lifts its black."""
    return replace(projector, light_output_lm=1.0, in_use=None, native_contrast=2.0, checkerboard_contrast=None)
