"""What the 3-D view draws of the room's surfaces: sheets of cells on whole patches, triangles where patches are cut."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from ..light.geometry import Geometry, is_pieced
from ..measuring.flatten import SceneArrays
from .layout import cut_patches
from .texture import Texture

RAISED_M = 0.003  # parts are drawn so far before what they lie on


def sheets(arrays: SceneArrays, texture: Texture) -> Iterator[tuple[int, Any, np.ndarray]]:
    """A patch, the pyvista mesh [m] to draw, and the texture's cell (n,) of each of its faces; small patches of a surface together.

    Source: pieces, cut along the cells.
    """
    geometry = arrays.geometry
    drawn = np.flatnonzero(texture.first >= 0)
    cut = cut_patches(geometry)
    for i in drawn[~cut[drawn]]:
        raised = RAISED_M * geometry.normal[i] if is_pieced(geometry) and geometry.pieces.under[i] != i else 0.0
        mesh = sheet(geometry.corner[i] + raised, geometry.edge_u[i], geometry.edge_v[i], *texture.bounds(int(i)))
        yield int(i), mesh, int(texture.first[i]) + np.arange(mesh.n_cells)
    if not cut.any():
        return
    small = texture.first >= len(texture.value) - len(texture.shared)
    for i in drawn[cut[drawn] & ~small[drawn]]:
        yield int(i), *_triangles(geometry, texture, np.array([i]))
    for surface in np.unique(geometry.surface[drawn[small[drawn]]]):
        some = drawn[small[drawn] & (geometry.surface[drawn] == surface)]
        yield int(some[0]), *_triangles(geometry, texture, some)


def corners_of(geometry: Geometry, patches: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Corners (n, 3, 3) [m] of the triangles of cut patches, and the patch (n,) of each. Source: `Pieces`."""
    pieces, wanted = geometry.pieces, np.zeros(len(geometry.role), bool)
    wanted[patches] = True
    front = np.flatnonzero(wanted[pieces.front])
    back = np.flatnonzero((pieces.back >= 0) & wanted[np.maximum(pieces.back, 0)])
    some = np.concatenate([front, back])
    a, u, v = pieces.plane[some, :3], pieces.edge_u[some], pieces.edge_v[some]
    turned = np.arange(len(some))[:, None] >= len(front)
    second, third = np.where(turned, a + v, a + u), np.where(turned, a + u, a + v)
    return np.stack([a, second, third], axis=1), np.concatenate([pieces.front[front], pieces.back[back]])


def _triangles(geometry: Geometry, texture: Texture, patches: np.ndarray) -> tuple[Any, np.ndarray]:
    """Polygons of cut patches, each within one cell, and its cell."""
    import pyvista

    corners, owner = corners_of(geometry, patches)
    several = texture.count_u[owner] * texture.count_v[owner] > 1
    rings = list(corners[~several])
    cells = list(texture.first[owner[~several]])
    for triangle, patch in zip(corners[several], owner[several], strict=True):
        for ring, cell in _in_cells(geometry, texture, int(patch), triangle):
            rings.append(ring)
            cells.append(cell)
    starts = np.cumsum([0, *(len(ring) for ring in rings)])
    faces = np.concatenate([[len(ring), *range(start, start + len(ring))] for ring, start in zip(rings, starts, strict=False)])
    return pyvista.PolyData(np.concatenate(rings), faces.astype(int)), np.array(cells, int)


def _in_cells(geometry: Geometry, texture: Texture, patch: int, triangle: np.ndarray) -> Iterator[tuple[np.ndarray, int]]:
    """A triangle (3, 3) [m] of a patch cut along its cells: rings (n, 3) [m] with their cells.

    Source: Sutherland and Hodgman (1974), strip by strip and then across.
    """
    corner, edges = geometry.corner[patch], np.stack([geometry.edge_u[patch], geometry.edge_v[patch]])
    place = (triangle - corner) @ np.stack([geometry.plane[patch, 6:9], geometry.plane[patch, 9:12]]).T
    bounds = texture.bounds(patch)
    for i, strip in strips(place, bounds[0], 0):
        for j, ring in strips(strip, bounds[1], 1):
            yield corner + ring @ edges, int(texture.first[patch]) + i * int(texture.count_v[patch]) + j


def strips(ring: np.ndarray, bounds: np.ndarray, axis: int) -> Iterator[tuple[int, np.ndarray]]:
    """A convex ring (n, 2) cut at bounds along an axis: number of the strip and its ring."""
    low = max(int(np.searchsorted(bounds, ring[:, axis].min(), side="right")) - 1, 0)
    high = min(int(np.searchsorted(bounds, ring[:, axis].max(), side="left")), len(bounds) - 1)
    for k in range(low, high):
        part = _half(
            _half(ring, axis, bounds[k] if k else -np.inf, 1.0), axis, bounds[k + 1] if k + 2 < len(bounds) else np.inf, -1.0
        )
        if len(part) > 2:
            yield k, part


def _half(ring: np.ndarray, axis: int, at: float, sign: float) -> np.ndarray:
    """What of a convex ring (n, 2) lies beyond a line across an axis, on the side of `sign`."""
    if not len(ring) or np.isinf(at):
        return ring
    off = sign * (ring[:, axis] - at)
    following, after = np.roll(ring, -1, axis=0), np.roll(off, -1)
    found = []
    for p, q, a, b in zip(ring, following, off, after, strict=True):
        if a >= 0.0:
            found.append(p)
        if (a > 0.0) != (b > 0.0) and a != b and min(a, b) < 0.0 < max(a, b):
            found.append(p + a / (a - b) * (q - p))
    return np.array(found).reshape(-1, 2)


def sheet(corner: np.ndarray, edge_u: np.ndarray, edge_v: np.ndarray, ends_u: np.ndarray, ends_v: np.ndarray) -> Any:
    """A parallelogram of quadrilaterals that end at the given places 0 .. 1, u outer, facing edge_u x edge_v."""
    import pyvista

    u, v = np.meshgrid(ends_u, ends_v, indexing="ij")
    points = corner + u.reshape(-1, 1) * edge_u + v.reshape(-1, 1) * edge_v
    cells_u, cells_v = len(ends_u) - 1, len(ends_v) - 1
    a, b = (x.ravel() for x in np.meshgrid(np.arange(cells_u), np.arange(cells_v), indexing="ij"))
    at = a * (cells_v + 1) + b
    quads = np.stack([np.full_like(at, 4), at, at + cells_v + 1, at + cells_v + 2, at + 1], axis=1)
    return pyvista.PolyData(points, quads.ravel())
