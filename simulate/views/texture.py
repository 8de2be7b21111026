"""Radiance of the room's surfaces on even cells, which rays read faster than the graded maps it is made from."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.jit import kernel
from ..light.geometry import SCREEN, Geometry
from ..light.mapgrid import MapGrid
from ..light.projector import Projector
from .nodes import NodeGrid

CELL_M = 0.08
BEHIND_M = 0.04  # cells behind the screen's plane, a hand's breadth from the wall
_MOST = 160


class Texture(NamedTuple):
    """Values at the middles of even cells on the patches.

    first            (P,) int32, first cell of a patch, -1 for one that has none (the cloth)
    count_u/count_v  (P,) int32, cells along u and along v
    split_u/split_v  (P,) place 0 .. 1 of the screen's plane on the patch, 0 where it does not cross: light jumps there
    before_u/before_v (P,) int32, cells before the split; reading never mixes the two sides
    value            (T, C) of all cells, v running fastest [cd/m2]
    """

    first: np.ndarray
    count_u: np.ndarray
    count_v: np.ndarray
    split_u: np.ndarray
    split_v: np.ndarray
    before_u: np.ndarray
    before_v: np.ndarray
    value: np.ndarray

    def middles(self, patch: int) -> list[np.ndarray]:
        """Places 0 .. 1 of the cells' middles on a patch, along u and along v [1]. Source: equal cells on each side of the split."""
        out = []
        for count, split, before in (
            (self.count_u, self.split_u, self.before_u), (self.count_v, self.split_v, self.before_v)
        ):  # fmt: skip
            n, at, k = int(count[patch]), float(split[patch]), int(before[patch])
            low = (np.arange(k) + 0.5) / max(k, 1) * at
            out.append(np.concatenate([low, at + (1.0 - at) * (np.arange(n - k) + 0.5) / (n - k)]))
        return out


def empty_texture(geometry: Geometry, projector: Projector, channels: int) -> Texture:
    """A texture of zeros [cd/m2] on all patches but the cloth, split at the screen's plane. Source: cells of about CELL_M."""
    patches = np.flatnonzero(geometry.role != SCREEN)
    counts, before = np.zeros((2, 2, len(geometry.role)), np.int32)
    split = np.zeros((2, len(geometry.role)))
    centre, normal = projector.frame[0], projector.frame[3]
    height = (geometry.corner - centre) @ normal  # of the corners over the screen's plane
    for k, edge in enumerate((geometry.edge_u, geometry.edge_v)):
        size = np.linalg.norm(edge[patches], axis=1)
        counts[k, patches] = np.clip(np.ceil(size / CELL_M), 2, _MOST)
        along = edge @ normal
        with np.errstate(divide="ignore", invalid="ignore"):
            place = -height / along
        crosses = (np.abs(along) > 0.999 * np.linalg.norm(edge, axis=1)) & (place > 1e-6) & (place < 1.0 - 1e-6)
        split[k] = np.where(crosses, place, 0.0)
        behind = np.clip(np.ceil(split[k] * np.linalg.norm(edge, axis=1) / BEHIND_M), 2, _MOST).astype(np.int32)
        ahead = np.maximum(counts[k] - np.floor(split[k] * counts[k]).astype(np.int32), 2)
        before[k], counts[k] = np.where(crosses, behind, 0), np.where(crosses, behind + ahead, counts[k])
    cells = counts[0] * counts[1]
    first = np.where(cells > 0, np.cumsum(cells) - cells, -1).astype(np.int32)
    values = np.zeros((int(cells.sum()), channels))
    return Texture(first, counts[0], counts[1], split[0], split[1], before[0], before[1], values)


def cell_places(geometry: Geometry, texture: Texture) -> tuple[np.ndarray, np.ndarray]:
    """Middles of all cells (T, 3) [m] and the patch (T,) of each. Source: `Texture.middles`."""
    places, owners = [], []
    for i in np.flatnonzero(texture.first >= 0):
        a, b = (x.reshape(-1, 1) for x in np.meshgrid(*texture.middles(int(i)), indexing="ij"))
        places.append(geometry.corner[i] + a * geometry.edge_u[i] + b * geometry.edge_v[i])
        owners.append(np.full(a.size, i, np.int32))
    return np.concatenate(places), np.concatenate(owners)


def hat_weights(nodes: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Weights (len(at), len(nodes)) of linear interpolation between rising nodes [1]; none below the first node.

    Source: linear interpolation; beyond the last node its value stays.
    """
    weights = np.zeros((len(at), len(nodes)))
    i = np.clip(np.searchsorted(nodes, at, side="right") - 1, 0, len(nodes) - 2)
    s = np.clip((at - nodes[i]) / (nodes[i + 1] - nodes[i]), 0.0, 1.0)
    k = np.arange(len(at))
    weights[k, i], weights[k, i + 1] = 1.0 - s, s
    weights[at < nodes[0]] = 0.0
    return weights


def resampled(grid: MapGrid | NodeGrid, values: np.ndarray, texture: Texture, *, extrapolate: bool) -> np.ndarray:
    """Values (N, C) of a map's nodes at the cells of a texture, (T, C), in the nodes' unit; 0 where the map has no nodes.

    extrapolate  as `look_up` does it: (4 fine - coarse) / 3, the coarse map being every second node
    Source: bilinear interpolation as products of two matrices a patch.
    """
    out = np.zeros((len(texture.value), values.shape[1]))
    for i in np.flatnonzero((texture.first >= 0) & (grid.first >= 0)):
        a, b = int(grid.count_u[i]), int(grid.count_v[i])
        nodes = (grid.axis[grid.axis_u[i] : grid.axis_u[i] + a], grid.axis[grid.axis_v[i] : grid.axis_v[i] + b])
        block = values[int(grid.first[i]) : int(grid.first[i]) + a * b].reshape(a, b, -1)
        at = texture.middles(int(i))
        fine = _tensor(block, nodes, at)
        if extrapolate:
            fine = (4.0 * fine - _tensor(block[::2, ::2], (nodes[0][::2], nodes[1][::2]), at)) / 3.0
        out[texture.first[i] : texture.first[i] + fine.shape[0] * fine.shape[1]] = fine.reshape(-1, values.shape[1])
    return out


def _tensor(block: np.ndarray, nodes: tuple[np.ndarray, np.ndarray], at: list[np.ndarray]) -> np.ndarray:
    return np.einsum("ua,abc,vb->uvc", hat_weights(nodes[0], at[0]), block, hat_weights(nodes[1], at[1]), optimize=True)


@kernel
def cell_at(u, count, split, before):
    """Cell below u and how far beyond its middle u lies [cells]; below 0 and above 1 at ends: there the line goes on.

    Nothing is read across the split. Each side has at least two cells. Source: linear interpolation.
    """
    if u < split:
        low, n, x = np.int64(0), np.int64(before), u / split * before - 0.5
    else:
        low, n = np.int64(before), np.int64(count - before)
        x = (u - split) / (1.0 - split) * n - 0.5
    i = min(max(np.int64(x), 0), n - 2)
    return low + i, x - i


@kernel
def read_texture(texture, patch, u, v, out):
    """Value of the texture at (u, v) of a patch into out (C,) [cd/m2], bilinear, at least 0. Source: `cell_at`."""
    first = texture.first[patch]
    if first < 0:
        for c in range(out.shape[0]):
            out[c] = 0.0
        return
    b = texture.count_v[patch]
    i, s = cell_at(u, texture.count_u[patch], texture.split_u[patch], texture.before_u[patch])
    j, t = cell_at(v, b, texture.split_v[patch], texture.before_v[patch])
    k = first + i * b + j
    for c in range(out.shape[0]):
        value = (1.0 - s) * ((1.0 - t) * texture.value[k, c] + t * texture.value[k + 1, c]) + s * (
            (1.0 - t) * texture.value[k + b, c] + t * texture.value[k + b + 1, c]
        )
        out[c] = max(value, 0.0)
