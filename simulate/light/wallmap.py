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
from .geometry import DIFFUSE, Geometry, patch_hit
from .litscreen import GENTLE, LitScreen
from .patches import frozen
from .projector import Projector
from .relief import fold_hides, steepness
from .vectors import dot, row, screen_tangents, to_local


class MapGrid(NamedTuple):
    """Nodes on the surfaces that can see the front of the screen.

    first          (P,) int32, first node of a patch, -1 where it has no grid (it sees no lit cloth)
    count_u/count_v (P,) int32, nodes along u and v, odd
    axis_u/axis_v  (P,) int32, start of the patch's node places in `axis`
    axis           (A,) node places along u or v, rising, last one 1
    place          (N, 3) [m];  patch (N,) int32
    bins_u/bins_v  (P,) int32, start of the patch's tables in `bins`
    per_cell       (2, A) one over the cell that begins at each place, and over two of them
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
    bins_u: np.ndarray
    bins_v: np.ndarray
    bins: np.ndarray
    per_cell: np.ndarray


BINS = 64


def _bins(axis: np.ndarray) -> np.ndarray:
    """First cell that reaches into each of BINS even steps of 0 .. 1."""
    step = np.arange(BINS) / BINS
    return np.clip(np.searchsorted(axis, step, side="right") - 1, 0, len(axis) - 2).astype(np.int16)


def _per_cell(axis: np.ndarray) -> np.ndarray:
    """(2, n) one over the length of the cell, and of the pair of cells, that begins at each place; 0 past the last."""
    out = np.zeros((2, len(axis)))
    out[0, :-1] = 1.0 / np.diff(axis)
    out[1, :-2] = 1.0 / (axis[2:] - axis[:-2])
    return out


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
    bins_u, bins_v = np.zeros(patches, np.int32), np.zeros(patches, np.int32)
    bins: list[np.ndarray] = []
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
        bins_u[i], bins_v[i] = BINS * len(bins), BINS * (len(bins) + 1)
        bins += [_bins(line) for line in lines]
        axis += lines
        axis_length += len(lines[0]) + len(lines[1])
        u, v = np.meshgrid(lines[0], lines[1], indexing="ij")
        places.append(corner + u.reshape(-1, 1) * edges[0] + v.reshape(-1, 1) * edges[1])
        owners.append(np.full(u.size, i, np.int32))
        nodes += u.size
    return MapGrid(
        frozen(first),
        frozen(count_u),
        frozen(count_v),
        frozen(axis_u),
        frozen(axis_v),
        frozen(np.concatenate(axis) if axis else np.zeros(0)),
        frozen(np.concatenate(places) if places else np.zeros((0, 3))),
        frozen(np.concatenate(owners) if owners else np.zeros(0, np.int32)),
        frozen(bins_u),
        frozen(bins_v),
        frozen(np.concatenate(bins) if bins else np.zeros(0, np.int16)),
        frozen(np.concatenate([_per_cell(line) for line in axis], axis=1) if axis else np.zeros((2, 0))),
    )


@kernel
def level_for(ratio, sides):
    """Sampling level of a zone whose size over its distance is `ratio`; sides (levels,) Gauss points a side of each level.

    Source: the Gauss-Legendre rule of n points errs as ratio^(2n); limits chosen for 1e-3 at worst (tested).
    """
    last = sides.shape[0] - 1
    for level in range(last):
        side = sides[level]
        limit = 0.05 if side == 1 else 0.35 if side == 2 else 1.2 if side == 4 else 3.0
        if ratio <= limit:
            return level
    return last


@kernel
def on_one_side(geometry, patch, x, y, z, nx, ny, nz):
    """True when no corner of a patch lies on the positive side of the plane through (x, y, z) with normal n."""
    corner, edge_u, edge_v = geometry.corner, geometry.edge_u, geometry.edge_v
    base = nx * (corner[patch, 0] - x) + ny * (corner[patch, 1] - y) + nz * (corner[patch, 2] - z)
    u = nx * edge_u[patch, 0] + ny * edge_u[patch, 1] + nz * edge_u[patch, 2]
    v = nx * edge_v[patch, 0] + ny * edge_v[patch, 1] + nz * edge_v[patch, 2]
    both = u + v if geometry.plane[patch, 12] == 0.0 else 0.0
    return base + max(0.0, u, v, both) <= 1e-9


@kernel
def possible_blockers(geometry, occluders, y, n, rim, found):
    """Write into `found` the occluders that may stand between a node and the screen; returns how many.

    y, n   place and normal of the node;  rim (4, 3) corners of a rectangle that holds the lit cloth, in order [m]
    An occluder is left out when it lies behind the node's surface, behind the cloth, or outside one side of the pyramid from
    the node to the rim. Source: convexity; what is left out cannot cut a segment from the node to the cloth.
    """
    ax, ay, az = rim[1, 0] - rim[0, 0], rim[1, 1] - rim[0, 1], rim[1, 2] - rim[0, 2]
    bx, by, bz = rim[2, 0] - rim[1, 0], rim[2, 1] - rim[1, 1], rim[2, 2] - rim[1, 2]
    fx, fy, fz = ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx  # towards the room when the rim runs that way
    mx = 0.25 * (rim[0, 0] + rim[1, 0] + rim[2, 0] + rim[3, 0]) - y[0]
    my = 0.25 * (rim[0, 1] + rim[1, 1] + rim[2, 1] + rim[3, 1]) - y[1]
    mz = 0.25 * (rim[0, 2] + rim[1, 2] + rim[2, 2] + rim[3, 2]) - y[2]
    count = 0
    for k in range(occluders.shape[0]):
        patch = np.int64(occluders[k])
        outside = on_one_side(geometry, patch, y[0], y[1], y[2], n[0], n[1], n[2])
        outside = outside or on_one_side(geometry, patch, rim[0, 0], rim[0, 1], rim[0, 2], fx, fy, fz)
        for i in range(4):
            if outside:
                break
            j = (i + 1) % 4
            px, py, pz = rim[i, 0] - y[0], rim[i, 1] - y[1], rim[i, 2] - y[2]
            qx, qy, qz = rim[j, 0] - y[0], rim[j, 1] - y[1], rim[j, 2] - y[2]
            sx, sy, sz = py * qz - pz * qy, pz * qx - px * qz, px * qy - py * qx
            if sx * mx + sy * my + sz * mz < 0.0:
                sx, sy, sz = -sx, -sy, -sz
            outside = on_one_side(geometry, patch, y[0], y[1], y[2], sx, sy, sz)
        if not outside:
            found[count] = patch
            count += 1
    return count


@kernel
def node_irradiance(geometry, grid, lit, fabric, occluders, rim, sharpness, found, out, low, high):
    """Irradiance [lx] of nodes low .. high - 1 from each zone of the white picture, grey, into out (N, zones).

    E = sum over samples of flux x f_r(lens -> node) x cos(cloth) x cos(surface) / r^2.
    found  (occluders,) int64, scratch;  sharpness >= 1 refines the sampling for narrow lobes
    Source: rendering equation with one reflection; derived.
    """
    zones = lit.zone_place.shape[0]
    place, normal = lit.place, lit.normal
    even = fabric.lobes.shape[0] == 0
    steep, ahead = steepness(geometry.relief)
    for node in range(low, high):
        y = row(grid.place, node)
        n = row(geometry.normal, np.int64(grid.patch[node]))
        blockers = possible_blockers(geometry, occluders, y, n, rim, found)
        for zone in range(zones):
            z = row(lit.zone_place, zone)
            d = (y[0] - z[0], y[1] - z[1], y[2] - z[2])
            level = level_for(sharpness * lit.zone_size[0] / (math.sqrt(dot(d, d)) + 1e-9), lit.side)
            many = lit.side[level] * lit.side[level]
            total = 0.0
            for i in range(lit.first[level] + zone * many, lit.first[level] + (zone + 1) * many):
                dx, dy, dz = y[0] - place[i, 0], y[1] - place[i, 1], y[2] - place[i, 2]
                cos_cloth = dx * normal[i, 0] + dy * normal[i, 1] + dz * normal[i, 2]
                cos_node = -(dx * n[0] + dy * n[1] + dz * n[2])
                if cos_cloth <= 0.0 or cos_node <= 0.0 or lit.flux[i] <= 0.0:
                    continue
                square = dx * dx + dy * dy + dz * dz
                hidden = False
                for k in range(blockers):
                    s, _, _ = patch_hit(
                        geometry.plane, found[k], place[i, 0], place[i, 1], place[i, 2], dx, dy, dz, 1.0 - 1e-9
                    )
                    if s > 0.0:
                        hidden = True
                        break
                if hidden:
                    continue
                if steep > GENTLE:  # folded cloth may hide the node from its own sample; gentle folds count as averages
                    rise = dx * ahead[0] + dy * ahead[1] + dz * ahead[2]
                    if (rise <= 0.0 or rise * rise * (1.0 + steep * steep) < steep * steep * square) and fold_hides(
                        geometry.relief, lit.place, i, dx, dy, dz, square
                    ):
                        continue
                value = lit.flux[i] * cos_cloth * cos_node / (square * square)
                if not even:
                    r = math.sqrt(square)
                    local = to_local((dx / r, dy / r, dz / r), row(lit.right, i), row(lit.up, i), row(normal, i))
                    value *= fabric_value(fabric, row(lit.source, i), local)
                total += value
            out[node, zone] = total * (fabric.base[0] / math.pi if even else 1.0)


def zone_map(
    geometry: Geometry,
    grid: MapGrid,
    lit: LitScreen,
    fabric: FabricArrays,
    *,
    test_blocked: bool,
    sharpness: float = 1.0,
    threads: int = 1,
) -> np.ndarray:
    """Irradiance at every node from every zone of the white picture, (N, zones) [lx], before the fabric's tint.

    test_blocked  False when nothing can stand between the screen and the walls (empty room)
    sharpness     1, or more for lobes narrower than about 30 degrees: how much finer to sample
    Occluders are the patches that are neither cloth nor shell nor in the screen's plane.
    Source: `node_irradiance`.
    """
    out = np.zeros((len(grid.place), len(lit.zone_place)))
    rim = _rim(lit)
    occluders = np.zeros(0, np.int64)
    if test_blocked:
        first = 0 if np.isnan(geometry.box[0, 0]) else 6
        occluders = np.flatnonzero(geometry.role == DIFFUSE)
        occluders = occluders[occluders >= first]
        away = np.abs((geometry.corner[occluders] - rim[0]) @ np.cross(rim[1] - rim[0], rim[2] - rim[1]))
        flat = np.abs(geometry.normal[occluders] @ _normal(rim)) > 1 - 1e-9
        occluders = occluders[~(flat & (away < 1e-6))]

    def fill(low: int, high: int) -> None:
        found = np.empty(len(occluders), np.int64)
        node_irradiance(geometry, grid, lit, fabric, occluders, rim, sharpness, found, out, low, high)

    workers.in_ranges(fill, len(out), threads)
    return out


def _normal(rim: np.ndarray) -> np.ndarray:
    """Unit normal of the rim's rectangle, towards the room."""
    n = np.cross(rim[1] - rim[0], rim[2] - rim[1])
    return n / np.linalg.norm(n)


def _rim(lit: LitScreen) -> np.ndarray:
    """Corners (4, 3) of a rectangle, farthest back, that holds all samples in its outline; right x up points into the room."""
    used = lit.patch >= 0
    place = lit.place[used]
    normal = lit.normal[used].mean(axis=0)
    normal /= np.linalg.norm(normal)
    right, up = (np.array(v) for v in screen_tangents((float(normal[0]), float(normal[1]), float(normal[2]))))
    a, b, c = place @ right, place @ up, place @ normal
    wide, tall = 0.02 * np.ptp(a), 0.02 * np.ptp(b)
    low, high = (a.min() - wide, b.min() - tall), (a.max() + wide, b.max() + tall)
    back = c.min() * normal
    return np.array([s * right + t * up + back for s, t in (low, (high[0], low[1]), high, (low[0], high[1]))])


@kernel
def cell_of(axis, start, count, bins, bin_start, t):
    """Cell of the rising places axis[start .. start + count - 1] that holds t in 0 .. 1; -1 below the first.

    Source: a table of the first cell of each of BINS even steps, then a short search upward.
    """
    if t < axis[start]:
        return -1
    cell = np.int64(bins[bin_start + min(int(t * BINS), BINS - 1)])
    while cell < count - 2 and axis[start + cell + 1] <= t:
        cell += 1
    return cell


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
