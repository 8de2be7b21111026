"""The lit screen as the room's surfaces see it: irradiance at the nodes of a grid on each surface, one column a picture zone.

Between nodes the map is interpolated bilinearly on the fine grid and on the grid of every second node; the two are
extrapolated, and their difference is carried along as the bound of what interpolation may still be wrong by.
"""
from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.brdf import fabric_value
from ...materials.fabric import FabricArrays
from ...materials.jit import kernel
from . import workers
from .geometry import STACK, Geometry, blocked
from .litscreen import LitScreen
from .patches import frozen
from .projector import ZONES_RIGHT, ZONES_UP, Projector
from .vectors import dot, row, to_local


class MapGrid(NamedTuple):
    """Nodes on the surfaces that can see the front of the screen.

    first          (P,) int32, first node of a patch, -1 where it has no grid (it sees no lit cloth)
    count_u/count_v (P,) int32, nodes along u and v, odd
    axis_u/axis_v  (P,) int32, start of the patch's node places in `axis`
    axis           (A,) node places along u or v, rising, last one 1
    place          (N, 3) [m];  patch (N,) int32
    """

    first: np.ndarray
    count_u: np.ndarray
    count_v: np.ndarray
    axis_u: np.ndarray
    axis_v: np.ndarray
    axis: np.ndarray
    place: np.ndarray
    patch: np.ndarray


def graded(low: float, cells: int, strength: float) -> np.ndarray:
    """cells + 1 places from low to 1, denser near low for a strength above 0.

    Source: exponential stretching; smooth, so that the error still falls as the square of the step.
    """
    s = np.linspace(0.0, 1.0, cells + 1)
    t = np.expm1(strength * s) / np.expm1(strength) if strength > 1e-6 else s
    return low + (1.0 - low) * t


def even_cells(length_m: float, distance_m: float, cells: int) -> int:
    """Even number of cells for an edge of a surface seen from the screen: fine when near and long. Source: rule of thumb."""
    wanted = cells * length_m / max(distance_m + 0.25 * length_m, 0.3)
    return int(min(max(2 * math.ceil(0.5 * wanted), 4), 2 * cells))


def make_grid(geometry: Geometry, projector: Projector, *, cells: int, shell: bool) -> MapGrid:
    """Grid over the room's walls and the faces of its objects.

    cells   cells along a wall edge, even
    shell   True when patches 0 .. 5 are the room's walls
    Source: nodes graded towards the screen plane, behind which no lit cloth is seen.
    """
    centre, normal = projector.frame[0], projector.frame[3]
    patches = len(geometry.corner)
    first = np.full(patches, -1, np.int32)
    count_u, count_v = np.zeros(patches, np.int32), np.zeros(patches, np.int32)
    axis_u, axis_v = np.zeros(patches, np.int32), np.zeros(patches, np.int32)
    axis: list[np.ndarray] = []
    places, owners = [], []
    nodes = axis_length = 0
    for i in range(patches):
        if geometry.role[i] or geometry.plane[i, 12]:
            continue
        corner, edges = geometry.corner[i], (geometry.edge_u[i], geometry.edge_v[i])
        ends = np.array([corner + a * edges[0] + b * edges[1] for a in (0, 1) for b in (0, 1)])
        ahead = (ends - centre) @ normal
        faces_screen = ((centre - corner) @ geometry.normal[i]) > 0 or (shell and i < 6)
        if ahead.max() < 1e-6 or not faces_screen:
            continue
        lines = []
        for edge in edges:
            length = float(np.linalg.norm(edge))
            along = float(edge @ normal)
            if shell and i < 6 and along > 1e-9:  # runs away from the screen wall: nothing before the screen plane
                low = max(0.0, float((centre - corner) @ normal) / along)
                lines.append(graded(low, cells, 2.5))
            elif shell and i < 6:
                lines.append(graded(0.0, cells, 0.0))
            else:
                distance = float(np.linalg.norm(np.maximum(np.abs(ends.mean(axis=0) - centre) - 0.5 * length, 0.0)))
                lines.append(graded(0.0, even_cells(length, distance, max(8, cells // 2)), 0.0))
        first[i] = nodes
        count_u[i], count_v[i] = len(lines[0]), len(lines[1])
        axis_u[i], axis_v[i] = axis_length, axis_length + len(lines[0])
        axis += lines
        axis_length += len(lines[0]) + len(lines[1])
        u, v = np.meshgrid(lines[0], lines[1], indexing="ij")
        places.append(corner + u.reshape(-1, 1) * edges[0] + v.reshape(-1, 1) * edges[1])
        owners.append(np.full(u.size, i, np.int32))
        nodes += u.size
    return MapGrid(
        *(frozen(a) for a in (first, count_u, count_v, axis_u, axis_v)),
        frozen(np.concatenate(axis) if axis else np.zeros(0)),
        frozen(np.concatenate(places) if places else np.zeros((0, 3))),
        frozen(np.concatenate(owners) if owners else np.zeros(0, np.int32)),
    )


@kernel
def level_for(distance, size, levels):
    """Sampling level of a zone of the given size seen from a distance: the nearer, the finer.

    Source: error of the Gauss-Legendre product rule on 1 / r^2 kernels, kept below 1e-3 (tested).
    """
    ratio = size / distance
    level = 0
    if ratio > 0.05:
        level = 1
    if ratio > 0.45:
        level = 2
    if ratio > 1.0:
        level = 3
    return min(level, levels - 1)


@kernel
def node_irradiance(geometry, grid, lit, fabric, test_blocked, out, low, high):
    """Irradiance [lx] of nodes low .. high - 1 from each zone of the white picture, grey, into out (N, zones).

    E = sum over samples of flux x f_r(lens -> node) x cos(cloth) x cos(surface) / r^2.
    Source: rendering equation with one reflection; derived.
    """
    stack = np.empty(STACK, np.int32)
    zones = lit.zone_place.shape[0]
    levels = lit.first.shape[0]
    for node in range(low, high):
        y = row(grid.place, node)
        patch = np.int64(grid.patch[node])
        n = row(geometry.normal, patch)
        for zone in range(zones):
            z = row(lit.zone_place, zone)
            d = (y[0] - z[0], y[1] - z[1], y[2] - z[2])
            level = level_for(math.sqrt(dot(d, d)) + 1e-9, lit.zone_size[0], levels)
            many = lit.side[level] * lit.side[level]
            total = 0.0
            for i in range(lit.first[level] + zone * many, lit.first[level] + (zone + 1) * many):
                if lit.flux[i] <= 0.0:
                    continue
                d = (y[0] - lit.place[i, 0], y[1] - lit.place[i, 1], y[2] - lit.place[i, 2])
                cos_cloth = dot(d, row(lit.normal, i))
                cos_node = -dot(d, n)
                if cos_cloth <= 0.0 or cos_node <= 0.0:
                    continue
                square = dot(d, d)
                r = math.sqrt(square)
                d = (d[0] / r, d[1] / r, d[2] / r)
                if test_blocked and blocked(geometry, row(lit.place, i), d, r, np.int64(lit.patch[i]), patch, stack):
                    continue
                local = to_local(d, row(lit.right, i), row(lit.up, i), row(lit.normal, i))
                value = fabric_value(fabric, row(lit.source, i), local)
                total += lit.flux[i] * value * cos_cloth * cos_node / (square * square)
            out[node, zone] = total


def zone_map(
    geometry: Geometry, grid: MapGrid, lit: LitScreen, fabric: FabricArrays, *, test_blocked: bool, threads: int = 1
) -> np.ndarray:
    """Irradiance at every node from every zone of the white picture, (N, zones) [lx], before the fabric's tint.

    test_blocked  False when nothing can stand between the screen and the walls (empty room, flat screen)
    Source: `node_irradiance`.
    """
    out = np.zeros((len(grid.place), ZONES_RIGHT * ZONES_UP))
    workers.in_ranges(
        lambda low, high: node_irradiance(geometry, grid, lit, fabric, test_blocked, out, low, high), len(out), threads
    )
    return out


@kernel
def cell_of(axis, start, count, t):
    """Cell of the rising places axis[start .. start + count - 1] that holds t; -1 below the first. Source: bisection."""
    if t < axis[start]:
        return -1
    low = 0
    high = count - 1
    while high - low > 1:
        middle = (low + high) // 2
        if axis[start + middle] <= t:
            low = middle
        else:
            high = middle
    return low


@kernel
def look_up(grid, values, patch, u, v, fine, spread):
    """Map values at (u, v) of a patch: `fine` gets the extrapolated ones, `spread` what extrapolation changed; both (K,).

    Zero where the patch has no grid or (u, v) lies behind the screen plane.
    Source: Richardson extrapolation of two bilinear interpolants, (4 fine - coarse) / 3, error term h^2.
    """
    kinds = values.shape[1]
    for k in range(kinds):
        fine[k] = 0.0
        spread[k] = 0.0
    first = grid.first[patch]
    if first < 0:
        return
    au, av, nv = grid.axis_u[patch], grid.axis_v[patch], grid.count_v[patch]
    i = cell_of(grid.axis, au, grid.count_u[patch], u)
    j = cell_of(grid.axis, av, nv, v)
    if i < 0 or j < 0:
        return
    for coarse in range(2):
        step = 1 + coarse
        a, b = (i // step) * step, (j // step) * step
        s = (u - grid.axis[au + a]) / (grid.axis[au + a + step] - grid.axis[au + a])
        t = (v - grid.axis[av + b]) / (grid.axis[av + b + step] - grid.axis[av + b])
        n00 = first + a * nv + b
        n10 = first + (a + step) * nv + b
        for k in range(kinds):
            value = (1.0 - s) * ((1.0 - t) * values[n00, k] + t * values[n00 + step, k]) + s * (
                (1.0 - t) * values[n10, k] + t * values[n10 + step, k]
            )
            if coarse:
                spread[k] = (fine[k] - value) / 3.0
                fine[k] += spread[k]
            else:
                fine[k] = value
