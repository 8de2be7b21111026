"""Values of cells such that straight lines between them hold the light's mean, which lines through the light itself do not."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .texture import Texture


class Bends(NamedTuple):
    """The four neighbours of T cells, before and after along u, then along v.

    near   (T, 4) int, a neighbour's number, the cell's own where it has none
    share  (T, 4) of the difference from it that is taken off [1]
    """

    near: np.ndarray
    share: np.ndarray


def bends_of(texture: Texture) -> Bends:
    """The bends of a texture's cells.

    Lines between values f at steps a and b lie above a bent curve's mean by f'' a^2 / 12 and f'' b^2 / 12, with
    f'' = 2 ((f+ - f) / b - (f - f-) / a) / (a + b). A cell takes off half of what its two lines are off, over its weight (a + b) / 2.
    The last cell before a line takes off nothing: the slope that goes on beyond it is off as much the other way.
    Source: derived (error of the trapezoidal rule).
    """
    count = len(texture.value)
    near, share = np.tile(np.arange(count)[:, None], (1, 4)), np.zeros((count, 4))
    for i in np.flatnonzero((texture.first >= 0) & (texture.count_u * texture.count_v > 1)):
        shape = int(texture.count_u[i]), int(texture.count_v[i])
        cells = int(texture.first[i]) + np.arange(shape[0] * shape[1]).reshape(shape)
        for axis, half in enumerate((texture.half_u[i], texture.half_v[i])):
            at, before, after = _along(texture, int(half), shape[axis])
            rows = np.moveaxis(cells, axis, 0)
            for k, other, part in ((0, at - 1, before), (1, at + 1, after)):
                near[rows[at], 2 * axis + k] = rows[other]
                share[rows[at], 2 * axis + k] = part[:, None]
    return Bends(near, share)


def _along(texture: Texture, half: int, count: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Cells along an edge that have neighbours on both sides, and their shares of the one before and of the one after [1]."""
    lower, upper = half + 2 * np.arange(count), half + 2 * np.arange(count) + 1
    cell = np.arange(count)
    both = (texture.base[lower] == cell - 1) & (texture.base[upper] == cell) & (texture.slope[upper] > 0.0)
    at = np.flatnonzero(both)
    a, b = 1.0 / texture.slope[lower[at]], 1.0 / texture.slope[upper[at]]
    whole = (a**3 + b**3) / (6.0 * (a + b) ** 2)
    return at, whole / a, whole / b


def with_means(bends: Bends, value: np.ndarray) -> np.ndarray:
    """Values (T, C) less what lines between them would have too much, in any unit, at least 0. Source: `bends_of`."""
    out = value * (1.0 + bends.share.sum(axis=1))[:, None]
    for k in range(4):
        out -= bends.share[:, k, None] * value[bends.near[:, k]]
    return np.maximum(out, 0.0)
