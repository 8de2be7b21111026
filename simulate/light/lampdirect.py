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
from .readonly import read_only
from .screen_samples import LitScreen
from .vectors import row, to_local

ALONG_A_LINE = 128
A_SIDE = 32  # of a rectangle
FEWER = (40, 12)


class LampDirect(NamedTuple):
    """Direct light of lamps at full output on points of the cloth.

    luminance  (n, T, L) towards each seat, before the tint [cd/m2];  lux (n, L) illuminance [lx]
    off        (n, T, L) what a quarter or half of the lamp's points says otherwise, over 3 [cd/m2]: the error of the sum is about that
    """

    luminance: np.ndarray
    lux: np.ndarray
    off: np.ndarray


@kernel
def sum_points(geometry, points, seats, lamps, fabric, sides, found, lux, stack, low, high):
    """Sum lamps over their points for cloth points low .. high - 1 into found (n, T, L) [cd/m2] and lux (n, L) [lx].

    sides  (2,) points along a line, and along each edge of a rectangle
    Source: midpoint rule over the lamp, `lamp_sample`; L = f_r E.
    """
    for i in range(low, high):
        patch = np.int64(points.patch[i])
        if patch < 0:
            continue
        p, n = row(points.place, i), row(points.normal, i)
        right, up = row(points.right, i), row(points.up, i)
        for lamp in range(lamps.kind.shape[0]):
            kind = lamps.kind[lamp]
            across = sides[0] if kind == LINE else sides[1] if kind == AREA else 1
            upward = sides[1] if kind == AREA else 1
            weight = 1.0 / (across * upward)
            for j in range(across):
                for k in range(upward):
                    d, r, e = lamp_sample(lamps, lamp, p, n, (j + 0.5) / across, (k + 0.5) / upward)
                    if e <= 0.0 or blocked(geometry, p, d, r, patch, np.int64(-1), stack):
                        continue
                    lux[i, lamp] += weight * e
                    local = to_local(d, right, up, n)
                    for t in range(seats.shape[1]):
                        found[i, t, lamp] += weight * e * fabric_value(fabric, local, row(seats[i], t))


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

    fine  False: 40 points along a line, 12 x 12 of a rectangle, in place of 128 and 32 x 32

    Source: `sum_points` with all points of each lamp and with half of them along each line; the midpoint rule's error falls as h^2.
    """
    shape = (*seats.shape[:2], len(lamps.kind))
    whole, coarse, lux = np.zeros(shape), np.zeros(shape), np.zeros((shape[0], shape[2]))
    sides = np.array([ALONG_A_LINE, A_SIDE] if fine else FEWER)
    unused = np.zeros_like(lux)
    read = read_only((geometry, points, seats, lamps, fabric))

    def run(low: int, high: int) -> None:
        stack = np.empty(STACK, np.int32)
        sum_points(*read, sides, whole, lux, stack, low, high)
        sum_points(*read, sides // 2, coarse, unused, stack, low, high)

    workers.in_ranges(run, shape[0], threads)
    return LampDirect(whole, lux, np.abs(whole - coarse) / 3.0)
