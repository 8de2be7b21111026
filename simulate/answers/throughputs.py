"""A ledger with fabric and pictures put in, reflectances left out: a repaint is then one short pass over plain numbers."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel, within_callers
from ...materials.lobes.brdf import fabric_value
from ..light import workers
from ..light.along_path import cloth_factor
from ..light.geometry import SCREEN, STACK, Geometry
from ..light.ledger import CERTAIN_HITS, PLACES, Ledger, Starts, hit_place
from ..light.mapgrid import MapGrid, look_up
from ..light.projector import Projection
from ..light.readonly import read_only
from ..light.self_illumination import own_light
from ..light.vectors import row, sub, to_local, unit
from ..light.walk import Finishes, Lighting, Transport


class Throughputs(NamedTuple):
    """What a walk needs beside the reflectances, for the two traced pictures.

    paths    (1,) int64, paths a cell;  first (P,) int64, hits (P,) uint8 as in the ledger
    surface  (H,) uint16, index of the named surface; the screen has its own
    bounce   (H,) float32, factor beside the reflectance: 1 / survival, times pi f_r of the cloth where it was hit before
    stray    (H,) float32, light of the white picture that is not in the wall map: what misses the cloth and lands here, over
             pi, or what folded cloth gets from the projector where another fold sees it [cd/m2];  stray_zone (H,) uint8; both
             empty where there is none
    light    (1 or 3, H, 4) float32, irradiance over pi of white and checkerboard, then what extrapolating the map changed,
             by channel where the fabric is tinted [cd/m2 for reflectance 1]
    weight   (P, 1 or T) float32, pi f_r from the first hit to each seat; one column for a diffuse fabric
    onto     (P,) int32, fit (MapGrid.pool) of the first hit's patch, -1: none;  at (P, 2) uint16, its place there, as in the ledger
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
    onto: np.ndarray
    at: np.ndarray


@within_callers
def fill_hit(transport, start, path, m, facts, node, stack):
    """Fill light and stray of a path's m-th hit; returns pi f_r [1] of cloth there towards the next hit, 1 where none enters.

    transport  as light.walk has it, of the two traced pictures; of its finishes the tint (1 or 3,) alone;  start  place [m]
    node       (2, 2) scratch [lx];  stack  int32 (STACK,), scratch
    Source: the same factors, in the same order, as light.along_path.gather_path.
    """
    geometry, ledger, lighting = transport.geometry, transport.ledger, transport.lighting
    tint, fine, spread = transport.finishes.tint, node[0], node[1]
    hits = np.int64(ledger.hits[path])
    i = ledger.first[path] + m
    patch = np.int64(ledger.patch[i])
    onward = 1.0
    fine[0], fine[1], spread[0], spread[1] = 0.0, 0.0, 0.0, 0.0
    stray, z = 0.0, np.int64(0)
    if geometry.role[patch] == SCREEN:
        place = hit_place(geometry, ledger, i)
        before = start if m == 0 else hit_place(geometry, ledger, i - 1)
        projection = Projection(geometry, lighting.beam, transport.fabric)
        stray, z = own_light(projection, ledger, m, i, before, place, stack)
        if m + 1 < hits:
            onward = cloth_factor(geometry, ledger, transport.fabric, i, before, place)
    else:
        look_up(transport.grid, lighting.node_lx, patch, ledger.u[i] / PLACES, ledger.v[i] / PLACES, fine, spread)
        if transport.spill_lux.shape[0] > 0:
            stray, z = transport.spill_lux[i] / math.pi, np.int64(transport.spill_zone[i])
    if facts.stray.shape[0] > 0:
        facts.stray[i] = stray
        facts.stray_zone[i] = z
    for c in range(tint.shape[0]):
        for k in range(2):
            facts.light[c, i, k] = fine[k] * tint[c] / math.pi + stray * lighting.zone[z, k]
            facts.light[c, i, 2 + k] = spread[k] * tint[c] / math.pi
    return onward


@kernel
def fill_facts(transport, starts, seats, facts, node, stack, low, high):
    """Fill surface, bounce, light, stray and weight for the paths of cells low .. high - 1; units as Throughputs has them.

    seats  (S, T, 3) unit directions in the cloth's frame [1];  the rest as in `fill_hit`
    Source: `fill_hit`; weight = pi f_r, since first directions follow cos / pi.
    """
    geometry, ledger = transport.geometry, transport.ledger
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
                facts.surface[i] = geometry.surface[np.int64(ledger.patch[i])]
                facts.bounce[i] = onward / ledger.survival[0] if m >= CERTAIN_HITS else onward
                onward = fill_hit(transport, start, path, m, facts, node, stack)
            if hits > 0:
                arriving = to_local(unit(sub(hit_place(geometry, ledger, first), start)), right, up, normal)
                for t in range(facts.weight.shape[1]):
                    facts.weight[path, t] = math.pi * fabric_value(transport.fabric, arriving, row(seats[s], t))


def blank_facts(ledger: Ledger, *, channels: int, columns: int, stray: bool, places: dict[str, np.ndarray]) -> Throughputs:
    """Throughputs of a ledger before a fabric is put in: all zero but what the ledger itself says.

    channels, columns  of light and of weight;  stray  whether there is light outside the wall map;  places as `first_places`
    """
    total = len(ledger.patch)
    return Throughputs(
        paths=ledger.paths,
        first=ledger.first,
        hits=ledger.hits,
        surface=np.zeros(total, np.uint16),
        bounce=np.zeros(total, np.float32),
        light=np.zeros((channels, total, 4), np.float32),
        weight=np.zeros((len(ledger.hits), columns), np.float32),
        stray=np.zeros(total if stray else 0, np.float32),
        stray_zone=np.zeros(total if stray else 0, np.uint8),
        **places,
    )


def make_facts(
    geometry: Geometry,
    starts: Starts,
    seats: np.ndarray,
    grid: MapGrid,
    lighting: Lighting,
    fabric: FabricArrays,
    tint: np.ndarray,
    ledger: Ledger,
    spill: tuple[np.ndarray, np.ndarray],
    places: dict[str, np.ndarray],
    *,
    threads: int = 1,
) -> Throughputs:
    """Throughputs of a ledger with a fabric.

    seats     (starts, T, 3) unit directions in the cloth's frame [1]
    lighting  map [lx] and zones of the two traced pictures, and the beam; what it says of the starts' own light is not used
    tint      (1,) where the fabric is grey, else (3,) [1]
    spill     as `spilt_light` gives it;  places  as `first_places` does
    Source: `fill_facts`.
    """
    facts = blank_facts(
        ledger,
        channels=len(tint),
        columns=seats.shape[1] if len(fabric.lobes) else 1,
        stray=bool(len(spill[0]) or lighting.beam),
        places=places,
    )

    finishes = Finishes(np.empty((0, len(tint))), tint)
    transport = read_only(Transport(geometry, ledger, *spill, grid, lighting, finishes, fabric))

    def fill(low: int, high: int) -> None:
        fill_facts(transport, starts, seats, facts, np.empty((2, 2)), np.empty(STACK, np.int32), low, high)

    workers.in_ranges(fill, len(ledger.hits) // int(ledger.paths[0]), threads)
    return facts


def first_places(pool: np.ndarray, ledger: Ledger) -> dict[str, np.ndarray]:
    """`onto` and `at` of Throughputs, in steps of 1 / 65535 of a patch [1], which no fabric changes; pool as in MapGrid. Source: definition."""
    hit = ledger.hits > 0
    first = np.where(hit, np.minimum(ledger.first, len(ledger.patch) - 1), 0)
    patch = ledger.patch[first]
    onto = np.where(hit, pool[patch], -1).astype(np.int32)
    return {"onto": onto, "at": np.stack([ledger.u[first], ledger.v[first]], axis=1)}
