"""What a ledger belongs to: the geometry of a scene, by name, so that a refusal can say what differs."""

from __future__ import annotations

import hashlib
from typing import Any

import numpy as np

from ...scenes.digest import digest_of
from ...scenes.geometry import raster
from ...scenes.model import Body, Scene
from ..measuring.flatten import SceneArrays

CLOTH = "the cloth's shape (hang, folds)"
FILM = "the film (projector.film)"
SHAPE, PART = "the shape of ", "the place of part "
LENS, SEAT = "projector.lens_m", "seat "


def geometry_of(scene: Scene, arrays: SceneArrays) -> dict[str, Any]:
    """A scene's geometry by name: numbers [m] and lists of them, and a digest of all that moves light paths.

    Reflectances, fabric, lumens, contrasts and light states are not in it; seats and lens are named, and not in the digest.
    Source: derived; paths start at the picture's points on the cloth and follow the cosine law. Seats (and their heads) and the
    lens enter what is read from them alone; only on folded cloth does the lens move the points too.
    """
    room, screen, area = scene.room, scene.screen, raster(scene)
    named: dict[str, Any] = {f"room.{key}": getattr(room, key) for key in ("width_m", "depth_m", "height_m")}
    named.update({f'object "{each.name}"': [*each.min_m, *each.max_m] for each in room.objects})
    if room.shell is not None:
        named[f"{SHAPE}the room"] = digest_of(room.shell)
    named.update({f'{SHAPE}"{each.name}"': digest_of(each.mesh) for each in room.objects if isinstance(each, Body)})
    named.update({f'{PART}"{part.name}"': digest_of((part.on, part.span_m)) for part in room.parts})
    keys = ("width_m", "height_m", "bottom_m", "right_m", "gap_to_wall_m", "border_m")
    named.update({f"screen.{key}": getattr(screen, key) for key in keys})
    named[LENS] = list(scene.projector.lens_m)
    named["the raster (projector.pixels, projector.fit)"] = list(area)
    film = scene.projector.film
    if film is not None:
        named[FILM] = digest_of((film.aspect, film.shown, film.masked))
    named.update({f'{SEAT}"{seat.name}"': list(seat.eye_m) for seat in scene.seats})
    digest = hashlib.sha256()
    points = (arrays.projector.lens,) if arrays.geometry.relief else ()
    for array in (*arrays.geometry, arrays.projector.raster, arrays.projector.picture, *points):
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
    """What moves light paths between two geometries, one phrase each; empty when the ledger belongs to the scene.

    Seats do not, the lens does where the cloth is folded. The digest speaks only where no named measure differs.
    """
    found = []
    for name in dict.fromkeys((*kept, *now)):
        if name in (CLOTH, LENS) or name.startswith(SEAT) or (name == FILM and kept.get(CLOTH) == now.get(CLOTH)):
            continue
        if name not in now:
            found.append(f"{name} is in the ledger and not in the scene")
        elif name not in kept:
            found.append(f"{name} is in the scene and not in the ledger")
        elif kept[name] != now[name] and isinstance(now[name], str):
            found.append(f"{name} differs")
        elif kept[name] != now[name]:
            found.append(f"{name} is {_text(now[name])}, in the ledger {_text(kept[name])}")
    if not found and kept.get(CLOTH) != now.get(CLOTH):
        moved = LENS in kept and kept[LENS] != now.get(LENS)
        found.append(f"{LENS} differs, which moves paths of folded cloth, or {CLOTH}" if moved else f"{CLOTH} differs")
    return found


def _text(value: Any) -> str:
    return "[" + ", ".join(f"{part:g}" for part in value) + "]" if isinstance(value, list) else f"{value:g}"
