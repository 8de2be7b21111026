"""The lit screen as the room's surfaces see it: irradiance at the nodes of a grid on each surface, one column a picture zone."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.by_type import by_type, holds
from ...materials.kernels.jit import kernel, within_callers
from ...materials.lobes.brdf import fabric_value
from . import workers
from .before import NodeSight, patches_before, pieces_before, without_backs
from .displaced_screen import fold_hides, steepness
from .edges import fill, horizon_cuts, lay_node, look_at_zone, ragged_zones, sight_scratch
from .geometry import DIFFUSE, Geometry, is_pieced
from .mapgrid import MapGrid
from .patches import frozen
from .projector import CENTRE, NORMAL, RIGHT, UP, ProjectorArrays
from .readonly import read_only
from .screen_samples import GENTLE, LitScreen
from .vectors import dot, row, sub, to_local
from .zones import CLEAR, SERVED, Zones, columns_of, level_zones, limit_of, zones_of

NOTHING_HIDES = frozen(np.zeros(0, np.int64)), frozen(np.zeros((12, 0))), frozen(np.zeros((6, 0)))


class ScreenSource(NamedTuple):
    """The lit screen as a source, the nodes that it lights, and what may hide it from them; read-only.

    occluders  (n,) int64 as `occluders_of` gives them, none where nothing stands before the screen
    corners    (12, n) of the occluders [m], those of a triangle with one of them twice
    boxes      (6, m) of the occluders of each surface, middle then half size [m]
    zones      Zones, rim (4, 3) [m] as `zones_of` gives them
    ragged     (zones,) bool as `ragged_zones` gives it
    samples    as `columns_of` gives them
    """

    geometry: Geometry
    grid: MapGrid
    lit: LitScreen
    occluders: np.ndarray
    corners: np.ndarray
    boxes: np.ndarray
    zones: Zones
    rim: np.ndarray
    ragged: np.ndarray
    samples: np.ndarray


def source_of(geometry: Geometry, grid: MapGrid, lit: LitScreen, *, test_blocked: bool) -> ScreenSource:
    """The lit screen as the nodes of a grid have it.

    test_blocked  False when nothing can stand between the screen and the walls (empty room)
    Source: `occluders_of`, `zones_of`, `ragged_zones`.
    """
    samples = columns_of(lit)
    zones, rim = zones_of(lit, samples)
    hiding = _hiding(geometry, occluders_of(geometry, rim)) if test_blocked else NOTHING_HIDES
    return read_only(ScreenSource(geometry, grid, lit, *hiding, zones, rim, ragged_zones(lit), samples))


def _hiding(geometry: Geometry, occluders: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """`occluders`, `corners` and `boxes` of a ScreenSource [m]."""
    corner, u, v = geometry.corner[occluders], geometry.edge_u[occluders], geometry.edge_v[occluders]
    far = np.where(geometry.plane[occluders, 12:] == 0.0, corner + u + v, corner)
    ends = np.array([corner, corner + u, corner + v, far])
    corners = np.ascontiguousarray(ends.transpose(0, 2, 1).reshape(12, -1))
    return occluders, corners, _boxes_of(geometry.surface[occluders], ends)


def _boxes_of(surface: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """Boxes (6, m) that hold patches with corners `ends` (4, n, 3) [m], neighbours (n,) of one surface in one: middle then half size."""
    first = np.flatnonzero(np.diff(surface, prepend=-1))
    if not len(first):
        return np.zeros((6, 0))
    low, high = np.minimum.reduceat(ends.min(axis=0), first), np.maximum.reduceat(ends.max(axis=0), first)
    return np.ascontiguousarray(np.concatenate([0.5 * (low + high), 0.5 * (high - low)], axis=1).T)


@kernel
def level_for(ratio, sides):
    """Sampling level of a zone whose size over its distance is `ratio` [1]; sides (levels,) Gauss points a side of each level.

    Source: `limit_of`.
    """
    last = sides.shape[0] - 1
    for level in range(last):
        if ratio <= limit_of(sides[level]):
            return level
    return last


@kernel
def nearest_square(place, frame, first, size, zones):
    """Square of the distance of places (n, 3) from the nearest of the middles of a picture's zones [m2].

    frame  (4, 3) of the screen;  first  right and up of the first middle [m];  size  of a zone [m];  zones  across and up
    Source: the nearest middle along each axis; the loop has no branch, so the compiler takes several places at once.
    """
    centre, right, up, normal = row(frame, CENTRE), row(frame, RIGHT), row(frame, UP), row(frame, NORMAL)
    last_right, last_up, least = zones[0] - 1.0, zones[1] - 1.0, math.inf
    for i in range(place.shape[0]):
        d = (place[i, 0] - centre[0], place[i, 1] - centre[1], place[i, 2] - centre[2])
        x, y, z = dot(d, right) - first[0], dot(d, up) - first[1], dot(d, normal)
        a, b = math.floor(x / size[0] + 0.5), math.floor(y / size[1] + 0.5)
        a, b = a if a > 0.0 else 0.0, b if b > 0.0 else 0.0
        x -= size[0] * (a if a < last_right else last_right)
        y -= size[1] * (b if b < last_up else last_up)
        square = x * x + y * y + z * z
        least = square if square < least else least
    return least


def levels_needed(
    grid: MapGrid, projector: ProjectorArrays, *, zones: tuple[int, int], levels: tuple[int, ...], sharpness: float
) -> tuple[int, ...]:
    """The first of `levels` (Gauss points a side, rising) that a grid's nodes ask of the zones of a picture.

    zones  across and down;  sharpness  1, or more for narrow lobes [1]
    Distances [m] are taken to the nominal screen, less 5 % for cloth that stands out. Source: `level_for`.
    """
    left, right, bottom, top = projector.picture.tolist()
    size = (right - left) / zones[0], (top - bottom) / zones[1]
    square = nearest_square(grid.place, projector.frame, (left + 0.5 * size[0], bottom + 0.5 * size[1]), size, zones)
    ratio = sharpness * max(size) / (0.95 * math.sqrt(square) + 1e-9)
    limits = dict(zip((1, 2, 4, 8), SERVED, strict=False))
    finest = next((level for level, side in enumerate(levels[:-1]) if ratio <= limits.get(side, SERVED[-1])), len(levels) - 1)
    return levels[: finest + 1]


@by_type(lambda source, *_: _pieces_before if holds(source, "geometry", "pieces") else _patches_before)  # type: ignore[has-type]
def possible_blockers(source, y, n, scratch):
    """Write into scratch.found what may stand between a node and the screen; returns how many.

    y, n   place [m] and normal of the node;  scratch  a SightScratch
    Where there are pieces `found` gets those, or BY_TREE is returned (before.py); none without occluders.
    Source: convexity; what is left out cannot cut a segment from the node to the cloth.
    """
    if len(source.geometry.pieces):
        return pieces_before(source.geometry, y, n, source.rim, scratch) if len(source.occluders) else 0
    return _patches_before(source, y, n, scratch)


@kernel
def _patches_before(source, y, n, scratch):
    if source.occluders.shape[0] == 0:
        return 0
    count = patches_before(source.occluders, source.corners, source.boxes, y, n, source.rim, scratch)
    return without_backs(source.geometry, y, scratch.found, count)


@kernel
def _pieces_before(source, y, n, scratch):
    return pieces_before(source.geometry, y, n, source.rim, scratch) if source.occluders.shape[0] > 0 else 0


@kernel
def sight_of(source, node, scratch):
    """How a node sees the lit screen, as NodeSight has it [m]; scratch  a SightScratch. Source: `possible_blockers`."""
    y = row(source.grid.place, node)
    n = row(source.geometry.normal, np.int64(source.grid.patch[node]))
    shift = sub(row(source.grid.eye, node), y)
    blockers = possible_blockers(source, y, n, scratch)
    whole = blockers == 0 and not horizon_cuts(source.rim, y, n)
    return NodeSight(y, n, shift, scratch.found, blockers, whole)


@kernel
def node_irradiance(source, fabric, sharpness, scratch, out, low, high):
    """Irradiance [lx] of nodes low .. high - 1 from each zone of the white picture, grey, into out (N, zones).

    E = sum over samples of flux x f_r(lens -> node) x cos(cloth) x cos(surface) / r^2.
    source   a ScreenSource;  sharpness >= 1 refines the sampling for narrow lobes;  scratch  a SightScratch
    Source: rendering equation with one reflection; derived.
    """
    geometry, lit, sent, zones = source.geometry, source.lit, scratch.sent, scratch.zones
    even, count = fabric.lobes.shape[0] == 0, lit.zone_place.shape[0]
    steep, ahead = steepness(geometry.relief)
    summed = even and steep <= GENTLE  # what samples send need only be added
    for node in range(low, high):
        sight = sight_of(source, node, scratch)
        y = sight.place
        lay_node(source, sight, scratch)
        coarse = level_zones(lit, source.zones, sight, sharpness, zones)
        if summed and add_all(source, sight, coarse, scratch, out[node], fabric.base[0] / math.pi) == 0:
            continue
        for zone in range(count):
            if summed and zones.mark[zone] == CLEAR and zones.level[zone] <= coarse and not source.ragged[zone]:
                continue
            seen = look_at_zone(source, sight, zone, scratch)
            total = 0.0
            if summed:
                for i in range(seen.many):
                    total += sent[i]
                out[node, zone] = total * fabric.base[0] / math.pi
                continue
            for k in range(seen.many):
                value, i = sent[k], seen.first + k
                if value <= 0.0:
                    continue
                dx, dy, dz = y[0] - lit.place[i, 0], y[1] - lit.place[i, 1], y[2] - lit.place[i, 2]
                square = dx * dx + dy * dy + dz * dz
                if steep > GENTLE:  # folded cloth may hide the node from its own sample; gentle folds count as averages
                    rise = dx * ahead[0] + dy * ahead[1] + dz * ahead[2]
                    if (rise <= 0.0 or rise * rise * (1.0 + steep * steep) < steep * steep * square) and fold_hides(
                        geometry.relief, lit.place, i, dx, dy, dz, square
                    ):
                        continue
                if not even:
                    r = math.sqrt(square)
                    local = to_local((dx / r, dy / r, dz / r), row(lit.right, i), row(lit.up, i), row(lit.normal, i))
                    value *= fabric_value(fabric, row(lit.source, i), local)
                total += value
            out[node, zone] = total * (fabric.base[0] / math.pi if even else 1.0)


@within_callers
def add_all(source, sight, level, scratch, sums, scale):
    """Write what all zones send to a node, nothing between, times `scale` into sums (zones,) [lx sr]; returns how many want more.

    level  0 or 1: those that something cuts, that ask for a finer level or whose own light has an edge want more
    Source: edges.fill; by samples of all zones, so that the compiler takes several zones at once.
    """
    lit, sent, zones = source.lit, scratch.sent, scratch.zones
    count, many, wanting = sums.shape[0], lit.side[level] * lit.side[level], 0
    fill(source.zones.columns, sight, count * lit.side[0] * lit.side[0] * level, many * count, sent, np.int64(0))
    for zone in range(count):
        sums[zone] = sent[zone] * scale
        more = zones.mark[zone] != CLEAR or zones.level[zone] > level or source.ragged[zone]
        wanting += 1 if more else 0
    for i in range(1, many, 3):  # many is 1 or a multiple of 4
        a, b, c = np.uint64(i * count), np.uint64((i + 1) * count), np.uint64((i + 2) * count)
        for zone in range(count):
            z = np.uint64(zone)
            sums[z] += (sent[a + z] + sent[b + z] + sent[c + z]) * scale
    return wanting


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
    fabric = read_only(fabric)
    scratch = workers.one_a_thread(lambda: sight_scratch(lit, source.occluders, is_pieced(geometry)))

    def some(low: int, high: int) -> None:
        node_irradiance(source, fabric, sharpness, scratch(), out, low, high)

    workers.in_ranges(some, len(out), threads)
    return out


def occluders_of(geometry: Geometry, rim: np.ndarray) -> np.ndarray:
    """Patches (n,) int64 that may stand before the screen: neither cloth nor shell nor in the screen's plane.

    rim  (4, 3) as `zones_of` gives it [m].  Source: definition.
    """
    first = 0 if np.isnan(geometry.box[0, 0]) else 6
    some = np.flatnonzero(geometry.role == DIFFUSE)
    some = some[some >= first]
    across = np.cross(rim[1] - rim[0], rim[2] - rim[1])
    away = np.abs((geometry.corner[some] - rim[0]) @ across)
    flat = np.abs(geometry.normal[some] @ across) > (1 - 1e-9) * np.linalg.norm(across)
    return some[~(flat & (away < 1e-6))]
