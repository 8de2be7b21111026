"""The map between its nodes as one sheet a cell: what `look_up` interpolates there is a + b u + c v + d u v, laid once and read at every hit."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel, within_callers
from .mapgrid import MapGrid, cell_of
from .patches import frozen
from .readonly import read_only

STEP = 1.0 / 65535.0


@kernel
def bilinear(grid, values, k, node, at_u, at_v, across, step):
    """a, b, c, d of column k between a node and those `step` further: at_u, at_v its places in grid.axis, `across` nodes along v.

    Source: bilinear interpolation, multiplied out.
    """
    u, v = grid.axis[at_u], grid.axis[at_v]
    per_u, per_v = grid.per_cell[step - 1, at_u], grid.per_cell[step - 1, at_v]
    value, later = values[node, k], values[node + step * across, k]
    rise_u, rise_v = (later - value) * per_u, (values[node + step, k] - value) * per_v
    d = (values[node + step * across + step, k] - later - values[node + step, k] + value) * per_u * per_v
    b, c = rise_u - d * v, rise_v - d * u
    return value - b * u - c * v - d * u * v, b, c, d


@kernel
def lay(grid, values, sheets, chart):
    """Write the sheets (N, 2K, 4) of the cells that begin at each node, then what extrapolation changes; values (N, K) [any unit].

    chart  (P, 7) as Sheets has it, written too. Source: mapgrid.look_up; derived.
    """
    kinds = values.shape[1]
    for patch in range(grid.first.shape[0]):
        first, across = np.int64(grid.first[patch]), np.int64(grid.count_v[patch])
        at_u, at_v = np.int64(grid.axis_u[patch]), np.int64(grid.axis_v[patch])
        chart[patch, 0], chart[patch, 1], chart[patch, 2] = first, grid.count_u[patch], across
        chart[patch, 3], chart[patch, 4], chart[patch, 5], chart[patch, 6] = at_u, at_v, grid.bins_u[patch], grid.bins_v[patch]
        if first < 0:
            continue
        if grid.count_u[patch] == 1:  # one node for all of a small patch, and one for its wider neighbourhood
            for k in range(kinds):
                sheets[first, k, 0] = values[first, k]
                sheets[first, kinds + k, 0] = (values[first, k] - values[at_u, k]) * (1.0 / 3.0)
            continue
        for i in range(grid.count_u[patch] - 1):
            for j in range(across - 1):
                a, b, node = i & ~1, j & ~1, first + i * across + j
                for k in range(kinds):
                    fine = bilinear(grid, values, k, node, at_u + i, at_v + j, across, 1)
                    coarse = bilinear(grid, values, k, first + a * across + b, at_u + a, at_v + b, across, 2)
                    for m in range(4):
                        change = (fine[m] - coarse[m]) * (1.0 / 3.0)
                        sheets[node, k, m], sheets[node, kinds + k, m] = fine[m] + change, change


class Sheets(NamedTuple):
    """A map's sheets; read-only.

    sheet  (N, 2K, 4) of the cells that begin at each node, then what extrapolation changes [the map's unit]
    chart  (P, 7) int64, first, count_u, count_v, axis_u, axis_v, bins_u and bins_v of MapGrid, in one row
    """

    sheet: np.ndarray
    chart: np.ndarray


NO_SHEETS = Sheets(frozen(np.zeros((0, 0, 4))), frozen(np.zeros((0, 7), np.int64)))


def lay_sheets(grid: MapGrid, values: np.ndarray) -> Sheets:
    """Sheets of a grid with values (N, K) at its nodes [any unit]. Source: `lay`."""
    sheets, chart = np.zeros((len(values), 2 * values.shape[1], 4)), np.empty((len(grid.first), 7), np.int64)
    lay(read_only(grid), read_only(values), sheets, chart)
    return read_only(Sheets(sheets, chart))


@within_callers
def read_sheets(transport, low, high, light):
    """Write what the map has at hits low .. high - 1 of a ledger into light (at least high - low, 2K), in the sheets' unit.

    transport  a walk's Transport
    Zero where the patch has no grid or the hit lies behind the screen plane. Source: mapgrid.look_up.
    """
    grid, ledger, sheets = transport.grid, transport.ledger, transport.sheets.sheet
    for i in range(low, high):
        patch, u, v = np.uint32(ledger.patch[i]), ledger.u[i] * STEP, ledger.v[i] * STEP
        chart, out = transport.sheets.chart[patch], light[i - low]
        node = chart[0]
        if node >= 0 and chart[1] > 1:
            a = cell_of(grid.axis, chart[3], chart[1], grid.bins, chart[5], u)
            b = cell_of(grid.axis, chart[4], chart[2], grid.bins, chart[6], v)
            node = node + a * chart[2] + b if a >= 0 and b >= 0 else np.int64(-1)
        if node < 0:
            for k in range(sheets.shape[1]):
                out[k] = 0.0
            continue
        sheet = sheets[np.uint64(node)]
        for k in range(sheets.shape[1]):
            out[k] = sheet[k, 0] + sheet[k, 1] * u + sheet[k, 2] * v + sheet[k, 3] * (u * v)
