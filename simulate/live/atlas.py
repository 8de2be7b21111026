"""The atlas of a room's light: one picture in which every surface has a block of texels, read by the browser as pictures read cells.

A texel stands at every middle of a cell, and one half a cell beyond either end of every piece between two lines, so that straight lines
between texels are those of `texture.read_texture`, and nothing is read across a line where light jumps.
"""

from __future__ import annotations

import itertools
import math
from typing import NamedTuple

import numpy as np

from ..views.texture import Texture

EVEN = 0.06  # texels by which a place between two corners may be read beside where it stands


class Line(NamedTuple):
    """An edge of a patch: n texels along it, and the k corners of triangles that stand on it.

    cell, other  (n,) int, cells along the edge, and weight (n,) of the other one [1]
    at     (k,) places of the corners 0 .. 1 [1], rising;  texel (k,) where they read
    first  (k,) bool, a piece between two lines begins there: the corner before is at the same place and ends another piece
    """

    cell: np.ndarray
    other: np.ndarray
    weight: np.ndarray
    at: np.ndarray
    texel: np.ndarray
    first: np.ndarray

    @property
    def parts(self) -> tuple[np.ndarray, np.ndarray]:
        """The parts of the edge between its corners: ends (m + 1,) places 0 .. 1 [1], and the corner (m,) with which each begins."""
        begin = np.flatnonzero(~self.first[1:])
        return np.append(self.at[begin], self.at[-1]), begin

    def read(self, part: np.ndarray, at: np.ndarray) -> np.ndarray:
        """Where places at (k,) 0 .. 1 of some parts (k,) read, in texels. Source: linear."""
        low = self.parts[1][part]
        share = (at - self.at[low]) / (self.at[low + 1] - self.at[low])
        return np.asarray(self.texel[low] + share * (self.texel[low + 1] - self.texel[low]))


def line_of(texture: Texture, half: int, bounds: np.ndarray) -> Line:
    """The edge whose half cells begin at `half` and whose cells end at bounds 0 .. 1 [1]. Source: `read_texture`."""
    cells = np.arange(len(bounds) - 1)
    joined = texture.base[half + 2 * cells] == cells - 1  # with the cell before: no line between them
    starts = [*np.flatnonzero(~joined).tolist(), len(cells)]
    middle = 0.5 * (bounds[1:] + bounds[:-1])
    pieces, count = [], 0
    for low, high in itertools.pairwise(starts):
        pieces.append(_piece(low, bounds[low : high + 1], middle[low:high], count))
        count += high - low + 2
    return Line(*(np.concatenate(each) for each in zip(*pieces, strict=True)))


def _piece(low: int, bounds: np.ndarray, middle: np.ndarray, before: int) -> Line:
    """A piece of cells low, low + 1 ... behind so many texels."""
    n = len(middle)
    cell, other, weight = np.arange(n), np.arange(n), np.zeros(n)
    at, texel = np.concatenate([bounds[:1], middle, bounds[-1:]]), np.concatenate([[0.5], np.arange(1.0, n + 1.0), [n + 0.5]])
    beyond = np.zeros(2)
    if n > 1:  # the straight line goes on to the ends, which are read half way to the texels beyond them
        beyond = 2.0 * np.array([at[0] - at[1], at[-1] - at[-2]]) / np.array([at[2] - at[1], at[-3] - at[-2]])
    cell, other = np.concatenate([[0], cell, [n - 1]]), np.concatenate([[min(1, n - 1)], other, [max(0, n - 2)]])
    kept = _corners(at, texel) if n > 1 else np.array([0, 2])
    first = np.arange(len(kept)) == 0
    return Line(low + cell, low + other, np.concatenate([beyond[:1], weight, beyond[1:]]), at[kept], before + texel[kept], first)


def _corners(at: np.ndarray, texel: np.ndarray) -> np.ndarray:
    """Of rising places (n,) that are read at texels (n,) those between which texels lie evenly, to within EVEN.

    Source: greedy, from one to the next.
    """
    kept, begin = [0], 0
    for end in range(2, len(at)):
        share = (at[begin : end + 1] - at[begin]) / (at[end] - at[begin])
        read = texel[begin] + share * (texel[end] - texel[begin])
        if np.abs(read - texel[begin : end + 1]).max() > EVEN:
            begin = end - 1
            kept.append(begin)
    return np.array([*kept, len(at) - 1])


def tensor(u: Line, v: Line, first: int, many: int) -> tuple[np.ndarray, np.ndarray]:
    """Cells (n, 4) and weights [1] of the texels of a patch, u outer: products of both edges' linear weights."""
    near, weight = [], []
    for a, s in ((u.cell, 1.0 - u.weight), (u.other, u.weight)):
        for b, t in ((v.cell, 1.0 - v.weight), (v.other, v.weight)):
            near.append((first + a[:, None] * many + b).ravel())
            weight.append((s[:, None] * t).ravel())
    return np.stack(near, axis=1), np.stack(weight, axis=1)


def packed(sizes: np.ndarray) -> tuple[np.ndarray, tuple[int, int]]:
    """First row and column (n, 2) of blocks of so many rows and columns (n, 2), and rows and columns of the atlas.

    Source: shelves, the highest blocks first.
    """
    wide = max(int(sizes[:, 1].max()), math.ceil(1.05 * math.sqrt(float(sizes.prod(axis=1).sum()))))
    found, row, column, high = np.zeros_like(sizes), 0, 0, 0
    for k in np.argsort(-sizes[:, 0], kind="stable"):
        if column + sizes[k, 1] > wide:
            row, column, high = row + high, 0, 0
        found[k] = row, column
        column, high = column + int(sizes[k, 1]), max(high, int(sizes[k, 0]))
    return found, (row + high, wide)
