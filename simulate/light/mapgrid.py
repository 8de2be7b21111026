"""Grids of nodes on the surfaces that the lit screen shines on, and interpolation between the nodes.

Between nodes a map is interpolated bilinearly on the fine grid and on the grid of every second node; the two are
extrapolated, and their difference is carried along as the bound of what interpolation may still be wrong by.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import accumulate
from typing import NamedTuple

import numpy as np

from ...materials.kernels.arguments import lasting
from ...materials.kernels.jit import kernel, within_callers
from .charts import Spacing, charts, graded, is_large, served
from .eyes import eyes_of
from .geometry import SCREEN, Geometry, is_pieced
from .patches import frozen, sealed
from .projector import ProjectorArrays
from .small import is_small, shared_nodes

BINS = 256  # even steps of an axis


@lasting
class MapGrid(NamedTuple):
    """Nodes on the surfaces that can see the front of the screen.

    first          (P,) int32, first node of a patch, -1 where it has no grid (it sees no lit cloth)
    count_u/count_v (P,) int32, nodes along u and v, odd; 1 for a small patch, whose one node others share: then axis_u is the
                   node of its wider neighbourhood
    axis_u/axis_v  (P,) int32, start of the patch's node places in `axis`
    axis           (A,) node places along u or v [1], rising, last one 1
    place          (N, 3) [m];  patch (N,) int32
    eye            (N, 3) from where each node looks at the screen [m], see eyes.py
    pool           (P,) int32, the fit of pool.py that a patch's light goes into, -1 for the cloth and for small patches
    bins_u/bins_v  (P,) int32, start of the patch's tables in `bins`
    per_cell       (2, A) one over the cell that begins at each place, and over two of them [1]
    bins           (B,) int16, first cell that reaches into each of BINS even steps of an axis
    """

    first: np.ndarray
    count_u: np.ndarray
    count_v: np.ndarray
    axis_u: np.ndarray
    axis_v: np.ndarray
    axis: np.ndarray
    place: np.ndarray
    patch: np.ndarray
    eye: np.ndarray
    pool: np.ndarray
    bins_u: np.ndarray
    bins_v: np.ndarray
    bins: np.ndarray
    per_cell: np.ndarray


class GridLine(NamedTuple):
    """Node places along an edge: axis (n,) rising to 1; bins (BINS,) int16 and per_cell (2, n) as MapGrid has them."""

    axis: np.ndarray
    bins: np.ndarray
    per_cell: np.ndarray


@lru_cache(maxsize=1024)
def line(spacing: Spacing) -> GridLine:
    """Places along an edge [1] with what finds and spans a cell of them. Source: `cell_of`, `look_up`."""
    axis = graded(*spacing)
    bins = np.clip(np.searchsorted(axis, np.arange(BINS) / BINS, side="right") - 1, 0, len(axis) - 2).astype(np.int16)
    per_cell = np.zeros((2, len(axis)))  # 0 past the last
    per_cell[0, :-1] = 1.0 / np.diff(axis)
    per_cell[1, :-2] = 1.0 / (axis[2:] - axis[:-2])
    return GridLine(*map(frozen, (axis, bins, per_cell)))


@lru_cache(maxsize=1024)
def places(along_u: Spacing, along_v: Spacing) -> np.ndarray:
    """1, u, v (n, 3) [1] of a patch's nodes, v running fastest. Source: `line`."""
    u, v = line(along_u).axis, line(along_v).axis
    return frozen(np.stack([np.ones(len(u) * len(v)), np.repeat(u, len(v)), np.tile(v, len(u))], axis=1))


def make_grid(geometry: Geometry, projector: ProjectorArrays, *, cells: int, shell: bool) -> MapGrid:
    """Grid over the room's walls and the faces of its objects, places [m].

    cells   cells along a wall edge, even
    shell   True when patches 0 .. 5 are the room's walls, if it is a box
    raises  PatchNotServed for a patch that the screen shines on and that has no chart
    Source: nodes graded towards the screen plane, behind which no lit cloth is seen.
    """
    boxed = shell and not np.isnan(geometry.box[0, 0])
    walls = 6 if boxed or (shell and not is_pieced(geometry)) else 0
    needed = served(geometry, projector, walls)
    small = needed[is_small(geometry, projector, needed)] if is_pieced(geometry) else needed[:0]
    large = np.setdiff1d(needed, small, assume_unique=True) if len(small) else needed
    wall = [i < walls or (is_pieced(geometry) and not boxed and is_large(i, geometry)) for i in large.tolist()]
    pairs = charts(large, geometry, projector, cells=cells, wall=wall)
    lines = [line(each) for pair in pairs for each in pair]
    grids = [places(*pair) for pair in pairs]
    many, lengths = [len(grid) for grid in grids], [len(one.axis) for one in lines]
    ends, begins, tables = (
        list(accumulate(many, initial=0)),
        list(accumulate(lengths, initial=0)),
        range(0, BINS * len(lines), BINS),
    )
    numbers = np.zeros((7, len(geometry.corner)), np.int32)
    numbers[0] = -1
    numbers[:, large] = (ends[:-1], lengths[::2], lengths[1::2], begins[:-1:2], begins[1::2], tables[::2], tables[1::2])
    first, count_u, count_v, axis_u, axis_v, bins_u, bins_v = numbers
    owner, place = np.repeat(large.astype(np.int32), np.array(many, np.int64)), np.empty((ends[-1], 3))
    frames = np.empty((len(large), 3, 3))
    frames[:, 0], frames[:, 1], frames[:, 2] = geometry.corner[large], geometry.edge_u[large], geometry.edge_v[large]
    for begin, end, grid, frame in zip(ends, ends[1:], grids, frames, strict=False):
        np.matmul(grid, frame, out=place[begin:end])
    if len(small):
        chosen, mine, wider = shared_nodes(geometry, projector, small)
        first[small], count_u[small], count_v[small], axis_u[small] = ends[-1] + mine, 1, 1, ends[-1] + wider
        place = np.concatenate([place, geometry.corner[chosen] + 0.5 * (geometry.edge_u[chosen] + geometry.edge_v[chosen])])
        owner = np.concatenate([owner, chosen.astype(np.int32)])
    axis, bins, per_cell = zip(*lines, strict=True) if lines else ([np.zeros(0)], [np.zeros(0, np.int16)], [np.zeros((2, 0))])
    pool = _pools(geometry.role, small)
    nodes = (np.concatenate(axis), place, owner, eyes_of(geometry, owner, place), pool)
    made = (
        first,
        count_u,
        count_v,
        axis_u,
        axis_v,
        *nodes,
        bins_u,
        bins_v,
        np.concatenate(bins),
        np.concatenate(per_cell, axis=1),
    )
    return MapGrid(*map(sealed, made))


def _pools(role: np.ndarray, small: np.ndarray) -> np.ndarray:
    """Numbers (patches,) of the fits, -1 for the cloth and for `small` patches. Source: definition."""
    shared = role != SCREEN
    if len(small):
        shared[small] = False
    pool = np.cumsum(shared, dtype=np.int32)
    pool *= shared
    pool -= 1
    return pool


@kernel
def cell_of(axis, start, count, bins, bin_start, t):
    """Cell of the rising places axis[start .. start + count - 1] that holds t in 0 .. 1 [1]; -1 below the first.

    Source: a table of the first cell of each of BINS even steps, then a short search upward.
    """
    if t < axis[np.uint64(start)]:
        return np.int64(-1)
    step = np.uint64(t * BINS)
    cell = np.int64(bins[np.uint64(bin_start) + (step if step < np.uint64(BINS) else np.uint64(BINS - 1))])
    while cell < count - 2 and axis[np.uint64(start + cell + 1)] <= t:
        cell += 1
    return cell


@within_callers
def look_up(grid, values, patch, u, v, fine, spread):
    """Map values at (u, v) [1] of a patch: `fine` gets the extrapolated ones, `spread` what extrapolation changed; both (K,).

    values   (N, K) of the nodes [any unit];  fine, spread  come in the same unit
    Zero where the patch has no grid (make_grid gives one to every patch that sees lit cloth) or (u, v) lies behind the screen plane.
    Source: Richardson extrapolation of two bilinear interpolants, (4 fine - coarse) / 3, error term h^2.
    """
    kinds = values.shape[1]
    for k in range(kinds):
        fine[k] = 0.0
        spread[k] = 0.0
    first = grid.first[patch]
    if first < 0:
        return
    if grid.count_u[patch] == 1:  # one node for all of a small patch, and one for its wider neighbourhood
        other = np.int64(grid.axis_u[patch])
        for k in range(kinds):
            fine[k] = values[first, k]
            spread[k] = (values[first, k] - values[other, k]) * (1.0 / 3.0)
        return
    au, av, nv = grid.axis_u[patch], grid.axis_v[patch], grid.count_v[patch]
    i = cell_of(grid.axis, au, grid.count_u[patch], grid.bins, grid.bins_u[patch], u)
    j = cell_of(grid.axis, av, nv, grid.bins, grid.bins_v[patch], v)
    if i < 0 or j < 0:
        return
    for coarse in range(2):
        step = 1 + coarse
        a, b = (i & ~1, j & ~1) if coarse else (i, j)
        s = (u - grid.axis[au + a]) * grid.per_cell[coarse, au + a]
        t = (v - grid.axis[av + b]) * grid.per_cell[coarse, av + b]
        n00 = np.uint32(first + a * nv + b)
        n10 = np.uint32(first + (a + step) * nv + b)
        n01, n11 = np.uint32(n00 + step), np.uint32(n10 + step)
        w11 = s * t
        w10, w01 = s - w11, t - w11
        w00 = 1.0 - s - w01
        for k in range(kinds):
            value = w00 * values[n00, k] + w01 * values[n01, k] + w10 * values[n10, k] + w11 * values[n11, k]
            if coarse:
                spread[k] = (fine[k] - value) * (1.0 / 3.0)
                fine[k] += spread[k]
            else:
                fine[k] = value
