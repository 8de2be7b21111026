"""The projector's light that misses the cloth, as a ledger's hits come upon it: on the wall, the border, things in the beam.

Most patches lie wholly beside the beam: which is asked once a patch, not once a hit.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from . import workers
from .geometry import SCREEN, STACK, Geometry
from .ledger import Ledger, hit_place
from .projector import CENTRE, NORMAL, RIGHT, SPILLS, UP, ProjectorArrays, illuminance_lx, in_shadow, raster_place, zone_of
from .vectors import dot, row, triple

UNKNOWN, UNREACHED, REACHED = np.uint8(0), np.uint8(1), np.uint8(2)
_HAIR_M = 1e-9


class SpiltLight(NamedTuple):
    """What is asked of every hit: lux (H,) float32 [lx], zone (H,) uint8; both 0 but where light falls."""

    lux: np.ndarray
    zone: np.ndarray


@kernel
def may_be_lit(geometry, projector, patch):
    """False where a patch lies wholly behind the lens, or beyond one side of the beam through the raster.

    Source: sides of the pyramid from the lens over the raster; what has all its corners beyond a plane lies beyond it.
    """
    centre, normal, lens = row(projector.frame, CENTRE), row(projector.frame, NORMAL), triple(projector.lens)
    c = (centre[0] - lens[0], centre[1] - lens[1], centre[2] - lens[2])
    throw = -dot(c, normal)
    ahead, beyond = False, (True, True, True, True)
    for corner in range(4):
        a, b = corner & 1, corner >> 1
        x = geometry.corner[patch, 0] + a * geometry.edge_u[patch, 0] + b * geometry.edge_v[patch, 0] - lens[0]
        y = geometry.corner[patch, 1] + a * geometry.edge_u[patch, 1] + b * geometry.edge_v[patch, 1] - lens[1]
        z = geometry.corner[patch, 2] + a * geometry.edge_u[patch, 2] + b * geometry.edge_v[patch, 2] - lens[2]
        d = (x, y, z)
        drop, hair = -dot(d, normal), _HAIR_M * throw
        right = throw * dot(d, row(projector.frame, RIGHT)) - drop * dot(c, row(projector.frame, RIGHT))
        up = throw * dot(d, row(projector.frame, UP)) - drop * dot(c, row(projector.frame, UP))
        left, across, bottom, top = projector.raster[0], projector.raster[1], projector.raster[2], projector.raster[3]
        ahead = ahead or drop > 0.0
        beyond = (
            beyond[0] and right < drop * left - hair,
            beyond[1] and right > drop * across + hair,
            beyond[2] and up < drop * bottom - hair,
            beyond[3] and up > drop * top + hair,
        )
    return ahead and not (beyond[0] or beyond[1] or beyond[2] or beyond[3])


@kernel
def spill_hits(geometry, projector, ledger, spilt, reached, stack, low, high):
    """Write illuminance [lx] of the white raster and picture zone of hits low .. high - 1 where light falls: not in shadow nor on the cloth.

    spilt  a SpiltLight;  reached  (P,) uint8, scratch, UNKNOWN at first
    Source: `illuminance_lx`; no reflectance enters.
    """
    lux, zone = spilt
    for i in range(low, high):
        patch = np.int64(ledger.patch[i])
        if reached[patch] == UNKNOWN:
            lit = geometry.role[patch] != SCREEN and may_be_lit(geometry, projector, patch)
            reached[patch] = REACHED if lit else UNREACHED
        if reached[patch] == UNREACHED:
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
    spilt = SpiltLight(np.zeros(len(ledger.patch), np.float32), np.zeros(len(ledger.patch), np.uint8))

    scratch = workers.one_a_thread(lambda: (np.full(len(geometry.role), UNKNOWN), np.empty(STACK, np.int32)))

    def ask(low: int, high: int) -> None:
        spill_hits(geometry, projector, ledger, spilt, *scratch(), low, high)

    workers.in_ranges(ask, len(spilt.lux), threads)
    return spilt
