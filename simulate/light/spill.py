"""The projector's light that misses the cloth, as a ledger's hits come upon it: on the wall, the border, things in the beam."""

from __future__ import annotations

import numpy as np

from ...materials.kernels.jit import kernel
from . import workers
from .geometry import SCREEN, STACK, Geometry
from .ledger import Ledger, hit_place
from .projector import SPILLS, ProjectorArrays, illuminance_lx, in_shadow, raster_place, zone_of
from .vectors import row


@kernel
def spill_hits(geometry, projector, ledger, lux, zone, stack, low, high):
    """Illuminance [lx] of the white raster and picture zone at hits low .. high - 1, 0 off the beam, in shadow, on the cloth.

    Source: `illuminance_lx`; no reflectance enters.
    """
    for i in range(low, high):
        patch = np.int64(ledger.patch[i])
        lux[i] = 0.0
        zone[i] = 0
        if geometry.role[patch] == SCREEN:
            continue
        place = hit_place(geometry, ledger, i)
        value = illuminance_lx(projector, place, row(geometry.normal, patch))
        if value > 0.0 and not in_shadow(geometry, projector, place, patch, stack):
            across, upward, _ = raster_place(projector, place)
            lux[i] = value
            zone[i] = zone_of(projector, across, upward)


def spilt_light(
    geometry: Geometry, projector: ProjectorArrays, ledger: Ledger, *, threads: int = 1
) -> tuple[np.ndarray, np.ndarray]:
    """Illuminance (H,) float32 [lx] and zone (H,) uint8 of every hit; both empty when no light can miss the cloth.

    Source: `spill_hits`.
    """
    if not projector.flags[SPILLS]:
        return np.zeros(0, np.float32), np.zeros(0, np.uint8)
    lux, zone = np.zeros(len(ledger.patch), np.float32), np.zeros(len(ledger.patch), np.uint8)

    def ask(low: int, high: int) -> None:
        spill_hits(geometry, projector, ledger, lux, zone, np.empty(STACK, np.int32), low, high)

    workers.in_ranges(ask, len(lux), threads)
    return lux, zone
