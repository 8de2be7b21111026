"""A mesh put in order: doubled triangles taken out, fronts made to agree, holes and sheets found, sides named."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .inside import winding

_SIDES = ("front", "back", "left", "right", "ceiling", "floor")
_WALL_M = 0.05  # faces that look out of the screen wall lie at out = 0 to within this


class Ordered(NamedTuple):
    """Triangles of one mesh.

    corners (V, 3) [m], those in one place made one;  faces (F, 3);  owner (F,) the triangle's number before
    body    (F,) int, which connected body each belongs to;  open_edges  (bodies,) number of edges with a triangle on one side only
    turned, doubled  triangles that faced against their neighbours, and that lay twice in one place
    sheet   (F,) bool, True where two triangles lay back to back
    """

    corners: np.ndarray
    faces: np.ndarray
    owner: np.ndarray
    body: np.ndarray
    open_edges: np.ndarray
    turned: int
    doubled: int
    sheet: np.ndarray


def in_order(corners: np.ndarray, faces: np.ndarray) -> Ordered:
    """A mesh with its corners welded, without doubles, and each body's triangles facing one way.

    Source: on a common edge two triangles that face one way run against each other.
    """
    welded, number = np.unique(corners.astype(float) + 0.0, axis=0, return_inverse=True)
    ring = number.ravel()[faces]
    owner = np.flatnonzero((ring[:, 0] != ring[:, 1]) & (ring[:, 1] != ring[:, 2]) & (ring[:, 2] != ring[:, 0]))
    ring = ring[owner]
    _, first, same = np.unique(np.sort(ring, axis=1), axis=0, return_index=True, return_inverse=True)
    kept = np.sort(first)
    parity = _parity(ring)
    against = np.zeros(len(first), bool)
    np.logical_or.at(against, same.ravel(), parity != parity[first[same.ravel()]])
    sheet = against[same.ravel()][kept]
    doubled = len(ring) - len(kept)
    ring, owner = ring[kept], owner[kept]
    ring, body, turned = _one_way(ring)
    open_edges = _open_edges(ring, body)
    return Ordered(welded, ring, owner, body, open_edges, turned, doubled, sheet)


def _parity(ring: np.ndarray) -> np.ndarray:
    """True where a triangle's corners rise cyclically: two with the same corners and unlike parity lie back to back."""
    start = ring.argmin(axis=1)
    rows = np.arange(len(ring))
    return np.asarray(ring[rows, (start + 1) % 3] < ring[rows, (start + 2) % 3])


def _edges(ring: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Sorted edges (3 F, 2), which way each runs, and its triangle, in the edges' order."""
    edges = np.stack([ring, np.roll(ring, -1, axis=1)], axis=2).reshape(-1, 2)
    forward = edges[:, 0] < edges[:, 1]
    owner = np.repeat(np.arange(len(ring)), 3)
    edges = np.sort(edges, axis=1)
    order = np.lexsort((owner, edges[:, 1], edges[:, 0]))
    return edges[order], forward[order], owner[order]


def _one_way(ring: np.ndarray) -> tuple[np.ndarray, np.ndarray, int]:
    """Triangles turned to agree with their neighbours, their body, and how many were turned (of each body the fewer).

    Source: breadth-first walk over common edges; edges of more than two triangles join nothing.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import breadth_first_order, connected_components

    edges, forward, owner = _edges(ring)
    new = np.ones(len(edges), bool)
    new[1:] = (edges[1:] != edges[:-1]).any(axis=1)
    start = np.flatnonzero(new)
    size = np.diff(np.append(start, len(edges)))
    two = start[size == 2]
    a, b, against = owner[two], owner[two + 1], forward[two] == forward[two + 1]
    count = len(ring)
    graph = coo_array((np.ones(len(a), np.int8), (a, b)), shape=(count, count)).tocsr()
    _, body = connected_components(graph, directed=False)
    flips = {(int(x), int(y)): bool(z) for x, y, z in zip(a, b, against, strict=True) if z}
    turn = np.zeros(count, bool)
    if flips:
        for first in np.unique(body, return_index=True)[1]:
            order, before = breadth_first_order(graph, int(first), directed=False)
            for i in order[1:]:
                j = int(before[i])
                turn[i] = turn[j] ^ (flips.get((i, j), False) or flips.get((j, i), False))
    sizes, turns = np.bincount(body), np.bincount(body, turn)
    more = turns > 0.5 * sizes
    turn ^= more[body]
    ring = np.where(turn[:, None], ring[:, ::-1], ring)
    return ring, body, int(turn.sum())


def _open_edges(ring: np.ndarray, body: np.ndarray) -> np.ndarray:
    """Of each body the number of edges that have one triangle alone."""
    edges, _, owner = _edges(ring)
    new = np.ones(len(edges), bool)
    new[1:] = (edges[1:] != edges[:-1]).any(axis=1)
    size = np.diff(np.append(np.flatnonzero(new), len(edges)))
    lone = owner[np.flatnonzero(new)[size == 1]]
    return np.bincount(body[lone], minlength=int(body.max()) + 1)


def first_hole(mesh: Ordered, body: int) -> np.ndarray:
    """Middle (3,) [m] of an edge that has one triangle alone, of a body that has one. Source: `_open_edges`."""
    some = mesh.faces[mesh.body == body]
    edges, _, _ = _edges(some)
    new = np.ones(len(edges), bool)
    new[1:] = (edges[1:] != edges[:-1]).any(axis=1)
    start = np.flatnonzero(new)
    size = np.diff(np.append(start, len(edges)))
    return np.asarray(mesh.corners[edges[start[size == 1][0]]].mean(axis=0))


def outward(mesh: Ordered, body: int) -> bool:
    """True where a body faces outwards: a closed one by the sign of its volume. Source: divergence theorem."""
    at = mesh.corners[mesh.faces[mesh.body == body]]
    at = at - at.reshape(-1, 3).mean(axis=0)
    return float(np.einsum("ij,ij->", at[:, 0], np.cross(at[:, 1], at[:, 2]))) > 0.0


def shut_in(triangles: np.ndarray, place: np.ndarray) -> float:
    """Part of all directions from a place (3,) [m] that triangles (F, 3, 3) stop, 1 within a closed room [1].

    Source: `winding`, the solid angle of the triangles over 4 pi.
    """
    return float(abs(winding(triangles, place[None])[0]))


def sides(corners: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, tuple[str, ...]]:
    """Which of six sides each triangle (F, 3) of a room that faces inwards is, by where it looks, and the sides' names.

    Source: the largest part of its normal; sloped by less than 60 degrees from level and looking down: ceiling.
    """
    at = corners[faces]
    normal = np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    side = np.where(
        np.abs(normal[:, 0]) > np.abs(normal[:, 1]), np.where(normal[:, 0] > 0, 2, 3), np.where(normal[:, 1] > 0, 1, 0)
    )
    side = np.where(normal[:, 2] < -0.5, 4, np.where(normal[:, 2] > 0.5, 5, side))
    return side.astype(np.int32), _SIDES
