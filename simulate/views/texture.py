"""Radiance of the room's surfaces on the cells of `layout.py`, read between their middles but never across a line."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from ..light import workers
from ..light.geometry import SCREEN, Geometry, is_pieced, place_on
from ..light.patches import frozen
from ..light.projector import ProjectorArrays
from ..light.readonly import read_only
from ..light.small import alike
from ..light.vectors import row
from .layout import CELL_M, cells_on

BINS = 64


class Texture(NamedTuple):
    """Values at the middles of cells on the patches.

    first            (P,) int32, first cell of a patch, -1 for one that has none (the cloth)
    count_u/count_v  (P,) int32, cells along u and along v
    half_u/half_v    (P,) int32, start of the patch's half cells in the four arrays that follow
    low              (H,) where a half cell begins [1], rising along an edge; after the last one comes 2
    base             (H,) int32, the cell from which the straight line through it starts
    middle, slope    (H,) that cell's middle [1], and one over the way to the next cell's; slope 0: the value is even
    bins             (2 P BINS,) int16, half cell that holds the start of each of BINS even steps, u before v
    bound_u/bound_v  (P,) int32, start of the patch's cell bounds in `bound` (B,) [1]
    shared           (S,) int32, patches that stand for the last S cells, each shared by small patches near by and turned alike
    value            (T, C) of all cells, v running fastest [cd/m2]
    """

    first: np.ndarray
    count_u: np.ndarray
    count_v: np.ndarray
    half_u: np.ndarray
    half_v: np.ndarray
    low: np.ndarray
    base: np.ndarray
    middle: np.ndarray
    slope: np.ndarray
    bins: np.ndarray
    bound_u: np.ndarray
    bound_v: np.ndarray
    bound: np.ndarray
    shared: np.ndarray
    value: np.ndarray

    def bounds(self, patch: int) -> list[np.ndarray]:
        """Places 0 .. 1 where the cells of a patch end, along u and along v [1]. Source: `cells_on`."""
        starts = ((self.bound_u, self.count_u), (self.bound_v, self.count_v))
        return [self.bound[int(start[patch]) : int(start[patch]) + int(count[patch]) + 1] for start, count in starts]

    def pieces(self, patch: int, axis: int) -> np.ndarray:
        """Number (n,) of the piece between two lines in which each cell along u (0) or v (1) lies. Source: half cells."""
        start, count = ((self.half_u, self.count_u), (self.half_v, self.count_v))[axis]
        cell = np.arange(int(count[patch]) - 1)
        upper = int(start[patch]) + 2 * cell + 1
        return np.concatenate([[0], np.cumsum((self.base[upper] != cell) | (self.slope[upper] == 0.0))])


def _half_cells(bounds: np.ndarray, pieces: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """low, base, middle and slope of the half cells along an edge, as Texture has them."""
    middle = 0.5 * (bounds[1:] + bounds[:-1])
    n = len(middle)
    cell = np.repeat(np.arange(n), 2)
    upper = np.tile([0, 1], n)
    before = np.concatenate([[False], pieces[1:] == pieces[:-1]])[cell]  # a neighbour on that side in the same piece
    after = np.concatenate([pieces[1:] == pieces[:-1], [False]])[cell]
    base = np.where((upper == 1) & after, cell, np.where(before, cell - 1, cell))
    single = ~before & ~after
    gap = middle[np.minimum(base + 1, n - 1)] - middle[base]
    slope = np.where(single, 0.0, 1.0 / np.where(gap > 0.0, gap, 1.0))
    low = np.stack([bounds[:-1], middle], axis=1).ravel()
    return np.append(low, 2.0), np.append(base, 0), np.append(middle[base], 0.0), np.append(slope, 0.0)


def small_patches(geometry: Geometry) -> np.ndarray:
    """Patches (n,) smaller than a cell, where there are pieces: they share cells. Source: `CELL_M`; never the cloth."""
    if not is_pieced(geometry):
        return np.zeros(0, int)
    longest = np.maximum((geometry.edge_u**2).sum(axis=1), (geometry.edge_v**2).sum(axis=1))
    return np.flatnonzero((longest < CELL_M**2) & (geometry.role != SCREEN))


def empty_texture(geometry: Geometry, projector: ProjectorArrays, channels: int) -> Texture:
    """A texture of zeros [cd/m2] on all patches but the cloth. Source: `cells_on`."""
    small = small_patches(geometry)
    return texture_of(geometry, cells_on(geometry, projector, small), small, channels)


def texture_of(
    geometry: Geometry, on: dict[int, list[tuple[np.ndarray, np.ndarray]]], small: np.ndarray, channels: int, *, spare: int = 0
) -> Texture:
    """A texture of zeros, in any unit, of the cells on patches as `cells_on` has them; small patches (n,) share cells; spare cells at the end."""
    count = len(geometry.role)
    whole = np.zeros((6, count), np.int32)
    first, cells, halves, bounds = np.full(count, -1, np.int32), 0, 0, 0
    parts: list[tuple[np.ndarray, ...]] = []
    ends: list[np.ndarray] = []
    bins = np.zeros((count, 2, BINS), np.int16)
    for i, both in on.items():
        first[i] = cells
        cells += len(both[0][1]) * len(both[1][1])
        for k, (bound, pieces) in enumerate(both):
            parts.append(_half_cells(bound, pieces))
            ends.append(bound)
            whole[k, i], whole[2 + k, i], whole[4 + k, i] = len(pieces), halves, bounds
            halves, bounds = halves + len(parts[-1][0]), bounds + len(bound)
            bins[i, k] = np.searchsorted(parts[-1][0], np.arange(BINS) / BINS, side="right") - 1
    shared = small[:0]
    if len(small):  # one cell each, whose half cells all of them share
        chosen, mine = alike(geometry, small, CELL_M)
        shared, first[small] = small[chosen], cells + mine
        parts.append(_half_cells(np.array([0.0, 1.0]), np.zeros(1, int)))
        ends.append(np.array([0.0, 1.0]))
        whole[:2, small], whole[2:4, small], whole[4:, small] = 1, halves, bounds
        bins[small] = np.searchsorted(parts[-1][0], np.arange(BINS) / BINS, side="right") - 1
        cells += len(shared)
    low, base, middle, slope = (np.concatenate(part) for part in zip(*parts, strict=True))
    lists = (first, *whole[:4], low, base.astype(np.int32), middle, slope, bins.ravel(), *whole[4:], np.concatenate(ends))
    lists = (*lists, shared.astype(np.int32))
    return Texture(*[*map(frozen, lists), np.zeros((cells + spare, channels))])


def cell_places(geometry: Geometry, texture: Texture) -> tuple[np.ndarray, np.ndarray]:
    """Middles of all cells (T, 3) [m] and the patch (T,) of each. Source: `Texture.bounds`."""
    places, owners = [], []
    for i in np.flatnonzero((texture.first >= 0) & (texture.first < len(texture.value) - len(texture.shared))):
        middles = [0.5 * (bound[1:] + bound[:-1]) for bound in texture.bounds(int(i))]
        a, b = (x.reshape(-1, 1) for x in np.meshgrid(*middles, indexing="ij"))
        places.append(geometry.corner[i] + a * geometry.edge_u[i] + b * geometry.edge_v[i])
        owners.append(np.full(a.size, i, np.int32))
    places.append(geometry.corner[texture.shared] + 0.5 * (geometry.edge_u[texture.shared] + geometry.edge_v[texture.shared]))
    return np.concatenate(places), np.concatenate([*owners, texture.shared])


@kernel
def half_cell(texture, patch, along, start, t):
    """Place in the half cells' arrays of the one that holds t 0 .. 1 [1] of a patch. Source: a table, then a short search upward."""
    h = np.int64(start) + texture.bins[(2 * patch + along) * BINS + min(max(int(t * BINS), 0), BINS - 1)]
    while texture.low[h + 1] <= t:
        h += 1
    return h


@kernel
def read_texture(texture, patch, u, v, out):
    """Value of the texture at (u, v) of a patch into out (C,) [cd/m2], at least 0. Source: bilinear; at lines the slope goes on."""
    first = texture.first[patch]
    if first < 0:
        for c in range(out.shape[0]):
            out[c] = 0.0
        return
    a = half_cell(texture, patch, 0, texture.half_u[patch], u)
    b = half_cell(texture, patch, 1, texture.half_v[patch], v)
    s, t = (u - texture.middle[a]) * texture.slope[a], (v - texture.middle[b]) * texture.slope[b]
    many = np.int64(texture.count_v[patch])
    k = np.int64(first) + texture.base[a] * many + texture.base[b]
    across = many if texture.slope[a] > 0.0 else np.int64(0)
    upward = np.int64(1) if texture.slope[b] > 0.0 else np.int64(0)
    for c in range(out.shape[0]):
        value = (1.0 - s) * ((1.0 - t) * texture.value[k, c] + t * texture.value[k + upward, c]) + s * (
            (1.0 - t) * texture.value[k + across, c] + t * texture.value[k + across + upward, c]
        )
        out[c] = max(value, 0.0)


def read_at(texture: Texture, geometry: Geometry, patch: np.ndarray, place: np.ndarray, *, threads: int = 1) -> np.ndarray:
    """Values (n, C) at places (n, 3) [m] on patches (n,), in the texture's unit; 0 where patch is negative or has no cells.

    Source: `read_texture`.
    """
    out = np.zeros((len(patch), texture.value.shape[1]))
    read = read_only((texture, geometry.plane, patch, place))
    workers.in_ranges(lambda low, high: read_places(*read, np.empty(out.shape[1]), out, low, high), len(out), threads)
    return out


@kernel
def read_places(texture, plane, patch, place, value, out, low, high):
    """`read_at` of the places low .. high - 1 into out (n, C), untouched where there are no cells; value (C,), scratch. Source: `read_texture`."""
    for i in range(low, high):
        k = np.int64(patch[i])
        if k >= 0 and texture.first[k] >= 0:
            u, v = place_on(plane, k, row(place, i))
            read_texture(texture, k, u, v, value)
            for c in range(value.shape[0]):
                out[i, c] = value[c]


@kernel
def drawn_cell(texture, patch, u, v, x, y):
    """One of the four cells between which (u, v) of a patch lies, by lot with the bilinear weights; x, y numbers in 0 .. 1 [1].

    returns  its number, -1 where the patch has none.  Source: the mean over many draws is the bilinear value; ends stay even.
    """
    first = texture.first[patch]
    if first < 0:
        return np.int64(-1)
    a = half_cell(texture, patch, 0, texture.half_u[patch], u)
    b = half_cell(texture, patch, 1, texture.half_v[patch], v)
    i, j = np.int64(texture.base[a]), np.int64(texture.base[b])
    if texture.slope[a] > 0.0 and x < (u - texture.middle[a]) * texture.slope[a]:
        i += 1
    if texture.slope[b] > 0.0 and y < (v - texture.middle[b]) * texture.slope[b]:
        j += 1
    return np.int64(first) + i * texture.count_v[patch] + j
