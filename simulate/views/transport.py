"""How cells of a room's surfaces light one another: rays are traced once and kept, so that bounces cost no more tracing."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ..light import workers
from ..light.displaced_screen import normal_on
from ..light.front import WIDE, RayFront, meet, new_front
from ..light.geometry import SCREEN, Geometry
from ..light.next_event import fraction
from ..light.numbers import LANES, address
from ..light.projector import Projection, ProjectorArrays
from ..light.readonly import read_only
from ..light.vectors import dot, row, tangents, to_world
from .gather import CLOTH_HITS, Ray, RayScratch, RoomValues, end_of_ray, ray_scratch, ray_table
from .means import Bends, with_means
from .texture import drawn_cell

CELL_RAYS = 256
TABLES = 16  # tables of directions; a cell takes one by lot and turns it, so that cells err independently
ENOUGH = 1e-4  # largest mean change of a bounce at which the bounces end, as a share of the light
_ROUNDS, _REMEMBERED = 60, 4


class CellTransport(NamedTuple):
    """What R rays from each of T cells meet.

    cell    (T, R) int32, the cell in which a ray ends, -1 in the dark
    weight  (T, R) float32, what the cloth on the way leaves of it, its tint apart [1];  hits  (T, R) uint8 on the cloth
    own     (T, C) light / pi that comes from the projector's own light on cloth that the rays met after the first [cd/m2]
    """

    cell: np.ndarray
    weight: np.ndarray
    hits: np.ndarray
    own: np.ndarray


class AskedCells(NamedTuple):
    """Cells that send rays: place (T, 3) [m] on patch (T,);  asked (T,) uint8, 0: the cell is left dark.

    tables  (TABLES, R, 3 CLOTH_HITS) of `ray_table` [1];  seed  uint64, of the lots by which a cell takes one and turns it
    """

    place: np.ndarray
    patch: np.ndarray
    asked: np.ndarray
    tables: np.ndarray
    seed: np.uint64


class CellScratch(NamedTuple):
    """What the rays of a cell write on their way, for one thread: side by side, and one by one from the cloth on."""

    front: RayFront
    ray: RayScratch


@kernel
def lay_rays(geometry, cells, i, first, count, front):
    """Let rays first .. first + count - 1 of cell i of AskedCells begin in `front`. Source: the cell's table, turned about the normal [1]."""
    place, way, start = front.place, front.way, np.int64(cells.patch[i])
    table, cosine, sine = table_of(cells, i)
    n = row(geometry.normal, start)
    right, up = tangents(n)
    origin, own = row(cells.place, i), geometry.solid_of[start]
    for k in range(count):
        x, y, z = table[first + k, 0], table[first + k, 1], table[first + k, 2]
        way[0, k], way[1, k], way[2, k] = to_world((cosine * x - sine * y, sine * x + cosine * y, z), right, up, n)
        place[0, k], place[1, k], place[2, k] = origin
        front.skip[k], front.own[k] = np.int32(start), own


@kernel
def table_of(cells, i):
    """The table of directions that cell i of AskedCells takes, and cosine and sine of its turn [1]. Source: drawn by lot."""
    bits = address(cells.seed, np.int64(i), np.int64(0))
    turn = 2.0 * math.pi * fraction(bits)
    return cells.tables[np.int64(bits & np.uint64(TABLES - 1))], math.cos(turn), math.sin(turn)


@kernel
def record_rays(projection, values, cells, kept, scratch, low, high):
    """Fill `kept` for the cells low .. high - 1 of AskedCells [cd/m2]; scratch  a CellScratch.

    Source: cosine sampling; one table of even directions a cell, drawn by lot and turned about the normal.
    """
    geometry, front, total = projection.geometry, scratch.front, scratch.ray.total
    channels, rays = values.tint.shape[0], cells.tables.shape[1]
    for i in range(low, high):
        for c in range(channels):
            total[c] = 0.0
        for r in range(rays):
            kept.cell[i, r] = -1
        if cells.asked[i] != 0:
            for first in range(0, rays, LANES):
                count = min(np.int64(LANES), rays - first)
                lay_rays(geometry, cells, i, first, count, front)
                meet(geometry, front, min(np.int64(LANES), (count + WIDE - 1) // WIDE * WIDE))
                note_ends(projection, values, cells, kept, scratch, i, first, count)
        for c in range(channels):
            kept.own[i, c] = total[c] / rays


@kernel
def note_ends(projection, values, cells, kept, scratch, i, first, count):
    """Write into `kept` where rays first .. first + count - 1 of cell i end, which the front has; on the cloth they go on. Source: `end_of_ray`."""
    geometry, front, ray = projection.geometry, scratch.front, scratch.ray
    table, _, _ = table_of(cells, i)
    for k in range(count):
        end, u, v, weight, hits = np.int64(front.patch[k]), front.u[k], front.v[k], 1.0, 0
        if end < 0:
            continue
        way = (front.way[0, k], front.way[1, k], front.way[2, k])
        if dot(normal_on(geometry, end, u, v), way) >= 0.0:
            continue
        if geometry.role[end] == SCREEN:
            for c in range(ray.through.shape[0]):
                ray.through[c] = 1.0
            whole = Ray(np.int64(cells.patch[i]), row(cells.place, i), way)
            end, u, v, weight, hits = end_of_ray(projection, values, table, first + k, whole, False, ray)
            if end < 0:
                continue
        lot = address(cells.seed, np.int64(i), np.int64(1 + first + k))
        a = np.float64(lot >> np.uint64(32)) / 4294967296.0
        b = np.float64(lot & np.uint64(0xFFFFFFFF)) / 4294967296.0
        kept.cell[i, first + k] = drawn_cell(values.radiance, end, u, v, a, b)
        kept.weight[i, first + k] = weight
        kept.hits[i, first + k] = hits


@kernel
def weigh_rays(projection, values, cells, kept, scratch, low, high):
    """Weigh anew those rays of `kept` that met the flat cloth, for the fabric of the projection; as `record_rays` does.

    Where a ray goes does not hang on the fabric, only what is left of it. Source: `record_rays`.
    """
    for i in range(low, high):
        start = np.int64(cells.patch[i])
        table, cosine, sine = table_of(cells, i)
        n = row(projection.geometry.normal, start)
        right, up = tangents(n)
        for r in range(kept.hits.shape[1]):
            if kept.hits[i, r] == 0:
                continue
            x, y = table[r, 0], table[r, 1]
            direction = to_world((cosine * x - sine * y, sine * x + cosine * y, table[r, 2]), right, up, n)
            ray = Ray(start, row(cells.place, i), direction)
            kept.weight[i, r] = end_of_ray(projection, values, table, r, ray, False, scratch)[3]


@kernel
def one_bounce(kept, powers, radiance, out, low, high):
    """Light / pi (T, C) [cd/m2] that arrives at the cells low .. high - 1 from the radiance (T, C) of all; into out.

    powers  (CLOTH_HITS + 1, C) of the cloth's tint [1].  Source: mean over the kept rays.
    """
    rays, channels = kept.cell.shape[1], radiance.shape[1]
    for i in range(low, high):
        for c in range(channels):
            out[i, c] = 0.0
        for r in range(rays):
            k = kept.cell[i, r]
            if k >= 0:
                weight, m = np.float64(kept.weight[i, r]), kept.hits[i, r]
                for c in range(channels):
                    out[i, c] += weight * powers[m, c] * radiance[k, c]
        for c in range(channels):
            out[i, c] = kept.own[i, c] + out[i, c] / rays


def recorded(
    geometry: Geometry,
    projector: ProjectorArrays,
    fabric: FabricArrays,
    values: RoomValues,
    place: np.ndarray,
    patch: np.ndarray,
    asked: np.ndarray,
    *,
    seed: int,
    threads: int,
) -> CellTransport:
    """Trace CELL_RAYS rays from every cell at place (T, 3) [m] on patch (T,) with asked (T,) True. Source: `record_rays`."""
    count, cells = len(place), _asked_cells(place, patch, asked, seed)
    kept = CellTransport(
        cell=np.empty((count, CELL_RAYS), np.int32),
        weight=np.zeros((count, CELL_RAYS), np.float32),
        hits=np.zeros((count, CELL_RAYS), np.uint8),
        own=np.zeros((count, len(values.tint))),
    )
    projection = Projection(geometry, projector, fabric)
    same = {name: read_only(getattr(values, name)) for name in ("zone", "tint")}  # one version of the kernel for all callers
    values = values._replace(**same)

    def run(low: int, high: int) -> None:
        record_rays(projection, values, cells, kept, CellScratch(new_front(), ray_scratch(len(values.tint))), low, high)

    workers.in_ranges(run, count, threads)
    return kept


def _asked_cells(place: np.ndarray, patch: np.ndarray, asked: np.ndarray, seed: int) -> AskedCells:
    tables = np.stack([ray_table(CELL_RAYS, seed + 1 + k, start=(k + 0.5) / TABLES) for k in range(TABLES)])
    return AskedCells(place, patch, asked.astype(np.uint8), tables, np.uint64(seed))


def weighed_anew(
    kept: CellTransport,
    projection: Projection,
    values: RoomValues,
    place: np.ndarray,
    patch: np.ndarray,
    *,
    seed: int,
    threads: int,
) -> CellTransport:
    """What `recorded` gives with another fabric on the same flat cloth, at the cost of the few rays that meet it.

    kept  rays of the same cells, at place (T, 3) [m] on patch (T,), with the same seed, of whatever fabric
    Source: `weigh_rays`; the same bits.
    """
    cells, anew = _asked_cells(place, patch, np.ones(len(place), bool), seed), kept._replace(weight=kept.weight.copy())

    def run(low: int, high: int) -> None:
        weigh_rays(projection, values, cells, anew, ray_scratch(len(values.tint)), low, high)

    workers.in_ranges(run, len(place), threads)
    return anew


def all_bounces(
    kept: CellTransport, bends: Bends, tint: np.ndarray, first: np.ndarray, rho: np.ndarray, *, threads: int,
    start: np.ndarray | None = None, enough: float = ENOUGH,
) -> tuple[np.ndarray, float]:  # fmt: skip
    """Light / pi (T, C) [cd/m2] that arrives at the cells after any number of bounces, and the last mean change as a share [1].

    bends  of the cells, so that lines between their values hold the mean
    first  (T, C) radiance [cd/m2] by the first light alone;  rho  (T, C) reflectance [1]
    start  (T, C) light / pi [cd/m2] of a room that differs little, to begin from; enough  change at which the bounces end [1]
    raises  FloatingPointError when a value is not finite
    Source: x = K (first + rho x) by Anderson's acceleration of the Neumann series (1965), each channel apart.
    """
    powers = tint ** np.arange(CLOTH_HITS + 1)[:, None]

    def bounce(x: np.ndarray) -> np.ndarray:
        out, radiance = np.empty_like(x), with_means(bends, first + rho * x)
        workers.in_ranges(lambda low, high: one_bounce(kept, powers, radiance, out, low, high), len(x), threads)
        return out

    return settled(bounce, np.zeros_like(first) if start is None else start, enough)


def settled(bounce: Callable[[np.ndarray], np.ndarray], start: np.ndarray, enough: float) -> tuple[np.ndarray, float]:
    """Light (T, C) that one more bounce hardly changes, in any unit, and its last mean change as a share [1].

    start  light to begin from;  enough  change at which the bounces end [1];  raises  FloatingPointError when a value is not finite
    Source: Anderson's acceleration (1965), each channel apart.
    """
    x, change = start, 1.0
    found: list[np.ndarray] = []
    steps: list[np.ndarray] = []
    for _ in range(_ROUNDS):
        new = bounce(x)
        if not np.isfinite(new).all():
            raise FloatingPointError(f"light on cell {int(np.argmin(np.isfinite(new).all(axis=1)))} is not finite")
        found, steps = [*found[-_REMEMBERED:], new], [*steps[-_REMEMBERED:], new - x]
        change = float(np.max(np.abs(steps[-1]).sum(axis=0) / np.maximum(new.sum(axis=0), 1e-300)))
        if change < enough:
            return new, change
        x = _accelerated(found, steps)
    return new, change


def _accelerated(found: list[np.ndarray], steps: list[np.ndarray]) -> np.ndarray:
    """The mix of the last bounces `found` (T, C) whose mixed `steps` are least, channel by channel."""
    out = found[-1].copy()
    if len(found) < 2:
        return out
    for c in range(out.shape[1]):
        lines = np.stack([step[:, c] - steps[-1][:, c] for step in steps[:-1]], axis=1)
        share = np.linalg.lstsq(lines, -steps[-1][:, c], rcond=1e-10)[0]
        out[:, c] += np.stack([f[:, c] - found[-1][:, c] for f in found[:-1]], axis=1) @ share
    return np.maximum(out, 0.0)
