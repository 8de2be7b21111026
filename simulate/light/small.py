"""Small patches of the map: those of furniture with many facets share one node with their like, near by and turned alike."""

from __future__ import annotations

import numpy as np

from .geometry import Geometry
from .projector import ProjectorArrays

PER_DISTANCE = 0.04  # a patch is small below this share of its distance to the picture
CELL_M, CELL_PER_DISTANCE = 0.03, 0.03  # neighbourhoods that share a node
TURNS = 6  # steps of a normal's direction across a side of the cube of directions: some 15 degrees


def distance_to_picture(projector: ProjectorArrays, place: np.ndarray) -> np.ndarray:
    """Distance [m] of places (n, 3) from the nearest point of the picture's rectangle. Source: clamped coordinates."""
    centre, right, up, normal = projector.frame
    left, across, bottom, top = projector.picture
    off = [(place - centre) @ axis for axis in (right, up, normal)]
    gap = [off[0] - np.clip(off[0], left, across), off[1] - np.clip(off[1], bottom, top), off[2]]
    return np.asarray(np.sqrt(sum(g * g for g in gap)))


def is_small(geometry: Geometry, projector: ProjectorArrays, patches: np.ndarray) -> np.ndarray:
    """True for the patches (n,) that one node serves. Source: `PER_DISTANCE`; light bends within the distance to its source."""
    u, v = geometry.edge_u[patches], geometry.edge_v[patches]
    middle = geometry.corner[patches] + 0.5 * (u + v)
    longest = np.sqrt(np.maximum((u * u).sum(1), (v * v).sum(1)))
    return np.asarray(longest < PER_DISTANCE * distance_to_picture(projector, middle))


def _likes(geometry: Geometry, middle: np.ndarray, patches: np.ndarray, size: np.ndarray, turns: int) -> np.ndarray:
    """A number (n,) for patches in one cell of space, of one surface, turned into one cell of directions."""
    cell = np.floor(middle / size[:, None]).astype(np.int64)
    normal = geometry.normal[patches]
    side = np.abs(normal).argmax(axis=1)
    most = np.take_along_axis(normal, side[:, None], 1)[:, 0]
    rest = np.take_along_axis(normal, (side[:, None] + [1, 2]) % 3, 1) / np.abs(most)[:, None]
    turn = np.clip(np.floor((rest + 1.0) * 0.5 * turns), 0, turns - 1).astype(np.int64)
    key = np.column_stack([geometry.surface[patches], np.round(np.log2(size) * 8), cell, 2 * side + (most > 0), turn]).astype(
        np.int64
    )
    return np.asarray(np.unique(key, axis=0, return_inverse=True)[1].ravel())


def _representatives(geometry: Geometry, middle: np.ndarray, patches: np.ndarray, like: np.ndarray) -> np.ndarray:
    """Of each number's patches the one nearest to their mean in place and direction, as positions in `patches`."""
    groups = int(like.max()) + 1
    count = np.bincount(like, minlength=groups)
    score = np.zeros(len(patches))
    for values, weight in ((middle, 1.0), (geometry.normal[patches], 0.1)):
        mean = np.stack([np.bincount(like, values[:, k], minlength=groups) for k in range(3)], axis=1) / count[:, None]
        score += weight * ((values - mean[like]) ** 2).sum(axis=1)
    order = np.lexsort((np.arange(len(patches)), score, like))
    return np.asarray(order[np.concatenate([[0], np.cumsum(count)[:-1]])])


def alike(geometry: Geometry, patches: np.ndarray, size_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Positions in `patches` (n,) of those that stand for their likes, and of each patch the number of its own.

    size_m  width of a neighbourhood [m];  likes lie in one, belong to one surface and are turned alike
    Source: `_likes`.
    """
    middle = geometry.corner[patches] + 0.5 * (geometry.edge_u[patches] + geometry.edge_v[patches])
    like = _likes(geometry, middle, patches, np.full(len(patches), size_m), TURNS)
    return _representatives(geometry, middle, patches, like), like


def shared_nodes(
    geometry: Geometry, projector: ProjectorArrays, patches: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Patches (m,) whose middles are nodes, and for each of the small patches (n,) the node it takes and that of its wider likes.

    Neighbourhoods are about CELL_PER_DISTANCE of the distance to the picture wide, the wider ones twice that each way.
    Source: derived; the difference of the two bounds what sharing leaves out, as two grids do for large patches.
    """
    middle = geometry.corner[patches] + 0.5 * (geometry.edge_u[patches] + geometry.edge_v[patches])
    distance = distance_to_picture(projector, middle)
    size = np.maximum(CELL_M, CELL_PER_DISTANCE * 2.0 ** np.floor(np.log2(np.maximum(distance, 1e-3))))
    fine = _likes(geometry, middle, patches, size, TURNS)
    chosen = _representatives(geometry, middle, patches, fine)
    wide = _likes(geometry, middle[chosen], patches[chosen], 2.0 * size[chosen], TURNS // 2)
    wider = _representatives(geometry, middle[chosen], patches[chosen], wide)
    return patches[chosen], fine, wider[wide][fine]
