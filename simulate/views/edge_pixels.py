"""Pixels across edges: the mean of many rays, each lit as its own surface is."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from .camera import Camera
from .content import Sampler
from .gather import ray_table
from .primary_rays import Seen
from .shade import PictureSetup, arriving, colours, surface_key, told

SLIVER_RAYS = 128
_SAMPLES = 4  # a side
_NEAR = ((0, 1), (1, 0), (0, -1), (-1, 0), (1, 1), (1, -1), (-1, 1), (-1, -1))


def edges(key: np.ndarray, lit: np.ndarray) -> np.ndarray:
    """True for pixels (H, W) beside which another surface, or an edge of the projector's light, begins."""
    both = 2 * key + lit
    edge = np.zeros(key.shape, bool)
    for axis in (0, 1):
        change = np.diff(both, axis=axis) != 0
        first, second = [slice(None)] * 2, [slice(None)] * 2
        first[axis], second[axis] = slice(0, -1), slice(1, None)
        edge[tuple(first)] |= change
        edge[tuple(second)] |= change
    return edge


def smooth_edges(
    stage: PictureSetup,
    camera: Camera,
    key: np.ndarray,
    light: np.ndarray,
    edge: np.ndarray,
    content: tuple[Sampler, tuple[np.ndarray, np.ndarray]],
    threads: int,
    met: Callable[[np.ndarray], Seen],
) -> np.ndarray:
    """Luminance [cd/m2] (n, 3) of the pixels on edges (H, W), row by row: means of 4 x 4 rays.

    key, light  of the pixels, (H, W) and (H, W, C): what was asked;  content  what is shown, and the pixels' footprints on it
    Light that is asked is that of the nearest pixel of a ray's surface. A surface that no pixel's middle lies on, a sliver, is
    asked once for each pixel it shows in.
    """
    row, column = np.nonzero(edge)
    if not len(row):
        return np.zeros((0, 3))
    a, b = (part.reshape(-1, 1) for part in np.mgrid[0:_SAMPLES, 0:_SAMPLES])
    right, down = ((j + (i + 0.5) / _SAMPLES) / _SAMPLES - 0.5 for i, j in ((a, b), (b, a)))  # no two in one row or column
    rays = camera.rays((column + right).ravel(), (row + down).ravel())
    seen = met(rays)
    wanted = surface_key(stage.arrays, seen, stage.lamps, rays)
    pixel = np.tile(np.arange(len(row)), _SAMPLES**2)
    near, missed = _nearest_light(wanted, key, light, row[pixel], column[pixel])
    slivers = np.flatnonzero(missed)
    _, first, which = np.unique(pixel[slivers] + len(row) * wanted[slivers], return_index=True, return_inverse=True)
    table = ray_table(SLIVER_RAYS, stage.seed)
    near[slivers] = arriving([stage], seen, rays, slivers[first], table, threads)[0][which.ravel()]
    near += told(stage, seen, threads)[0]
    sampler, footprint = content
    size = tuple(part[row * key.shape[1] + column][pixel] / _SAMPLES for part in footprint)
    found = colours(stage, seen, rays, near, sampler, (size[0], size[1]), threads)
    return np.asarray(found.reshape(_SAMPLES**2, len(row), 3).mean(axis=0))


def _nearest_light(
    wanted: np.ndarray, key: np.ndarray, light: np.ndarray, row: np.ndarray, column: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Light of the pixel itself or of the neighbour that lies on the wanted surface; and where neither does, on any surface."""
    out, open_ = light[row, column], np.flatnonzero(key[row, column] != wanted)
    for i, j in _NEAR:
        y, x = np.clip(row[open_] + i, 0, key.shape[0] - 1), np.clip(column[open_] + j, 0, key.shape[1] - 1)
        use = key[y, x] == wanted[open_]
        out[open_[use]] = light[y[use], x[use]]
        open_ = open_[~use]
    missed = np.zeros(len(row), bool)
    missed[open_] = wanted[open_] >= 0
    return out, missed
