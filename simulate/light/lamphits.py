"""What each lamp puts on every hit of a ledger: no reflectance, no fabric and no dimmer is in it, so all these may change later."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from . import workers
from .geometry import SCREEN, STACK, Geometry
from .lamps import Lamps, lamp_lux
from .ledger import Ledger, hit_place
from .numbers import address
from .readonly import read_only
from .vectors import row

_LAMPS = 0x1A4B5  # sets the numbers that choose points of lamps apart from those of directions


class LampHits(NamedTuple):
    """Hits of a ledger and the lamps that each of them asks; key  of the numbers that choose points of lamps, see `lamp_key`."""

    geometry: Geometry
    ledger: Ledger
    lamps: Lamps
    key: np.uint64


@kernel
def fraction(bits):
    """64 random bits to a number in (0, 1) [1]. Source: middles of 2^52 equal steps."""
    return (np.float64(bits >> np.uint64(12)) + 0.5) * (1.0 / 4503599627370496.0)


@kernel
def chosen(key, i, lamp):
    """Two numbers in (0, 1) [1] that choose a point of a lamp for hit i of a ledger. Source: random numbers by address."""
    bits = address(key, i, lamp)
    return fraction(bits), fraction(address(bits, np.int64(1), np.int64(2)))


def lamp_key(seed: int, low_path: int) -> np.uint64:
    """Key of those numbers for a ledger's seed and first path. Source: `address`."""
    return np.uint64(address(np.uint64(seed), np.int64(_LAMPS), np.int64(low_path)))


@kernel
def fill_lux(asked, wanted, lux, stack, low, high):
    """Illuminance of every lamp at hits low .. high - 1 into lux (H, L) [lx]; 0 on the cloth, whose light depends on direction.

    asked  LampHits;  wanted  (H,) False where nobody asks
    Source: `lamp_lux`.
    """
    geometry, ledger = asked.geometry, asked.ledger
    for i in range(low, high):
        patch = np.int64(ledger.patch[i])
        if geometry.role[patch] == SCREEN or not wanted[i]:
            for lamp in range(lux.shape[1]):
                lux[i, lamp] = 0.0
            continue
        place, n = hit_place(geometry, ledger, i), row(geometry.normal, patch)
        for lamp in range(lux.shape[1]):
            lux[i, lamp] = lamp_lux(geometry, asked.lamps, lamp, place, n, patch, chosen(asked.key, i, lamp), stack)


def lamp_light(
    geometry: Geometry, lamps: Lamps, ledger: Ledger, key: np.uint64, *, first: bool = True, threads: int = 1
) -> np.ndarray:
    """Illuminance (H, L) float32 [lx] of every hit from every lamp at full output.

    key  as `lamp_key` gives it;  first  False: 0 at the first hits of paths, whose light `first_bounce` sums
    Source: `fill_lux`.
    """
    lux = np.zeros((len(ledger.patch), len(lamps.kind)), np.float32)
    wanted = np.ones(len(lux), bool)
    wanted[ledger.first[ledger.hits > 0]] = first
    asked, wanted = read_only((LampHits(geometry, ledger, lamps, key), wanted))

    def ask(low: int, high: int) -> None:
        fill_lux(asked, wanted, lux, np.empty(STACK, np.int32), low, high)

    workers.in_ranges(ask, len(lux), threads)
    return lux
