"""Passes over the facts of a ledger: slopes, what each picture zone sends back, and the powers of each path."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from ..light import workers
from ..light.geometry import SCREEN, Geometry
from ..light.ledger import PLACES, Ledger
from ..light.mapgrid import MapGrid, look_up
from ..light.pool import scratch as pool_scratch
from ..light.walk import Finishes, walk_scratch
from .throughputs import Throughputs

LONGEST = 256  # hits of a path, more than a ledger can hold


class ZoneWalk(NamedTuple):
    """What a walk with one picture for each zone reads; zones (N, zones) irradiance of the grid's nodes from each zone [lx]."""

    geometry: Geometry
    ledger: Ledger
    facts: Throughputs
    grid: MapGrid
    zones: np.ndarray
    finishes: Finishes


@kernel
def slope_cells(facts, reflectance, slopes, through, low, high):
    """Add d sum / d ln reflectance into slopes (cells, T, surfaces, 2, C) [cd/m2] times paths: one backward pass a path.

    reflectance  (surfaces, C) [1], the screen's row its tint;  through  (LONGEST,) scratch

    A term that leaves at hit m holds one factor for each hit up to m, so hit i's surface gains all terms from i on.
    Source: derivative of a product of powers; Rief (1984).
    """
    paths = facts.paths[0]
    last = facts.light.shape[0] - 1
    for c in range(reflectance.shape[1]):
        light = facts.light[min(c, last)]
        for cell in range(low, high):
            for path in range(cell * paths, (cell + 1) * paths):
                first = facts.first[path]
                hits = np.int64(facts.hits[path])
                passed = 1.0
                for m in range(hits):
                    passed *= reflectance[facts.surface[first + m], c] * facts.bounce[first + m]
                    through[m] = passed
                white, board = 0.0, 0.0
                for m in range(hits - 1, -1, -1):
                    i = first + m
                    white += through[m] * light[i, 0]
                    board += through[m] * light[i, 1]
                    for t in range(facts.weight.shape[1]):
                        slopes[cell, t, facts.surface[i], 0, c] += facts.weight[path, t] * white
                        slopes[cell, t, facts.surface[i], 1, c] += facts.weight[path, t] * board


@kernel
def picture_cells(asked, matrix, change, scratch, low, high):
    """Add what each zone of the white picture sends to each seat to matrix, change (cells, T, zones, C) [cd/m2] times paths.

    asked    a ZoneWalk;  change   what extrapolating the map added;  scratch  as light.walk has it, K the zones
    Source: light.along_path.gather_path with one picture a zone; linear in the picture.
    """
    geometry, ledger, facts = asked.geometry, asked.ledger, asked.facts
    reflectance, tint = asked.finishes
    room, fine, spread, through = scratch.room, scratch.node[0], scratch.node[1], scratch.through
    paths, count, channels = facts.paths[0], asked.zones.shape[1], reflectance.shape[1]
    for cell in range(low, high):
        for path in range(cell * paths, (cell + 1) * paths):
            if facts.hits[path] == 0:
                continue
            first = facts.first[path]
            for c in range(channels):
                through[c] = 1.0
                for z in range(count):
                    room[z, c] = 0.0
                    room[count + z, c] = 0.0
            for i in range(first, first + facts.hits[path]):
                patch = np.int64(ledger.patch[i])
                for c in range(channels):
                    through[c] *= reflectance[facts.surface[i], c] * facts.bounce[i]
                if facts.stray.shape[0] > 0 and facts.stray[i] > 0.0:
                    for c in range(channels):
                        room[facts.stray_zone[i], c] += through[c] * facts.stray[i]
                if geometry.role[patch] == SCREEN:
                    continue
                look_up(asked.grid, asked.zones, patch, ledger.u[i] / PLACES, ledger.v[i] / PLACES, fine, spread)
                for c in range(channels):
                    factor = through[c] * tint[c] / math.pi
                    if factor > 0.0:
                        for z in range(count):
                            room[z, c] += factor * fine[z]
                            room[count + z, c] += factor * spread[z]
            for t in range(facts.weight.shape[1]):
                w = facts.weight[path, t]
                for z in range(count):
                    for c in range(channels):
                        matrix[cell, t, z, c] += w * room[z, c]
                        change[cell, t, z, c] += w * room[count + z, c]


@kernel
def count_hits(facts, powers, through, low, high):
    """Write hits on each surface up to each hit into powers (H, surfaces), and the product of bounces [1] into through (H,).

    Source: a path's weight is the product of its reflectances; Subramaniam and Menguc (1991).
    """
    for path in range(low, high):
        first = facts.first[path]
        passed = 1.0
        for i in range(first, first + facts.hits[path]):
            for s in range(powers.shape[1]):
                powers[i, s] = powers[i - 1, s] if i > first else 0
            powers[i, facts.surface[i]] += 1
            passed *= facts.bounce[i]
            through[i] = passed


def slopes(facts: Throughputs, reflectance: np.ndarray, *, threads: int = 1) -> np.ndarray:
    """d sums / d ln reflectance, (cells, 1 or T, surfaces, 2, C), luminance [cd/m2] times paths; all first surfaces together.

    reflectance  (surfaces, C) [1], the screen's row its tint
    Source: `slope_cells`.
    """
    cells = len(facts.hits) // int(facts.paths[0])
    found = np.zeros((cells, facts.weight.shape[1], len(reflectance), 2, reflectance.shape[1]))
    workers.in_ranges(lambda low, high: slope_cells(facts, reflectance, found, np.empty(LONGEST), low, high), cells, threads)
    return found


def picture_matrix(
    geometry: Geometry,
    grid: MapGrid,
    zones: np.ndarray,
    ledger: Ledger,
    facts: Throughputs,
    reflectance: np.ndarray,
    tint: np.ndarray,
    *,
    threads: int = 1,
) -> tuple[np.ndarray, np.ndarray]:
    """Sums (cells, 1 or T, zones, C), [cd/m2] times paths, by picture zone, and what extrapolating the map added to them.

    zones  (N, zones) map [lx];  reflectance (surfaces, C), tint (C,)  [1]
    Source: `picture_cells`.
    """
    cells, count, channels = len(facts.hits) // int(facts.paths[0]), zones.shape[1], reflectance.shape[1]
    matrix = np.zeros((cells, facts.weight.shape[1], count, channels))
    change = np.zeros_like(matrix)
    asked = ZoneWalk(geometry, ledger, facts, grid, zones, Finishes(reflectance, tint))

    def fill(low: int, high: int) -> None:
        pool = pool_scratch(0, count, channels)  # each path for itself
        picture_cells(asked, matrix, change, walk_scratch(count, channels, pool), low, high)

    workers.in_ranges(fill, cells, threads)
    return matrix, change


def hit_powers(facts: Throughputs, surfaces: int) -> tuple[np.ndarray, np.ndarray]:
    """For every hit: how often each surface was hit up to it (H, surfaces) uint8, and the product of bounces (H,) [1].

    Source: `count_hits`.
    """
    powers, through = np.zeros((len(facts.surface), surfaces), np.uint8), np.zeros(len(facts.surface))
    count_hits(facts, powers, through, 0, len(facts.hits))
    return powers, through
