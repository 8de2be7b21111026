"""The lit screen as the room's surfaces see it: irradiance at the nodes of a grid on each surface, one column a picture zone."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba.extending import overload

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.brdf import fabric_value
from . import workers
from .before import NodeSight, list_of, pieces_before
from .displaced_screen import fold_hides, steepness
from .edges import cut_off, horizon_cuts, ragged_zones, samples_of
from .geometry import DIFFUSE, Geometry, is_pieced
from .mapgrid import MapGrid
from .projector import ProjectorArrays
from .readonly import read_only
from .screen_samples import GENTLE, LitScreen
from .vectors import dot, row, screen_tangents, sub, to_local


class ScreenSource(NamedTuple):
    """The lit screen as a source, the nodes that it lights, and what may hide it from them; read-only.

    occluders  (n,) int64 as `occluders_of` gives them, none where nothing stands before the screen
    rim        (4, 3) as `rim_of` gives it [m]
    ragged     (zones,) bool as `ragged_zones` gives it
    """

    geometry: Geometry
    grid: MapGrid
    lit: LitScreen
    occluders: np.ndarray
    rim: np.ndarray
    ragged: np.ndarray


class NodeScratch(NamedTuple):
    """What a node's sum writes on its way, for one thread: found int64 as `list_of` gives it;  sent, samples of the coarsest level."""

    found: np.ndarray
    sent: np.ndarray


def source_of(geometry: Geometry, grid: MapGrid, lit: LitScreen, *, test_blocked: bool) -> ScreenSource:
    """The lit screen as the nodes of a grid have it.

    test_blocked  False when nothing can stand between the screen and the walls (empty room)
    Source: `occluders_of`, `rim_of`, `ragged_zones`.
    """
    rim = rim_of(lit)
    occluders = occluders_of(geometry, rim) if test_blocked else np.zeros(0, np.int64)
    return read_only(ScreenSource(geometry, grid, lit, occluders, rim, ragged_zones(lit)))


@kernel
def level_for(ratio, sides):
    """Sampling level of a zone whose size over its distance is `ratio` [1]; sides (levels,) Gauss points a side of each level.

    Source: the Gauss-Legendre rule of n points errs as ratio^(2n); limits chosen for 1e-3 at worst (tested).
    """
    last = sides.shape[0] - 1
    for level in range(last):
        side = sides[level]
        limit = 0.05 if side == 1 else 0.35 if side == 2 else 1.2 if side == 4 else 2.4 if side == 8 else 3.0
        if ratio <= limit:
            return level
    return last


def levels_needed(
    grid: MapGrid, projector: ProjectorArrays, *, zones: tuple[int, int], levels: tuple[int, ...], sharpness: float
) -> tuple[int, ...]:
    """The first of `levels` (Gauss points a side, rising) that a grid's nodes ask of the zones of a picture.

    zones  across and down;  sharpness  1, or more for narrow lobes [1]
    Distances [m] are taken to the nominal screen, less 5 % for cloth that stands out. Source: `level_for`.
    """
    left, right, bottom, top = projector.picture
    size = np.array([(right - left) / zones[0], (top - bottom) / zones[1]])
    across = left + size[0] * (np.arange(zones[0]) + 0.5)
    upward = bottom + size[1] * (np.arange(zones[1]) + 0.5)
    centre, x, z, n = projector.frame
    off = grid.place - centre
    # squared distance to each zone's middle, by components in the screen's frame
    flat = ((off @ x)[:, None] - across) ** 2, ((off @ z)[:, None] - upward) ** 2
    square = (flat[0].min(axis=1) + flat[1].min(axis=1) + (off @ n) ** 2).min(initial=np.inf)
    finest = level_for(sharpness * size.max() / (0.95 * math.sqrt(square) + 1e-9), np.array(levels))
    return levels[: finest + 1]


@kernel
def on_one_side(geometry, patch, x, y, z, nx, ny, nz):
    """True when no corner of a patch lies on the positive side of the plane through (x, y, z) [m] with normal n, of any length.

    Source: definition; a patch is convex, so its corners speak for it.
    """
    corner, edge_u, edge_v = geometry.corner, geometry.edge_u, geometry.edge_v
    base = nx * (corner[patch, 0] - x) + ny * (corner[patch, 1] - y) + nz * (corner[patch, 2] - z)
    u = nx * edge_u[patch, 0] + ny * edge_u[patch, 1] + nz * edge_u[patch, 2]
    v = nx * edge_v[patch, 0] + ny * edge_v[patch, 1] + nz * edge_v[patch, 2]
    both = u + v if geometry.plane[patch, 12] == 0.0 else 0.0
    return base + max(0.0, u, v, both) <= 1e-9


def possible_blockers(geometry, occluders, y, n, rim, found):
    """Write into `found` the occluders that may stand between a node and the screen; returns how many.

    y, n   place and normal of the node;  rim (4, 3) corners of a rectangle that holds the lit cloth, in order [m]
    An occluder is left out when it lies behind the node's surface, behind the cloth, or outside one side of the pyramid from
    the node to the rim. Where there are pieces `found` gets those, or BY_TREE is returned (before.py); none without occluders.
    Source: convexity; what is left out cannot cut a segment from the node to the cloth.
    """
    if len(geometry.pieces):
        return pieces_before(geometry, y, n, rim, found) if len(occluders) else 0
    return patches_before(geometry, occluders, y, n, rim, found)


@overload(possible_blockers)
def _possible_blockers(geometry, occluders, y, n, rim, found):
    if geometry[geometry.fields.index("pieces")].count == 0:
        return lambda geometry, occluders, y, n, rim, found: patches_before(geometry, occluders, y, n, rim, found)
    return lambda geometry, occluders, y, n, rim, found: (
        pieces_before(geometry, y, n, rim, found) if occluders.shape[0] > 0 else 0
    )


@kernel
def patches_before(geometry, occluders, y, n, rim, found):
    """`possible_blockers` [m] without pieces. Source: convexity."""
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
def from_all_samples(samples, y, n, count, sent):
    """What each of the first `count` samples sends to a place y [m], normal n, for f_r = 1, nothing between, into sent [lx sr].

    samples  (7, n) place [m], normal [1], flux [lm], as rows: the loop has no branch, so the compiler takes several at once
    Source: flux x cos x cos / r^2, 0 behind either; derived.
    """
    for i in range(count):
        dx, dy, dz = y[0] - samples[0, i], y[1] - samples[1, i], y[2] - samples[2, i]
        cos_cloth = dx * samples[3, i] + dy * samples[4, i] + dz * samples[5, i]
        cos_node = -(dx * n[0] + dy * n[1] + dz * n[2])
        square = dx * dx + dy * dy + dz * dz
        sent[i] = samples[6, i] * max(cos_cloth, 0.0) * max(cos_node, 0.0) / (square * square)


@kernel
def sight_of(source, node, found):
    """How a node sees the lit screen, as NodeSight has it [m]; found  scratch as `list_of` gives it. Source: `possible_blockers`."""
    y = row(source.grid.place, node)
    n = row(source.geometry.normal, np.int64(source.grid.patch[node]))
    shift = sub(row(source.grid.eye, node), y)
    blockers = possible_blockers(source.geometry, source.occluders, y, n, source.rim, found)
    whole = blockers == 0 and not horizon_cuts(source.rim, y, n)
    return NodeSight(y, n, shift, found, blockers, whole)


@kernel
def node_irradiance(source, samples, fabric, sharpness, scratch, out, low, high):
    """Irradiance [lx] of nodes low .. high - 1 from each zone of the white picture, grey, into out (N, zones).

    E = sum over samples of flux x f_r(lens -> node) x cos(cloth) x cos(surface) / r^2.
    source   a ScreenSource;  samples  as `from_all_samples` wants them
    sharpness >= 1 refines the sampling for narrow lobes;  scratch  a NodeScratch
    Source: rendering equation with one reflection; derived.
    """
    geometry, lit, ragged, sent = source.geometry, source.lit, source.ragged, scratch.sent
    zones = lit.zone_place.shape[0]
    place, normal = lit.place, lit.normal
    even = fabric.lobes.shape[0] == 0
    steep, ahead = steepness(geometry.relief)
    for node in range(low, high):
        sight = sight_of(source, node, scratch.found)
        y, n = sight.place, sight.normal
        plain = even and sight.whole and steep <= GENTLE
        coarse = lit.side[0] * lit.side[0]
        if plain:
            from_all_samples(samples, y, n, zones * coarse, sent)
        for zone in range(zones):
            z = row(lit.zone_place, zone)
            d = (y[0] - z[0], y[1] - z[1], y[2] - z[2])
            level = level_for(sharpness * lit.zone_size[0] / (math.sqrt(dot(d, d)) + 1e-9), lit.side)
            total = 0.0
            if plain and level == 0 and not ragged[zone]:
                for i in range(zone * coarse, (zone + 1) * coarse):
                    total += sent[i]
                out[node, zone] = total * fabric.base[0] / math.pi
                continue
            first, many, left = samples_of(geometry, lit, sight, zone, level, ragged[zone])
            for i in range(first, first + many):
                dx, dy, dz = y[0] - place[i, 0], y[1] - place[i, 1], y[2] - place[i, 2]
                cos_cloth = dx * normal[i, 0] + dy * normal[i, 1] + dz * normal[i, 2]
                cos_node = -(dx * n[0] + dy * n[1] + dz * n[2])
                if cos_cloth <= 0.0 or cos_node <= 0.0 or lit.flux[i] <= 0.0:
                    continue
                square = dx * dx + dy * dy + dz * dz
                if cut_off(geometry, sight, left, row(place, i), (dx, dy, dz)):
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
    sharpness     1, or more for lobes narrower than about 30 [deg]: how much finer to sample [1]
    Source: `node_irradiance`.
    """
    out = np.zeros((len(grid.place), len(lit.zone_place)))
    source = source_of(geometry, grid, lit, test_blocked=test_blocked)
    samples, fabric = read_only((np.concatenate([lit.place.T, lit.normal.T, lit.flux[None]]), fabric))
    coarse = len(lit.zone_place) * int(lit.side[0]) ** 2

    def fill(low: int, high: int) -> None:
        scratch = NodeScratch(list_of(source.occluders, is_pieced(geometry)), np.empty(coarse))
        node_irradiance(source, samples, fabric, sharpness, scratch, out, low, high)

    workers.in_ranges(fill, len(out), threads)
    return out


def occluders_of(geometry: Geometry, rim: np.ndarray) -> np.ndarray:
    """Patches (n,) int64 that may stand before the screen: neither cloth nor shell nor in the screen's plane.

    rim  (4, 3) as `rim_of` gives it [m].  Source: definition.
    """
    first = 0 if np.isnan(geometry.box[0, 0]) else 6
    some = np.flatnonzero(geometry.role == DIFFUSE)
    some = some[some >= first]
    across = np.cross(rim[1] - rim[0], rim[2] - rim[1])
    away = np.abs((geometry.corner[some] - rim[0]) @ across)
    flat = np.abs(geometry.normal[some] @ across) > (1 - 1e-9) * np.linalg.norm(across)
    return some[~(flat & (away < 1e-6))]


def rim_of(lit: LitScreen) -> np.ndarray:
    """Corners (4, 3) [m] of a rectangle, farthest back, that holds all samples in its outline; right x up points into the room.

    Source: bounds of the samples in the frame of their mean normal, 2 % wider on each side.
    """
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
