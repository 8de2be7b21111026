"""Blocks of a seat's picture, edges included, against path tracing."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from halfgain.simulate.light.geometry import SCREEN
from halfgain.simulate.measuring.colour import luminance
from halfgain.simulate.views.brute import brute_force
from halfgain.simulate.views.camera import Camera
from halfgain.simulate.views.gather import GatherPoints
from halfgain.simulate.views.primary_rays import HEAD, look
from halfgain.simulate.views.render import PictureSetup, zone_levels
from halfgain.simulate.views.shade import HEAD_REFLECTANCE

BLOCK, PARTS = 20, 80


class Traced(NamedTuple):
    """Luminance of a block by path tracing and its standard error [cd/m2]."""

    value: float
    error: float


def trace_block(
    stage: PictureSetup, camera: Camera, row: int, column: int, *, paths: int, seed: int = 1, threads: int = 1
) -> Traced:
    """The block's mean under the white picture: a point drawn in each of PARTS x PARTS parts, `paths` paths from each.

    The projector's own light is exact at each point. Source: `brute_force`, which interpolates nothing.
    """
    arrays = stage.arrays
    rng = np.random.default_rng((seed, row, column))
    i, j = (part.ravel() for part in np.mgrid[0:PARTS, 0:PARTS])
    down, across = ((part + rng.random(PARTS * PARTS)) * BLOCK / PARTS - 0.5 for part in (i, j))
    rays = camera.rays(BLOCK * column + across, BLOCK * row + down)
    seen = look(arrays.geometry, arrays.projector, arrays.fabric, camera.eye, rays)
    patch = np.maximum(seen.patch, 0)
    cloth = (seen.patch >= 0) & (arrays.geometry.role[patch] == SCREEN)
    rho = np.where(cloth[:, None], np.array(arrays.fabric.tint), arrays.reflectance[arrays.geometry.surface[patch]])
    rho[seen.patch <= HEAD] = HEAD_REFLECTANCE
    own = luminance((seen.gain * seen.lux / np.pi)[:, None] * rho)
    use = np.flatnonzero(((seen.patch >= 0) | (seen.patch <= HEAD)) & (rho.max(axis=1) > 0.0))
    if not len(use):
        return Traced(float(own.mean()), 0.0)
    points = GatherPoints(seen.place[use], seen.normal[use], seen.patch[use], -rays[use])
    levels = zone_levels(stage.scene, stage.content)
    light, error = brute_force(arrays, levels, points, paths=paths, seed=int(rng.integers(1 << 40)), threads=threads)
    factor = np.where(cloth[use][:, None], 1.0, rho[use])
    squares = luminance(error * factor) ** 2  # the channels of one path err alike
    return Traced(float((own.sum() + luminance(light * factor).sum()) / PARTS**2), float(np.sqrt(squares.sum()) / PARTS**2))


def every_ninth(camera: Camera) -> list[tuple[int, int]]:
    """Rows and columns of one block in nine of a camera's view, moved by a column from one row to the next."""
    rows, columns = camera.height // BLOCK, camera.width // BLOCK
    return [(i, j) for i in range(1, rows, 3) for j in range((1 - i // 3) % 3, columns, 3)]


def blocks_of(image: np.ndarray) -> np.ndarray:
    """Mean luminance (rows, columns) of the blocks of an image (H, W, 3) [cd/m2]."""
    height, width = (n // BLOCK * BLOCK for n in image.shape[:2])
    y = luminance(image[:height, :width])
    return y.reshape(height // BLOCK, BLOCK, width // BLOCK, BLOCK).mean(axis=(1, 3))
