"""Reference estimator, for tests and benchmarks alone: the same ledger walked by next-event estimation, without the irradiance cache.

Each hit asks one random point of the lit cloth, so nothing is interpolated.

Slower for the same error, but unbiased, and it needs no coordinates on the surfaces: it serves meshes, cloth that lights
itself, and as the independent check of the map.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.brdf import fabric_value
from . import workers
from .displaced_screen import is_folded, normal_on, place_at
from .geometry import SCREEN, STACK, Geometry, blocked
from .ledger import CERTAIN_HITS, PLACES, Ledger, Starts, cell_key, hit_place
from .numbers import address
from .patches import frozen
from .projector import OBSTRUCTED, Projection, ProjectorArrays, illuminance_lx, in_shadow, raster_place, zone_of
from .readonly import read_only
from .vectors import dot, row, screen_tangents, sub, to_local, triple, unit
from .walk import Finishes

_CONNECTIONS = 1 << 20  # dimensions of the connections' numbers, far from the directions'


class LitPatches(NamedTuple):
    """The cloth's patches as a source.

    patch       (n,) int32
    cumulative  (n,) running sum of their areas over the whole [1];  area (1,) [m2]
    lux         (n, K) prescribed illuminance in each picture [lx], or (0, K): the projector's, by zone
    """

    patch: np.ndarray
    cumulative: np.ndarray
    area: np.ndarray
    lux: np.ndarray


class Connections(NamedTuple):
    """All that a walk by next-event estimation reads.

    zone      (zones, K) level of each picture zone [1]
    seed, low_path  as the ledger was traced with;  self_lit  True when the cloth can see itself: its own points ask too
    """

    projection: Projection
    ledger: Ledger
    lit: LitPatches
    zone: np.ndarray
    finishes: Finishes
    seed: np.uint64
    low_path: int
    self_lit: bool


class ConnectionScratch(NamedTuple):
    """What it writes on its way, for one thread.

    stack  int32 (STACK,);  radiance (K,) of a lit point, room (K, C) of a path [cd/m2];  through (C,) throughput [1]
    """

    stack: np.ndarray
    radiance: np.ndarray
    room: np.ndarray
    through: np.ndarray


def lit_patches(geometry: Geometry, *, kinds: int, lux: np.ndarray | None = None) -> LitPatches:
    """All patches of the cloth, lit by the projector or as prescribed.

    lux  (n, kinds) illuminance of each patch with the screen's role [lx], in patch order; None: the projector's
    Source: points are drawn evenly over the area.
    """
    patch = np.flatnonzero(geometry.role == SCREEN).astype(np.int32)
    size = np.linalg.norm(np.cross(geometry.edge_u[patch], geometry.edge_v[patch]), axis=1)
    size *= np.where(geometry.plane[patch, 12] > 0, 0.5, 1.0)
    return LitPatches(
        frozen(patch),
        frozen(np.cumsum(size) / size.sum()),
        frozen(np.array([size.sum()])),
        frozen(np.zeros((0, kinds)) if lux is None else np.asarray(lux, float)),
    )


@kernel
def fraction(bits):
    """64 random bits to a number in (0, 1) [1]. Source: middles of 2^52 equal steps."""
    return (np.float64(bits >> np.uint64(12)) + 0.5) * (1.0 / 4503599627370496.0)


@kernel
def draw_point(geometry, lit, a, b, c):
    """Index into lit.patch, a point [m] drawn evenly on the cloth from three numbers in (0, 1) [1], and the unit normal there.

    On folded cloth the points are even on the nominal plane. Source: even points of a triangle by folding the square.
    """
    low = 0
    high = lit.cumulative.shape[0] - 1
    while low < high:
        middle = (low + high) // 2
        if lit.cumulative[middle] < a:
            low = middle + 1
        else:
            high = middle
    patch = np.int64(lit.patch[low])
    if geometry.plane[patch, 12] > 0.0 and b + c > 1.0:
        b, c = 1.0 - b, 1.0 - c
    return low, place_at(geometry, patch, b, c), normal_on(geometry, patch, b, c)


@kernel
def lit_radiance(asked, index, p, n, towards, scratch):
    """Luminance [cd/m2] that a lit point p [m] of the cloth, normal n, sends along the unit direction `towards`, into scratch.radiance.

    asked  Connections;  index  of the patch in `lit`
    Source: L = f_r E, before the tint.
    """
    geometry, projector, fabric = asked.projection
    lit, zone, out = asked.lit, asked.zone, scratch.radiance
    kinds = zone.shape[1]
    patch = np.int64(lit.patch[index])
    right, up = screen_tangents(n)
    prescribed = lit.lux.shape[0] > 0
    lens = triple(projector.lens)
    source = (0.0, 0.0, 1.0) if prescribed else to_local(unit(sub(lens, p)), right, up, n)
    value = fabric_value(fabric, source, to_local(towards, right, up, n))
    for k in range(kinds):
        out[k] = value * lit.lux[index, k] if prescribed else 0.0
    if prescribed or value == 0.0:
        return
    lux = illuminance_lx(projector, p, n)
    if lux > 0.0 and not (projector.flags[OBSTRUCTED] and in_shadow(geometry, projector, p, patch, scratch.stack)):
        across, upward, _ = raster_place(projector, p)
        z = zone_of(projector, across, upward)
        for k in range(kinds):
            out[k] = value * lux * zone[z, k]


@kernel
def connect_start(asked, starts, s, seats, bits, sums, cell, scratch):
    """Add the luminance [cd/m2] that start s of a folded or curved screen has from the lit cloth itself, by one connection.

    seats  (S, T, 3) unit directions [1];  bits  of the connection's address;  cell  row of `sums` (cells, seats, surfaces, K, C)
    Source: next-event estimation, one point with density 1 / area.
    """
    geometry, _, fabric = asked.projection
    zone, tint, normal = asked.zone, asked.finishes.tint, row(starts.normal, s)
    factor, towards = _ask(asked, row(starts.place, s), normal, np.int64(starts.patch[s]), bits, scratch)
    if factor <= 0.0:
        return
    arriving = to_local(towards, row(starts.right, s), row(starts.up, s), normal)
    surface = geometry.surface[starts.patch[s]]
    for t in range(seats.shape[1]):
        weight = factor * fabric_value(fabric, arriving, row(seats[s], t))
        for k in range(zone.shape[1]):
            for c in range(tint.shape[0]):
                sums[cell, t, surface, k, c] += weight * scratch.radiance[k] * tint[c] ** 2


@kernel
def connect_path(asked, path, start, key, index, scratch):
    """Luminance [cd/m2] that a path's first hit sends back along it into scratch.room, each hit asking one point of the lit cloth.

    start  place [m] where the path begins;  key, index  of the path's random numbers.  Source: as `connect_cells`.
    """
    geometry, _, fabric = asked.projection
    ledger, finishes, room, through = asked.ledger, asked.finishes, scratch.room, scratch.through
    kinds, channels = room.shape
    first, hits = ledger.first[path], ledger.hits[path]
    for c in range(channels):
        through[c] = 1.0
        for k in range(kinds):
            room[k, c] = 0.0
    before = start
    for m in range(hits):
        patch = np.int64(ledger.patch[first + m])
        place = hit_place(geometry, ledger, first + m)
        n = normal_on(geometry, patch, ledger.u[first + m] / PLACES, ledger.v[first + m] / PLACES)
        cloth = geometry.role[patch] == SCREEN
        for c in range(channels):
            if m >= CERTAIN_HITS:
                through[c] /= ledger.survival[0]
            if not cloth:
                through[c] *= finishes.reflectance[geometry.surface[patch], c]
        a, b = screen_tangents(n)
        seen = to_local(unit(sub(before, place)), a, b, n)
        if asked.self_lit or not cloth:
            bits = address(key, index, np.uint64(_CONNECTIONS) + np.uint64(1 + m))
            factor, towards = _ask(asked, place, n, patch, bits, scratch)
            if factor > 0.0:
                value = fabric_value(fabric, to_local(towards, a, b, n), seen) if cloth else 1.0 / math.pi
                for c in range(channels):
                    tints = finishes.tint[c] ** 2 if cloth else finishes.tint[c]
                    for k in range(kinds):
                        room[k, c] += through[c] * value * factor * scratch.radiance[k] * tints
        if cloth:
            if m + 1 == hits:
                break
            onward = to_local(unit(sub(hit_place(geometry, ledger, first + m + 1), place)), a, b, n)
            value = math.pi * fabric_value(fabric, onward, seen)
            for c in range(channels):
                through[c] *= value * finishes.tint[c]
        before = place


@kernel
def connect_cells(asked, starts, seats, sums, scratch, low, high):
    """Add paths of the cells low .. high - 1 into sums (cells, seats, surfaces, K, C), luminance [cd/m2] times paths.

    asked  Connections;  scratch  ConnectionScratch
    Source: next-event estimation, one point a hit with density 1 / area; the direct light on the cloth itself is only
    counted this way, never when a path happens to hit the cloth.
    """
    ledger, fabric, tint = asked.ledger, asked.projection.fabric, asked.finishes.tint
    geometry, low_path, paths, count = asked.projection.geometry, asked.low_path, ledger.paths[0], starts.place.shape[0]
    for cell in range(low, high):
        s = cell % count
        key = cell_key(asked.seed, cell // count, s)
        start = row(starts.place, s)
        right, up, normal = row(starts.right, s), row(starts.up, s), row(starts.normal, s)
        for j in range(paths):
            path = cell * paths + j
            if asked.self_lit:
                bits = address(key, low_path + j, np.uint64(_CONNECTIONS))
                connect_start(asked, starts, s, seats, bits, sums, cell, scratch)
            if ledger.hits[path] == 0:
                continue
            connect_path(asked, path, start, key, low_path + j, scratch)
            first = ledger.first[path]
            arriving = to_local(unit(sub(hit_place(geometry, ledger, first), start)), right, up, normal)
            surface = geometry.surface[ledger.patch[first]]
            for t in range(seats.shape[1]):
                weight = math.pi * fabric_value(fabric, arriving, row(seats[s], t))
                for k in range(asked.zone.shape[1]):
                    for c in range(tint.shape[0]):
                        sums[cell, t, surface, k, c] += weight * scratch.room[k, c] * tint[c]


@kernel
def _ask(asked, place, n, patch, bits, scratch):
    """Connect a place to a random lit point: (cos cos / r^2 times area, unit direction); scratch.radiance is filled.

    Zero where the point is behind, hidden or on the same patch. Source: area form of the irradiance integral.
    """
    geometry, lit = asked.projection.geometry, asked.lit
    index, p, there = draw_point(
        geometry, lit, fraction(address(bits, 1, 0)), fraction(address(bits, 2, 0)), fraction(address(bits, 3, 0))
    )
    d = sub(p, place)
    square = dot(d, d)
    r = math.sqrt(square)
    if r < 1e-9 or (lit.patch[index] == patch and not is_folded(geometry)):
        return 0.0, (0.0, 0.0, 1.0)
    d = (d[0] / r, d[1] / r, d[2] / r)
    cos_here = dot(d, n)
    cos_there = -dot(d, there)
    if cos_here <= 0.0 or cos_there <= 0.0 or blocked(geometry, place, d, r, patch, np.int64(lit.patch[index]), scratch.stack):
        return 0.0, d
    lit_radiance(asked, index, p, there, (-d[0], -d[1], -d[2]), scratch)
    stretch = 1.0  # of the folded cloth's area over its nominal one
    if is_folded(geometry):
        stretch = 1.0 / dot(there, row(geometry.normal, lit.patch[index]))
    return lit.area[0] * stretch * cos_here * cos_there / square, d


def connect(
    geometry: Geometry,
    starts: Starts,
    seats: np.ndarray,
    projector: ProjectorArrays,
    lit: LitPatches,
    zone: np.ndarray,
    finishes: Finishes,
    fabric: FabricArrays,
    ledger: Ledger,
    *,
    seed: int,
    low_path: int,
    self_lit: bool,
    threads: int = 1,
) -> np.ndarray:
    """Sums over a ledger's paths without a map, (cells, seats, surfaces, K, C), luminance [cd/m2] times paths.

    seed, low_path  as the ledger was traced with
    seats           (starts, seats, 3) unit directions in the cloth's frame [1]
    zone            (zones, K) level of each picture zone [1]
    Light that misses the cloth is not counted here. Source: `connect_cells`.
    """
    cells = len(ledger.hits) // int(ledger.paths[0])
    sums = np.zeros((cells, seats.shape[1], len(finishes.reflectance), zone.shape[1], finishes.reflectance.shape[1]))
    kinds, channels = sums.shape[3:]
    projection = Projection(geometry, projector, fabric)
    asked = read_only(Connections(projection, ledger, lit, zone, finishes, np.uint64(seed), low_path, self_lit))
    starts, seats = read_only((starts, seats))

    def add(low: int, high: int) -> None:
        scratch = ConnectionScratch(np.empty(STACK, np.int32), np.empty(kinds), np.empty((kinds, channels)), np.empty(channels))
        connect_cells(asked, starts, seats, sums, scratch, low, high)

    workers.in_ranges(add, cells, threads)
    return sums
