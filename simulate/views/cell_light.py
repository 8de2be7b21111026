"""The light on a room's surfaces cell by cell, as drawings of the room in 3-D show it."""

from __future__ import annotations

import numpy as np

from ...materials.dataclass import dataclass
from ..measuring.colour import luminance
from ..measuring.flatten import SceneArrays
from .roomlight import RoomLight
from .texture import Texture, cell_places


@dataclass(frozen=True)
class CellLight:
    """What a drawing needs of a lit room: small enough to be handed to another process.

    texture  of the cells, of one channel, zero: where they lie
    lux      (T,) illuminance of the cells [lx], that of the cloth apart
    """

    arrays: SceneArrays
    texture: Texture
    lux: np.ndarray


def cell_light(room: RoomLight) -> CellLight:
    """Illuminance of a solved room's cells [lx], as a luminance-weighted mean of the channels. Source: E = pi L / rho."""
    arrays, texture = room.arrays, room.values.radiance
    _, owner = cell_places(arrays.geometry, texture)
    rho = room.reflectance[arrays.geometry.surface[owner]]
    lux = np.pi * np.divide(texture.value, rho, out=np.zeros_like(rho), where=rho > 0.0)
    return CellLight(arrays, texture._replace(value=np.zeros((len(lux), 1))), luminance(lux))
