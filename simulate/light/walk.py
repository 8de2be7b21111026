"""Walking a ledger with reflectances, a fabric and a lit picture in hand: what each seat sees of the returned light."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel, within_callers
from ...materials.lobes.brdf import fabric_value
from . import workers
from .displaced_screen import normal_on
from .geometry import SCREEN, STACK, Geometry
from .ledger import CERTAIN_HITS, PLACES, STEP, Ledger, Starts, hit_place
from .mapgrid import MapGrid, look_up
from .patches import frozen
from .pool import fit_all, pooled, remember, terms_at
from .pool import scratch as pool_scratch
from .projector import Projection
from .readonly import read_only
from .self_illumination import own_light
from .vectors import row, screen_tangents, sub, to_local, unit

NO_OWN = frozen(np.zeros((0, 0, 0)))


class Finishes(NamedTuple):
    """What a repaint changes: reflectance (surfaces, C) [1] and tint (C,) of the fabric [1]; C = 3 in linear RGB, 1 in grey."""

    reflectance: np.ndarray
    tint: np.ndarray


class Lighting(NamedTuple):
    """What a change of picture or fabric changes.

    node_lx   (N, K) irradiance of the grid's nodes for each of K pictures, before the tint [lx]
    zone      (zones, K) level of each zone in each picture [1], for light that misses the screen
    beam      the Projector where folded cloth can light itself, else an empty tuple
    own       (S, T, 2K) what selflit.light_of_starts gives [cd/m2]; empty: paths find that light themselves
    """

    node_lx: np.ndarray
    zone: np.ndarray
    beam: tuple = ()
    own: np.ndarray = NO_OWN


class Transport(NamedTuple):
    """All that a walk reads.

    spill_lux, spill_zone  as `spilt_light` gives them for this ledger
    """

    geometry: Geometry
    ledger: Ledger
    spill_lux: np.ndarray
    spill_zone: np.ndarray
    grid: MapGrid
    lighting: Lighting
    finishes: Finishes
    fabric: FabricArrays


class Scratch(NamedTuple):
    """What a walk writes on its way, for one thread.

    room     (2K, C) luminance by picture, then by what extrapolating the map changed, and channel [cd/m2]
    node     (2, K) irradiance at a hit and its extrapolation [lx]
    through  (C,) throughput [1]
    stack    int32 (STACK,), of the tree
    pool     as pool.scratch gives it; without patches, each path for itself
    """

    room: np.ndarray
    node: np.ndarray
    through: np.ndarray
    stack: np.ndarray
    pool: tuple[np.ndarray, ...]


def walk_scratch(kinds: int, channels: int, pool: tuple[np.ndarray, ...]) -> Scratch:
    """Scratch of one thread, for a number of pictures and of colour channels; pool as pool.scratch gives it. Source: `Scratch`."""
    return Scratch(np.empty((2 * kinds, channels)), np.empty((2, kinds)), np.empty(channels), np.empty(STACK, np.int32), pool)


@kernel
def cloth_factor(geometry, ledger, fabric, i, before, place):
    """pi f_r [1] at hit i, at `place` [m] on the cloth, from the next hit to `before` [m].

    Source: the ledger keeps both directions.
    """
    n = normal_on(geometry, np.int64(ledger.patch[i]), ledger.u[i] / PLACES, ledger.v[i] / PLACES)
    right, up = screen_tangents(n)
    seen = to_local(unit(sub(before, place)), right, up, n)
    onward = to_local(unit(sub(hit_place(geometry, ledger, i + 1), place)), right, up, n)
    return math.pi * fabric_value(fabric, onward, seen)


@within_callers
def gather_path(transport, path, after, start, scratch):
    """Luminance [cd/m2] that a path's hits from number `after` on send back along it, by picture and channel, into scratch.room.

    after   0: what the first hit sends; 1: what arrives on the first hit from the room, per its reflectance
    Rows K .. 2K - 1 hold what extrapolating the map changed. Throughput at hit m is the product of reflectances from `after` on
    over survival once for each hit beyond the certain ones.
    Source: rendering equation, implicit capture with roulette; derived.
    """
    geometry, ledger, lighting, finishes = transport.geometry, transport.ledger, transport.lighting, transport.finishes
    room, through = scratch.room, scratch.through
    kinds = lighting.node_lx.shape[1]
    channels = finishes.reflectance.shape[1]
    for k in range(2 * kinds):
        for c in range(channels):
            room[k, c] = 0.0
    for c in range(channels):
        through[c] = 1.0
    first = ledger.first[path]
    hits = ledger.hits[path]
    per_survival = 1.0 / ledger.survival[0]
    for m in range(after, hits):
        i = first + m
        patch = np.int64(ledger.patch[i])
        if m >= CERTAIN_HITS:
            for c in range(channels):
                through[c] *= per_survival
        if geometry.role[patch] == SCREEN:
            place = hit_place(geometry, ledger, i)
            before = start if m == 0 else hit_place(geometry, ledger, i - 1)
            projection = Projection(geometry, lighting.beam, transport.fabric)
            own, zone = own_light(projection, ledger, m, i, before, place, scratch.stack)
            if own > 0.0 and (m > 0 or lighting.own.shape[0] == 0):
                for c in range(channels):
                    for k in range(kinds):
                        room[k, c] += through[c] * finishes.tint[c] * own * lighting.zone[zone, k]
            if m + 1 == hits:
                return
            value = cloth_factor(geometry, ledger, transport.fabric, i, before, place)
            for c in range(channels):
                through[c] *= value * finishes.tint[c]
        else:
            for c in range(channels):
                through[c] *= finishes.reflectance[geometry.surface[patch], c]
            add_lit(transport, i, scratch)


@within_callers
def add_lit(transport, i, scratch):
    """Add to scratch.room (2K, C) what a surface sends on of the screen's and the projector's own light at hit i [cd/m2].

    scratch.through has the surface's reflectance in it. Source: radiance = reflectance x irradiance / pi.
    """
    ledger, lighting, finishes, spill_lux = transport.ledger, transport.lighting, transport.finishes, transport.spill_lux
    room, through, fine, spread = scratch.room, scratch.through, scratch.node[0], scratch.node[1]
    kinds = lighting.node_lx.shape[1]
    look_up(transport.grid, lighting.node_lx, np.int64(ledger.patch[i]), ledger.u[i] * STEP, ledger.v[i] * STEP, fine, spread)
    for c in range(room.shape[1]):
        factor = through[c] * finishes.tint[c] * (1.0 / math.pi)
        for k in range(kinds):
            room[k, c] += factor * fine[k]
            room[kinds + k, c] += factor * spread[k]
    if spill_lux.shape[0] > 0 and spill_lux[i] > 0.0:
        for c in range(room.shape[1]):
            for k in range(kinds):
                room[k, c] += through[c] / math.pi * spill_lux[i] * lighting.zone[transport.spill_zone[i], k]


@within_callers
def first_hit(transport, i, scratch):
    """Luminance [cd/m2] that a path's first hit i sends back, by the fit of what arrives there from the room, into scratch.room.

    Source: rendering equation; pool.py.
    """
    ledger, geometry, finishes, room = transport.ledger, transport.geometry, transport.finishes, scratch.room
    side, terms = scratch.pool[1], scratch.pool[4]
    patch = np.int64(ledger.patch[i])
    surface = geometry.surface[patch]
    pool_of = np.int64(transport.grid.pool[patch])
    terms_at(ledger.u[i] * STEP, ledger.v[i] * STEP, terms)
    for c in range(room.shape[1]):
        scratch.through[c] = finishes.reflectance[surface, c]
        for k in range(room.shape[0]):
            room[k, c] = finishes.reflectance[surface, c] * pooled(side, pool_of, terms, k, c)
    add_lit(transport, i, scratch)


@kernel
def walk_replications(transport, starts, seats, sums, scratch, low, high):
    """Add the paths of replications low .. high - 1 into sums (cells, seats, surfaces, 2K, C), luminance [cd/m2] times paths.

    seats   (S, T, 3) unit direction from each start to each seat in the cloth's frame
    The estimate per path is pi f_r(first direction -> seat) x radiance, since directions follow cos / pi.
    Source: importance sampling of the reflection integral; derived.
    """
    count = starts.place.shape[0]
    pool = scratch.pool
    together = pool[0].shape[0] > 0
    for replication in range(low, high):
        if together:
            pool[0][:] = 0.0
            pool[1][:] = 0.0
        for learning in range(1 if together else 0, -1, -1):  # all starts' paths are learnt from before any is added
            for s in range(count):
                walk_cell(transport, starts, seats, sums, scratch, replication * count + s, learning == 1)
            if learning == 1:
                fit_all(pool[0], pool[1], pool[2], pool[3])


@kernel
def walk_cell(transport, starts, seats, sums, scratch, cell, learning):
    """Add one cell's paths, and what the start gets from the cloth itself, into sums [cd/m2] times paths.

    learning  add what arrives on first hits [cd/m2] per reflectance to the sums of the fits in their place (pool.py)
    Source: `walk_replications`.
    """
    geometry, ledger, lighting, finishes = transport.geometry, transport.ledger, transport.lighting, transport.finishes
    room, s, together = scratch.room, cell % starts.place.shape[0], scratch.pool[0].shape[0] > 0
    square, side, _, _, terms = scratch.pool
    paths = ledger.paths[0]
    start = row(starts.place, s)
    right, up, normal = row(starts.right, s), row(starts.up, s), row(starts.normal, s)
    for path in range(cell * paths, (cell + 1) * paths):
        if ledger.hits[path] == 0:
            continue
        i = ledger.first[path]
        patch = np.int64(ledger.patch[i])
        in_pool = together and transport.grid.pool[patch] >= 0
        if in_pool == learning:
            gather_path(transport, path, 1 if learning else 0, start, scratch)
        elif in_pool:
            first_hit(transport, i, scratch)
        if learning:
            if in_pool:
                terms_at(ledger.u[i] * STEP, ledger.v[i] * STEP, terms)
                remember(square, side, np.int64(transport.grid.pool[patch]), terms, room)
            continue
        arriving = to_local(unit(sub(hit_place(geometry, ledger, i), start)), right, up, normal)
        for t in range(seats.shape[1]):
            weight = math.pi * fabric_value(transport.fabric, arriving, row(seats[s], t))
            for k in range(room.shape[0]):
                for c in range(room.shape[1]):
                    sums[cell, t, geometry.surface[patch], k, c] += weight * room[k, c] * finishes.tint[c]
    if lighting.own.shape[0] > 0 and not learning:
        for t in range(seats.shape[1]):
            for k in range(room.shape[0]):
                for c in range(room.shape[1]):
                    sums[cell, t, sums.shape[2] - 1, k, c] += paths * lighting.own[s, t, k] * finishes.tint[c] ** 2


def walk(
    geometry: Geometry,
    starts: Starts,
    seats: np.ndarray,
    grid: MapGrid,
    lighting: Lighting,
    finishes: Finishes,
    fabric: FabricArrays,
    ledger: Ledger,
    spill: tuple[np.ndarray, np.ndarray],
    *,
    pooling: bool = True,
    threads: int = 1,
) -> np.ndarray:
    """Sums over a ledger's paths, (cells, seats, surfaces, 2K, C): luminance seen by seats times paths [cd/m2].

    seats     (starts, seats, 3) directions in the cloth's frame
    spill     as `spilt_light` gives it for this ledger
    pooling   paths of a replication share what they find beyond their first hits (pool.py); False: each path for itself
    returns   the last two axes are picture (then map spread) and colour channel; surfaces by the path's first hit
    raises    FloatingPointError naming the cell when a sum is not finite
    Source: `walk_replications`.
    """
    count = len(starts.place)
    cells = len(ledger.hits) // int(ledger.paths[0])
    kinds, channels = lighting.node_lx.shape[1], finishes.reflectance.shape[1]
    sums = np.zeros((cells, seats.shape[1], len(finishes.reflectance), 2 * kinds, channels))

    transport = read_only(Transport(geometry, ledger, *spill, grid, lighting, finishes, fabric))
    starts, seats = read_only((starts, seats))
    pools = int(grid.pool.max()) + 1 if pooling else 0

    def add(low: int, high: int) -> None:
        pool = pool_scratch(pools, kinds, channels)
        scratch = walk_scratch(kinds, channels, pool)
        walk_replications(transport, starts, seats, sums, scratch, low, high)

    workers.in_ranges(add, cells // count, threads)
    if not np.isfinite(sums).all():
        cell, seat, surface = (int(a[0]) for a in np.nonzero(~np.isfinite(sums))[:3])
        raise FloatingPointError(f"cell {cell} (replication, start), seat {seat}, surface {surface}: not a finite sum")
    return sums
