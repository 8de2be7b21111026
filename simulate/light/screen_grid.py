"""Folded cloth as a fine triangle mesh over the nominal screen: where a ray meets it, and its smooth normal.

The mesh is a grid of cells over the white area, each cut into two triangles along its falling diagonal; its corners lie on the
cloth. A ray crosses a few cells of the thin slab the cloth lies in, so it walks them in order instead of searching a tree; the
height over the ray is continuous from cell to cell, so no ray slips through an edge. Normals come from the smooth surface, a
cubic spline through the corners, not from the triangles.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from ...scenes.cloth.spline import spline_at
from .vectors import dot, row, unit

MISS = -1.0


class Relief(NamedTuple):
    """The folded cloth; read-only arrays in the inside frame.

    patch    (1,) int64, the patch of the nominal white area it stands for
    frame    (4, 3) lower left corner [m] of the nominal white area as the seats see it, unit right, up, normal
    size     (2,) width, height [m];  step (2,) cell size [m]
    height   (rows + 1, columns + 1) heights of the corners over the nominal plane [m], bottom row first
    spline   (rows + 3, columns + 3) coefficients of the smooth surface through them
    reach    (3,) least and greatest height [m], steepest slope of a triangle [1]
    outline  (2,) how far the side edges stand inwards at half height, the lower edge's ends above its middle [m]
    """

    patch: np.ndarray
    frame: np.ndarray
    size: np.ndarray
    step: np.ndarray
    height: np.ndarray
    spline: np.ndarray
    reach: np.ndarray
    outline: np.ndarray


@kernel
def cell_height(height, i, j, a, b):
    """Height [m] in cell (column i, row j) at a, b in 0 .. 1 on its two triangles. Source: linear interpolation."""
    if a + b <= 1.0:
        h = height[j, i]
        return h + a * (height[j, i + 1] - h) + b * (height[j + 1, i] - h)
    h = height[j + 1, i + 1]
    return h + (1.0 - a) * (height[j + 1, i] - h) + (1.0 - b) * (height[j, i + 1] - h)


@kernel
def mesh_height(relief, u, v):
    """Height [m] of the triangles at a place u, v of the white area, each 0 .. 1. Source: `cell_height`."""
    rows, columns = relief.height.shape[0] - 1, relief.height.shape[1] - 1
    x = min(max(u, 0.0), 1.0) * columns
    y = min(max(v, 0.0), 1.0) * rows
    i = min(int(x), columns - 1)
    j = min(int(y), rows - 1)
    return cell_height(relief.height, i, j, x - i, y - j)


@kernel
def on_sheet(relief, x, y):
    """True where the sheet is, at x, y [m] from its lower left corner. Source: parabolic edges."""
    across = 2.0 * y / relief.size[1] - 1.0
    inwards = relief.outline[0] * (1.0 - across * across)
    if x < inwards or x > relief.size[0] - inwards:
        return False
    along = 2.0 * x / relief.size[0] - 1.0
    return y >= relief.outline[1] * along * along


@kernel
def clip(place, way, low, high, first, last):
    """The part of first .. last [m] for which place [m] + t way [1] lies in low .. high [m]; empty: first above last.

    Source: slab method (Kay and Kajiya 1986).
    """
    if way > 0.0:
        a, b = (low - place) / way, (high - place) / way
    elif way < 0.0:
        a, b = (high - place) / way, (low - place) / way
    elif place < low or place > high:
        return 1.0, 0.0
    else:
        return first, last
    return max(first, a), min(last, b)


@kernel
def walk_cells_of(relief, origin, direction, first, last):
    """Distance [m], u, v [1] at which a ray (origin [m], unit direction) in the sheet's frame meets it between first and last.

    MISS where it does not. Source: grid traversal (Amanatides and Woo 1987); the height over the sheet is linear in each triangle.
    """
    ox, oy, oz = origin
    dx, dy, dz = direction
    low, high = relief.reach[0] - 1e-9, relief.reach[1] + 1e-9
    first, last = clip(oz, dz, low, high, first, last)
    first, last = clip(ox, dx, 0.0, relief.size[0], first, last)
    first, last = clip(oy, dy, 0.0, relief.size[1], first, last)
    if not first < last:
        return MISS, 0.0, 0.0
    rows, columns = relief.height.shape[0] - 1, relief.height.shape[1] - 1
    x, y = (ox + first * dx) / relief.step[0], (oy + first * dy) / relief.step[1]
    sx, sy = dx / relief.step[0], dy / relief.step[1]
    i, j = min(max(int(x), 0), columns - 1), min(max(int(y), 0), rows - 1)
    t = first
    over = oz + t * dz - cell_height(relief.height, i, j, x - i, y - j)
    front = over > 0.0
    while True:
        out_x = ((i + 1 if sx > 0.0 else i) - (ox / relief.step[0])) / sx if sx != 0.0 else math.inf
        out_y = ((j + 1 if sy > 0.0 else j) - (oy / relief.step[1])) / sy if sy != 0.0 else math.inf
        leave = min(out_x, out_y, last)
        # the diagonal a + b = 1 of the cell
        rate = sx + sy
        ends = leave
        if rate != 0.0:
            cut = (i + j + 1 - (ox / relief.step[0] + oy / relief.step[1])) / rate
            if t < cut < leave:
                ends = cut
        while True:
            x, y = ox / relief.step[0] + ends * sx, oy / relief.step[1] + ends * sy
            then = oz + ends * dz - cell_height(relief.height, i, j, min(max(x - i, 0.0), 1.0), min(max(y - j, 0.0), 1.0))
            if (then > 0.0) != front:
                hit = t + (ends - t) * over / (over - then) if over != then else ends
                px, py = ox + hit * dx, oy + hit * dy
                if on_sheet(relief, px, py):
                    return hit, px / relief.size[0], py / relief.size[1]
                front = not front
            t, over = ends, then
            if ends >= leave:
                break
            ends = leave
        if leave >= last:
            return MISS, 0.0, 0.0
        if out_x <= out_y:
            i += 1 if sx > 0.0 else -1
        else:
            j += 1 if sy > 0.0 else -1
        if i < 0 or j < 0 or i >= columns or j >= rows:
            return MISS, 0.0, 0.0


@kernel
def meets_sheet(relief, origin, direction, first, last, leaves):
    """Distance, u, v at which a ray meets the sheet between first and last [m]; MISS where it does not.

    leaves  True where the ray starts on the sheet: steeper than the steepest triangle it cannot meet it again
    Source: `walk_cells_of`.
    """
    f = relief.frame
    dx, dy, dz = dot(direction, row(f, 1)), dot(direction, row(f, 2)), dot(direction, row(f, 3))
    if leaves and dz > 0.0 and dz * dz > relief.reach[2] * relief.reach[2] * (dx * dx + dy * dy):
        return MISS, 0.0, 0.0
    q = (origin[0] - f[0, 0], origin[1] - f[0, 1], origin[2] - f[0, 2])
    oz = dot(q, row(f, 3))
    # most rays pass the slab on this side or never come near it
    if (oz > relief.reach[1] and dz >= 0.0) or (oz < relief.reach[0] and dz <= 0.0):
        return MISS, 0.0, 0.0
    return walk_cells_of(relief, (dot(q, row(f, 1)), dot(q, row(f, 2)), oz), (dx, dy, dz), first, last)


@kernel
def sheet_place(relief, u, v):
    """Place [m] of the mesh at u, v of the white area. Source: `mesh_height`."""
    h = mesh_height(relief, u, v)
    f, x, y = relief.frame, u * relief.size[0], v * relief.size[1]
    return (
        f[0, 0] + x * f[1, 0] + y * f[2, 0] + h * f[3, 0],
        f[0, 1] + x * f[1, 1] + y * f[2, 1] + h * f[3, 1],
        f[0, 2] + x * f[1, 2] + y * f[2, 2] + h * f[3, 2],
    )


@kernel
def sheet_normal(relief, u, v):
    """Unit normal [1] of the smooth cloth at u, v [1] of the white area. Source: slopes of the cubic spline."""
    rows, columns = relief.height.shape[0] - 1, relief.height.shape[1] - 1
    _, right, up = spline_at(relief.spline, u * columns, v * rows)
    right /= relief.step[0]
    up /= relief.step[1]
    f = relief.frame
    return unit(
        (
            f[3, 0] - right * f[1, 0] - up * f[2, 0],
            f[3, 1] - right * f[1, 1] - up * f[2, 1],
            f[3, 2] - right * f[1, 2] - up * f[2, 2],
        )
    )
