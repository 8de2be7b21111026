"""Lobes of a screen fabric: functions of the deviation t of the outgoing direction from the lobe's axis.

The axis is the mirror direction of the incoming one, or the incoming direction itself (retro-reflection). Exchanging
the two directions leaves t unchanged, so every such lobe is reciprocal. And as G falls with t, the albedo is largest
where the axis is the normal (rearrangement inequality on the sphere): energy is safe at all incidences if it is at
normal incidence. All shapes are written in v = 1 - cos t = |a - b|^2 / 2, which keeps its digits near t = 0 where acos
loses half of them.

A row of `FabricArrays.lobes` is [family, axis, gain, p0, p1, p2, p3, p4]; axis is +1 (mirror) or -1 (source); p4 is
always the albedo of the unit lobe at normal incidence, by which the sampler picks. A family that needs more room (a
table, a groove) can keep it in further rows of gain 0 behind its own and say in p0 where they start.

    GAUSSIAN      exp(-t^2 / 2 s^2)                 p0 = 1 / 2 s^2   p1 = 2 s^2   p2 = 1 - exp(-pi^2 / 2 s^2)   p3 = s
    PLATEAU       1 to v0, smooth step to 0 at v1   p0 = v0          p1 = v1      p2 = 1 / (v1 - v0)
    COSINE_POWER  cos^n t, 0 beyond 90 degrees      p0 = n
"""
from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from .jit import kernel

GAUSSIAN = 1
PLATEAU = 2
COSINE_POWER = 3
COLUMNS = 8


class FabricArrays(NamedTuple):
    """A fabric as kernels see it: read-only, contiguous, float64.

    base   (1,)    gain of the diffuse base [1]
    lobes  (n, 8)  one lobe a row, see the head of this file
    tint   (3,)    linear RGB factor, luminance 1; the kernels return grey values, the caller multiplies
    """

    base: np.ndarray
    lobes: np.ndarray
    tint: np.ndarray


@kernel
def deviation_v(axis, wi, wo):
    """v = 1 - cos t of `wo` from the lobe axis of `wi` [1]; axis +1 mirror, -1 source. Symmetric in wi and wo."""
    dx = axis * wi[0] + wo[0]
    dy = axis * wi[1] + wo[1]
    dz = wi[2] - wo[2]
    return min(2.0, 0.5 * (dx * dx + dy * dy + dz * dz))


@kernel
def angle_of(v):
    """Deviation t [rad] from v = 1 - cos t; v = 2 sin^2(t / 2)."""
    return 2.0 * math.asin(math.sqrt(0.5 * v))


@kernel
def lobe_shape(lobes, k, v):
    """Height of lobe k at v = 1 - cos t, 1 on its axis [1].

    Source: cos^n and Gaussian are the usual lobes; the plateau is made here: a smooth step linear in cos t, so that its
    albedo is a polynomial and its slope vanishes at both edges.
    """
    family = int(lobes[k, 0])
    if family == GAUSSIAN:
        t = angle_of(v)
        return math.exp(-lobes[k, 3] * t * t)
    if family == PLATEAU:
        if v <= lobes[k, 3]:
            return 1.0
        if v >= lobes[k, 4]:
            return 0.0
        x = (lobes[k, 4] - v) * lobes[k, 5]
        return x * x * (3.0 - 2.0 * x)
    if v >= 1.0:
        return 0.0
    return math.exp(lobes[k, 3] * math.log1p(-v))


@kernel
def lobe_density(lobes, k, v):
    """Probability density of `sample_v` for lobe k over the whole sphere about the axis [1/sr]; integrates to 1."""
    family = int(lobes[k, 0])
    if family == GAUSSIAN:
        # t is drawn with density t exp(-t^2 / 2 s^2) on 0..pi; a ring of the sphere is sin t, not t, hence t / sin t.
        t = angle_of(v)
        sine = math.sqrt(max(v * (2.0 - v), 1e-30))
        stretch = t / sine if t > 1e-9 else 1.0
        return math.exp(-lobes[k, 3] * t * t) * stretch / (math.pi * lobes[k, 4] * lobes[k, 5])
    if family == PLATEAU:
        return 0.5 / (math.pi * lobes[k, 4]) if v <= lobes[k, 4] else 0.0
    if v >= 1.0:
        return 0.0
    return (lobes[k, 3] + 1.0) * math.exp(lobes[k, 3] * math.log1p(-v)) / (2.0 * math.pi)


@kernel
def sample_v(lobes, k, u):
    """v = 1 - cos t of a direction drawn for lobe k from one uniform number u in [0, 1)."""
    family = int(lobes[k, 0])
    if family == GAUSSIAN:
        t_squared = -lobes[k, 4] * math.log1p(-u * lobes[k, 5])
        half_sine = math.sin(0.5 * math.sqrt(t_squared))
        return 2.0 * half_sine * half_sine
    if family == PLATEAU:
        return u * lobes[k, 4]  # even in the cap up to the outer edge
    return -math.expm1(math.log1p(-u) / (lobes[k, 3] + 1.0))


@kernel
def around_axis(axis, wi, v, turn):
    """Unit direction at v = 1 - cos t from the lobe axis of `wi`, turned about it by `turn` in 0..1 of a full turn.

    Source: frame of Duff et al., "Building an orthonormal basis, revisited", JCGT 6(1), 2017 (from memory).
    """
    ax, ay, az = -axis * wi[0], -axis * wi[1], wi[2]
    sign = math.copysign(1.0, az)
    a = -1.0 / (sign + az)
    b = ax * ay * a
    cosine = 1.0 - v
    sine = math.sqrt(max(0.0, v * (2.0 - v)))
    p = sine * math.cos(2.0 * math.pi * turn)
    q = sine * math.sin(2.0 * math.pi * turn)
    return (
        p * (1.0 + sign * ax * ax * a) + q * b + cosine * ax,
        p * sign * b + q * (sign + ay * ay * a) + cosine * ay,
        -p * sign * ax - q * ay + cosine * az,
    )
