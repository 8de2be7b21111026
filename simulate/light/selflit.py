"""Folded cloth that lights itself: the projector's own light on cloth which a path comes upon straight from cloth.

The wall map holds the light that cloth sends to the room, but has no nodes on the cloth; so a path that goes from cloth to cloth
asks for the projector's light where it lands. For a flat screen there are no such paths, and this is compiled to nothing.
"""
from __future__ import annotations

import numpy as np
from numba.extending import overload

from ...materials.brdf import fabric_value
from ...materials.jit import kernel
from .geometry import SCREEN, STACK
from .ledger import PLACES
from .projector import illuminance_lx, in_shadow, raster_place, zone_of
from .relief import normal_on
from .vectors import screen_tangents, sub, to_local, triple, unit


def own_light(geometry, beam, fabric, ledger, m, i, before, place):
    """Radiance [cd/m2] that hit i, the path's m-th, at `place` on the cloth sends to `before` of a white picture, and its zone.

    beam     the Projector, or an empty tuple where the cloth cannot light itself
    returns  0 unless `before` lies on the cloth as well (m = 0: the start)
    Source: L = f_r E, the direction to it drawn by the cosine law.
    """
    return _own_light(geometry, beam, fabric, ledger, m, i, before, place) if len(beam) else (0.0, 0)


@kernel
def _own_light(geometry, beam, fabric, ledger, m, i, before, place):
    if m > 0 and geometry.role[ledger.patch[i - 1]] != SCREEN:
        return 0.0, 0
    patch = np.int64(ledger.patch[i])
    n = normal_on(geometry, patch, ledger.u[i] / PLACES, ledger.v[i] / PLACES)
    lux = illuminance_lx(beam, place, n)
    if lux <= 0.0 or in_shadow(geometry, beam, place, patch, np.empty(STACK, np.int32)):
        return 0.0, 0
    right, up = screen_tangents(n)
    source = to_local(unit(sub(triple(beam.lens), place)), right, up, n)
    value = fabric_value(fabric, source, to_local(unit(sub(before, place)), right, up, n))
    across, upward, _ = raster_place(beam, place)
    return value * lux, zone_of(beam, across, upward)


@overload(own_light)
def _own_light_of(geometry, beam, fabric, ledger, m, i, before, place):
    if beam.count == 0:
        return lambda geometry, beam, fabric, ledger, m, i, before, place: (0.0, np.int64(0))
    return lambda geometry, beam, fabric, ledger, m, i, before, place: _own_light(
        geometry, beam, fabric, ledger, m, i, before, place
    )
