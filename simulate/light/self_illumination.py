"""Folded cloth that lights itself: the projector's own light on cloth which a path comes upon straight from cloth.

The wall map holds the light that cloth sends to the room, but has no nodes on the cloth; so a path that goes from cloth to cloth
asks for the projector's light where it lands. For a flat screen there are no such paths, and this is compiled to nothing.
Where paths begin on the cloth, such light is rare and bright, and drowned all else in noise: it is summed there over even points
of the narrow band of directions that can meet the cloth again, without random numbers.
"""

from __future__ import annotations

import math

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.by_type import by_type, holds
from ...materials.kernels.jit import kernel
from ...materials.lobes.brdf import fabric_value
from .displaced_screen import hit_relief, normal_on, place_at, steepness
from .geometry import SCREEN, STACK, Geometry, nearest_hit
from .ledger import PLACES, Starts
from .projector import Projection, ProjectorArrays, illuminance_lx, in_shadow, raster_place, zone_of
from .screen_samples import GENTLE
from .vectors import row, screen_tangents, sub, to_local, to_world, triple, unit


@by_type(lambda projection, *_: _own_light if holds(projection, "projector") else _no_light)  # type: ignore[has-type]
def own_light(projection, ledger, m, i, before, place, stack):
    """Radiance [cd/m2] that hit i, the path's m-th, at `place` on the cloth sends to `before` of a white picture, and its zone.

    projection  its projector an empty tuple where the cloth cannot light itself;  stack  int32 (STACK,), scratch
    returns  0 unless `before` lies on the cloth as well (m = 0: the start)
    Source: L = f_r E, the direction to it drawn by the cosine law.
    """
    return _own_light(projection, ledger, m, i, before, place, stack) if len(projection.projector) else (0.0, 0)


@kernel
def _no_light(projection, ledger, m, i, before, place, stack):
    return 0.0, np.int64(0)


@kernel
def _own_light(projection, ledger, m, i, before, place, stack):
    if m > 0 and projection.geometry.role[ledger.patch[i - 1]] != SCREEN:
        return 0.0, 0
    return sent_back(projection, np.int64(ledger.patch[i]), ledger.u[i] / PLACES, ledger.v[i] / PLACES, place, before, stack)


@kernel
def sent_back(projection, patch, u, v, place, before, stack):
    """Radiance [cd/m2] of the white picture that cloth at u, v of its patch, at `place`, sends to `before`, and its zone.

    Source: L = f_r E.
    """
    geometry, beam, fabric = projection
    n = normal_on(geometry, patch, u, v)
    lux = illuminance_lx(beam, place, n)
    if lux <= 0.0 or in_shadow(geometry, beam, place, patch, stack):
        return 0.0, 0
    right, up = screen_tangents(n)
    source = to_local(unit(sub(triple(beam.lens), place)), right, up, n)
    value = fabric_value(fabric, source, to_local(unit(sub(before, place)), right, up, n))
    across, upward, _ = raster_place(beam, place)
    return value * lux, zone_of(beam, across, upward)


TURNS, RISES = 64, 16  # directions of the band: round the start, and up from the cloth in each of those
_GOLDEN = 0.6180339887498949
_OTHER, _THIRD = 0.7548776662466927, 0.5698402909980532  # shifts from start to start; Roberts' plane sequence (from memory)


@kernel
def band_light(projection, starts, seats, zone, band, stack, out):
    """Add what the projector's light does by way of cloth and cloth into out (S, T, 2K) [cd/m2], before the tint of either.

    seats (S, T, 3), zone (zones, K) as in walk;  band  greatest sine of the elevation at which cloth meets cloth
    Rows K .. 2K - 1: what every second azimuth changed. Points: even azimuths, each with even places in sin^2 that a Kronecker
    sequence shifts, so that each counts alike under the cosine law. Gentle folds hide all elevations below their horizon: no
    ray above one that passes them is asked.
    Source: cos / pi integrates to band^2 over the band; derived.
    """
    geometry, fabric, kinds = projection.geometry, projection.fabric, zone.shape[1]
    gentle, each = steepness(geometry.relief)[0] <= GENTLE, band * band / (TURNS * RISES)
    for s in range(starts.place.shape[0]):
        start, skip = row(starts.place, s), np.int64(starts.patch[s])
        right, up, normal = row(starts.right, s), row(starts.up, s), row(starts.normal, s)
        for j in range(TURNS):
            turn, shift = 2.0 * math.pi * (j + (s * _THIRD) % 1.0) / TURNS, ((j + 1) * _GOLDEN + s * _OTHER) % 1.0
            across, upward = math.cos(turn), math.sin(turn)
            for i in range(RISES):
                rise = band * band * (i + shift) / RISES
                flat = math.sqrt(1.0 - rise)
                local = (flat * across, flat * upward, math.sqrt(rise))
                direction = to_world(local, right, up, normal)
                reach, patch, u, v = hit_relief(geometry.relief, start, direction, skip, math.inf)
                if reach < 0.0:
                    if gentle:
                        break
                    continue
                if nearest_hit(geometry, start, direction, skip, stack)[1] != patch:
                    continue
                found, lit = sent_back(projection, patch, u, v, place_at(geometry, patch, u, v), start, stack)
                for seat in range(seats.shape[1]):
                    value = math.pi * fabric_value(fabric, local, row(seats[s], seat)) * found * each
                    for k in range(kinds):
                        out[s, seat, k] += value * zone[lit, k]
                        out[s, seat, kinds + k] += value * zone[lit, k] * (1.0 if j % 2 else -1.0)


def light_of_starts(
    geometry: Geometry, beam: ProjectorArrays, fabric: FabricArrays, starts: Starts, seats: np.ndarray, zone: np.ndarray
) -> np.ndarray:
    """Luminance (S, T, 2K) [cd/m2] that the projector's light has by way of cloth and cloth at the starts, towards each seat.

    zone     (zones, K) as in Lighting;  returns  the last K what half the azimuths say otherwise; before the tint of either hit
    Source: `band_light`; elevation over the cloth there is at most twice the steepest slope's angle.
    """
    out = np.zeros((*seats.shape[:2], 2 * zone.shape[1]))
    steepest = 2.0 * math.atan(1.1 * float(geometry.relief.reach[2]))  # the smooth cloth may be steeper than its triangles
    band = math.sin(min(steepest, 0.5 * math.pi))
    band_light(Projection(geometry, beam, fabric), starts, seats, zone, band, np.empty(STACK, np.int32), out)
    return out
