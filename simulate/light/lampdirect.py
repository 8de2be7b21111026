"""A lamp's own light on the cloth as each seat sees it, without random numbers: the fabric is asked for the lamp's direction."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.brdf import fabric_value
from . import workers
from .geometry import STACK, Geometry, blocked
from .lamps import AREA, LINE, Lamps, lamp_sample
from .ledger import Starts
from .readonly import read_only
from .screen_samples import LitScreen
from .vectors import row, to_local

_GOLDEN, _OTHER = 0.7548776662466927, 0.5698402909980532  # Roberts' plane sequence (from memory)


class LampPoints(NamedTuple):
    """Points of a lamp: along a line, along each edge of a rectangle, and scattered ones where something hides a part."""

    line: int
    edge: int
    scattered: int


FINE, ROUGH = LampPoints(128, 32, 4096), LampPoints(40, 12, 512)


class LampDirect(NamedTuple):
    """Direct light of lamps at full output on points of the cloth.

    luminance  (n, T, L) towards each seat, before the tint [cd/m2];  lux (n, L) illuminance [lx]
    off        (n, T, L) what the sum may be wrong by: what fewer points of the lamp say otherwise [cd/m2]
    """

    luminance: np.ndarray
    lux: np.ndarray
    off: np.ndarray


class LampsOnCloth(NamedTuple):
    """Lamps, and points of the cloth that they light; seats (n, T, 3) unit directions from each in the cloth's frame [1]."""

    geometry: Geometry
    lamps: Lamps
    points: LitScreen | Starts
    seats: np.ndarray
    fabric: FabricArrays


@kernel
def sum_lamp(asked, i, lamp, across, upward, scattered, once, stack):
    """Sum one lamp over its points for cloth point i: towards each seat into once (T,) [cd/m2]; returns lux and how many points are hidden.

    asked  LampsOnCloth;  across, upward  points along its edges, in even steps;  scattered  so many without rows in their place, 0: none
    Source: midpoint rule, or a Kronecker sequence, whose points an edge of a shadow never hides row by row; L = f_r E.
    """
    geometry, lamps, points, seats, fabric = asked
    patch, towards = np.int64(points.patch[i]), seats[i]
    p, n = row(points.place, i), row(points.normal, i)
    right, up = row(points.right, i), row(points.up, i)
    count = scattered if scattered > 0 else across * upward
    total, hidden = 0.0, 0
    for t in range(once.shape[0]):
        once[t] = 0.0
    for j in range(count):
        if scattered > 0:
            a, b = (0.5 + _GOLDEN * j) % 1.0, (0.5 + _OTHER * j) % 1.0
        else:
            a, b = (j // upward + 0.5) / across, (j % upward + 0.5) / upward
        d, r, e = lamp_sample(lamps, lamp, p, n, a, b)
        if e <= 0.0:
            continue
        if blocked(geometry, p, d, r, patch, np.int64(-1), stack):
            hidden += 1
            continue
        total += e / count
        local = to_local(d, right, up, n)
        for t in range(once.shape[0]):
            once[t] += e / count * fabric_value(fabric, local, row(towards, t))
    return total, hidden


@kernel
def sum_points(asked, sizes, out, once, other, stack, low, high):
    """Sum lamps over their points for cloth points low .. high - 1 into `out`, a LampDirect [cd/m2 and lx].

    asked  LampsOnCloth;  sizes  LampPoints;  once, other  (T,) scratch
    Source: `sum_lamp` in even steps, again in half as many; where something hides a part, by scattered points, again by half of them.
    """
    for i in range(low, high):
        if asked.points.patch[i] < 0:
            continue
        for lamp in range(asked.lamps.kind.shape[0]):
            kind = asked.lamps.kind[lamp]
            across = sizes.line if kind == LINE else sizes.edge if kind == AREA else 1
            upward = sizes.edge if kind == AREA else 1
            e, hidden = sum_lamp(asked, i, lamp, across, upward, 0, once, stack)
            share = 1.0 / 3.0  # what halving the steps changes is three times what is left, of a rule that errs as h^2
            for t in range(once.shape[0]):
                other[t] = once[t]
            if hidden > 0 and kind >= LINE:
                share = 1.0
                sum_lamp(asked, i, lamp, across, upward, sizes.scattered // 2, other, stack)
                e, hidden = sum_lamp(asked, i, lamp, across, upward, sizes.scattered, once, stack)
            elif kind >= LINE:
                half = upward // 2 if kind == AREA else 1
                sum_lamp(asked, i, lamp, across // 2, half, 0, other, stack)
            out.lux[i, lamp] = e
            for t in range(once.shape[0]):
                out.luminance[i, t, lamp] = once[t]
                out.off[i, t, lamp] = share * abs(once[t] - other[t])


def lamp_direct(
    geometry: Geometry,
    points: LitScreen,
    seats: np.ndarray,
    lamps: Lamps,
    fabric: FabricArrays,
    *,
    fine: bool = True,
    threads: int = 1,
) -> LampDirect:
    """Direct light of lamps at full output on points of the cloth, towards seats (n, T, 3) [1].

    fine  False: by fewer points of each lamp, see ROUGH
    Source: `sum_points`.
    """
    shape = (*seats.shape[:2], len(lamps.kind))
    out = LampDirect(np.zeros(shape), np.zeros((shape[0], shape[2])), np.zeros(shape))
    asked, sizes = read_only(LampsOnCloth(geometry, lamps, points, seats, fabric)), FINE if fine else ROUGH

    def run(low: int, high: int) -> None:
        sum_points(asked, sizes, out, np.zeros(shape[1]), np.zeros(shape[1]), np.empty(STACK, np.int32), low, high)

    workers.in_ranges(run, shape[0], threads)
    return out
