"""Cells whose middle lies under or in a body of any shape: they see nothing, but light is told across them, so they look from an open place."""

from __future__ import annotations

import math

import numpy as np

from ...materials.kernels.jit import kernel
from ..light import workers
from ..light.displaced_screen import normal_on
from ..light.geometry import STACK, Geometry, nearest_hit
from ..light.readonly import read_only
from ..light.vectors import dot, row, tangents, to_world
from .layout import cut_patches

_RAYS = 64


@kernel
def note_covered(geometry, eyes, patch, rays, out, stack, low, high):
    """Write 1 into out (T,) for the eyes low .. high - 1 that see black backs alone, else 0; eyes (T, 3) [m] on patch (T,).

    rays (R, 3) about the normal [1];  stack  int32 (STACK,), scratch.  Source: nearest hits.
    """
    for i in range(low, high):
        start = np.int64(patch[i])
        n = row(geometry.normal, start)
        right, up = tangents(n)
        out[i] = 1
        for k in range(rays.shape[0]):
            way = to_world(row(rays, k), right, up, n)
            _, end, u, v = nearest_hit(geometry, row(eyes, i), way, start, stack)
            if end >= 0 and dot(normal_on(geometry, end, u, v), way) < 0.0:
                out[i] = 0
                break


def open_cells(geometry: Geometry, place: np.ndarray, eyes: np.ndarray, owner: np.ndarray, *, threads: int = 1) -> np.ndarray:
    """From where each cell looks: its own number (T,), or that of the nearest cell of its patch that sees anything.

    place  (T, 3) middles of the cells, eyes (T, 3) from where they see [m];  owner  (T,) their patches
    Where no patch is cut cells end at all that stands on them, and none lies partly under a body. Source: `note_covered`.
    """
    found = np.arange(len(place))
    if not cut_patches(geometry).any():
        return found
    covered = np.zeros(len(place), np.uint8)
    read = read_only((geometry, eyes, owner, _directions()))
    workers.in_ranges(lambda low, high: note_covered(*read, covered, np.empty(STACK, np.int32), low, high), len(place), threads)
    for patch in np.unique(owner[covered > 0]):
        on = owner == patch
        open_ = np.flatnonzero(on & (covered == 0))
        for cell in np.flatnonzero(on & (covered > 0)) if len(open_) else ():
            found[cell] = open_[((place[open_] - place[cell]) ** 2).sum(axis=1).argmin()]
    return found


def _directions() -> np.ndarray:
    """Even over the cosine-weighted half space, (R, 3) unit, z along the normal. Source: Vogel's spiral (1979)."""
    k = np.arange(_RAYS)
    far, turn = np.sqrt((k + 0.5) / _RAYS), math.pi * (3.0 - math.sqrt(5.0)) * k
    return np.stack([far * np.cos(turn), far * np.sin(turn), np.sqrt(1.0 - far**2)], axis=1)
