"""A ledger with fabric and pictures put in, reflectances left out: a repaint is then one short pass over plain numbers."""
from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.brdf import fabric_value
from ...materials.fabric import FabricArrays
from ...materials.jit import kernel
from ..light import workers
from ..light.geometry import SCREEN, Geometry
from ..light.ledger import CERTAIN_HITS, PLACES, Ledger, Starts, hit_place
from ..light.selflit import own_light
from ..light.vectors import row, sub, to_local, unit
from ..light.walk import cloth_factor
from ..light.wallmap import MapGrid, look_up

LONGEST = 256  # hits of a path, more than the ledger can hold


class Facts(NamedTuple):
    """What a walk needs beside the reflectances, for the two traced pictures.

    paths    (1,) int64, paths a cell;  first (P,) int64, hits (P,) uint8 as in the ledger
    surface  (H,) uint8, index of the named surface; the screen has its own
    bounce   (H,) float32, factor beside the reflectance: 1 / survival, times pi f_r of the cloth where it was hit before
    stray    (H,) float32, light of the white picture that is not in the wall map: what misses the cloth and lands here, over
             pi, or what folded cloth gets from the projector where another fold sees it [cd/m2];  stray_zone (H,) uint8; both
             empty where there is none
    light    (1 or 3, H, 4) float32, irradiance over pi of white and checkerboard, then what extrapolating the map changed,
             by channel where the fabric is tinted [cd/m2 for reflectance 1]
    weight   (P, 1 or T) float32, pi f_r from the first hit to each seat; one column for a diffuse fabric
    """

    paths: np.ndarray
    first: np.ndarray
    hits: np.ndarray
    surface: np.ndarray
    bounce: np.ndarray
    light: np.ndarray
    weight: np.ndarray
    stray: np.ndarray
    stray_zone: np.ndarray


@kernel
def fill_facts(
    geometry, starts, seats, grid, node_lx, zone, tint, fabric, beam, ledger, spill_lux, spill_zone, facts, fine, spread, low, high
):
    """Fill bounce, light and weight for the paths of cells low .. high - 1.

    node_lx  (N, 2), zone (zones, 2) as in Lighting;  tint (1 or 3,) on the light that comes from the cloth
    Source: the same factors, in the same order, as light.walk.gather_path.
    """
    count = starts.place.shape[0]
    paths = ledger.paths[0]
    for cell in range(low, high):
        s = cell % count
        start = row(starts.place, s)
        right, up, normal = row(starts.right, s), row(starts.up, s), row(starts.normal, s)
        for path in range(cell * paths, (cell + 1) * paths):
            hits = np.int64(ledger.hits[path])
            first = ledger.first[path]
            onward = 1.0
            for m in range(hits):
                i = first + m
                patch = np.int64(ledger.patch[i])
                facts.surface[i] = geometry.surface[patch]
                facts.bounce[i] = onward / ledger.survival[0] if m >= CERTAIN_HITS else onward
                onward = 1.0
                fine[0], fine[1], spread[0], spread[1] = 0.0, 0.0, 0.0, 0.0
                stray, z = 0.0, np.int64(0)
                if geometry.role[patch] == SCREEN:
                    place = hit_place(geometry, ledger, i)
                    before = start if m == 0 else hit_place(geometry, ledger, i - 1)
                    stray, z = own_light(geometry, beam, fabric, ledger, m, i, before, place)
                    if m + 1 < hits:
                        onward = cloth_factor(geometry, ledger, fabric, i, before, place)
                else:
                    look_up(grid, node_lx, patch, ledger.u[i] / PLACES, ledger.v[i] / PLACES, fine, spread)
                    if spill_lux.shape[0] > 0:
                        stray, z = spill_lux[i] / math.pi, np.int64(spill_zone[i])
                if facts.stray.shape[0] > 0:
                    facts.stray[i] = stray
                    facts.stray_zone[i] = z
                for c in range(tint.shape[0]):
                    for k in range(2):
                        facts.light[c, i, k] = fine[k] * tint[c] / math.pi + stray * zone[z, k]
                        facts.light[c, i, 2 + k] = spread[k] * tint[c] / math.pi
            if hits > 0:
                arriving = to_local(unit(sub(hit_place(geometry, ledger, first), start)), right, up, normal)
                for t in range(facts.weight.shape[1]):
                    facts.weight[path, t] = math.pi * fabric_value(fabric, arriving, row(seats[s], t))


@kernel
def repaint_cells(facts, reflectance, sums, low, high):
    """Add the paths of cells low .. high - 1 into sums (cells, T, surfaces, 4, C) [cd/m2 times paths].

    reflectance  (surfaces, C), the screen's row its tint
    Source: light.walk.walk_cells, with all that no repaint changes taken out.
    """
    paths = facts.paths[0]
    last = facts.light.shape[0] - 1
    for c in range(reflectance.shape[1]):
        light = facts.light[min(c, last)]
        for cell in range(low, high):
            for path in range(cell * paths, (cell + 1) * paths):
                if facts.hits[path] == 0:
                    continue
                first = facts.first[path]
                through = 1.0
                white, board, white_spread, board_spread = 0.0, 0.0, 0.0, 0.0
                for i in range(first, first + facts.hits[path]):
                    through *= reflectance[facts.surface[i], c] * facts.bounce[i]
                    white += through * light[i, 0]
                    board += through * light[i, 1]
                    white_spread += through * light[i, 2]
                    board_spread += through * light[i, 3]
                surface = facts.surface[first]
                for t in range(facts.weight.shape[1]):
                    w = facts.weight[path, t]
                    sums[cell, t, surface, 0, c] += w * white
                    sums[cell, t, surface, 1, c] += w * board
                    sums[cell, t, surface, 2, c] += w * white_spread
                    sums[cell, t, surface, 3, c] += w * board_spread


@kernel
def slope_cells(facts, reflectance, slopes, through, low, high):
    """Add d sum / d ln reflectance into slopes (cells, T, surfaces, 2, C): one backward pass along each path.

    through  (LONGEST,) scratch

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
def picture_cells(
    geometry, grid, zones, ledger, facts, reflectance, tint, matrix, change, fine, spread, room, through, low, high
):
    """What each zone of the white picture sends to each seat, added into matrix and change (cells, T, zones, C) [cd/m2 times paths].

    zones    (N, zones) map [lx];  change   what extrapolating the map added
    fine, spread (zones,), room (2, zones, C), through (C,)   scratch
    Source: light.walk.walk_cells with one picture a zone; linear in the picture.
    """
    paths = facts.paths[0]
    count, channels = zones.shape[1], reflectance.shape[1]
    for cell in range(low, high):
        for path in range(cell * paths, (cell + 1) * paths):
            if facts.hits[path] == 0:
                continue
            first = facts.first[path]
            for c in range(channels):
                through[c] = 1.0
                for z in range(count):
                    room[0, z, c] = 0.0
                    room[1, z, c] = 0.0
            for i in range(first, first + facts.hits[path]):
                patch = np.int64(ledger.patch[i])
                for c in range(channels):
                    through[c] *= reflectance[facts.surface[i], c] * facts.bounce[i]
                if facts.stray.shape[0] > 0 and facts.stray[i] > 0.0:
                    for c in range(channels):
                        room[0, facts.stray_zone[i], c] += through[c] * facts.stray[i]
                if geometry.role[patch] == SCREEN:
                    continue
                look_up(grid, zones, patch, ledger.u[i] / PLACES, ledger.v[i] / PLACES, fine, spread)
                for c in range(channels):
                    factor = through[c] * tint[c] / math.pi
                    if factor > 0.0:
                        for z in range(count):
                            room[0, z, c] += factor * fine[z]
                            room[1, z, c] += factor * spread[z]
            for t in range(facts.weight.shape[1]):
                w = facts.weight[path, t]
                for z in range(count):
                    for c in range(channels):
                        matrix[cell, t, z, c] += w * room[0, z, c]
                        change[cell, t, z, c] += w * room[1, z, c]


@kernel
def count_hits(facts, powers, through, low, high):
    """Hits on each surface up to and with each hit into powers (H, surfaces) uint8, and the product of bounces into through (H,)."""
    for path in range(low, high):
        first = facts.first[path]
        passed = 1.0
        for i in range(first, first + facts.hits[path]):
            for s in range(powers.shape[1]):
                powers[i, s] = powers[i - 1, s] if i > first else 0
            powers[i, facts.surface[i]] += 1
            passed *= facts.bounce[i]
            through[i] = passed


def make_facts(
    geometry: Geometry,
    starts: Starts,
    seats: np.ndarray,
    grid: MapGrid,
    node_lx: np.ndarray,
    zone: np.ndarray,
    fabric: FabricArrays,
    tint: np.ndarray,
    beam: tuple,
    ledger: Ledger,
    spill: tuple[np.ndarray, np.ndarray],
    *,
    threads: int = 1,
) -> Facts:
    """Facts of a ledger with a fabric.

    seats    (starts, T, 3) directions in the cloth's frame;  node_lx (N, 2) map of the two traced pictures [lx]
    tint     (1,) where the fabric is grey, else (3,)
    beam     the Projector for folded cloth, else ();  spill as `spilt_light` gives it
    Source: `fill_facts`.
    """
    count, total = len(ledger.hits), len(ledger.patch)
    columns = seats.shape[1] if len(fabric.lobes) else 1
    facts = Facts(
        paths=ledger.paths,
        first=ledger.first,
        hits=ledger.hits,
        surface=np.zeros(total, np.uint8),
        bounce=np.zeros(total, np.float32),
        light=np.zeros((len(tint), total, 4), np.float32),
        weight=np.zeros((count, columns), np.float32),
        stray=np.zeros(total if len(spill[0]) or beam else 0, np.float32),
        stray_zone=np.zeros(total if len(spill[0]) or beam else 0, np.uint8),
    )
    cells = count // int(ledger.paths[0])
    workers.in_ranges(
        lambda low, high: fill_facts(
            geometry, starts, seats, grid, node_lx, zone, tint, fabric, beam, ledger, *spill, facts, np.empty(2), np.empty(2), low, high
        ),
        cells,
        threads,
    )
    return facts


def repaint(facts: Facts, reflectance: np.ndarray, *, threads: int = 1) -> np.ndarray:
    """Sums (cells, 1 or T, surfaces, 4, C) [cd/m2 times paths] for reflectances (surfaces, C), the screen's row its tint.

    Source: `repaint_cells`; the last two pictures are the map's spread.
    """
    cells = len(facts.hits) // int(facts.paths[0])
    sums = np.zeros((cells, facts.weight.shape[1], len(reflectance), 4, reflectance.shape[1]))
    workers.in_ranges(lambda low, high: repaint_cells(facts, reflectance, sums, low, high), cells, threads)
    return sums


def slopes(facts: Facts, reflectance: np.ndarray, *, threads: int = 1) -> np.ndarray:
    """d sums / d ln reflectance, (cells, 1 or T, surfaces, 2, C) [cd/m2 times paths]; all first surfaces together.

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
    facts: Facts,
    reflectance: np.ndarray,
    tint: np.ndarray,
    *,
    threads: int = 1,
) -> tuple[np.ndarray, np.ndarray]:
    """Sums (cells, 1 or T, zones, C) [cd/m2 times paths] by picture zone, and what extrapolating the map added to them.

    zones  (N, zones) map [lx];  tint (C,)
    Source: `picture_cells`.
    """
    cells, count, channels = len(facts.hits) // int(facts.paths[0]), zones.shape[1], reflectance.shape[1]
    matrix = np.zeros((cells, facts.weight.shape[1], count, channels))
    change = np.zeros_like(matrix)

    def fill(low: int, high: int) -> None:
        scratch = np.empty(count), np.empty(count), np.empty((2, count, channels)), np.empty(channels)
        picture_cells(geometry, grid, zones, ledger, facts, reflectance, tint, matrix, change, *scratch, low, high)

    workers.in_ranges(fill, cells, threads)
    return matrix, change


def hit_powers(facts: Facts, surfaces: int) -> tuple[np.ndarray, np.ndarray]:
    """For every hit: how often each surface was hit up to it (H, surfaces) uint8, and the product of bounces (H,). Source: `count_hits`."""
    powers, through = np.zeros((len(facts.surface), surfaces), np.uint8), np.zeros(len(facts.surface))
    count_hits(facts, powers, through, 0, len(facts.hits))
    return powers, through
