"""Lines of a room for drawings: where a plane cuts its walls, and the edges between its faces. Places [right, out, up] [m]."""

from __future__ import annotations

import numpy as np

from ..model import Room, Thing
from .mesh import Mesh
from .spots import groups_of

_LEVEL = 1.0 - 1e-6  # cosine between faces that go on in one plane
PLAN_M = 1.0  # above the floor: plans are cut there (common practice, no source)


def cut(mesh: Mesh, axis: int, at_m: float) -> np.ndarray:
    """Segments (n, 2, 3) in which the plane of one coordinate (0 right, 1 out, 2 up) cuts a mesh [m]. Source: edges by sign."""
    triangles = mesh.triangles * [1.0, -1.0, 1.0]
    off = triangles[:, :, axis] - at_m
    off = np.where(np.abs(off) < 1e-9, 1e-9, off)  # a plane through a corner passes it by a hair
    crossed = triangles[(off.min(axis=1) < 0.0) & (off.max(axis=1) > 0.0)]
    off = off[(off.min(axis=1) < 0.0) & (off.max(axis=1) > 0.0)]
    found = np.zeros((len(crossed), 2, 3))
    count = np.zeros(len(crossed), int)
    for i, j in ((0, 1), (1, 2), (2, 0)):
        cuts = np.flatnonzero((off[:, i] < 0.0) != (off[:, j] < 0.0))
        t = off[cuts, i] / (off[cuts, i] - off[cuts, j])
        found[cuts, count[cuts]] = crossed[cuts, i] + t[:, None] * (crossed[cuts, j] - crossed[cuts, i])
        count[cuts] += 1
    return found


def edges(mesh: Mesh) -> np.ndarray:
    """Segments (n, 2, 3) between a mesh's flat faces, and at its open ends [m]. Source: edges at which the mesh turns."""
    group = groups_of(mesh).group
    _, weld = np.unique(mesh.corners, axis=0, return_inverse=True)
    ring = weld.ravel()[mesh.faces]
    pairs = np.sort(np.stack([ring, np.roll(ring, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    owner = np.repeat(group, 3)
    order = np.lexsort((owner, pairs[:, 1], pairs[:, 0]))
    pairs, owner = pairs[order], owner[order]
    new = np.ones(len(pairs), bool)
    new[1:] = (pairs[1:] != pairs[:-1]).any(axis=1)
    start = np.flatnonzero(new)
    size = np.diff(np.append(start, len(pairs)))
    one, two = owner[start], owner[np.minimum(start + 1, len(owner) - 1)]
    faces = groups_of(mesh)
    normal = np.cross(faces.edge_u, faces.edge_v)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    inner = (size == 2) & ((one == two) | ((normal[one] * normal[two]).sum(axis=1) > _LEVEL))
    first = {int(w): k for k, w in reversed(list(enumerate(weld.ravel())))}
    ends = pairs[start[~inner]]
    places = mesh.corners * [1.0, -1.0, 1.0]
    return places[np.vectorize(first.__getitem__, otypes=[int])(ends)] if len(ends) else np.zeros((0, 2, 3))


def plan_outline(room: Room) -> np.ndarray:
    """Walls of a shell from above, segments (n, 2, 2) right, out [m]: cut at PLAN_M, or lower where the room is lower."""
    assert room.shell is not None
    low, high = room.limits[2]
    return cut(room.shell, 2, min(low + PLAN_M, 0.5 * (low + high)))[:, :, :2]


def side_outline(room: Room) -> tuple[np.ndarray, np.ndarray]:
    """A shell from the side, segments (n, 2, 2) out, up [m]: cut through the middle of the screen, and the edges beyond."""
    assert room.shell is not None
    return cut(room.shell, 0, 1e-6)[:, :, 1:], edges(room.shell)[:, :, 1:]


def hull(thing: Thing, axes: tuple[int, int]) -> np.ndarray:
    """Corners (n, 2) of what a thing covers from above (0, 1) or from the side (1, 2), convex [m]. Source: convex hull; of a box its rectangle."""
    low, high = thing.min_m, thing.max_m
    (a, b), mesh = axes, getattr(thing, "mesh", None)
    rectangle = np.array([[low[a], low[b]], [high[a], low[b]], [high[a], high[b]], [low[a], high[b]]])
    if mesh is None:
        return rectangle
    from scipy.spatial import ConvexHull, QhullError

    places = (mesh.triangles.reshape(-1, 3) * [1.0, -1.0, 1.0])[:, axes]
    try:
        return np.asarray(places[ConvexHull(places).vertices])
    except QhullError:  # seen edge on
        return rectangle
