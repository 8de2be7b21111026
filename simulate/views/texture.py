"""Radiance of the room's surfaces on even cells, which rays read faster than the graded maps it is made from."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.jit import kernel
from ..light.geometry import SCREEN, Geometry
from ..light.mapgrid import MapGrid
from .nodes import NodeGrid

CELL_M = 0.08
_MOST = 160


class Texture(NamedTuple):
    """Values at the middles of even cells on the patches.

    first            (P,) int32, first cell of a patch, -1 for one that has none (the cloth)
    count_u/count_v  (P,) int32
    value            (T, C)
    """

    first: np.ndarray
    count_u: np.ndarray
    count_v: np.ndarray
    value: np.ndarray


def empty_texture(geometry: Geometry, channels: int) -> Texture:
    """A texture of zeros on all patches but the cloth. Source: cells of about CELL_M."""
    patches = np.flatnonzero(geometry.role != SCREEN)
    counts = np.zeros((2, len(geometry.role)), np.int32)
    for k, edge in enumerate((geometry.edge_u, geometry.edge_v)):
        size = np.linalg.norm(edge[patches], axis=1)
        counts[k, patches] = np.clip(np.ceil(size / CELL_M), 2, _MOST)
    cells = counts[0] * counts[1]
    first = np.where(cells > 0, np.cumsum(cells) - cells, -1).astype(np.int32)
    return Texture(first, counts[0], counts[1], np.zeros((int(cells.sum()), channels)))


def cell_places(geometry: Geometry, texture: Texture) -> tuple[np.ndarray, np.ndarray]:
    """Middles of all cells (T, 3) [m] and the patch (T,) of each."""
    places, owners = [], []
    for i in np.flatnonzero(texture.first >= 0):
        u = (np.arange(texture.count_u[i]) + 0.5) / texture.count_u[i]
        v = (np.arange(texture.count_v[i]) + 0.5) / texture.count_v[i]
        a, b = (x.reshape(-1, 1) for x in np.meshgrid(u, v, indexing="ij"))
        places.append(geometry.corner[i] + a * geometry.edge_u[i] + b * geometry.edge_v[i])
        owners.append(np.full(a.size, i, np.int32))
    return np.concatenate(places), np.concatenate(owners)


def hat_weights(nodes: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Weights (len(at), len(nodes)) of linear interpolation between rising nodes; none below the first node."""
    weights = np.zeros((len(at), len(nodes)))
    i = np.clip(np.searchsorted(nodes, at, side="right") - 1, 0, len(nodes) - 2)
    s = np.clip((at - nodes[i]) / (nodes[i + 1] - nodes[i]), 0.0, 1.0)
    k = np.arange(len(at))
    weights[k, i], weights[k, i + 1] = 1.0 - s, s
    weights[at < nodes[0]] = 0.0
    return weights


def resampled(grid: MapGrid | NodeGrid, values: np.ndarray, texture: Texture, *, extrapolate: bool) -> np.ndarray:
    """Values (N, C) of a map's nodes at the cells of a texture, (T, C).

    extrapolate  as `look_up` does it: (4 fine - coarse) / 3, the coarse map being every second node
    Source: bilinear interpolation as products of two matrices a patch.
    """
    out = np.zeros((len(texture.value), values.shape[1]))
    for i in np.flatnonzero((texture.first >= 0) & (grid.first >= 0)):
        a, b = int(grid.count_u[i]), int(grid.count_v[i])
        nodes = (grid.axis[grid.axis_u[i] : grid.axis_u[i] + a], grid.axis[grid.axis_v[i] : grid.axis_v[i] + b])
        block = values[int(grid.first[i]) : int(grid.first[i]) + a * b].reshape(a, b, -1)
        at = [(np.arange(n[i]) + 0.5) / n[i] for n in (texture.count_u, texture.count_v)]
        fine = _tensor(block, nodes, at)
        if extrapolate:
            fine = (4.0 * fine - _tensor(block[::2, ::2], (nodes[0][::2], nodes[1][::2]), at)) / 3.0
        out[texture.first[i] : texture.first[i] + fine.shape[0] * fine.shape[1]] = fine.reshape(-1, values.shape[1])
    return out


def _tensor(block: np.ndarray, nodes: tuple[np.ndarray, np.ndarray], at: list[np.ndarray]) -> np.ndarray:
    return np.einsum("ua,abc,vb->uvc", hat_weights(nodes[0], at[0]), block, hat_weights(nodes[1], at[1]), optimize=True)


@kernel
def read_texture(texture, patch, u, v, out):
    """Value of the texture at (u, v) of a patch into out (C,), bilinear between cell middles. Source: definition."""
    first = texture.first[patch]
    if first < 0:
        for c in range(out.shape[0]):
            out[c] = 0.0
        return
    a, b = texture.count_u[patch], texture.count_v[patch]
    x = min(max(u * a - 0.5, 0.0), a - 1.000001)
    y = min(max(v * b - 0.5, 0.0), b - 1.000001)
    i, j = int(x), int(y)
    s, t = x - i, y - j
    k = first + i * b + j
    for c in range(out.shape[0]):
        out[c] = (1.0 - s) * ((1.0 - t) * texture.value[k, c] + t * texture.value[k + 1, c]) + s * (
            (1.0 - t) * texture.value[k + b, c] + t * texture.value[k + b + 1, c]
        )
