"""Lamps' light after one reflection in the room, on the points where paths begin: a stratified sum over pieces of the surfaces.

No reflectance is in it, so a repaint multiplies; each replication draws its own points, so that errors are those of the replications.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.brdf import fabric_value
from . import workers
from .geometry import STACK, Geometry, blocked
from .lampcells import LampCells
from .lampdirect import LampsOnCloth
from .lamphits import fraction
from .lamps import Lamps, lamp_lux
from .ledger import Starts
from .numbers import address
from .readonly import read_only
from .vectors import along, dot, row, sub, to_local


@kernel
def bounce(asked, lamp, cells, key, replication, out, stack):
    """Add one lamp's light by way of one reflectance of 1 into out (S, T, surfaces, 2) [cd/m2] for one replication.

    asked  LampsOnCloth, its points the starts;  cells  the lamp's;  key  of its random numbers
    The last axis: luminances towards the seat, one a lamp; illuminances over pi
    Source: L = integral of f_r cos cos E / (pi r^2) over the surfaces, one point a piece; derived.
    """
    geometry, starts, seats, count = asked.geometry, asked.points, asked.seats, out.shape[3] // 2
    for i in range(cells.patch.shape[0]):
        patch = cells.patch[i]
        bits = address(key, replication, i)
        a, b = fraction(bits), fraction(address(bits, np.int64(1), np.int64(2)))
        c, d = fraction(address(bits, np.int64(3), np.int64(4))), fraction(address(bits, np.int64(5), np.int64(6)))
        u, v = cells.corner[i, 0] + a * cells.size[i, 0], cells.corner[i, 1] + b * cells.size[i, 1]
        if geometry.plane[patch, 12] > 0.0 and u + v > 1.0:
            continue
        eu, ev, n = row(geometry.edge_u, patch), row(geometry.edge_v, patch), row(geometry.normal, patch)
        p = along(along(row(geometry.corner, patch), eu, u), ev, v)
        lux = lamp_lux(geometry, asked.lamps, lamp, p, n, patch, (c, d), stack)
        if lux == 0.0:
            continue
        x, y, z = eu[1] * ev[2] - eu[2] * ev[1], eu[2] * ev[0] - eu[0] * ev[2], eu[0] * ev[1] - eu[1] * ev[0]
        sent = lux / math.pi * cells.size[i, 0] * cells.size[i, 1] * math.sqrt(x * x + y * y + z * z)
        surface = geometry.surface[patch]
        for s in range(starts.place.shape[0]):
            w = sub(p, row(starts.place, s))
            square = dot(w, w)
            here, there = dot(w, row(starts.normal, s)), -dot(w, n)
            if here <= 0.0 or there <= 0.0:
                continue
            r = math.sqrt(square)
            w = (w[0] / r, w[1] / r, w[2] / r)
            if blocked(geometry, row(starts.place, s), w, r, np.int64(starts.patch[s]), patch, stack):
                continue
            value = sent * here * there / (square * square)
            local = to_local(w, row(starts.right, s), row(starts.up, s), row(starts.normal, s))
            for t in range(seats.shape[1]):
                out[s, t, surface, lamp] += value * fabric_value(asked.fabric, local, row(seats[s], t))
                out[s, t, surface, count + lamp] += value / math.pi


def first_bounce(
    geometry: Geometry,
    lamps: Lamps,
    cells: Sequence[LampCells],
    starts: Starts,
    seats: np.ndarray,
    fabric: FabricArrays,
    key: np.uint64,
    *,
    surfaces: int,
    replications: int,
    threads: int = 1,
) -> np.ndarray:
    """Light of lamps at full output after one reflection, (replications, S, T, surfaces, 2L), for reflectance 1, before the tint [cd/m2].

    cells  of each lamp, as `lamp_cells` gives them;  seats (S, T, 3) directions in the cloth's frame;  key  of the random numbers
    returns  L luminances towards the seat, then L illuminances over pi
    Source: `bounce`.
    """
    count = len(lamps.kind)
    out = np.zeros((replications, *seats.shape[:2], surfaces, 2 * count))
    asked, pieces = read_only(LampsOnCloth(geometry, lamps, starts, seats, fabric)), [read_only(each) for each in cells]

    def run(low: int, high: int) -> None:
        stack = np.empty(STACK, np.int32)
        for replication in range(low, high):
            for lamp in range(count):
                own = np.uint64(address(key, np.int64(lamp), np.int64(77)))
                bounce(asked, lamp, pieces[lamp], own, replication, out[replication], stack)

    workers.in_ranges(run, replications, threads)
    return out
