"""What one seat sees of the cloth: the projector's own light, what the room sends back, and even light, as small maps."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from ...materials.lobes.albedo import directional_albedos
from ...scenes.cloth.surface import Level, cloth_of
from ...scenes.head import HEAD_RADIUS_M
from ...scenes.model import Scene
from ..folds.maps import SeatMap, seat_maps
from ..folds.readings import FoldReading, map_reading, pixel_pitch_m, reading_grid
from ..light.direct import cloth_points, direct_light, directions_to
from ..light.patches import frozen
from ..measuring.flatten import SceneArrays
from ..views.camera import Camera, seat_camera
from ..views.gather import GatherPoints, gather, ray_table
from ..views.primary_rays import HEAD
from ..views.shade import HEAD_REFLECTANCE
from .lightmap import Lit

DIRECT = 49, 28  # places across and down of the projector's own light
BACK = 17, 10  # of what the room sends back
RAYS = 256
HEAD_GRID = 9, 13  # corners of a head from pole to pole and round
HEAD_RAYS, MOST_HEADS = 64, 40
_INSET = 1e-6  # the picture's edge belongs to it


@dataclass(frozen=True)
class ScreenSight:
    """Maps over the picture, top row first, first and last places on its edges.

    direct   (28, 49) of full white by the projector's own light, flat cloth, tint apart [cd/m2]
    even     (28, 49) luminance factor for even light [1]
    """

    direct: np.ndarray
    even: np.ndarray


def screen_sight(arrays: SceneArrays, seat: int) -> ScreenSight:
    """The maps of one seat, flat cloth [cd/m2]. Source: L = gain E / pi; reciprocity for even light."""
    across, upward = _places(arrays, *DIRECT)
    cloth = cloth_points(arrays.geometry, arrays.projector, across, upward)
    ways = directions_to(cloth, arrays.eyes[seat : seat + 1])
    gain, lux = direct_light(arrays.projector, cloth, ways, arrays.fabric)
    even = directional_albedos(arrays.fabric, np.ascontiguousarray(ways[:, 0]))
    shape = DIRECT[::-1]
    return ScreenSight((gain[:, 0] * lux / math.pi).reshape(shape), np.asarray(even).reshape(shape))


def sent_back(lit: Lit, seat: int, *, threads: int = 1, seed: int = 1) -> np.ndarray:
    """What the room's light adds to the cloth towards a seat, (10, 17, 3) [cd/m2], tint included. Source: `gather`."""
    arrays = lit.arrays
    across, upward = _places(arrays, *BACK)
    cloth = cloth_points(arrays.geometry, arrays.projector, across, upward)
    away = arrays.eyes[seat] - cloth.place
    away /= np.linalg.norm(away, axis=1, keepdims=True)
    points = GatherPoints(
        np.ascontiguousarray(cloth.place), np.ascontiguousarray(cloth.normal), cloth.patch, np.ascontiguousarray(away)
    )
    table = ray_table(RAYS, seed)
    values = lit.room.values
    found = gather(arrays.geometry, arrays.projector, arrays.fabric, values, points, table, threads=threads)
    return np.broadcast_to(found, (len(found), 3)).reshape(*BACK[::-1], 3)


def on_heads(lit: Lit, *, threads: int = 1, seed: int = 1) -> np.ndarray:
    """What viewers' heads send, (seats, corners, 3) [cd/m2] at the corners of `head_corners`. Source: as `shade.arriving`."""
    arrays, way = lit.arrays, head_corners()
    count = len(arrays.eyes[:MOST_HEADS])
    normal = np.tile(way, (count, 1))
    place = np.repeat(arrays.eyes[:count], len(way), axis=0) + HEAD_RADIUS_M * normal
    patch = np.repeat(HEAD - np.arange(count), len(way)).astype(np.int32)
    points = GatherPoints(np.ascontiguousarray(place), normal, patch, normal)
    values, table = lit.room.values, ray_table(HEAD_RAYS, seed)
    found = HEAD_REFLECTANCE * gather(arrays.geometry, arrays.projector, arrays.fabric, values, points, table, threads=threads)
    return np.broadcast_to(found, (len(found), 3)).reshape(count, len(way), 3)


@cache
def head_corners() -> np.ndarray:
    """Directions (n, 3) of the corners of a head as it is drawn, inside frame: a ring grid from pole to pole."""
    down, round_ = np.meshgrid(np.linspace(0.0, np.pi, HEAD_GRID[0]), np.linspace(0.0, 2.0 * np.pi, HEAD_GRID[1]), indexing="ij")
    ways = np.stack([np.sin(down) * np.cos(round_), np.sin(down) * np.sin(round_), np.cos(down)], axis=-1)
    return frozen(np.ascontiguousarray(ways.reshape(-1, 3)))


def _places(arrays: SceneArrays, columns: int, rows: int) -> tuple[np.ndarray, np.ndarray]:
    """Even places on the picture, edges included, row by row from the top [m]."""
    left, right, bottom, top = arrays.projector.picture
    x, y = np.meshgrid(np.linspace(_INSET, 1.0 - _INSET, columns), np.linspace(_INSET, 1.0 - _INSET, rows))
    return (left + (right - left) * x).ravel(), (top - (top - bottom) * y).ravel()


@dataclass(frozen=True)
class LiveFoldSight:
    """One seat's map of the folded cloth, and what an eye makes of it."""

    map: SeatMap
    reading: FoldReading


def fold_sight(scene: Scene, seat: int, level: Level, white_cd_m2: float, *, threads: int = 1) -> LiveFoldSight | None:
    """Folds of a level as one seat sees them; None for a flat cloth.

    white_cd_m2  luminance of white there [cd/m2], for the eye's sensitivity
    Source: `seat_maps`, `map_reading`, as `measure` reads them.
    """
    cloth = cloth_of(scene.screen, level)
    if cloth.flat:
        return None
    one = replace(scene, seats=(scene.seats[seat],))
    grid = reading_grid(one, cloth)
    seen = seat_maps(one, cloth, grid, threads=threads)[0]
    return LiveFoldSight(seen, map_reading(seen, grid, white_cd_m2, pixel_pitch_m(one)))


def view_camera(scene: Scene, seat: int) -> Camera:
    """The camera of `picture` at a seat, for its direction and field [m, deg]. Source: `seat_camera`."""
    return seat_camera(scene, seat)
