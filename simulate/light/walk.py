"""Walking a ledger with reflectances, a fabric and a lit picture in hand: what each seat sees of the returned light."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from . import workers
from .geometry import STACK, Geometry
from .ledger import MOST_HITS, Ledger, Starts
from .mapgrid import MapGrid
from .patches import frozen
from .pool import TERMS
from .pool import scratch as pool_scratch
from .readonly import read_only
from .sheets import NO_SHEETS, Sheets, lay_sheets
from .walk_cells import walk_replications

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
    own       (S, T, 2K) what self_illumination.light_of_starts gives [cd/m2]; empty: paths find that light themselves
    """

    node_lx: np.ndarray
    zone: np.ndarray
    beam: tuple = ()
    own: np.ndarray = NO_OWN


class Transport(NamedTuple):
    """All that a walk reads.

    spill_lux, spill_zone  as `spilt_light` gives them for this ledger
    sheets    of the grid and node_lx, as `lay_sheets` gives them [lx]
    """

    geometry: Geometry
    ledger: Ledger
    spill_lux: np.ndarray
    spill_zone: np.ndarray
    grid: MapGrid
    lighting: Lighting
    finishes: Finishes
    fabric: FabricArrays
    sheets: Sheets = NO_SHEETS


class Scratch(NamedTuple):
    """What a walk writes on its way, for one thread.

    room     (2K, C) luminance by picture, then by what extrapolating the map changed, and channel [cd/m2]
    node     (2, K) irradiance at a hit and its extrapolation [lx]
    light    (MOST_HITS, 2K) the same at every hit of a path [lx]
    through  (C,) throughput [1]
    stack    int32 (STACK,), of the tree
    pool     as pool.scratch gives it; without patches, each path for itself
    first    (T, P, TERMS + 2K) sums over a cell's first hits by seat and fit, of weights times terms [1] and times light [lx]
    met      (2, P) int64, patches of the fits that a cell has met, and the last cell that has met each fit
    """

    room: np.ndarray
    node: np.ndarray
    light: np.ndarray
    through: np.ndarray
    stack: np.ndarray
    pool: tuple[np.ndarray, ...]
    first: np.ndarray
    met: np.ndarray


def walk_scratch(kinds: int, channels: int, pool: tuple[np.ndarray, ...], views: int = 0) -> Scratch:
    """Scratch of one thread, for a number of pictures, of colour channels, of seats that see other than all; pool as pool.scratch gives it.

    Source: `Scratch`.
    """
    light, stack, fits = np.empty((MOST_HITS, 2 * kinds)), np.empty(STACK, np.int32), len(pool[0])
    first, met = np.empty((views, fits, TERMS + 2 * kinds)), np.full((2, fits), -1, np.int64)
    return Scratch(np.empty((2 * kinds, channels)), np.empty((2, kinds)), light, np.empty(channels), stack, pool, first, met)


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

    sheets = lay_sheets(grid, lighting.node_lx)
    transport = read_only(Transport(geometry, ledger, *spill, grid, lighting, finishes, fabric, sheets))
    starts, seats = read_only((starts, seats))
    pools = int(grid.pool.max()) + 1 if pooling else 0

    views = seats.shape[1] if len(fabric.lobes) else 1
    scratch = workers.one_a_thread(lambda: walk_scratch(kinds, channels, pool_scratch(pools, kinds, channels), views))

    def add(low: int, high: int) -> None:
        walk_replications(transport, starts, seats, sums, scratch(), low, high)
        _all_finite(sums, low * count, high * count)

    workers.in_ranges(add, cells // count, threads)
    return sums


def _all_finite(sums: np.ndarray, low: int, high: int) -> None:
    """Refuse a sum of the cells low .. high - 1 that is not finite.

    raises  FloatingPointError naming the first such cell
    """
    finite = np.isfinite(sums[low:high])
    if not finite.all():
        cell, seat, surface = (int(a[0]) for a in np.nonzero(~finite)[:3])
        raise FloatingPointError(f"cell {low + cell} (replication, start), seat {seat}, surface {surface}: not a finite sum")
