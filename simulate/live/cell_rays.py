"""Where rays from a room's cells end, whatever the fabric of its flat cloth: a new fabric weighs those that meet the cloth anew.

A ray that meets the flat cloth goes on as its table says and cannot meet it again. Of the rays of a cell every fourth one is
traced first, serves while bounces settle and is shown first; with the rest its light errs half as much, at the price of one sum more.
"""

from __future__ import annotations

import math
from functools import partial
from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.brdf import fabric_value
from ..light import workers
from ..light.front import WIDE, meet, new_front
from ..light.geometry import SCREEN, STACK, Geometry, nearest_hit
from ..light.next_event import fraction
from ..light.numbers import LANES, address
from ..light.readonly import read_only
from ..light.vectors import along, dot, row, screen_tangents, tangents, to_local, to_world
from ..views.gather import ray_table
from ..views.means import Bends
from ..views.texture import Texture, drawn_cell
from ..views.transport import TABLES, lay_rays, settled

RAYS, FEW = 1024, 256  # of a cell; of them while bounces settle
_DARK, _LIT, _CLOTH = 0, 1, 2


class CellRays(NamedTuple):
    """R rays from each of T cells; K of them meet the cloth.

    cell    (T, R) uint16 or int32, where a ray ends; T, a cell that is always dark, where it ends nowhere or meets the cloth
    start   (T + 1,) int64, first ray of a cell among those that meet the cloth
    seen    (K, 3) float32, from where a ray met the cloth back along it, in the cloth's frame [1];  on (K, 3) where it goes on
    end     (K,) int32, cell in which it ends then, T in the dark
    """

    cell: np.ndarray
    start: np.ndarray
    seen: np.ndarray
    on: np.ndarray
    end: np.ndarray

    @property
    def bytes(self) -> int:
        """Bytes of the arrays. Source: definition."""
        return sum(part.nbytes for part in self)


class CellTables(NamedTuple):
    """What the rays of T cells are made of and meet.

    place (T, 3) [m] from where cells see;  patch (T,) int32 that they lie on;  tables (TABLES, R, ...) of `ray_table` [1]
    seed  uint64;  dark  T, the cell that is always dark;  skipped  rays of a cell that others trace
    """

    geometry: Geometry
    texture: Texture
    place: np.ndarray
    patch: np.ndarray
    tables: np.ndarray
    seed: np.uint64
    dark: np.int64
    skipped: np.int64


class BendShares(NamedTuple):
    """What lines between cells would have too much: share, near (T, 4) of the bends;  of (T,) 1 + the sum of the shares [1]."""

    share: np.ndarray
    near: np.ndarray
    of: np.ndarray


@kernel
def cell_ray(cells, i, r):
    """Origin [m] and unit direction of ray r of cell i, and its row of the tables. Source: as `transport.record_rays`."""
    tables = cells.tables
    bits = address(cells.seed, np.int64(i), np.int64(0))
    table = np.int64(bits & np.uint64(TABLES - 1))
    turn = 2.0 * math.pi * fraction(bits)
    cosine, sine = math.cos(turn), math.sin(turn)
    n = row(cells.geometry.normal, np.int64(cells.patch[i]))
    right, up = tangents(n)
    x, y, z = tables[table, r, 0], tables[table, r, 1], tables[table, r, 2]
    return row(cells.place, i), to_world((cosine * x - sine * y, sine * x + cosine * y, z), right, up, n), table


@kernel
def end_cell(cells, origin, direction, skip, lot, stack):
    """What a ray meets: how it ends, and a cell by lot, the dark one where none;  and distance [m] and patch. Source: `cell_met`."""
    t, patch, u, v = nearest_hit(cells.geometry, origin, direction, skip, stack)
    how, cell = cell_met(cells, direction, patch, u, v, lot)
    return how, cell, t, patch


@kernel
def cell_met(cells, direction, patch, u, v, lot):
    """How a ray ends that meets a patch at u, v [1], and a cell by lot, the dark one where none. Source: `drawn_cell`."""
    geometry, dark = cells.geometry, cells.dark
    if patch < 0 or dot(row(geometry.normal, patch), direction) >= 0.0:
        return _DARK, dark
    if geometry.role[patch] == SCREEN:
        return _CLOTH, dark
    a = np.float64(lot >> np.uint64(32)) / 4294967296.0
    b = np.float64(lot & np.uint64(0xFFFFFFFF)) / 4294967296.0
    cell = drawn_cell(cells.texture, patch, u, v, a, b)
    return (_LIT, cell) if cell >= 0 else (_DARK, dark)


@kernel
def first_legs(cells, cell, on_cloth, front, low, high):
    """Ends of the rays of cells low .. high - 1 into cell (T, R), and on_cloth (T, R) uint8; front  scratch. Source: nearest hits [m]."""
    for i in range(low, high):
        for first in range(0, cell.shape[1], LANES):
            count = min(np.int64(LANES), cell.shape[1] - first)
            lay_rays(cells.geometry, cells, i, first, count, front)
            meet(cells.geometry, front, min(np.int64(LANES), (count + WIDE - 1) // WIDE * WIDE))
            for k in range(count):
                lot = address(cells.seed, np.int64(i), cells.skipped + np.int64(1 + first + k))
                way = (front.way[0, k], front.way[1, k], front.way[2, k])
                how, cell[i, first + k] = cell_met(cells, way, np.int64(front.patch[k]), front.u[k], front.v[k], lot)
                on_cloth[i, first + k] = how == _CLOTH


@kernel
def second_legs(cells, which, rays, stack, low, high):
    """Directions [1] at the cloth and ends of the rays `which` (K, 2), cell and number, into `rays`. Source: as `gather.end_of_ray`."""
    tables = cells.tables
    for k in range(low, high):
        i, r = which[k, 0], which[k, 1]
        origin, direction, table = cell_ray(cells, i, r)
        lot = address(cells.seed, i, cells.skipped + 1 + r)
        _, _, t, cloth = end_cell(cells, origin, direction, np.int64(cells.patch[i]), lot, stack)
        n = row(cells.geometry.normal, cloth)
        right, up = screen_tangents(n)
        seen = to_local((-direction[0], -direction[1], -direction[2]), right, up, n)
        local = (tables[table, r, 3], tables[table, r, 4], tables[table, r, 5])
        there = along(origin, direction, t)
        _, end, _, _ = end_cell(cells, there, to_world(local, right, up, n), cloth, lot, stack)
        rays.end[k] = end
        for j in range(3):
            rays.seen[k, j] = seen[j]
            rays.on[k, j] = local[j]


@kernel
def weigh(fabric, rays, out, low, high):
    """pi f_r of the rays low .. high - 1 that meet the cloth into out (K,) [1], the tint apart. Source: `fabric_value`."""
    for k in range(low, high):
        on = np.float64(rays.on[k, 0]), np.float64(rays.on[k, 1]), np.float64(rays.on[k, 2])
        seen = np.float64(rays.seen[k, 0]), np.float64(rays.seen[k, 1]), np.float64(rays.seen[k, 2])
        out[k] = math.pi * fabric_value(fabric, on, seen)


@kernel
def bounce(rays, weight, tint, sent, out, low, high):
    """Mean light / pi [cd/m2] that the rays of cells low .. high - 1 bring from sent (T + 1, C), the last dark, into out (T, C).

    weight  (K,) as `weigh` has it;  tint (C,) of the cloth [1].  Source: mean over the kept rays.
    """
    many, channels = rays.cell.shape[1], sent.shape[1]
    for i in range(low, high):
        if channels == 1:
            total = np.float32(0.0)
            for r in range(many):
                total += sent[rays.cell[i, r], 0]
            out[i, 0] = total
        else:
            red, green, blue = np.float32(0.0), np.float32(0.0), np.float32(0.0)
            for r in range(many):
                k = rays.cell[i, r]
                red += sent[k, 0]
                green += sent[k, 1]
                blue += sent[k, 2]
            out[i, 0], out[i, 1], out[i, 2] = red, green, blue
        for k in range(rays.start[i], rays.start[i + 1]):
            for c in range(channels):
                out[i, c] += weight[k] * tint[c] * sent[rays.end[k], c]
        for c in range(channels):
            out[i, c] /= many


@kernel
def sent_on(bends, first, rho, light, sent, low, high):
    """What cells low .. high - 1 send, first + rho x light (T, C) [cd/m2], less what lines would have too much, into sent (T + 1, C).

    bends  BendShares.  Source: `means.with_means`.
    """
    share, near, of = bends
    for i in range(low, high):
        for c in range(first.shape[1]):
            total = of[i] * (first[i, c] + rho[i, c] * light[i, c])
            for k in range(4):
                if share[i, k] != 0.0:
                    j = near[i, k]
                    total -= share[i, k] * (first[j, c] + rho[j, c] * light[j, c])
            sent[i, c] = max(total, 0.0)


class Tracing:
    """The rays of a room's cells while they are traced, in ranges of cells.

    place (T, 3) [m] from where cells see;  patch (T,) that they lie on;  few  the first FEW rays of a cell, else the rest of RAYS
    """

    def __init__(
        self, geometry: Geometry, texture: Texture, place: np.ndarray, patch: np.ndarray, *, few: bool, seed: int, threads: int
    ) -> None:
        order = np.argsort(np.arange(RAYS) % (RAYS // FEW) > 0, kind="stable")
        some = order[:FEW] if few else order[FEW:]
        tables = np.stack([ray_table(RAYS, seed + 1 + k, start=(k + 0.5) / TABLES)[some] for k in range(TABLES)])
        places, key = (np.ascontiguousarray(place), patch.astype(np.int32)), np.uint64(seed)
        skipped = np.int64(0 if few else FEW)
        self._cells = read_only(CellTables(geometry, texture, *places, tables, key, np.int64(len(place)), skipped))
        self._threads = threads
        self._cell = np.empty((len(place), len(some)), np.uint16 if len(place) < 1 << 16 else np.int32)
        self._on_cloth = np.zeros(self._cell.shape, np.uint8)

    def trace(self, low: int, high: int) -> None:
        """The first legs of the cells low .. high - 1. Source: `first_legs`."""

        def run(a: int, b: int) -> None:
            first_legs(self._cells, self._cell, self._on_cloth, new_front(), low + a, low + b)

        workers.in_ranges(run, high - low, self._threads)

    def rays(self) -> CellRays:
        """All rays, those that met the cloth gone on. Source: `second_legs`."""
        which = np.argwhere(self._on_cloth).astype(np.int64)
        count, start = len(which), np.concatenate([[0], np.cumsum(self._on_cloth.sum(axis=1, dtype=np.int64))])
        found = CellRays(
            self._cell, start, np.empty((count, 3), np.float32), np.empty((count, 3), np.float32), np.empty(count, np.int32)
        )

        def run(low: int, high: int) -> None:
            second_legs(self._cells, which, found, np.empty(STACK, np.int32), low, high)

        workers.in_ranges(run, count, self._threads)
        return found


def weights(rays: CellRays, fabric: FabricArrays, *, threads: int = 1) -> np.ndarray:
    """What a fabric leaves of the rays that meet the cloth (K,) float32 [1], its tint apart. Source: `weigh`."""
    out = np.empty(len(rays.end), np.float32)
    read = read_only((fabric, rays))
    workers.in_ranges(lambda low, high: weigh(*read, out, low, high), len(out), threads)
    return out


class Bounces:
    """All bounces of the light over kept rays.

    weight  (K,) as `weights` gives it;  bends  of the cells, so that lines between their values hold the mean
    """

    def __init__(self, rays: CellRays, weight: np.ndarray, bends: Bends, *, threads: int) -> None:
        self._rays, self._weight = read_only((rays, weight))
        of = (1.0 + bends.share.sum(axis=1)).astype(np.float32)
        self._bends = read_only(BendShares(bends.share.astype(np.float32), bends.near, of))
        self._threads = threads

    def sent(self, first: np.ndarray, rho: np.ndarray, light: np.ndarray) -> np.ndarray:
        """What cells send (T + 1, C) [cd/m2], the last always dark, float32. Source: `sent_on`."""
        out = np.zeros((len(first) + 1, first.shape[1]), np.float32)
        sent_on(self._bends, first, rho, light, out, 0, len(first))  # too short for threads
        return out

    def once(self, sent: np.ndarray, tint: np.ndarray) -> np.ndarray:
        """Light / pi (T, C) [cd/m2] that the rays bring from what cells send (T + 1, C). Source: `bounce`."""
        out = np.empty((len(sent) - 1, sent.shape[1]), np.float32)
        run = partial(bounce, self._rays, self._weight, tint, sent, out)
        workers.in_ranges(run, len(out), self._threads)
        return out

    def settled(
        self, first: np.ndarray, rho: np.ndarray, tint: np.ndarray, start: np.ndarray | None, enough: float
    ) -> np.ndarray:
        """Light / pi (T, C) [cd/m2] that arrives after any number of bounces.

        first (T, C) radiance by the first light alone [cd/m2];  rho (T, C), tint (C,) [1];  all float32
        start  light of a room that differs little, to begin from;  enough  mean change at which the bounces end, a share of the light [1]
        raises FloatingPointError when a value is not finite
        Source: as `transport.all_bounces`.
        """
        begin = np.zeros_like(first) if start is None else start
        return settled(lambda x: self.once(self.sent(first, rho, x), tint), begin, enough)[0]
