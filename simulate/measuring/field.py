"""The whole picture from its 25 gathering points: direct light exactly on a fine grid, returned light interpolated."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..light.direct import cloth_points, direct_light, directions_to
from ..light.lampdirect import LampDirect
from .flatten import SceneArrays
from .interpolation import InterpolatedLight, through
from .lamp_sums import lamps_on
from .places import EDGE_INSET
from .solver import MeasuringPoints

COLUMNS, ROWS = 64, 36
GRID = slice(0, COLUMNS * ROWS)  # the grid's places in a Field
EDGES = slice(GRID.stop, GRID.stop + 2)  # left and right of the middle, EDGE_INSET of the picture's width in from its edges
_PATTERN = np.stack(np.meshgrid([-1, -0.5, 0, 0.5, 1], [-1, -0.5, 0, 0.5, 1]), axis=-1).reshape(-1, 2)  # round the best place
_SEATS_AT_ONCE = 8
EXTREMES = slice(EDGES.stop, None)  # for each seat the places of its least and greatest direct luminance


class Field(NamedTuple):
    """Places on the picture: a fine grid, two near its side edges, and where each seat has its least and greatest direct luminance.

    right, up  (n,) [m] from the screen's centre; GRID is COLUMNS x ROWS, row by row from the top, EDGES left and right as seen,
               EXTREMES two for each seat
    gain       (n, T) towards each seat for the projector's light [1];  direct_lx (n,) illuminance of the white picture [lx]
    lamps      direct light of the lamps that light states use; None: there are none
    surface    takes the returned light at the 25 points to each place, and bounds what that may be wrong by
    """

    right: np.ndarray
    up: np.ndarray
    gain: np.ndarray
    direct_lx: np.ndarray
    surface: InterpolatedLight
    lamps: LampDirect | None = None


def picture_field(arrays: SceneArrays, points: MeasuringPoints) -> Field:
    """Field of a scene's picture.

    points   the 25 points of the same scene
    returns  Field, places [m]
    raises   ValueError where no place of the picture lies on the cloth
    Source: interpolation.py for the returned light; the direct light, whose edges are sharp, is exact.
    """
    left, right, bottom, top = arrays.projector.picture
    row, column = np.divmod(np.arange(COLUMNS * ROWS), COLUMNS)
    across = left + (right - left) * (column + 0.5) / COLUMNS
    upward = top - (top - bottom) * (row + 0.5) / ROWS
    extreme = _extremes(arrays, across, upward)
    inset, half_way = EDGE_INSET * (right - left), 0.5 * (bottom + top)
    across = np.concatenate([across, [left + inset, right - inset], extreme[:, 0]])
    upward = np.concatenate([upward, [half_way, half_way], extreme[:, 1]])
    cloth = cloth_points(arrays.geometry, arrays.projector, across, upward)
    seats = directions_to(cloth, arrays.eyes)
    gain, lux = direct_light(arrays.projector, cloth, seats, arrays.fabric)
    places = np.stack([across, upward], axis=1)
    surface = through(np.stack([points.right, points.up], axis=1) / (right - left), places / (right - left))
    return Field(across, upward, gain, lux, surface, lamps_on(arrays, cloth, seats, across, upward, fine=False))


def _direct(arrays: SceneArrays, seats: slice, across: np.ndarray, upward: np.ndarray) -> np.ndarray:
    """Direct luminance factor x illuminance of places towards seats, (n, seats); NaN where the light misses the cloth."""
    cloth = cloth_points(arrays.geometry, arrays.projector, across, upward)
    gain, lux = direct_light(arrays.projector, cloth, directions_to(cloth, arrays.eyes[seats]), arrays.fabric)
    return np.where(cloth.patch[:, None] >= 0, gain * lux[:, None], np.nan)


def _extremes(arrays: SceneArrays, across: np.ndarray, upward: np.ndarray) -> np.ndarray:
    """Places (2 T, 2) on the cloth of each seat's least and greatest direct luminance, edges of the picture included.

    Source: grid search, then a 5 x 5 pattern round the best place, halved 20 times; the edge belongs to the picture.
    """
    left, right, bottom, top = arrays.projector.picture
    x, y = np.meshgrid(np.linspace(left, right, 33), np.linspace(bottom, top, 19))
    inset = 1e-9 * (right - left)
    low, high = np.array([left + inset, bottom + inset]), np.array([right - inset, top - inset])
    grid = np.clip(np.stack([np.concatenate([across, x.ravel()]), np.concatenate([upward, y.ravel()])], axis=1), low, high)
    found = []
    for first in range(0, len(arrays.eyes), _SEATS_AT_ONCE):
        seats = slice(first, first + _SEATS_AT_ONCE)
        values = _direct(arrays, seats, grid[:, 0], grid[:, 1]).T
        many = np.arange(2 * len(values)) // 2  # the seat of each place that is looked for
        sign = np.tile([-1.0, 1.0], len(values))[:, None]
        place, step = grid[np.nanargmax(sign * values[many], axis=1)], np.array([right - left, top - bottom]) / 32
        for _ in range(20):
            some = np.clip(place[:, None] + step * _PATTERN, low, high)
            values = _direct(arrays, seats, some[..., 0].ravel(), some[..., 1].ravel()).reshape(len(many), len(_PATTERN), -1)
            own = values[np.arange(len(many)), :, many]
            place, step = some[np.arange(len(many)), np.nanargmax(sign * own, axis=1)], step * 0.5
        found.append(place)
    return np.concatenate(found)
