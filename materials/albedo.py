"""Directional albedo of a fabric: how much of the light from one direction it gives back to the half-space."""
from __future__ import annotations

import math

import numpy as np

from .jit import kernel
from .lobes import COSINE_POWER, GAUSSIAN, PLATEAU, angle_of, lobe_shape

# Gauss-Legendre on 0..1, then y -> y^2 (3 - 2 y): the map's slope vanishes at both ends, which tames the roots there.
_y, _w = np.polynomial.legendre.leggauss(32)
_y = 0.5 * (_y + 1.0)
NODES = _y * _y * (3.0 - 2.0 * _y)
WEIGHTS = 0.5 * _w * 6.0 * _y * (1.0 - _y)


@kernel
def ring_cosine(cos_axis, sin_axis, t):
    """Integral over a full turn of max(0, cos) on the ring at angle t about an axis tilted from the normal [rad].

    On the ring the cosine is a + b cos(phi) with a = cos_axis cos t, b = sin_axis sin t, which has a
    closed form (derived here).
    """
    a = cos_axis * math.cos(t)
    b = sin_axis * math.sin(t)
    if a >= b:
        return 2.0 * math.pi * a
    if a <= -b:
        return 0.0
    return 2.0 * (a * math.acos(-a / b) + math.sqrt(b * b - a * a))


@kernel
def lobe_reach(lobes, k):
    """Deviation [rad] beyond which lobe k is nothing (below 1e-15 of its peak)."""
    family = int(lobes[k, 0])
    if family == GAUSSIAN:
        return min(math.pi, 8.4 * lobes[k, 6])
    if family == COSINE_POWER:
        return min(0.5 * math.pi, 8.4 / math.sqrt(lobes[k, 3]))
    return angle_of(lobes[k, 4])


@kernel
def lobe_albedo(lobes, k, cos_axis):
    """Albedo of the unit lobe k whose axis makes an angle with the normal of cosine `cos_axis` [1]."""
    sin_axis = math.sqrt(max(0.0, 1.0 - cos_axis * cos_axis))
    tilt = math.atan2(sin_axis, cos_axis)
    reach = lobe_reach(lobes, k)
    inner = angle_of(lobes[k, 3]) if int(lobes[k, 0]) == PLATEAU else 0.0
    # The integrand changes its formula where the ring meets the horizon (t = 90 deg -+ tilt) and at a plateau's edge.
    low, high = 0.5 * math.pi - tilt, 0.5 * math.pi + tilt
    first, second, third = min(low, inner), min(max(low, inner), high), max(inner, high)
    total = 0.0
    start = 0.0
    for panel in range(4):
        end = reach
        if panel == 0:
            end = min(first, reach)
        elif panel == 1:
            end = min(second, reach)
        elif panel == 2:
            end = min(third, reach)
        if end > start:
            for j in range(NODES.shape[0]):
                t = start + (end - start) * NODES[j]
                half = math.sin(0.5 * t)
                shape = lobe_shape(lobes, k, 2.0 * half * half)
                total += (end - start) * WEIGHTS[j] * shape * math.sin(t) * ring_cosine(cos_axis, sin_axis, t)
            start = end
    return total / math.pi


@kernel
def directional_albedo(fabric, wi):
    """Albedo of the fabric for light from `wi` [1]; by reciprocity also what it sends to `wi` out of even light.

    fabric  FabricArrays
    wi      unit 3-tuple away from the surface; 0 for one behind it
    Source: rho(wi) = integral of f_r cos over the half-space; as a sum over rings about the lobe axis, derived here.
    """
    if wi[2] <= 0.0:
        return 0.0
    total = fabric.base[0]
    for k in range(fabric.lobes.shape[0]):
        total += fabric.lobes[k, 2] * lobe_albedo(fabric.lobes, k, min(1.0, wi[2]))
    return total


@kernel
def directional_albedos(fabric, directions):
    """`directional_albedo` for many directions, (n, 3) -> (n,) [1]."""
    result = np.empty(directions.shape[0])
    for i in range(directions.shape[0]):
        result[i] = directional_albedo(fabric, (directions[i, 0], directions[i, 1], directions[i, 2]))
    return result
