"""Light between the middles of cells: by cubics on cells a third as wide, which are read by lines."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from ..light.geometry import Geometry
from .joins import Joins, joins_of, whole_patches
from .texture import Texture, texture_of

_NODES = 4  # of a cubic


class BetweenCells:
    """Textures of a room's surfaces whose cells are a third as wide; what hangs on the room alone is worked out once, when first asked for."""

    def __init__(self, geometry: Geometry, texture: Texture) -> None:
        self._geometry, self._texture = geometry, texture

    @cached_property
    def joins(self) -> Joins:
        """How the cells hang together. Source: `joins_of`."""
        return joins_of(self._geometry, self._texture)

    def finer(self, value: np.ndarray) -> Texture:
        """A texture of values (T, C) of the cells' middles, in any unit, not negative: patches with cells of their own alone.

        Source: Lagrange's cubic through the four nearest joined cells along u, then along v; a parabola beyond the last ones.
        """
        at = [0, 1, 2]
        rows = [value if s == 1 else self._mixed(value, 0, s) for s in at]
        fine = np.empty((len(self._layout.value), value.shape[1]))
        for s, row in zip(at, rows, strict=True):
            for r in at:
                fine[self._where[:, s, r]] = row if r == 1 else self._mixed(row, 1, r)
        return self._layout._replace(value=np.maximum(fine, 0.0))

    def _mixed(self, value: np.ndarray, axis: int, third: int) -> np.ndarray:
        """Values (T, C) at the first (0) or last (2) third of the cells along an axis."""
        cells, weights = self._stencils[axis][third]
        out = weights[0][:, None] * value[cells[0]]
        for k in range(1, _NODES):
            out += weights[k][:, None] * value[cells[k]]
        return out

    @cached_property
    def _stencils(self) -> list[dict[int, tuple[np.ndarray, np.ndarray]]]:
        return [{third: stencil(self.joins, axis, third) for third in (0, 2)} for axis in (0, 1)]

    @cached_property
    def _where(self) -> np.ndarray:
        """Place (T, 3, 3) of the ninths of each cell in the list of the finer ones; those of cells that patches share, all in one place."""
        texture = self._texture
        count = len(texture.value) - len(texture.shared)
        thirds = np.arange(3)
        found = np.full((len(texture.value), 3, 3), 9 * count)
        for i in whole_patches(texture):
            many_u, many_v, first = (int(part[i]) for part in (texture.count_u, texture.count_v, texture.first))
            u = (3 * np.arange(many_u)[:, None] + thirds).reshape(many_u, 1, 3, 1)
            v = (3 * np.arange(many_v)[:, None] + thirds).reshape(1, many_v, 1, 3)
            found[first : first + many_u * many_v] = (9 * first + 3 * many_v * u + v).reshape(-1, 3, 3)
        return found

    @cached_property
    def _layout(self) -> Texture:
        """The finer cells, dark, with one more that stands for all that patches share."""
        texture = self._texture
        found = {}
        for i in whole_patches(texture):
            both = []
            for axis, bounds in enumerate(texture.bounds(int(i))):
                ends = bounds[:-1, None] + np.diff(bounds)[:, None] * np.arange(3) / 3.0
                both.append((np.append(ends.ravel(), bounds[-1]), np.repeat(texture.pieces(int(i), axis), 3)))
            found[int(i)] = both
        return texture_of(self._geometry, found, np.zeros(0, int), 1, spare=1)


def stencil(joins: Joins, axis: int, third: int) -> tuple[np.ndarray, np.ndarray]:
    """Cells (4, T) from which the first (0) or last (2) third of each cell along an axis is told, and their weights (4, T) [1].

    Source: Lagrange's polynomial through the nearest of the cells that are joined, four where there are so many.
    """
    count = len(joins.place)
    cells, step = np.arange(count), joins.step[:, axis]
    back, ahead = (_reach(joins, axis, way) for way in (-1, 1))
    place = joins.place[:, axis]
    t = place + (third - 1) / 3.0 * joins.width[:, axis]
    beyond = np.where(third == 0, back, ahead) == 0
    many = np.minimum(np.where(beyond, _NODES - 1, _NODES), back + ahead + 1)
    start = np.clip(-2 if third == 0 else -1, -back, ahead + 1 - many)
    nodes = [cells + (start + np.minimum(k, many - 1)) * step for k in range(_NODES)]
    x = [place[node] for node in nodes]
    weights = []
    for j in range(_NODES):
        weight = (j < many).astype(float)
        for m in range(_NODES):
            if m != j:
                use = (m < many) & (j < many)
                weight *= np.where(use, (t - x[m]) / np.where(use, x[j] - x[m], 1.0), 1.0)
        weights.append(weight)
    return np.array(nodes), np.array(weights)


def _reach(joins: Joins, axis: int, way: int) -> np.ndarray:
    """How many cells (T,) are joined to each in a row, before it (-1) or after it (1): 0 to 3."""
    on, step = (joins.before if way < 0 else joins.after)[:, axis], way * joins.step[:, axis]
    at, open_ = np.arange(len(on)), np.ones(len(on), bool)
    found = np.zeros(len(on), int)
    for _ in range(_NODES - 1):
        open_ &= on[at]
        found += open_
        at = np.where(open_, at + step, at)
    return found
