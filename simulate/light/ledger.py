"""Gather paths from points of the screen into the room, kept without any reflectance: one trace answers for every finish."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from . import workers
from .displaced_screen import place_at
from .front import PLACES, WIDE, go_on, leave, meet, new_front, scatter, turn_to_meet
from .geometry import NO_HIT, Geometry
from .numbers import LANES, address, begin, lattice_stream, move_to, numbers_of
from .readonly import read_only

MOST_HITS = 250
CERTAIN_HITS = 3  # every path has these; each further hit comes with the probability `survival`
STEP = 1.0 / PLACES


class Starts(NamedTuple):
    """Points of the screen where paths begin.

    place (S, 3) [m];  right, up, normal (S, 3) unit vectors of the cloth [1];  patch (S,) int32
    """

    place: np.ndarray
    right: np.ndarray
    up: np.ndarray
    normal: np.ndarray
    patch: np.ndarray


class Ledger(NamedTuple):
    """Paths of all cells; a cell is one replication of one start: cell = replication * starts + start.

    paths     (1,) int64, paths a cell
    survival  (1,) probability to go on after each hit from the CERTAIN_HITS-th
    first     (C n,) int64, place of each path's first hit in `patch`, `u`, `v`
    hits      (C n,) uint8, hits of the path; fewer than drawn when it ends on a black back
    patch     (H,) int32
    u, v      (H,) uint16, place on the patch in steps of 1 / 65535
    """

    paths: np.ndarray
    survival: np.ndarray
    first: np.ndarray
    hits: np.ndarray
    patch: np.ndarray
    u: np.ndarray
    v: np.ndarray


class PathBatch(NamedTuple):
    """The paths of one trace: numbers low_path .. low_path + paths - 1 of every cell, `starts` cells a replication; seed uint64."""

    seed: np.uint64
    starts: int
    low_path: int
    paths: int


@kernel
def cell_key(seed, replication, start):
    """Key of a cell's random numbers, uint64. Source: derived from SplitMix64."""
    return address(seed, replication, start)


@kernel
def take_lanes(batch, block, front):
    """Write the lanes of the paths of a batch that lie in a block; returns of how many. Source: definition."""
    low, high = max(batch.low_path, block), min(batch.low_path + batch.paths, block + LANES)
    for i in range(high - low):
        front.lane[i] = np.int32(low - block + i)
    return high - low


@kernel
def draw_hits(number, survival, drawn, count):
    """Write the hits of paths into `drawn` (count,), int32, from one number in (0, 1) each [1].

    CERTAIN_HITS, and each further one with probability `survival` [1]; at most MOST_HITS. One number for the whole length, so that
    it can be stratified.
    Source: inverse of the geometric distribution, floor(log u / log survival) further hits: as many as powers of it lie above u.
    """
    for i in range(count):
        drawn[i] = np.int32(CERTAIN_HITS)
    power = survival
    for _ in range(MOST_HITS - CERTAIN_HITS):
        if power < 1e-10:  # below every number
            break
        for i in range(count):
            drawn[i] += np.int32(1) if number[i] <= power else np.int32(0)
        power *= survival


@kernel
def draw_lengths(batch, survival, hits, stream, front, low, high):
    """Draw the number of hits of every path of the cells low .. high - 1 into `hits` (C paths,), uint8.

    batch  a PathBatch;  survival  probability to go on [1];  stream, front  scratch: a LatticeStream, a RayFront
    Source: `draw_hits`.
    """
    for cell in range(low, high):
        key = cell_key(batch.seed, cell // batch.starts, cell % batch.starts)
        begin(stream, key)
        done = cell * batch.paths
        for block in range(batch.low_path - batch.low_path % LANES, batch.low_path + batch.paths, LANES):
            move_to(stream, block)
            count = take_lanes(batch, block, front)
            numbers_of(stream, key, block, front.lane, np.int64(2), count, front.number[0])
            draw_hits(front.number[0], survival, front.patch, count)
            for i in range(count):
                hits[done + i] = front.patch[i]
            done += count


@kernel
def trace_cells(geometry, starts, batch, ledger, stream, front, low, high):
    """Trace the paths of the cells low .. high - 1, filling patch, u, v and cutting `hits` where a path ends early.

    u, v are kept in steps of 1 / 65535 of a patch [1]. The first direction and every later one follow the cosine law, whatever
    the fabric: later repaints and refabrics stay unbiased. Numbers: dimensions 0, 1 first direction, 2 length, 3 + 2k and 4 + 2k
    the direction after hit k. Paths of a block go side by side, from hit to hit.
    batch  a PathBatch;  stream, front   scratch: a LatticeStream, a RayFront
    Source: derived; path tracing with implicit capture.
    """
    for cell in range(low, high):
        key = cell_key(batch.seed, cell // batch.starts, cell % batch.starts)
        begin(stream, key)
        path = cell * batch.paths  # of the block's first lane in use
        for block in range(batch.low_path - batch.low_path % LANES, batch.low_path + batch.paths, LANES):
            move_to(stream, block)
            count = take_lanes(batch, block, front)
            after, hit = path - np.int64(front.lane[0]), np.int64(0)
            path += count
            while count > 0:
                side_by_side = min(np.int64(LANES), (count + WIDE - 1) // WIDE * WIDE)  # what is too many is left unread
                first = np.int64(0) if hit == 0 else 1 + 2 * hit
                for k in range(2):
                    numbers_of(stream, key, block, front.lane, first + k, side_by_side, front.number[k])
                if hit == 0:
                    leave(geometry, front, starts, cell % batch.starts, side_by_side)
                else:
                    scatter(front, side_by_side)
                meet(geometry, front, side_by_side)
                turn_to_meet(geometry, front, side_by_side)
                count = note_hits(geometry, ledger, front, after, hit, count)
                hit += 1


@kernel
def note_hits(geometry, ledger, front, after, hit, count):
    """Write hit number `hit` of the first `count` rays into the ledger, those of paths after + lane; returns how many go on.

    Paths that meet nothing or a black back end here. Source: `Ledger`.
    """
    to = np.int64(0)
    for i in range(count):
        path, patch = after + front.lane[i], front.patch[i]
        drawn = ledger.hits[path]
        if patch == NO_HIT:
            ledger.hits[path] = hit
            drawn = np.uint8(0)
        else:
            at = ledger.first[path] + hit
            ledger.patch[at] = patch
            ledger.u[at] = front.steps[0, i]
            ledger.v[at] = front.steps[1, i]
        go_on(geometry, front, i, to)  # overwritten by the next where this one ends: which ends nobody can foresee
        to += 1 if hit + 1 < drawn else 0
    return to


@kernel
def hit_place(geometry, ledger, i):
    """Place [m] of hit i of the ledger. Source: the patch's own coordinates."""
    return place_at(geometry, np.int64(ledger.patch[i]), ledger.u[i] / PLACES, ledger.v[i] / PLACES)


def trace(
    geometry: Geometry,
    starts: Starts,
    *,
    seed: int,
    replications: int,
    low_path: int,
    paths: int,
    survival: float,
    threads: int = 1,
) -> Ledger:
    """Trace paths low_path .. low_path + paths - 1 of every (replication, start).

    seed       any non-negative integer
    survival   probability to go on [1], 0 < survival < 1, the same whatever the reflectances
    returns    Ledger, the same bits at any number of threads
    Source: the ledger stores geometry only; weights are products of reflectances (Rief 1984; Hayakawa et al. 2001).
    """
    count = len(starts.place)
    cells = replications * count
    starts = read_only(starts)  # so that one version of the kernel serves whoever calls
    batch = PathBatch(np.uint64(seed), count, low_path, paths)
    hits = np.empty(cells * paths, np.uint8)
    scratch = workers.one_a_thread(lambda: (lattice_stream(), new_front()))

    def draw(low: int, high: int) -> None:
        draw_lengths(batch, survival, hits, *scratch(), low, high)

    workers.in_ranges(draw, cells, threads)
    first = np.zeros(len(hits), np.int64)
    np.cumsum(hits[:-1], out=first[1:])
    total = int(first[-1]) + int(hits[-1])
    ledger = Ledger(
        paths=np.array([paths]),
        survival=np.array([survival]),
        first=first,
        hits=hits,
        patch=np.zeros(total, np.int32),
        u=np.zeros(total, np.uint16),
        v=np.zeros(total, np.uint16),
    )

    def follow(low: int, high: int) -> None:
        trace_cells(geometry, starts, batch, ledger, *scratch(), low, high)

    workers.in_ranges(follow, cells, threads)
    return ledger
