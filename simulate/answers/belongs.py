"""What a ledger belongs to: the geometry of a scene, by name, so that a refusal can say what differs."""

from __future__ import annotations

import hashlib
from typing import Any

import numpy as np

from ...scenes.geometry import raster
from ...scenes.model import Scene
from ..flatten import SceneArrays

CLOTH = "the cloth's shape (hang, folds)"


def geometry_of(scene: Scene, arrays: SceneArrays) -> dict[str, Any]:
    """All that moves light paths, by name: numbers [m] and lists of them, and a digest of every patch.

    Reflectances, fabric, lumens, contrasts and light states are not in it.
    Source: derived; paths start at the screen's points and follow the cosine law, so geometry alone decides them, seats, lens and
    raster what is read from them.
    """
    room, screen, area = scene.room, scene.screen, raster(scene)
    named: dict[str, Any] = {f"room.{key}": getattr(room, key) for key in ("width_m", "depth_m", "height_m")}
    named.update({f'object "{box.name}"': [*box.min_m, *box.max_m] for box in room.objects})
    keys = ("width_m", "height_m", "bottom_m", "right_m", "gap_to_wall_m", "border_m")
    named.update({f"screen.{key}": getattr(screen, key) for key in keys})
    named["projector.lens_m"] = list(scene.projector.lens_m)
    named["the raster (projector.pixels, projector.fit)"] = list(area)
    named.update({f'seat "{seat.name}"': list(seat.eye_m) for seat in scene.seats})
    digest = hashlib.sha256()
    for array in (*arrays.geometry, arrays.eyes, arrays.projector.lens, arrays.projector.raster, arrays.projector.picture):
        _digest(digest, array)
    named[CLOTH] = digest.hexdigest()
    return named


def _digest(digest: Any, part: Any) -> None:
    """Put an array, or the arrays of a tuple however deep, into a digest."""
    if isinstance(part, tuple):
        for each in part:
            _digest(digest, each)
        return
    digest.update(repr((np.shape(part), np.asarray(part).dtype.str)).encode())
    digest.update(np.ascontiguousarray(part).tobytes())


def differences(kept: dict[str, Any], now: dict[str, Any]) -> list[str]:
    """What differs between two geometries, one phrase each; empty when the ledger belongs to the scene.

    The digest of the patches speaks only where no named measure differs.
    """
    found = []
    for name in dict.fromkeys((*kept, *now)):
        if name == CLOTH:
            continue
        if name not in now:
            found.append(f"{name} is in the ledger and not in the scene")
        elif name not in kept:
            found.append(f"{name} is in the scene and not in the ledger")
        elif kept[name] != now[name]:
            found.append(f"{name} is {_text(now[name])}, in the ledger {_text(kept[name])}")
    if not found and kept.get(CLOTH) != now.get(CLOTH):
        found.append(f"{CLOTH} differs")
    return found


def _text(value: Any) -> str:
    return "[" + ", ".join(f"{part:g}" for part in value) + "]" if isinstance(value, list) else f"{value:g}"
