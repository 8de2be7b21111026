"""Lobes about an axis: functions of the deviation t of the outgoing direction from the mirror direction of the incoming
one, or from the incoming direction itself (retro-reflection).

Exchanging the two directions leaves t unchanged, so every such lobe is reciprocal. And as it falls with t, its albedo is
largest where the axis is the normal (rearrangement inequality on the sphere): energy is safe at all incidences if it is
at normal incidence. All shapes are written in v = 1 - cos t = |a - b|^2 / 2, which keeps its digits near t = 0 where acos
loses half of them.

Rows of `FabricArrays.lobes` of these families, see rows.py:

    GAUSSIAN      exp(-t^2 / 2 s^2)                 p0 = 1 / 2 s^2   p1 = 2 s^2   p2 = 1 - exp(-pi^2 / 2 s^2)
    PLATEAU       1 to v0, smooth step to 0 at v1   p0 = v0          p1 = v1      p2 = 1 / (v1 - v0)
    COSINE_POWER  cos^n t, 0 beyond 90 degrees      p0 = n
    MEASURED      a table over x = sin(t / 2)       p0 = its place in `table`, p1 = cells, p2 = last x
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ..kernels.jit import kernel
from .family import Family


class FabricArrays(NamedTuple):
    """A fabric as kernels see it: read-only, contiguous, float64.

    base   (1,)    gain of the diffuse base [1]
    lobes  (n, 8)  a `family.LobeRow` each
    tint   (3,)    linear RGB factor, luminance 1; the kernels return grey values, the caller multiplies
    table  (m,)    numbers of the lobes that need more than a row; empty for most fabrics
    """

    base: np.ndarray
    lobes: np.ndarray
    tint: np.ndarray
    table: np.ndarray


@kernel
def deviation_v(axis, wi, wo):
    """v = 1 - cos t of `wo` from the lobe axis of `wi` [1]; axis +1 mirror, -1 source. Symmetric in wi and wo."""
    dx = axis * wi[0] + wo[0]
    dy = axis * wi[1] + wo[1]
    dz = wi[2] - wo[2]
    return min(2.0, 0.5 * (dx * dx + dy * dy + dz * dz))


@kernel
def angle_of(v):
    """Deviation t [rad] from v = 1 - cos t. Source: v = 2 sin^2(t / 2), half-angle formula."""
    return 2.0 * math.asin(math.sqrt(0.5 * v))


@kernel
def angle_squared(v):
    """t^2 [rad^2] from v = 1 - cos t, to 1e-13 relative and a third of the time of asin.

    Source: t^2 / 2v = sum of (2 v)^k / (k^2 binomial(2k, k) v), the series of asin^2 (Abramowitz and Stegun 15.1.6 with
    4.4.40, from memory), put through the 15 Chebyshev points of 0..1 in exact fractions.
    """
    if v > 1.0:
        t = 2.0 * math.asin(math.sqrt(0.5 * v))
        return t * t
    v2 = v * v
    v4 = v2 * v2
    low = (1.0 + 0.1666666666405389 * v) + v2 * (0.044444446385155476 + 0.014285657645518295 * v)
    mid = (0.005080226504995927 + 0.0019161566062524955 * v) + v2 * (0.0008074671660291749 + 0.0001247832303591616 * v)
    high = (0.0006522883423170187 - 0.0009828009735083313 * v) + v2 * (0.0014828584750900915 - 0.0014122199022164352 * v)
    top = (0.0009263906164298494 - 0.0003585068149462984 * v) + v2 * 6.713621398720383e-05
    return 2.0 * v * (low + v4 * (mid + v4 * (high + v4 * top)))


@kernel
def measured_shape(table, start, cells, last, v):
    """Height of a tabulated lobe at v: cubic Hermite over x = sin(t / 2), held beyond its end [1].

    table   from `start`: height and slope times step at each of cells + 1 nodes, then the cumulated mass of the cells
    Source: Hermite's interpolation, elementary.
    """
    x = math.sqrt(0.5 * v) * (cells / last)
    if x >= cells:
        return table[start + 2 * cells]
    i = int(x)
    y = x - i
    at = start + 2 * i
    a, m, b, n = table[at], table[at + 1], table[at + 2], table[at + 3]
    rise = b - a
    return a + y * (m + y * (3.0 * rise - 2.0 * m - n + y * (m + n - 2.0 * rise)))


@kernel
def axis_shape(family, p0, p1, p2, v):
    """Height of a Gaussian, plateau or cos^n lobe at v = 1 - cos t, 1 on its axis [1].

    Source: cos^n and Gaussian are the usual lobes; the plateau is made here: a smooth step linear in cos t, so that its
    albedo is a polynomial and its slope vanishes at both edges.
    """
    if family == Family.GAUSSIAN:
        if p0 * v > 350.0:  # t^2 >= 2 v: below exp(-700), the smallest double's neighbourhood
            return 0.0
        return math.exp(-p0 * angle_squared(v))
    if family == Family.PLATEAU:
        if v <= p0:
            return 1.0
        if v >= p1:
            return 0.0
        x = (p1 - v) * p2
        return x * x * (3.0 - 2.0 * x)
    if v >= 1.0:
        return 0.0
    return math.exp(p0 * math.log1p(-v))


@kernel
def find_cell(table, first, cells, wanted):
    """Index 0 .. cells - 1 of the cell of a cumulated mass table[first .. first + cells] [1], rising, that holds `wanted` [1].

    Source: bisection.
    """
    low, high = 0, cells
    while high - low > 1:
        middle = (low + high) // 2
        if table[first + middle] <= wanted:
            low = middle
        else:
            high = middle
    return low


@kernel
def measured_cell_v(cells, last, i):
    """v = 2 x^2 [1] at node i; the node after the last stands at v = 2, straight behind. Source: x = sin(t / 2)."""
    if i > cells:
        return 2.0
    x = last * i / cells
    return 2.0 * x * x


@kernel
def axis_density(family, p0, p1, p2, v):
    """Probability density of `axis_v` over the whole sphere about the axis [1/sr]; integrates to 1. Source: derived from `axis_v`."""
    if family == Family.GAUSSIAN:
        # t is drawn with density t exp(-t^2 / 2 s^2) on 0..pi; a ring of the sphere is sin t, not t, hence t / sin t.
        squared = angle_squared(v)
        stretch = math.sqrt(squared / max(v * (2.0 - v), 1e-30)) if v > 1e-18 else 1.0
        return math.exp(-p0 * squared) * stretch / (math.pi * p1 * p2)
    if family == Family.PLATEAU:
        return 0.5 / (math.pi * p1) if v <= p1 else 0.0
    if v >= 1.0:
        return 0.0
    return (p0 + 1.0) * math.exp(p0 * math.log1p(-v)) / (2.0 * math.pi)


@kernel
def axis_v(family, p0, p1, p2, u):
    """v = 1 - cos t of a direction drawn for a Gaussian, plateau or cos^n lobe from one uniform number u [1].

    Source: inverse of the cumulated density; derived.
    """
    if family == Family.GAUSSIAN:
        half_sine = math.sin(0.5 * math.sqrt(-p1 * math.log1p(-u * p2)))
        return 2.0 * half_sine * half_sine
    if family == Family.PLATEAU:
        return u * p1  # even in the cap up to the outer edge
    return -math.expm1(math.log1p(-u) / (p0 + 1.0))


@kernel
def measured_density(table, start, cells, last, v):
    """Probability density of `measured_v` over the whole sphere about the axis [1/sr]: even within each cell. Source: definition."""
    i = min(cells, int(math.sqrt(0.5 * v) * cells / last))
    first = start + 2 * (cells + 1)
    width = measured_cell_v(cells, last, i + 1) - measured_cell_v(cells, last, i)
    return (table[first + i + 1] - table[first + i]) / (2.0 * math.pi * width)


@kernel
def measured_v(table, start, cells, last, u):
    """v = 1 - cos t of a direction drawn for a tabulated lobe from one uniform number u [1].

    Source: inverse of the cumulated masses; derived.
    """
    first = start + 2 * (cells + 1)
    i = find_cell(table, first, cells + 1, u)
    mass = table[first + i + 1] - table[first + i]
    part = (u - table[first + i]) / mass if mass > 0.0 else 0.5
    low, high = measured_cell_v(cells, last, i), measured_cell_v(cells, last, i + 1)
    return low + part * (high - low)


@kernel
def around_axis(axis, wi, v, turn):
    """Unit direction at v = 1 - cos t [1] from the lobe axis of `wi`, turned about it by `turn` in 0..1 of a full turn [1].

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
