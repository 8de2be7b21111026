"""The room as few triangles that read their light from the atlas: the same cells and the same straight lines as pictures read."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..light.geometry import Geometry, is_pieced
from ..measuring.flatten import SceneArrays
from ..views.layout import cut_patches
from ..views.room_glb import to_gltf
from ..views.sheets import RAISED_M, corners_of, strips
from ..views.texture import Texture
from .atlas import Line, line_of, packed, tensor

OVERLAP_M = 0.0005  # parallelograms reach so far beyond their edges: neighbours have other corners there, and graphics leave cracks between
_ROW = 64  # texels of a row of those that stand for a whole triangle


class Shape(NamedTuple):
    """V corners and F triangles of everything but the cloth, and the atlas of their light.

    place    (V, 3) float32 [m], glTF axes: right, up, out of the screen wall
    corners  (F, 3) uint32, front sides anticlockwise;  surface (V,) uint16, number of the scene's surface
    at       (V, 2) float32, column and row in which a corner reads, in texels from the middle of the first
    pull     (V, 2) float32, its weights along columns and rows: at pull and pull are linear on a triangle, and their ratio says where a place reads
    size     rows and columns of the atlas
    near     (rows columns, 4) int32 cells, and weight (rows columns, 4) [1]: a texel is their weighed sum, 0 beside all blocks
    """

    place: np.ndarray
    corners: np.ndarray
    surface: np.ndarray
    at: np.ndarray
    pull: np.ndarray
    size: tuple[int, int]
    near: np.ndarray
    weight: np.ndarray

    @property
    def bytes(self) -> int:
        """Bytes of the arrays. Source: definition."""
        return sum(a.nbytes for a in (self.place, self.corners, self.surface, self.at, self.pull, self.near, self.weight))

    def light(self, cells: np.ndarray) -> np.ndarray:
        """The atlas (rows, columns, C) from the light of the cells (T, C), in the same unit; what is read from it is at least 0.

        Texels beyond an end may be less. Source: bilinear.
        """
        found = np.einsum("vk,vkc->vc", self.weight, cells[self.near])
        return np.asarray(found.reshape(*self.size, -1))


class _Part(NamedTuple):
    """Corners, triangles and texels of one patch, or of some; triangles counted from its own first corner, texels from its own block.

    at, pull (n, 2) by row and column;  size  rows and columns of the block;  others as `Shape` has them
    """

    place: np.ndarray
    corners: np.ndarray
    surface: np.ndarray
    at: np.ndarray
    pull: np.ndarray
    size: tuple[int, int]
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
    origins, size = packed(np.array([part.size for part in parts]))
    near, weight = np.zeros((*size, 4), np.int32), np.zeros((*size, 4))
    for part, (row, column) in zip(parts, origins, strict=True):
        block = np.s_[row : row + part.size[0], column : column + part.size[1]]
        near[block], weight[block] = part.near.reshape(*part.size, 4), part.weight.reshape(*part.size, 4)
    at = np.concatenate([part.at + origin for part, origin in zip(parts, origins, strict=True)])[:, ::-1]
    pull = np.concatenate([part.pull for part in parts])[:, ::-1]
    place, surface = np.concatenate([part.place for part in parts]), np.concatenate([part.surface for part in parts])
    return Shape(
        to_gltf(place).astype(np.float32), corners.astype(np.uint32), surface.astype(np.uint16),
        np.ascontiguousarray(at, np.float32), np.ascontiguousarray(pull, np.float32), size, near.reshape(-1, 4), weight.reshape(-1, 4),
    )  # fmt: skip


def _whole(geometry: Geometry, texture: Texture, patch: int) -> _Part:
    """A parallelogram, drawn a little before what it lies on."""
    u, v = _lines(geometry, texture, patch)
    raised = is_pieced(geometry) and geometry.pieces.under[patch] != patch
    corner = geometry.corner[patch] + (RAISED_M if raised else 0.0) * geometry.normal[patch]
    edge_u, edge_v = geometry.edge_u[patch], geometry.edge_v[patch]
    place = corner + _beyond(u.at, edge_u)[:, None, None] * edge_u + _beyond(v.at, edge_v)[:, None] * edge_v
    at, pull = (
        np.stack(np.meshgrid(*each, indexing="ij"), axis=-1).reshape(-1, 2) for each in ((u.texel, v.texel), (u.pull, v.pull))
    )
    near, weight = tensor(u, v, int(texture.first[patch]), int(texture.count_v[patch]))
    surface = np.full(len(at), geometry.surface[patch])
    return _Part(place.reshape(-1, 3), _quads(u.first, v.first), surface, at, pull, (len(u.cell), len(v.cell)), near, weight)


def _lines(geometry: Geometry, texture: Texture, patch: int) -> tuple[Line, Line]:
    """Both edges of a patch."""
    starts, edges = (texture.half_u, texture.half_v), (geometry.edge_u, geometry.edge_v)
    u, v = (
        line_of(texture, int(start[patch]), bounds, float(np.linalg.norm(edge[patch])))
        for start, bounds, edge in zip(starts, texture.bounds(patch), edges, strict=True)
    )
    return u, v


def _beyond(at: np.ndarray, edge: np.ndarray) -> np.ndarray:
    """Places (n,) 0 .. 1 along an edge [m], the first and the last OVERLAP_M beyond it."""
    out, share = at.copy(), OVERLAP_M / float(np.linalg.norm(edge))
    out[0], out[-1] = -share, 1.0 + share
    return out


def _cut(geometry: Geometry, texture: Texture, patch: int) -> _Part:
    """The pieces of a patch, cut where its texels lie closer or farther apart."""
    triangles, _ = corners_of(geometry, np.array([patch]))
    corner, edges = geometry.corner[patch], np.stack([geometry.edge_u[patch], geometry.edge_v[patch]])
    places = (triangles - corner) @ np.stack([geometry.plane[patch, 6:9], geometry.plane[patch, 9:12]]).T
    one, two = places[:, 1] - places[:, 0], places[:, 2] - places[:, 0]
    if 0.5 * np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]).sum() > 1.0 - 1e-6:  # the pieces fill their frame
        return _whole(geometry, texture, patch)
    u, v = _lines(geometry, texture, patch)
    ends = u.parts[0], v.parts[0]
    rings, parts = [], []
    for triangle in places:
        for i, strip in strips(triangle, ends[0], 0):
            for j, ring in strips(strip, ends[1], 1):
                rings.append(ring)
                parts.append((i, j))
    size = np.array([len(ring) for ring in rings])
    place, which = np.concatenate(rings), np.repeat(np.array(parts), size, axis=0)
    at, pull = np.stack([line.read(which[:, k], place[:, k]) for k, line in enumerate((u, v))], axis=-1)
    begin = np.cumsum([0, *size[:-1]])
    fans = [start + np.array([[0, k, k + 1] for k in range(1, count - 1)]) for start, count in zip(begin, size, strict=True)]
    near, weight = tensor(u, v, int(texture.first[patch]), int(texture.count_v[patch]))
    surface = np.full(len(place), geometry.surface[patch])
    return _Part(corner + place @ edges, np.concatenate(fans), surface, at, pull, (len(u.cell), len(v.cell)), near, weight)


def _even(geometry: Geometry, texture: Texture, patches: np.ndarray) -> _Part:
    """The triangles of patches that have one cell each: a texel for each cell."""
    triangles, owner = corners_of(geometry, patches)
    cells, mine = np.unique(texture.first[owner], return_inverse=True)
    rows = -(-len(cells) // _ROW)
    near, weight = np.zeros((rows * _ROW, 4), int), np.zeros((rows * _ROW, 4))
    near[: len(cells)], weight[: len(cells), 0] = cells[:, None], 1.0
    at = np.repeat(np.stack([mine // _ROW, mine % _ROW], axis=1), 3, axis=0)
    corners = np.arange(3 * len(triangles)).reshape(-1, 3)
    return _Part(
        triangles.reshape(-1, 3),
        corners,
        np.repeat(geometry.surface[owner], 3),
        at,
        np.ones_like(at, float),
        (rows, _ROW),
        near,
        weight,
    )


def _quads(first_u: np.ndarray, first_v: np.ndarray) -> np.ndarray:
    """Triangles (n, 3) between neighbouring corners of one piece; first: a piece begins there. The front faces along edge_u x edge_v."""
    many = len(first_v)
    a, b = np.flatnonzero(~first_u[1:]), np.flatnonzero(~first_v[1:])
    k = (a[:, None] * many + b).ravel()
    return np.concatenate([np.stack([k, k + many, k + many + 1], 1), np.stack([k, k + many + 1, k + 1], 1)])
