"""The three questions every fabric answers in its local frame (z = normal): value, sample, density.

Directions are 3-tuples of float64, unit, pointing away from the surface. Values are grey; the tint multiplies outside.
"""
from __future__ import annotations

import math

from .albedo import directional_albedo, directional_albedos
from .jit import kernel
from .lobes import around_axis, deviation_v, lobe_density, lobe_shape, sample_v

__all__ = ["directional_albedo", "directional_albedos", "fabric_density", "fabric_sample", "fabric_value"]


@kernel
def fabric_value(fabric, wi, wo):
    """BRDF f_r of the fabric [1/sr], zero where either direction lies behind the surface.

    fabric   FabricArrays
    wi, wo   directions towards the light and towards the eye, unit 3-tuples
    Source: gain = pi f_r (luminance factor, CIE S 017); a sum of reciprocal parts is reciprocal.
    """
    if wi[2] <= 0.0 or wo[2] <= 0.0:
        return 0.0
    gain = fabric.base[0]
    lobes = fabric.lobes
    for k in range(lobes.shape[0]):
        gain += lobes[k, 2] * lobe_shape(lobes, k, deviation_v(lobes[k, 1], wi, wo))
    return gain / math.pi


@kernel
def fabric_density(fabric, wi, wo):
    """Density with which `fabric_sample` draws `wo` [1/sr]; over the whole sphere it integrates to 1.

    Lobes that reach below the horizon draw there too (such a sample has weight 0), so the density is not zero there.
    """
    if wi[2] <= 0.0:
        return 0.0
    base = fabric.base[0]
    lobes = fabric.lobes
    total = base
    density = base * max(0.0, wo[2]) / math.pi
    for k in range(lobes.shape[0]):
        share = lobes[k, 2] * lobes[k, 7]
        total += share
        density += share * lobe_density(lobes, k, deviation_v(lobes[k, 1], wi, wo))
    return density / total


@kernel
def fabric_sample(fabric, wi, u0, u1, u2):
    """Draw an outgoing direction: ((x, y, z), weight), weight = f_r cos / density, 0 below the horizon.

    u0 picks base or lobe by its albedo at normal incidence; u1, u2 the direction; all uniform in [0, 1).
    The mean weight is the albedo at `wi`.
    """
    lobes = fabric.lobes
    total = fabric.base[0]
    for k in range(lobes.shape[0]):
        total += lobes[k, 2] * lobes[k, 7]
    pick = u0 * total - fabric.base[0]
    chosen = -1
    if pick >= 0.0:
        for k in range(lobes.shape[0]):
            chosen = k
            pick -= lobes[k, 2] * lobes[k, 7]
            if pick < 0.0:
                break
    if chosen < 0:
        radius = math.sqrt(u1)
        turn = 2.0 * math.pi * u2
        wo = (radius * math.cos(turn), radius * math.sin(turn), math.sqrt(1.0 - u1))
    else:
        wo = around_axis(lobes[chosen, 1], wi, sample_v(lobes, chosen, u1), u2)
    if wi[2] <= 0.0 or wo[2] <= 0.0:
        return wo, 0.0
    return wo, fabric_value(fabric, wi, wo) * wo[2] / fabric_density(fabric, wi, wo)
