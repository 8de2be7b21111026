"""Paths of a ledger cell by cell: learnt from, then added up for each seat, with one fit a patch for what arrives on first hits."""

from __future__ import annotations

import math

import numpy as np

from ...materials.kernels.jit import kernel, within_callers
from ...materials.lobes.brdf import fabric_value
from .along_path import add_spill, gather_path
from .ledger import STEP, hit_place
from .pool import TERMS, fit_all, pooled, remember, terms_at
from .sheets import read_sheets
from .vectors import row, sub, to_local, unit


@kernel
def walk_replications(transport, starts, seats, sums, scratch, low, high):
    """Add the paths of replications low .. high - 1 into sums (cells, seats, surfaces, 2K, C), luminance [cd/m2] times paths.

    seats   (S, T, 3) unit direction from each start to each seat in the cloth's frame
    The estimate per path is pi f_r(first direction -> seat) x radiance, since directions follow cos / pi.
    Source: importance sampling of the reflection integral; derived.
    """
    count = starts.place.shape[0]
    pool = scratch.pool
    for replication in range(low, high):
        if pool[0].shape[0] > 0:  # all starts' paths are learnt from before any is added
            pool[0][:] = 0.0
            pool[1][:] = 0.0
            for s in range(count):
                learn_cell(transport, row(starts.place, s), scratch, replication * count + s)
            fit_all(pool[0], pool[1], pool[2], pool[3])
        for s in range(count):
            add_cell(transport, starts, seats, sums, scratch, replication * count + s)


@kernel
def learn_cell(transport, start, scratch, cell):
    """Add what arrives on the first hits of a cell's paths [cd/m2] per reflectance to the sums of the fits in their place. Source: pool.py."""
    ledger, pool_of, (square, side, _, _, terms) = transport.ledger, transport.grid.pool, scratch.pool
    paths = ledger.paths[0]
    for path in range(cell * paths, (cell + 1) * paths):
        i = ledger.first[path]
        if ledger.hits[path] > 0 and pool_of[ledger.patch[i]] >= 0:
            gather_path(transport, path, 1, start, scratch)
            terms_at(ledger.u[i] * STEP, ledger.v[i] * STEP, terms)
            remember(square, side, np.int64(pool_of[ledger.patch[i]]), terms, scratch.room)


@kernel
def add_cell(transport, starts, seats, sums, scratch, cell):
    """Add one cell's paths, and what the start gets from the cloth itself, into sums [cd/m2] times paths.

    First hits that a fit serves bring the sums of their weights times its terms and times their own light, so that the fit is
    asked once a cell and patch.
    Source: `walk_replications`; a fit is linear in its terms.
    """
    geometry, ledger, lighting, finishes = transport.geometry, transport.ledger, transport.lighting, transport.finishes
    room, s, together, terms = scratch.room, cell % starts.place.shape[0], scratch.pool[0].shape[0] > 0, scratch.pool[4]
    paths, even, mine = ledger.paths[0], transport.fabric.lobes.shape[0] == 0, sums[cell]
    views, met = min(1, seats.shape[1]) if even else seats.shape[1], 0
    start = row(starts.place, s)
    right, up, normal = row(starts.right, s), row(starts.up, s), row(starts.normal, s)
    for path in range(cell * paths, (cell + 1) * paths):
        if ledger.hits[path] == 0:
            continue
        i = ledger.first[path]
        patch = np.int64(ledger.patch[i])
        pool = np.int64(transport.grid.pool[patch]) if together else np.int64(-1)
        if pool < 0:
            gather_path(transport, path, 0, start, scratch)
        else:
            met = meet_first(transport, i, pool, cell, scratch, met)
        arriving = (0.0, 0.0, 1.0) if even else to_local(unit(sub(hit_place(geometry, ledger, i), start)), right, up, normal)
        for t in range(views):
            weight = 1.0 if even else math.pi * fabric_value(transport.fabric, arriving, row(seats[s], t))
            if pool >= 0:
                first = scratch.first[t, pool]
                for m in range(TERMS):
                    first[m] += weight * terms[m]
                for k in range(room.shape[0]):
                    first[TERMS + k] += weight * scratch.light[0, k]
            if pool < 0 or transport.spill_lux.shape[0] > 0:
                into = mine[t, geometry.surface[patch]]
                for k in range(room.shape[0]):
                    for c in range(room.shape[1]):
                        into[k, c] += weight * room[k, c]
    add_fitted(transport, scratch, met, mine[:views])
    per_weight = transport.fabric.base[0] if even else 1.0
    for t in range(seats.shape[1] - 1, -1, -1):
        for surface in range(mine.shape[1]):
            for k in range(room.shape[0]):
                for c in range(room.shape[1]):
                    mine[t, surface, k, c] = mine[min(t, views - 1), surface, k, c] * per_weight * finishes.tint[c]
        if lighting.own.shape[0] > 0:
            for k in range(room.shape[0]):
                for c in range(room.shape[1]):
                    mine[t, mine.shape[1] - 1, k, c] += paths * lighting.own[s, t, k] * finishes.tint[c] ** 2


@within_callers
def meet_first(transport, i, pool, cell, scratch, met):
    """Make ready for first hit i that a fit serves: terms, the map's light, what spills there [cd/m2] into scratch.room; returns fits met.

    met  fits that the cell has met so far, in scratch.met;  Source: derived.
    """
    ledger, geometry, finishes = transport.ledger, transport.geometry, transport.finishes
    patch = np.int64(ledger.patch[i])
    terms_at(ledger.u[i] * STEP, ledger.v[i] * STEP, scratch.pool[4])
    read_sheets(transport, i, i + 1, scratch.light)
    if scratch.met[1, pool] != cell:
        scratch.met[0, met], scratch.met[1, pool] = patch, cell
        scratch.first[:, pool] = 0.0
        met += 1
    if transport.spill_lux.shape[0] > 0:
        scratch.room[:] = 0.0
        for c in range(scratch.room.shape[1]):
            scratch.through[c] = finishes.reflectance[geometry.surface[patch], c]
        add_spill(transport, i, scratch)
    return met


@kernel
def add_fitted(transport, scratch, met, mine):
    """Add what the first `met` fits of scratch.met bring to a cell into mine (views, surfaces, 2K, C) [cd/m2] times paths, before the tint.

    Source: rendering equation; pool.py.
    """
    geometry, finishes, side = transport.geometry, transport.finishes, scratch.pool[1]
    for n in range(met):
        patch = scratch.met[0, n]
        surface, pool = geometry.surface[patch], np.int64(transport.grid.pool[patch])
        for t in range(mine.shape[0]):
            first = scratch.first[t, pool]
            for k in range(mine.shape[2]):
                for c in range(mine.shape[3]):
                    lit = first[TERMS + k] * finishes.tint[c] * (1.0 / math.pi)
                    mine[t, surface, k, c] += finishes.reflectance[surface, c] * (lit + pooled(side, pool, first, k, c))
