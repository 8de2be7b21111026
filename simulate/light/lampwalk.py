"""Walking a ledger with the light of lamps: what each seat sees of it on the screen by way of the room, lamp by lamp.

The same paths, weights and pooling as walk.py; in place of the lit picture on a map, each hit holds what every lamp puts there.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.brdf import fabric_value
from . import workers
from .along_path import cloth_factor
from .displaced_screen import normal_on
from .geometry import SCREEN, STACK, Geometry, blocked
from .lamphits import LampHits, chosen
from .lamps import Lamps, lamp_sample
from .ledger import CERTAIN_HITS, PLACES, STEP, Ledger, Starts, hit_place
from .pool import fit_all, pooled, remember, terms_at
from .pool import scratch as pool_scratch
from .readonly import read_only
from .vectors import row, screen_tangents, sub, to_local, unit
from .walk import Finishes


class LampTransport(NamedTuple):
    """All that a walk with lamps reads.

    lux      (H, L) float32 as `lamp_light` gives it [lx];  pool_of (P,) as MapGrid.pool has it
    """

    hits: LampHits
    lux: np.ndarray
    pool_of: np.ndarray
    finishes: Finishes
    fabric: FabricArrays


class LampScratch(NamedTuple):
    """What it writes on its way, for one thread.

    room     (2L, C) radiance by lamp, then by what a map would have changed [cd/m2];  through (C,) throughput [1]
    pool     as pool.scratch gives it;  stack  int32 (STACK,)
    """

    room: np.ndarray
    through: np.ndarray
    pool: tuple[np.ndarray, ...]
    stack: np.ndarray


@kernel
def on_cloth(transport, i, before, lamp, stack):
    """Radiance [cd/m2] that hit i, on the cloth, sends to `before` [m] of the lamp's own light, before the tint.

    Source: L = f_r E by one point of the lamp, the fabric asked for the lamp's own direction.
    """
    geometry, ledger, lamps, key = transport.hits
    patch = np.int64(ledger.patch[i])
    place = hit_place(geometry, ledger, i)
    n = normal_on(geometry, patch, ledger.u[i] / PLACES, ledger.v[i] / PLACES)
    a, b = chosen(key, i, lamp)
    d, r, lux = lamp_sample(lamps, lamp, place, n, a, b)
    if lux <= 0.0 or blocked(geometry, place, d, r, patch, np.int64(-1), stack):
        return 0.0
    right, up = screen_tangents(n)
    return lux * fabric_value(transport.fabric, to_local(d, right, up, n), to_local(unit(sub(before, place)), right, up, n))


@kernel
def gather_lamps(transport, path, after, start, scratch):
    """Radiance [cd/m2] of each lamp that a path's hits from number `after` on send back along it, into scratch.room (2L, C).

    after   0: what the first hit sends; 1: what arrives on the first hit from the room, per its reflectance
    Rows L .. 2L - 1 are what a map would have changed: 0, since there is none.
    Source: as along_path.gather_path.
    """
    geometry, ledger, finishes, lux = transport.hits.geometry, transport.hits.ledger, transport.finishes, transport.lux
    room, through = scratch.room, scratch.through
    count, channels = lux.shape[1], room.shape[1]
    for c in range(channels):
        through[c] = 1.0
        for lamp in range(2 * count):
            room[lamp, c] = 0.0
    first, hits = ledger.first[path], ledger.hits[path]
    for m in range(after, hits):
        i = first + m
        patch = np.int64(ledger.patch[i])
        if m >= CERTAIN_HITS:
            for c in range(channels):
                through[c] /= ledger.survival[0]
        if geometry.role[patch] == SCREEN:
            before = start if m == 0 else hit_place(geometry, ledger, i - 1)
            for lamp in range(count):
                value = on_cloth(transport, i, before, lamp, scratch.stack)
                for c in range(channels):
                    room[lamp, c] += through[c] * finishes.tint[c] * value
            if m + 1 == hits:
                return
            value = cloth_factor(geometry, ledger, transport.fabric, i, before, hit_place(geometry, ledger, i))
            for c in range(channels):
                through[c] *= value * finishes.tint[c]
        else:
            for c in range(channels):
                through[c] *= finishes.reflectance[geometry.surface[patch], c]
                for lamp in range(count):
                    room[lamp, c] += through[c] * lux[i, lamp] * (1.0 / math.pi)


@kernel
def first_from_pool(transport, i, scratch):
    """Radiance [cd/m2] that a path's first hit i, off the cloth, sends back, by the fit of what arrives there, into scratch.room.

    Source: a fit is what arrives from the room; pool.py.
    """
    ledger, lux, room = transport.hits.ledger, transport.lux, scratch.room
    side, terms = scratch.pool[1], scratch.pool[4]
    patch = np.int64(ledger.patch[i])
    count = lux.shape[1]
    terms_at(ledger.u[i] * STEP, ledger.v[i] * STEP, terms)
    for c in range(room.shape[1]):
        rho = transport.finishes.reflectance[transport.hits.geometry.surface[patch], c]
        for lamp in range(2 * count):
            room[lamp, c] = rho * pooled(side, np.int64(transport.pool_of[patch]), terms, lamp, c)
        for lamp in range(count):
            room[lamp, c] += rho * lux[i, lamp] * (1.0 / math.pi)


@kernel
def learn_lamps(transport, cell, start, scratch):
    """Add a cell's paths to the sums of the fits of what arrives on their first hits [cd/m2] per reflectance. Source: pool.py."""
    ledger, pool_of = transport.hits.ledger, transport.pool_of
    square, side, _, _, terms = scratch.pool
    for path in range(cell * ledger.paths[0], (cell + 1) * ledger.paths[0]):
        if ledger.hits[path] == 0:
            continue
        i = ledger.first[path]
        patch = np.int64(ledger.patch[i])
        if pool_of[patch] >= 0:
            gather_lamps(transport, path, 1, start, scratch)
            terms_at(ledger.u[i] * STEP, ledger.v[i] * STEP, terms)
            remember(square, side, np.int64(pool_of[patch]), terms, scratch.room)


@kernel
def walk_lamp_replications(transport, starts, seats, sums, scratch, low, high):
    """Add the paths of replications low .. high - 1 into sums (cells, seats, surfaces, 4L, C), times paths.

    Of the four blocks of L rows: luminance towards the seat [cd/m2], illuminance over pi [cd/m2], and what fits of lower degree
    would have said otherwise of each. The rest as in walk.walk_replications.
    Source: importance sampling of the reflection integral; illuminance = pi times the mean radiance under the cosine law (derived).
    """
    geometry, ledger, tint = transport.hits.geometry, transport.hits.ledger, transport.finishes.tint
    room, pool, count = scratch.room, scratch.pool, transport.lux.shape[1]
    channels, paths, many = room.shape[1], ledger.paths[0], starts.place.shape[0]
    together = pool[0].shape[0] > 0
    for replication in range(low, high):
        if together:
            pool[0][:] = 0.0
            pool[1][:] = 0.0
            for s in range(many):
                learn_lamps(transport, replication * many + s, row(starts.place, s), scratch)
            fit_all(pool[0], pool[1], pool[2], pool[3])
        for s in range(many):
            cell = replication * many + s
            start = row(starts.place, s)
            right, up, normal = row(starts.right, s), row(starts.up, s), row(starts.normal, s)
            for path in range(cell * paths, (cell + 1) * paths):
                if ledger.hits[path] == 0:
                    continue
                i = ledger.first[path]
                if together and transport.pool_of[ledger.patch[i]] >= 0:
                    first_from_pool(transport, i, scratch)
                else:
                    gather_lamps(transport, path, 0, start, scratch)
                surface = geometry.surface[ledger.patch[i]]
                arriving = to_local(unit(sub(hit_place(geometry, ledger, i), start)), right, up, normal)
                for t in range(seats.shape[1]):
                    weight = math.pi * fabric_value(transport.fabric, arriving, row(seats[s], t))
                    for lamp in range(count):
                        for c in range(channels):
                            sums[cell, t, surface, lamp, c] += weight * room[lamp, c] * tint[c]
                            sums[cell, t, surface, count + lamp, c] += room[lamp, c]
                            sums[cell, t, surface, 2 * count + lamp, c] += weight * room[count + lamp, c] * tint[c]
                            sums[cell, t, surface, 3 * count + lamp, c] += room[count + lamp, c]


def walk_lamps(
    geometry: Geometry,
    starts: Starts,
    seats: np.ndarray,
    pool_of: np.ndarray,
    lamps: Lamps,
    lux: np.ndarray,
    key: np.uint64,
    finishes: Finishes,
    fabric: FabricArrays,
    ledger: Ledger,
    *,
    pooling: bool = True,
    threads: int = 1,
) -> np.ndarray:
    """Sums over a ledger's paths, (cells, seats, surfaces, 4L, C), times paths, of lamps at full output with grey light.

    seats     (starts, seats, 3) directions in the cloth's frame;  pool_of (P,) as MapGrid.pool has it
    lux, key  as `lamp_light` gives and takes them
    pooling   paths of a replication share what they find beyond their first hits (pool.py)
    returns   rows as `walk_lamp_replications` has them [cd/m2]
    raises    FloatingPointError naming the cell when a sum is not finite
    Source: `walk_lamp_replications`.
    """
    many = len(starts.place)
    cells, count, channels = len(ledger.hits) // int(ledger.paths[0]), lux.shape[1], finishes.reflectance.shape[1]
    sums = np.zeros((cells, seats.shape[1], len(finishes.reflectance), 4 * count, channels))
    hits = LampHits(geometry, ledger, lamps, key)
    read = read_only((LampTransport(hits, lux, pool_of, finishes, fabric), starts, seats))

    def add(low: int, high: int) -> None:
        pool = pool_scratch(int(pool_of.max()) + 1 if pooling else 0, count, channels)
        scratch = LampScratch(np.empty((2 * count, channels)), np.empty(channels), pool, np.empty(STACK, np.int32))
        walk_lamp_replications(*read, sums, scratch, low, high)

    workers.in_ranges(add, cells // many, threads)
    if not np.isfinite(sums).all():
        cell, seat, surface = (int(a[0]) for a in np.nonzero(~np.isfinite(sums))[:3])
        raise FloatingPointError(
            f"cell {cell} (replication, start), seat {seat}, surface {surface}: not a finite sum of lamp light"
        )
    return sums
