"""Gather paths from points of the screen into the room, kept without any reflectance: one trace answers for every finish."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from . import workers
from .displaced_screen import normal_on, place_at
from .geometry import NO_HIT, STACK, Geometry, nearest_hit
from .numbers import address, advance, begin, number, sobol_stream
from .readonly import read_only
from .vectors import along, cosine_direction, dot, row, tangents, to_world

MOST_HITS = 250
CERTAIN_HITS = 2  # every path has these; each further hit comes with the probability `survival`
PLACES = 65535.0
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
def drawn_hits(u, survival):
    """Hits of a path from one number in (0, 1) [1]: CERTAIN_HITS, and each further one with probability `survival` [1].

    At most MOST_HITS. One number for the whole length, so that it can be stratified.
    Source: inverse of the geometric distribution.
    """
    return min(MOST_HITS, CERTAIN_HITS + int(math.floor(math.log(u) / math.log(survival))))


@kernel
def draw_lengths(batch, survival, hits, stream, low, high):
    """Draw the number of hits of every path of the cells low .. high - 1 into `hits` (C paths,), uint8.

    batch  a PathBatch;  survival  probability to go on [1];  stream  a SobolStream, scratch
    Source: `drawn_hits`.
    """
    for cell in range(low, high):
        key = cell_key(batch.seed, cell // batch.starts, cell % batch.starts)
        begin(stream, key, batch.low_path)
        for j in range(batch.paths):
            index = batch.low_path + j
            hits[cell * batch.paths + j] = drawn_hits(number(stream, key, index, np.int64(2)), survival)
            advance(stream, index)


@kernel
def trace_cells(geometry, starts, batch, ledger, stream, stack, low, high):
    """Trace the paths of the cells low .. high - 1, filling patch, u, v and cutting `hits` where a path ends early.

    u, v are kept in steps of 1 / 65535 of a patch [1]. The first direction and every later one follow the cosine law, whatever
    the fabric: later repaints and refabrics stay unbiased. Numbers: dimensions 0, 1 first direction, 2 length, 3 + 2k and 4 + 2k
    the direction after hit k.
    batch  a PathBatch;  stream, stack   scratch: a SobolStream, int32 (STACK,)
    Source: derived; path tracing with implicit capture.
    """
    paths, low_path = batch.paths, batch.low_path
    for cell in range(low, high):
        s = cell % batch.starts
        key = cell_key(batch.seed, cell // batch.starts, s)
        begin(stream, key, low_path)
        for j in range(paths):
            index = low_path + j
            path = cell * paths + j
            first = ledger.first[path]
            origin = row(starts.place, s)
            local = cosine_direction(number(stream, key, index, np.int64(0)), number(stream, key, index, np.int64(1)))
            direction = to_world(local, row(starts.right, s), row(starts.up, s), row(starts.normal, s))
            skip = np.int64(starts.patch[s])  # one type for every use: each other one compiles the tree walk again
            made = 0
            for k in range(ledger.hits[path]):
                t, patch, u, v = nearest_hit(geometry, origin, direction, skip, stack)
                if patch == NO_HIT:
                    break
                n = normal_on(geometry, patch, u, v)
                if dot(n, direction) >= 0.0:
                    break  # the back of a screen or border is black: nothing comes from there
                ledger.patch[first + k] = patch
                ledger.u[first + k] = np.uint16(min(max(u, 0.0), 1.0) * PLACES + 0.5)
                ledger.v[first + k] = np.uint16(min(max(v, 0.0), 1.0) * PLACES + 0.5)
                made = k + 1
                if made < ledger.hits[path]:
                    origin = along(origin, direction, t)
                    local = cosine_direction(number(stream, key, index, 3 + 2 * k), number(stream, key, index, 4 + 2 * k))
                    right, up = tangents(n)
                    direction = to_world(local, right, up, n)
                    skip = patch
            ledger.hits[path] = made
            advance(stream, index)


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

    def draw(low: int, high: int) -> None:
        draw_lengths(batch, survival, hits, sobol_stream(), low, high)

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
        trace_cells(geometry, starts, batch, ledger, sobol_stream(), np.empty(STACK, np.int32), low, high)

    workers.in_ranges(follow, cells, threads)
    return ledger
