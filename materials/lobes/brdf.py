"""The three questions every fabric answers in its local frame (z = normal): value, sample, density.

Directions are 3-tuples of float64, unit, pointing away from the surface. Values are grey; the tint multiplies outside.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ..kernels.jit import kernel
from .albedo import directional_albedo, directional_albedos
from .cloth import cosine_draw
from .rows import lobe_density, lobe_draw, lobe_value

if TYPE_CHECKING:
    from ..fabric import FabricArrays

__all__ = ["directional_albedo", "directional_albedos", "fabric_density", "fabric_gains", "fabric_sample", "fabric_value"]


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
        gain += lobes[k, 2] * lobe_value(lobes, fabric.table, k, wi, wo)
    return gain / math.pi


def fabric_gains(fabric: FabricArrays, wi: np.ndarray, wo: np.ndarray) -> np.ndarray:
    """Gains pi f_r for pairs of directions, two (n, 3) arrays -> (n,) [1]. Source: `fabric_value`."""
    result = np.empty(len(wi))
    fill_gains(fabric, wi, wo, result)
    return result


@kernel
def fill_gains(fabric, wi, wo, out):
    """`fabric_gains` into out (n,) [1]. Source: `fabric_value`."""
    for i in range(wi.shape[0]):
        light, eye = (wi[i, 0], wi[i, 1], wi[i, 2]), (wo[i, 0], wo[i, 1], wo[i, 2])
        out[i] = math.pi * fabric_value(fabric, light, eye)


@kernel
def fabric_density(fabric, wi, wo):
    """Density with which `fabric_sample` draws `wo` [1/sr].

    Lobes that reach below the horizon draw there too (such a sample has weight 0), so the density is not zero there and
    over the whole sphere it integrates to 1; less only for an elliptic lobe, whose part beyond the horizon has no place.
    Source: mixture of the parts' densities by their albedos; derived.
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
        density += share * lobe_density(lobes, fabric.table, k, wi, wo)
    return density / total


@kernel
def fabric_sample(fabric, wi, u0, u1, u2):
    """Draw an outgoing direction: ((x, y, z), weight), weight = f_r cos / density [1], 0 below the horizon.

    u0 picks base or lobe by its albedo at normal incidence; u1, u2 the direction; all uniform in [0, 1).
    The mean weight is the albedo at `wi`. Source: importance sampling of a mixture; derived.
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
        wo = cosine_draw(u1, u2)
    else:
        wo = lobe_draw(lobes, fabric.table, chosen, wi, u1, u2)
    if wi[2] <= 0.0 or wo[2] <= 0.0:
        return wo, 0.0
    return wo, fabric_value(fabric, wi, wo) * wo[2] / fabric_density(fabric, wi, wo)
