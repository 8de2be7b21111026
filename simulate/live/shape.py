"""The room as triangles whose corners carry its light: the same cells and the same straight lines as pictures read.

A corner stands at every middle of a cell and at the ends of every piece between two lines, so a triangle's linear shading is what
`texture.read_texture` says there, and nothing is shaded across a line where light jumps.
"""

from __future__ import annotations

import itertools
from typing import NamedTuple

import numpy as np

from ..measuring.flatten import SceneArrays
from ..views.room_glb import to_gltf
from ..views.texture import Texture


class Shape(NamedTuple):
    """V corners and F triangles of everything but the cloth.

    place    (V, 3) float32 [m], glTF axes: right, up, out of the screen wall
    corners  (F, 3) uint32, front sides anticlockwise;  surface (V,) uint8, number of the scene's surface
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


def shape_of(arrays: SceneArrays, texture: Texture) -> Shape:
    """The shape of a room, places [m]. Source: `Texture`, `to_gltf`."""
    geometry = arrays.geometry
    parts: list[tuple[np.ndarray, ...]] = []
    count = 0
    for patch in np.flatnonzero(texture.first >= 0):
        bounds = texture.bounds(int(patch))
        u = _line(texture, int(texture.half_u[patch]), bounds[0])
        v = _line(texture, int(texture.half_v[patch]), bounds[1])
        place = geometry.corner[patch] + u.at[:, None, None] * geometry.edge_u[patch] + v.at[:, None] * geometry.edge_v[patch]
        near, weight = _tensor(u, v, int(texture.first[patch]), len(bounds[1]) - 1)
        quads = count + _quads(u, v)
        surface = np.full(place.shape[0] * place.shape[1], geometry.surface[patch], np.uint8)
        parts.append((place.reshape(-1, 3), quads, surface, near, weight))
        count += len(surface)
    place, corners, surface, near, weight = (np.concatenate(each) for each in zip(*parts, strict=True))
    return Shape(to_gltf(place).astype(np.float32), corners.astype(np.uint32), surface, near.astype(np.int32), weight)


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
