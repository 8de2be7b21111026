"""What one seat sees of the cloth: the projector's own light, what the room sends back, and even light, as small maps."""

from __future__ import annotations

import math
from dataclasses import field, replace

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.cloth.surface import Level, cloth_of
from ...scenes.model import Scene
from ..folds.maps import FoldGrid, SeatMap, seat_maps
from ..folds.readings import FoldReading, map_reading, pixel_pitch_m, reading_grid
from ..light.direct import cloth_points, direct_light, directions_to
from ..measuring.flatten import SceneArrays
from ..views.camera import Camera, seat_camera
from .even_light_map import even_light_map
from .lightmap import Lit
from .sights import places_on

DIRECT = 49, 28  # places across and down of the projector's own light


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
    across, upward = places_on(arrays, *DIRECT)
    cloth = cloth_points(arrays.geometry, arrays.projector, across, upward)
    ways = directions_to(cloth, arrays.eyes[seat : seat + 1])
    gain, lux = direct_light(arrays.projector, cloth, ways, arrays.fabric)
    shape = DIRECT[::-1]
    return ScreenSight((gain[:, 0] * lux / math.pi).reshape(shape), even_light_map(arrays, seat, *DIRECT))


def sent_back(lit: Lit, seat: int) -> np.ndarray:
    """What the room's light adds to the cloth towards a seat, (10, 17, 3) [cd/m2], tint included. Source: `Sights.back`."""
    return lit.sights.back(lit.for_sights, lit.arrays.eyes[seat])


def on_heads(lit: Lit) -> np.ndarray:
    """What viewers' heads send, (seats, corners, 3) [cd/m2] at the corners of `head_corners`. Source: `Sights.heads`."""
    return lit.sights.heads(lit.for_sights, lit.arrays.eyes)


@dataclass(frozen=True)
class FoldMap:
    """One seat's map of the folded cloth over a grid, for scene; readings of it that were made, by the step of white."""

    scene: Scene
    map: SeatMap
    grid: FoldGrid
    readings: dict[int, FoldReading] = field(default_factory=dict)

    def read(self, white_cd_m2: float) -> FoldReading:
        """What an eye makes of it at a white [cd/m2]. Source: `map_reading`, as `measure` reads them."""
        return map_reading(self.map, self.grid, white_cd_m2, pixel_pitch_m(self.scene))


def fold_map(scene: Scene, seat: int, level: Level, *, threads: int = 1) -> FoldMap | None:
    """Folds of a level as one seat sees them; None for a flat cloth. Source: `seat_maps`."""
    cloth = cloth_of(scene.screen, level)
    if cloth.flat:
        return None
    one = replace(scene, seats=(scene.seats[seat],))
    grid = reading_grid(one, cloth)
    return FoldMap(one, seat_maps(one, cloth, grid, threads=threads)[0], grid)


def view_camera(scene: Scene, seat: int) -> Camera:
    """The camera of `picture` at a seat, for its direction and field [m, deg]. Source: `seat_camera`."""
    return seat_camera(scene, seat)
