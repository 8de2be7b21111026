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

BESIDE_M = 0.003  # how far from where it stands a place between two corners may be read
BESIDE = 0.1  # the same in texels, where they are small
_LEAST, _MOST = 1e-3, 1e3  # pull of one corner over that of the next


class Line(NamedTuple):
    """An edge of a patch: n texels along it, and the k corners of triangles that stand on it.

    cell, other  (n,) int, cells along the edge, and weight (n,) of the other one [1]
    at     (k,) places of the corners 0 .. 1 [1], rising;  texel (k,) where they read
    pull   (k,) > 0, weights of corners on what lies between them: texel pull and pull run straight from one to the next, and a place
           reads where their ratio says, so that texels may lie closer at one end
    first  (k,) bool, a piece between two lines begins there: the corner before is at the same place and ends another piece
    """

    cell: np.ndarray
    other: np.ndarray
    weight: np.ndarray
    at: np.ndarray
    texel: np.ndarray
    pull: np.ndarray
    first: np.ndarray

    @property
    def parts(self) -> tuple[np.ndarray, np.ndarray]:
        """The parts of the edge between its corners: ends (m + 1,) places 0 .. 1 [1], and the corner (m,) with which each begins."""
        begin = np.flatnonzero(~self.first[1:])
        return np.append(self.at[begin], self.at[-1]), begin

    def read(self, part: np.ndarray, at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Where places at (k,) 0 .. 1 of some parts (k,) read, in texels, and with which pull. Source: linear in texel pull and in pull."""
        low = self.parts[1][part]
        share = (at - self.at[low]) / (self.at[low + 1] - self.at[low])
        one, other = (1.0 - share) * self.pull[low], share * self.pull[low + 1]
        return (one * self.texel[low] + other * self.texel[low + 1]) / (one + other), one + other


def line_of(texture: Texture, half: int, bounds: np.ndarray, length_m: float) -> Line:
    """The edge of a length [m] whose half cells begin at `half` and whose cells end at bounds 0 .. 1 [1]. Source: `read_texture`."""
    cells = np.arange(len(bounds) - 1)
    joined = texture.base[half + 2 * cells] == cells - 1  # with the cell before: no line between them
    starts = [*np.flatnonzero(~joined).tolist(), len(cells)]
    pieces, count = [], 0
    for low, high in itertools.pairwise(starts):
        pieces.append(_piece(low, bounds[low : high + 1], count, BESIDE_M / length_m))
        count += high - low + 2
    return Line(*(np.concatenate(each) for each in zip(*pieces, strict=True)))


def _piece(low: int, bounds: np.ndarray, before: int, beside: float) -> Line:
    """A piece of cells low, low + 1 ... behind so many texels, its places read no farther than `beside` 0 .. 1 from where they stand."""
    n, middle, width = len(bounds) - 1, 0.5 * (bounds[1:] + bounds[:-1]), np.diff(bounds)
    cell, other, weight = np.arange(n), np.arange(n), np.zeros(n)
    at, texel = np.concatenate([bounds[:1], middle, bounds[-1:]]), np.concatenate([[0.5], np.arange(1.0, n + 1.0), [n + 0.5]])
    beyond, kept, pull = np.zeros(2), np.array([0, 2]), np.ones(2)
    if n > 1:  # the straight line goes on to the ends, which are read half way to the texels beyond them
        beyond = 2.0 * np.array([at[0] - at[1], at[-1] - at[-2]]) / np.array([at[2] - at[1], at[-3] - at[-2]])
        kept, pull = _corners(at, texel, np.minimum(BESIDE, beside / np.concatenate([width[:1], width, width[-1:]])))
    cell, other = np.concatenate([[0], cell, [n - 1]]), np.concatenate([[min(1, n - 1)], other, [max(0, n - 2)]])
    first, weight = np.arange(len(kept)) == 0, np.concatenate([beyond[:1], weight, beyond[1:]])
    return Line(low + cell, low + other, weight, at[kept], before + texel[kept], pull, first)


def _corners(at: np.ndarray, texel: np.ndarray, slack: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Which (k,) of rising places (n,) stay corners, so that all others read their texels (n,) within the slack (n,), and their pulls (k,).

    Source: greedy, from each corner to the farthest that one ratio of pulls serves; asked half way between places too.
    """
    at, texel, slack = (np.insert(row, np.arange(1, len(row)), 0.5 * (row[1:] + row[:-1])) for row in (at, texel, slack))
    begin, kept, pull = 0, [0], [1.0]
    while begin < len(at) - 1:
        x, t, e = at[begin + 1 :] - at[begin], texel[begin + 1 :] - texel[begin], slack[begin + 1 :]
        between = np.arange(len(x)) < np.arange(1, len(x), 2)[:, None]  # of each end in turn
        ahead, low, high = x[1::2, None] - x, t[1::2, None] - (t - e), t[1::2, None] - (t + e)
        least = np.divide(ahead * (t - e), x * low, out=np.zeros_like(ahead), where=between).max(axis=1, initial=_LEAST)
        most = np.divide(ahead * (t + e), x * high, out=np.full_like(ahead, _MOST), where=between & (high > 0.0)).min(
            axis=1, initial=_MOST
        )
        far = int(np.flatnonzero(least <= most)[-1])
        begin += 2 * far + 2
        kept.append(begin // 2)
        pull.append(pull[-1] * (float(np.sqrt(least[far] * most[far])) if far else 1.0))
    return np.array(kept), np.array(pull)


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
