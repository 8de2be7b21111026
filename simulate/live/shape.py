"""The room as triangles whose corners carry its light: the same cells and the same straight lines as pictures read.

A corner stands at every middle of a cell and at the ends of every piece between two lines, so a triangle's linear shading is what
`texture.read_texture` says there, and nothing is shaded across a line where light jumps.
"""

from __future__ import annotations

import itertools
from typing import NamedTuple

import numpy as np

from ..light.geometry import Geometry, is_pieced
from ..measuring.flatten import SceneArrays
from ..views.layout import cut_patches
from ..views.room_glb import to_gltf
from ..views.sheets import RAISED_M, corners_of, strips
from ..views.texture import Texture


class Shape(NamedTuple):
    """V corners and F triangles of everything but the cloth.

    place    (V, 3) float32 [m], glTF axes: right, up, out of the screen wall
    corners  (F, 3) uint32, front sides anticlockwise;  surface (V,) uint16, number of the scene's surface
    near     (V, 4) int32 cells, and weight (V, 4) [1]: a corner's light is their weighed sum
    """

    place: np.ndarray
    corners: np.ndarray
    surface: np.ndarray
    near: np.ndarray
    weight: np.ndarray

    def light(self, cells: np.ndarray) -> np.ndarray:
        """Light (V, C) at the corners from that of the cells (T, C), in the same unit, at least 0. Source: bilinear."""
        found = np.einsum("vk,vkc->vc", self.weight, cells[self.near])
        return np.maximum(found, 0.0)


class _Line(NamedTuple):
    """Places along an edge 0 .. 1 with the two cells and the second one's weight at each; first: a piece begins there."""

    at: np.ndarray
    cell: np.ndarray
    other: np.ndarray
    weight: np.ndarray
    first: np.ndarray


class _Part(NamedTuple):
    """Corners and triangles of one patch, or of some, triangles counted from its own first corner; as `Shape` has them."""

    place: np.ndarray
    corners: np.ndarray
    surface: np.ndarray
    near: np.ndarray
    weight: np.ndarray


def shape_of(arrays: SceneArrays, texture: Texture) -> Shape:
    """The shape of a room, places [m]. Source: `Texture`, `to_gltf`; patches that are cut along their cells as in `sheets.py`."""
    geometry = arrays.geometry
    drawn = np.flatnonzero(texture.first >= 0)
    cut = cut_patches(geometry)[drawn]
    several = (texture.count_u * texture.count_v)[drawn] > 1
    parts = [_whole(geometry, texture, int(patch)) for patch in drawn[~cut]]
    parts += [_cut(geometry, texture, int(patch)) for patch in drawn[cut & several]]
    if (cut & ~several).any():
        parts.append(_even(geometry, texture, drawn[cut & ~several]))
    starts = np.cumsum([0, *(len(part.place) for part in parts)])
    corners = np.concatenate([part.corners + start for part, start in zip(parts, starts, strict=False)])
    place, _, surface, near, weight = (np.concatenate(each) for each in zip(*parts, strict=True))
    return Shape(
        to_gltf(place).astype(np.float32), corners.astype(np.uint32), surface.astype(np.uint16), near.astype(np.int32), weight
    )


def _whole(geometry: Geometry, texture: Texture, patch: int) -> _Part:
    """A parallelogram, drawn a little before what it lies on."""
    bounds = texture.bounds(patch)
    u = _line(texture, int(texture.half_u[patch]), bounds[0])
    v = _line(texture, int(texture.half_v[patch]), bounds[1])
    raised = is_pieced(geometry) and geometry.pieces.under[patch] != patch
    corner = geometry.corner[patch] + (RAISED_M if raised else 0.0) * geometry.normal[patch]
    place = corner + u.at[:, None, None] * geometry.edge_u[patch] + v.at[:, None] * geometry.edge_v[patch]
    near, weight = _tensor(u, v, int(texture.first[patch]), len(bounds[1]) - 1)
    surface = np.full(place.shape[0] * place.shape[1], geometry.surface[patch])
    return _Part(place.reshape(-1, 3), _quads(u, v), surface, near, weight)


def _cut(geometry: Geometry, texture: Texture, patch: int) -> _Part:
    """The pieces of a patch, cut where the straight lines between its cells' values bend."""
    corners, _ = corners_of(geometry, np.array([patch]))
    corner, edges = geometry.corner[patch], np.stack([geometry.edge_u[patch], geometry.edge_v[patch]])
    places = (corners - corner) @ np.stack([geometry.plane[patch, 6:9], geometry.plane[patch, 9:12]]).T
    one, two = places[:, 1] - places[:, 0], places[:, 2] - places[:, 0]
    if 0.5 * np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]).sum() > 1.0 - 1e-6:  # the pieces fill their frame
        return _whole(geometry, texture, patch)
    bounds = texture.bounds(patch)
    starts = int(texture.half_u[patch]), int(texture.half_v[patch])
    knots = [np.unique(_line(texture, start, bound).at) for start, bound in zip(starts, bounds, strict=True)]
    rings, cells = [], []
    for triangle in places:
        for i, strip in strips(triangle, knots[0], 0):
            for j, ring in strips(strip, knots[1], 1):
                rings.append(ring)
                cells.append((i, j))
    size = np.array([len(ring) for ring in rings])
    at, which = np.concatenate(rings), np.repeat(np.array(cells), size, axis=0)
    lines = [_between(texture, starts[k], knots[k], which[:, k], at[:, k], len(bounds[k]) - 1) for k in (0, 1)]
    (a, b, s), (c, d, t) = lines
    many, first = len(bounds[1]) - 1, int(texture.first[patch])
    near = first + np.stack([a * many + c, a * many + d, b * many + c, b * many + d], axis=1)
    weight = np.stack([(1.0 - s) * (1.0 - t), (1.0 - s) * t, s * (1.0 - t), s * t], axis=1)
    begin = np.cumsum([0, *size[:-1]])
    fans = [start + np.array([[0, k, k + 1] for k in range(1, count - 1)]) for start, count in zip(begin, size, strict=True)]
    return _Part(corner + at @ edges, np.concatenate(fans), np.full(len(at), geometry.surface[patch]), near, weight)


def _between(
    texture: Texture, half: int, knots: np.ndarray, interval: np.ndarray, at: np.ndarray, count: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The two cells along an edge and the second one's weight at places within given intervals of the knots. Source: `read_texture`."""
    middle = 0.5 * (knots[:-1] + knots[1:])
    h = half + np.searchsorted(texture.low[half : half + 2 * count], middle, side="right") - 1
    base, slope, start = texture.base[h][interval], texture.slope[h][interval], texture.middle[h][interval]
    return base, base + (slope > 0.0), (at - start) * slope


def _even(geometry: Geometry, texture: Texture, patches: np.ndarray) -> _Part:
    """The triangles of patches that have one cell each."""
    corners, owner = corners_of(geometry, patches)
    near = np.repeat(np.repeat(texture.first[owner], 3)[:, None], 4, axis=1)
    weight = np.zeros(near.shape)
    weight[:, 0] = 1.0
    triangles = np.arange(3 * len(corners)).reshape(-1, 3)
    return _Part(corners.reshape(-1, 3), triangles, np.repeat(geometry.surface[owner], 3), near, weight)


def _line(texture: Texture, half: int, bounds: np.ndarray) -> _Line:
    """Knots along an edge: ends of pieces and middles of cells, with what `read_texture` reads there."""
    cells = np.arange(len(bounds) - 1)
    joined = texture.base[half + 2 * cells] == cells - 1  # with the cell before: no line between them
    starts = [*np.flatnonzero(~joined).tolist(), len(cells)]
    middle = 0.5 * (bounds[1:] + bounds[:-1])
    at, cell, other, weight, first = [], [], [], [], []
    for low, high in itertools.pairwise(starts):
        knots = np.concatenate([[bounds[low]], middle[low:high], [bounds[high]]])
        if high - low == 1:
            knots, one, two, part = knots[[0, 2]], np.full(2, low), np.full(2, low), np.zeros(2)
        else:
            one = np.clip(np.searchsorted(middle[low:high], knots, side="right") - 1, 0, high - low - 2) + low
            two = one + 1
            part = (knots - middle[one]) / (middle[two] - middle[one])
        at.append(knots)
        cell.append(one)
        other.append(two)
        weight.append(part)
        first.append(np.arange(len(knots)) == 0)
    return _Line(*(np.concatenate(each) for each in (at, cell, other, weight, first)))


def _tensor(u: _Line, v: _Line, first: int, many: int) -> tuple[np.ndarray, np.ndarray]:
    """Cells (n, 4) and weights of the corners of a patch, u outer: products of both edges' linear weights."""
    near, weight = [], []
    for a, s in ((u.cell, 1.0 - u.weight), (u.other, u.weight)):
        for b, t in ((v.cell, 1.0 - v.weight), (v.other, v.weight)):
            near.append((first + a[:, None] * many + b).ravel())
            weight.append((s[:, None] * t).ravel())
    return np.stack(near, axis=1), np.stack(weight, axis=1)


def _quads(u: _Line, v: _Line) -> np.ndarray:
    """Triangles (n, 3) between neighbouring knots of one piece; the front faces along edge_u x edge_v."""
    many = len(v.at)
    a, b = np.flatnonzero(~u.first[1:]), np.flatnonzero(~v.first[1:])
    k = (a[:, None] * many + b).ravel()
    return np.concatenate([np.stack([k, k + many, k + many + 1], 1), np.stack([k, k + many + 1, k + 1], 1)])
