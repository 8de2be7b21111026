"""What a path of a ledger sends back along itself, with reflectances, a fabric and a lit picture in hand."""

from __future__ import annotations

import math

import numpy as np

from ...materials.kernels.jit import kernel, within_callers
from ...materials.lobes.brdf import fabric_value
from .displaced_screen import normal_on
from .geometry import SCREEN
from .ledger import CERTAIN_HITS, PLACES, hit_place
from .projector import Projection
from .self_illumination import own_light
from .sheets import read_sheets
from .vectors import screen_tangents, sub, to_local, unit


@kernel
def cloth_factor(geometry, ledger, fabric, i, before, place):
    """pi f_r [1] at hit i, at `place` [m] on the cloth, from the next hit to `before` [m].

    Source: the ledger keeps both directions.
    """
    n = normal_on(geometry, np.int64(ledger.patch[i]), ledger.u[i] / PLACES, ledger.v[i] / PLACES)
    right, up = screen_tangents(n)
    seen = to_local(unit(sub(before, place)), right, up, n)
    onward = to_local(unit(sub(hit_place(geometry, ledger, i + 1), place)), right, up, n)
    return math.pi * fabric_value(fabric, onward, seen)


@within_callers
def gather_path(transport, path, after, start, scratch):
    """Luminance [cd/m2] that a path's hits from number `after` on send back along it, by picture and channel, into scratch.room.

    after   0: what the first hit sends; 1: what arrives on the first hit from the room, per its reflectance
    Rows K .. 2K - 1 hold what extrapolating the map changed. Throughput at hit m is the product of reflectances from `after` on
    over survival once for each hit beyond the certain ones.
    Source: rendering equation, implicit capture with roulette; derived.
    """
    geometry, ledger, lighting, finishes = transport.geometry, transport.ledger, transport.lighting, transport.finishes
    room, through = scratch.room, scratch.through
    kinds = lighting.node_lx.shape[1]
    channels = finishes.reflectance.shape[1]
    for k in range(2 * kinds):
        for c in range(channels):
            room[k, c] = 0.0
    for c in range(channels):
        through[c] = 1.0
    first = ledger.first[path]
    hits = ledger.hits[path]
    read_sheets(transport, first + after, first + hits, scratch.light[after:])
    per_survival = 1.0 / ledger.survival[0]
    for m in range(after, hits):
        i = first + m
        patch = np.int64(ledger.patch[i])
        grown = per_survival if m >= CERTAIN_HITS else 1.0
        if geometry.role[patch] == SCREEN:
            for c in range(channels):
                through[c] *= grown
            place = hit_place(geometry, ledger, i)
            before = start if m == 0 else hit_place(geometry, ledger, i - 1)
            projection = Projection(geometry, lighting.beam, transport.fabric)
            own, zone = own_light(projection, ledger, m, i, before, place, scratch.stack)
            if own > 0.0 and (m > 0 or lighting.own.shape[0] == 0):
                for c in range(channels):
                    for k in range(kinds):
                        room[k, c] += through[c] * finishes.tint[c] * own * lighting.zone[zone, k]
            if m + 1 == hits:
                return
            value = cloth_factor(geometry, ledger, transport.fabric, i, before, place)
            for c in range(channels):
                through[c] *= value * finishes.tint[c]
        else:
            for c in range(channels):
                through[c] *= grown * finishes.reflectance[geometry.surface[patch], c]
            add_lit(transport, i, scratch, scratch.light[m])


@within_callers
def add_lit(transport, i, scratch, light):
    """Add to scratch.room (2K, C) what a surface sends on of the screen's and the projector's own light at hit i [cd/m2].

    scratch.through has the surface's reflectance in it;  light (2K,) as `read_sheets` gives it at the hit [lx]
    Source: radiance = reflectance x irradiance / pi.
    """
    finishes, room, through = transport.finishes, scratch.room, scratch.through
    for c in range(room.shape[1]):
        factor = through[c] * finishes.tint[c] * (1.0 / math.pi)
        for k in range(room.shape[0]):
            room[k, c] += factor * light[k]
    add_spill(transport, i, scratch)


@within_callers
def add_spill(transport, i, scratch):
    """Add to scratch.room (2K, C) what a surface sends on of light that misses the screen at hit i [cd/m2]; through as `add_lit` has it.

    Source: radiance = reflectance x irradiance / pi.
    """
    spill_lux, zone = transport.spill_lux, transport.lighting.zone
    if spill_lux.shape[0] > 0 and spill_lux[i] > 0.0:
        for c in range(scratch.room.shape[1]):
            for k in range(zone.shape[1]):
                scratch.room[k, c] += scratch.through[c] / math.pi * spill_lux[i] * zone[transport.spill_zone[i], k]
