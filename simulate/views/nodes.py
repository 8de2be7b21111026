"""Nodes on every surface of a room, where its indirect light is solved."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..light.geometry import SCREEN, Geometry
from ..light.patches import frozen

NODE_STEP_M = 0.28
_INSET_M = 0.001


class NodeGrid(NamedTuple):
    """Nodes of the patches, a tensor grid on each.

    first          (P,) int32, first node of a patch, -1 for the cloth;  count_u/count_v (P,) nodes along u and v, odd
    axis_u/axis_v  (P,) start of the patch's node places in `axis` (A,), rising from 0 to 1 [1]
    place          (N, 3) [m];  patch (N,) int32
    """

    first: np.ndarray
    count_u: np.ndarray
    count_v: np.ndarray
    axis_u: np.ndarray
    axis_v: np.ndarray
    axis: np.ndarray
    place: np.ndarray
    patch: np.ndarray


def node_grid(geometry: Geometry) -> NodeGrid:
    """Nodes on every flat patch but the cloth, closer together near edges, where light changes fastest.

    Cells of about NODE_STEP_M [m] on the mean, an even number from 4 to 24 along an edge.
    Source: cosine spacing; nodes on an edge stand 1 mm inside, lest their rays slip through the seam.
    """
    patches = len(geometry.corner)
    first = np.full(patches, -1, np.int32)
    counts, starts = np.zeros((2, patches), np.int32), np.zeros((2, patches), np.int32)
    axis: list[np.ndarray] = []
    places, owners, nodes, length = [], [], 0, 0
    for i in range(patches):
        if geometry.role[i] == SCREEN:
            continue
        edges, lines, inner = (geometry.edge_u[i], geometry.edge_v[i]), [], []
        for edge in edges:
            size = float(np.linalg.norm(edge))
            cells = int(min(max(2 * np.ceil(0.5 * size / NODE_STEP_M), 4), 24))
            line = 0.5 * (1.0 - np.cos(np.pi * np.arange(cells + 1) / cells))
            inset = min(0.25, _INSET_M / size)
            lines.append(line)
            inner.append(np.clip(line, inset, 1.0 - inset))
        first[i] = nodes
        for k in range(2):
            counts[k, i], starts[k, i] = len(lines[k]), length
            length += len(lines[k])
        axis += lines
        u, v = (a.reshape(-1, 1) for a in np.meshgrid(*inner, indexing="ij"))
        places.append(geometry.corner[i] + u * edges[0] + v * edges[1])
        owners.append(np.full(u.size, i, np.int32))
        nodes += u.size
    return NodeGrid(
        frozen(first),
        frozen(counts[0]),
        frozen(counts[1]),
        frozen(starts[0]),
        frozen(starts[1]),
        frozen(np.concatenate(axis)),
        frozen(np.concatenate(places)),
        frozen(np.concatenate(owners)),
    )


def fill_covered(grid: NodeGrid, values: np.ndarray, covered: np.ndarray) -> np.ndarray:
    """Values (N, C) with those of covered nodes replaced by their neighbours', so that no shadow leaks from under bodies.

    values, covered  (N, C) in any unit, and (N,) True under a body; a patch that is covered throughout keeps its values
    Source: repeated means over the four neighbours on the patch that have a value.
    """
    out = values.copy()
    for i in np.flatnonzero(grid.first >= 0):
        a, b = int(grid.count_u[i]), int(grid.count_v[i])
        part = slice(int(grid.first[i]), int(grid.first[i]) + a * b)
        known = ~covered[part].reshape(a, b)
        if known.all() or not known.any():
            continue
        block = out[part].reshape(a, b, -1).copy()
        while not known.all():
            total, count = np.zeros_like(block), np.zeros((a, b))
            for axis in (0, 1):
                for step in (1, -1):
                    near, valid = np.roll(block, step, axis), np.roll(known, step, axis)
                    edge = [slice(None), slice(None)]
                    edge[axis] = slice(0, 1) if step == 1 else slice(-1, None)  # what came round the end is no neighbour
                    valid[tuple(edge)] = False
                    total += near * valid[..., None]
                    count += valid
            new = ~known & (count > 0)
            block[new] = total[new] / count[new][:, None]
            known = known | new
        out[part] = block.reshape(a * b, -1)
    return out
