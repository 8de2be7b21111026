"""Directional albedo of a fabric: how much of the light from one direction it gives back to the half-space."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ..kernels.jit import kernel
from .axis import angle_of, axis_shape, measured_shape
from .cloth import open_share, rough_albedo
from .coat import diffuse_under_coat
from .family import ALBEDO, AXIS, FALL, FAMILY, GAIN, P0, P1, P2, Family
from .groove import groove_albedo
from .rows import lobe_value

if TYPE_CHECKING:
    from ..fabric import FabricArrays

# Gauss-Legendre on 0..1, then y -> y^2 (3 - 2 y): the map's slope vanishes at both ends, which tames the roots there.
_y, _w = np.polynomial.legendre.leggauss(32)
_y = 0.5 * (_y + 1.0)
NODES = _y * _y * (3.0 - 2.0 * _y)
WEIGHTS = 0.5 * _w * 6.0 * _y * (1.0 - _y)

_y, _w = np.polynomial.legendre.leggauss(12)
PANEL_NODES, PANEL_WEIGHTS = 0.5 * (_y + 1.0), 0.5 * _w
PANELS = np.array([0.0, 0.75, 2.5, 6.0, 14.0, 1e9])  # in widths of the lobe
TURNS = 96


@kernel
def ring_cosine(cos_axis, sin_axis, cosine, sine):
    """Integral over a full turn of max(0, cos) on the ring at an angle of this cosine and sine about a tilted axis [1].

    On the ring the cosine to the normal is a + b cos(phi) with a = cos_axis cosine, b = sin_axis sine, which has a
    closed form (derived here).
    """
    a = cos_axis * cosine
    b = sin_axis * sine
    if a >= b:
        return 2.0 * math.pi * a
    if a <= -b:
        return 0.0
    return 2.0 * (a * math.acos(-a / b) + math.sqrt(b * b - a * a))


@kernel
def axis_reach(lobes, k):
    """Deviation [rad] beyond which lobe k is nothing (below 1e-15 of its peak). Source: derived from each shape."""
    family = int(lobes[k, FAMILY])
    if family == Family.GAUSSIAN:
        return min(math.pi, 8.4 * math.sqrt(0.5 * lobes[k, P1]))
    if family == Family.COSINE_POWER:
        return min(0.5 * math.pi, 8.4 / math.sqrt(lobes[k, P0]))
    return angle_of(lobes[k, P1])


@kernel
def ring_albedo(lobes, k, cos_axis):
    """Albedo of the unit lobe k whose axis makes an angle with the normal of cosine `cos_axis` [1]. Source: `ring_cosine`, Gauss-Legendre."""
    sin_axis = math.sqrt(max(0.0, 1.0 - cos_axis * cos_axis))
    tilt = math.atan2(sin_axis, cos_axis)
    family, reach = int(lobes[k, FAMILY]), axis_reach(lobes, k)
    inner = angle_of(lobes[k, P0]) if family == Family.PLATEAU else 0.0
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
                shape = axis_shape(family, lobes[k, P0], lobes[k, P1], lobes[k, P2], 2.0 * half * half) * math.sin(t)
                total += (end - start) * WEIGHTS[j] * shape * ring_cosine(cos_axis, sin_axis, math.cos(t), math.sin(t))
            start = end
    return total / math.pi


@kernel
def measured_albedo(lobes, table, k, cos_axis):
    """The same for a tabulated lobe: two points of Gauss a cell in x = sin(t / 2), and the part held beyond its end [1].

    Source: `ring_cosine`; two points are exact for the cubic of a cell, its weight apart.
    """
    sin_axis = math.sqrt(max(0.0, 1.0 - cos_axis * cos_axis))
    start, cells, last = int(lobes[k, P0]), int(lobes[k, P1]), lobes[k, P2]
    total = 0.0
    steps = 2 * cells + NODES.shape[0]
    for j in range(steps):
        if j < 2 * cells:
            x = last / cells * (j // 2 + (0.21132486540518713 if j % 2 == 0 else 0.7886751345948129))
            weight = 0.5 * last / cells
        else:
            x = last + (1.0 - last) * NODES[j - 2 * cells]
            weight = (1.0 - last) * WEIGHTS[j - 2 * cells]
        v = 2.0 * x * x
        shape = measured_shape(table, start, cells, last, v)
        sine = math.sqrt(max(0.0, v * (2.0 - v)))
        total += weight * 4.0 * x * shape * ring_cosine(cos_axis, sin_axis, 1.0 - v, sine)
    return total / math.pi


@kernel
def elliptic_albedo(axis, sx, sy, wi):
    """Albedo of the unit elliptic lobe: its mass over the unit disc of direction cosines / pi [1].

    Source: strips at x = sin(a), each -cos(a) to cos(a) long: across by the error function, along by Gauss-Legendre.
    """
    x0, y0 = -axis * wi[0], -axis * wi[1]
    low = math.asin(max(-1.0, x0 - 8.0 * sx))
    high = math.asin(min(1.0, x0 + 8.0 * sx))
    root = math.sqrt(2.0) * sy
    total = 0.0
    for panel in range(2):
        start = low + 0.5 * panel * (high - low)
        for j in range(NODES.shape[0]):
            a = start + 0.5 * (high - low) * NODES[j]
            x, half = (math.sin(a) - x0) / sx, math.cos(a)
            across = math.erf((half - y0) / root) + math.erf((half + y0) / root)
            total += 0.5 * (high - low) * WEIGHTS[j] * half * math.exp(-0.5 * x * x) * across
    return total * sy / math.sqrt(2.0 * math.pi)


@kernel
def lobe_width(lobes, k):
    """Angle [rad] over which lobe k changes; only sets where the sum below puts its points. Source: rule of thumb, derived from each shape."""
    family = int(lobes[k, FAMILY])
    if family == Family.GAUSSIAN:
        return math.sqrt(0.5 * lobes[k, P1])
    if family == Family.COSINE_POWER:
        return 1.0 / math.sqrt(lobes[k, P0])
    if family == Family.PLATEAU:
        return 0.5 * angle_of(lobes[k, P1])
    if family == Family.MEASURED:
        return 0.08
    return 2.0 * min(lobes[k, P0], lobes[k, P1])


@kernel
def seen_albedo(lobes, table, k, wi):
    """Albedo of the unit lobe k by rings about the normal, with points crowded about the lobe's axis [1].

    Ten panels of the view angle, wider the further they are from the axis; turns by p = 2 atan(c tan(q / 2)), even in
    q: periodic and smooth, so that an even sum converges fast. Source: Gauss-Legendre and the midpoint rule.
    """
    width = lobe_width(lobes, k)
    side = math.sqrt(wi[0] * wi[0] + wi[1] * wi[1])
    tilt = math.atan2(side, wi[2])
    turned = math.atan2(-lobes[k, AXIS] * wi[1], -lobes[k, AXIS] * wi[0])
    facets = int(lobes[k, FAMILY]) == Family.GGX
    total = 0.0
    for panel in range(10):
        sign = 1.0 if panel >= 5 else -1.0
        near, far = PANELS[panel % 5], PANELS[panel % 5 + 1]
        one = min(max(tilt + sign * near * width, 0.0), 0.5 * math.pi)
        two = min(max(tilt + sign * far * width, 0.0), 0.5 * math.pi)
        low, high = min(one, two), max(one, two)
        if high > low:
            for i in range(PANEL_NODES.shape[0]):
                t = low + (high - low) * PANEL_NODES[i]
                z, r = math.cos(t), math.sin(t)
                # a facet's tilt across the plane of incidence is sin(p) / (cos ti + cos to): narrow in p near grazing
                crowd = min(1.0, 2.5 * width * (min(1.0, wi[2] + z) if facets else 1.0) / max(math.sqrt(side * r), 1e-9))
                ring = 0.0
                for j in range(TURNS):
                    q = 2.0 * math.pi * (j + 0.5) / TURNS
                    c, s = math.cos(0.5 * q), crowd * math.sin(0.5 * q)
                    p = turned + 2.0 * math.atan2(s, c)
                    wo = (r * math.cos(p), r * math.sin(p), z)
                    ring += lobe_value(lobes, table, k, wi, wo) * crowd / (c * c + s * s)
                total += (high - low) * PANEL_WEIGHTS[i] * ring * z * r
    return 2.0 * total / TURNS


@kernel
def lobe_albedo(lobes, table, k, wi):
    """Albedo of the unit lobe k for light from `wi` [1]. Source: the integral of lobe x cos, by the form that suits the family."""
    family = int(lobes[k, FAMILY])
    cosine = min(1.0, wi[2])
    if lobes[k, FALL] < 0.0:  # beneath a clear coat
        return diffuse_under_coat(-lobes[k, FALL], cosine) if family == Family.ROUGH else seen_albedo(lobes, table, k, wi)
    if family <= Family.MEASURED and lobes[k, FALL] == 0.0:
        if family == Family.MEASURED:
            return measured_albedo(lobes, table, k, cosine)
        return ring_albedo(lobes, k, cosine)
    if family == Family.GROOVE:
        return groove_albedo(table, int(lobes[k, P0]), wi)
    if family == Family.ROUGH:
        return rough_albedo(lobes[k, P0], lobes[k, P1], cosine)
    if family == Family.HOLES:
        return open_share(lobes[k, P0], lobes[k, P1], lobes[k, P2], wi) * lobes[k, ALBEDO]
    if family == Family.ELLIPSE:
        return elliptic_albedo(lobes[k, AXIS], lobes[k, P0], lobes[k, P1], wi)
    return seen_albedo(lobes, table, k, wi)


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
        total += fabric.lobes[k, GAIN] * lobe_albedo(fabric.lobes, fabric.table, k, wi)
    return total


def directional_albedos(fabric: FabricArrays, directions: np.ndarray) -> np.ndarray:
    """Albedo [1] for many directions, (n, 3) -> (n,). Source: `directional_albedo`."""
    result = np.empty(len(directions))
    fill_albedos(fabric, directions, result)
    return result


@kernel
def fill_albedos(fabric, directions, out):
    """`directional_albedos` into out (n,) [1]. Source: `directional_albedo`."""
    for i in range(directions.shape[0]):
        out[i] = directional_albedo(fabric, (directions[i, 0], directions[i, 1], directions[i, 2]))
