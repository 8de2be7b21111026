"""Lamps and windows as the light code has them: points, lines and rectangles that shine, and what one of them puts on a surface.

A lamp's light on a surface needs no map: each place asks the lamp itself, so nothing is interpolated and its shadows are sharp.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from .geometry import blocked
from .patches import frozen
from .vectors import along, dot, row, sub

POINT, LINE, AREA = 0, 1, 2
C0, C90, AXIS = range(3)  # rows of a lamp's frame


class Lamps(NamedTuple):
    """Lamps at full output; read-only arrays in the inside frame, L lamps.

    kind      (L,) uint8, POINT, LINE or AREA
    place     (L, 3) the point, the line's middle or the rectangle's corner [m]
    edge_u, edge_v  (L, 3) the line from its middle to its end, or the rectangle's edges [m]
    frame     (L, 3, 3) rows: C0, C90, directions of C = 0 and 90; AXIS, that of gamma = 0 [1], of a rectangle its normal
    luminance (L,) of a rectangle, alike in all directions [cd/m2]
    first_c, count_c, first_gamma, count_gamma, first_value  (L,) int32, where the planes, angles and intensities of a lamp stand
    angle     (A,) planes and angles [rad], rising, planes from 0 to 2 pi
    value     (V,) intensities, plane by plane, of the whole lamp [cd]
    """

    kind: np.ndarray
    place: np.ndarray
    edge_u: np.ndarray
    edge_v: np.ndarray
    frame: np.ndarray
    luminance: np.ndarray
    first_c: np.ndarray
    count_c: np.ndarray
    first_gamma: np.ndarray
    count_gamma: np.ndarray
    first_value: np.ndarray
    angle: np.ndarray
    value: np.ndarray


def no_lamps() -> Lamps:
    """A room without any."""
    none, index, numbers = np.zeros((0, 3)), np.zeros(0, np.int32), np.zeros(0)
    places = (np.zeros(0, np.uint8), none, none, none, np.zeros((0, 3, 3)), numbers)
    return Lamps(*[frozen(array) for array in (*places, index, index, index, index, index, numbers, numbers)])


@kernel
def below(angle, first, count, x):
    """The largest k in 0 .. count - 2 with angle[first + k] <= x, 0 where there is none. Source: bisection."""
    low, high = np.int64(0), np.int64(count - 1)
    while high - low > 1:
        middle = (low + high) // 2
        if angle[first + middle] <= x:
            low = middle
        else:
            high = middle
    return low


@kernel
def intensity(lamps, lamp, d):
    """Luminous intensity [cd] of a lamp, a whole line's too, towards the unit direction d. Source: bilinear between its angles."""
    axis = row(lamps.frame[lamp], AXIS)
    gamma = math.acos(min(1.0, max(-1.0, dot(d, axis))))
    g0, ng = np.int64(lamps.first_gamma[lamp]), np.int64(lamps.count_gamma[lamp])
    if gamma < lamps.angle[g0] or gamma > lamps.angle[g0 + ng - 1] * (1.0 + 1e-12):
        return 0.0
    turn = math.atan2(dot(d, row(lamps.frame[lamp], C90)), dot(d, row(lamps.frame[lamp], C0)))
    if turn < 0.0:
        turn += 2.0 * math.pi
    c0, nc = np.int64(lamps.first_c[lamp]), np.int64(lamps.count_c[lamp])
    i, j = below(lamps.angle, c0, nc, turn), below(lamps.angle, g0, ng, gamma)
    s = min(1.0, max(0.0, (turn - lamps.angle[c0 + i]) / (lamps.angle[c0 + i + 1] - lamps.angle[c0 + i])))
    t = min(1.0, (gamma - lamps.angle[g0 + j]) / (lamps.angle[g0 + j + 1] - lamps.angle[g0 + j]))
    at = np.int64(lamps.first_value[lamp]) + i * ng + j
    near = lamps.value[at] * (1.0 - t) + lamps.value[at + 1] * t
    far = lamps.value[at + ng] * (1.0 - t) + lamps.value[at + ng + 1] * t
    return near * (1.0 - s) + far * s


@kernel
def line_sample(lamps, lamp, p, a):
    """Point [m] of a lit line for a number a in (0, 1), and what stands for the rest of the integral, times r^2 [1].

    Points lie at even angles as seen from p, so the sum of cos cos / r^2 has no peak where the line is near.
    Source: equiangular sampling (Kulla and Fajardo, Computer Graphics Forum 31(4), 2012; from memory), derived for a segment.
    """
    u = row(lamps.edge_u, lamp)
    half = math.sqrt(dot(u, u))
    u = (u[0] / half, u[1] / half, u[2] / half)
    to = sub(p, row(lamps.place, lamp))
    foot = dot(to, u)
    off = math.sqrt(max(dot(to, to) - foot * foot, 1e-18))
    low, high = math.atan((-half - foot) / off), math.atan((half - foot) / off)
    s = off * math.tan(low + a * (high - low))
    point = along(row(lamps.place, lamp), u, foot + s)
    return point, (off * off + s * s) * (high - low) / (off * 2.0 * half)


@kernel
def rectangle_sample(lamps, lamp, p, a, b):
    """Point [m] of a lit rectangle for numbers a, b in (0, 1), even in solid angle as seen from p, and that solid angle [sr].

    Solid angle 0: p lies in its plane. So what one point stands for never has the peak that 1 / r^2 has beside a window.
    Source: Urena, Fajardo and King, "An area-preserving parametrization for spherical rectangles", Computer Graphics Forum 32(4),
    2013 (from memory; tested against sums over the area).
    """
    corner, u, v = row(lamps.place, lamp), row(lamps.edge_u, lamp), row(lamps.edge_v, lamp)
    wide, tall = math.sqrt(dot(u, u)), math.sqrt(dot(v, v))
    x = (u[0] / wide, u[1] / wide, u[2] / wide)
    y = (v[0] / tall, v[1] / tall, v[2] / tall)
    d = sub(corner, p)
    n = row(lamps.frame[lamp], AXIS)
    z0 = -abs(dot(d, n))
    if z0 > -1e-9:
        return corner, 0.0
    x0, y0 = dot(d, x), dot(d, y)
    x1, y1 = x0 + wide, y0 + tall
    # normals of the four planes through p and an edge: y = y0, x = x1, y = y1, x = x0; each has one part along z
    s0, s1 = 1.0 / math.sqrt(z0 * z0 + y0 * y0), 1.0 / math.sqrt(z0 * z0 + x1 * x1)
    s2, s3 = 1.0 / math.sqrt(z0 * z0 + y1 * y1), 1.0 / math.sqrt(z0 * z0 + x0 * x0)
    n0, n1, n2, n3 = -y0 * s0, x1 * s1, y1 * s2, -x0 * s3
    g0 = math.acos(min(1.0, max(-1.0, -n0 * n1)))
    g1 = math.acos(min(1.0, max(-1.0, -n1 * n2)))
    g2 = math.acos(min(1.0, max(-1.0, -n2 * n3)))
    g3 = math.acos(min(1.0, max(-1.0, -n3 * n0)))
    k = 2.0 * math.pi - g2 - g3
    solid = g0 + g1 - k
    if solid < 1e-7:  # so far away that all points see it alike
        point = along(along(corner, u, a), v, b)
        q = sub(point, p)
        square = dot(q, q)
        return point, wide * tall * -z0 / (square * math.sqrt(square))
    turn = a * solid + k
    f = (math.cos(turn) * n0 - n2) / math.sin(turn)
    c = min(1.0, 1.0 / math.sqrt(f * f + n0 * n0))
    c = c if f > 0.0 else -c
    across = -(c * z0) / math.sqrt(max(1.0 - c * c, 1e-18))
    across = min(max(across, x0), x1)
    far = math.sqrt(across * across + z0 * z0)
    h0, h1 = y0 / math.sqrt(far * far + y0 * y0), y1 / math.sqrt(far * far + y1 * y1)
    h = h0 + b * (h1 - h0)
    upward = h * far / math.sqrt(max(1.0 - h * h, 1e-18))
    upward = min(max(upward, y0), y1)
    return along(along(corner, x, across - x0), y, upward - y0), solid


@kernel
def lamp_sample(lamps, lamp, p, n, a, b):
    """Light of a lamp at p [m] on a surface of unit normal n, by one of its points: (unit direction to it, distance [m], lux).

    a, b  two numbers in (0, 1) that choose the point; the mean of lux over them is the illuminance, nothing between
    Source: E = I cos / r^2 and E = integral of L cos over the solid angle; definitions.
    """
    kind = lamps.kind[lamp]
    point, stretch, solid = row(lamps.place, lamp), 1.0, 0.0
    if kind == LINE:
        point, stretch = line_sample(lamps, lamp, p, a)
    elif kind == AREA:
        point, solid = rectangle_sample(lamps, lamp, p, a, b)
    d = sub(point, p)
    square = dot(d, d)
    r = math.sqrt(square)
    if r < 1e-9:
        return (0.0, 0.0, 1.0), r, 0.0
    d = (d[0] / r, d[1] / r, d[2] / r)
    here = dot(d, n)
    if here <= 0.0:
        return d, r, 0.0
    if kind == AREA:
        there = -dot(d, row(lamps.frame[lamp], AXIS))
        return d, r, lamps.luminance[lamp] * solid * here if there > 0.0 else 0.0
    return d, r, intensity(lamps, lamp, (-d[0], -d[1], -d[2])) * stretch * here / square


@kernel
def edge_sum(a, b, n):
    """Angle between two directions [rad] times the cosine of their plane's normal to n. Source: Lambert's contour integral, one edge."""
    x, y, z = a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]
    size = math.sqrt(x * x + y * y + z * z)
    if size <= 0.0:
        return 0.0
    return math.atan2(size, dot(a, b)) * (x * n[0] + y * n[1] + z * n[2]) / size


@kernel
def rectangle_lux(lamps, lamp, p, n):
    """Illuminance [lx] at p [m], unit normal n, of the whole lit rectangle, nothing between; what lies below the horizon is cut off.

    Source: Lambert, Photometria (1760), contour integral; E = L / 2 sum of edge angles times cos (textbook, from memory).
    """
    corner, u, v = row(lamps.place, lamp), row(lamps.edge_u, lamp), row(lamps.edge_v, lamp)
    first = sub(corner, p)
    if dot(first, row(lamps.frame[lamp], AXIS)) >= 0.0:
        return 0.0
    total = 0.0
    a = first
    high_a = dot(a, n)
    leaving, entering = (0.0, 0.0, 0.0), (0.0, 0.0, 0.0)
    cut = False
    for k in range(4):
        b = (
            along(first, u, 1.0)
            if k == 0
            else along(along(first, u, 1.0), v, 1.0)
            if k == 1
            else along(first, v, 1.0)
            if k == 2
            else first
        )
        high_b = dot(b, n)
        if high_a > 0.0 and high_b > 0.0:
            total += edge_sum(a, b, n)
        elif high_a > 0.0 or high_b > 0.0:
            t = high_a / (high_a - high_b)
            on = (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), a[2] + t * (b[2] - a[2]))
            cut = True
            if high_a > 0.0:
                leaving = on
                total += edge_sum(a, on, n)
            else:
                entering = on
                total += edge_sum(on, b, n)
        a, high_a = b, high_b
    if cut:
        total += edge_sum(leaving, entering, n)
    return 0.5 * lamps.luminance[lamp] * abs(total)


@kernel
def whole_lux(lamps, lamp, p, n):
    """Illuminance [lx] of a lamp at p [m], unit normal n, nothing between; of a line about. Source: `rectangle_lux`, `lamp_sample`."""
    return rectangle_lux(lamps, lamp, p, n) if lamps.kind[lamp] == AREA else lamp_sample(lamps, lamp, p, n, 0.5, 0.5)[2]


@kernel
def lamp_lux(geometry, lamps, lamp, p, n, patch, lot, stack):
    """Illuminance [lx] of a lamp at p [m] on a patch with unit normal n, shadows by one point of the lamp, from two numbers `lot` in (0, 1).

    A rectangle's light is known in closed form; only what the chosen point would send and something hides is taken off, so
    where nothing stands between there is no noise. stack  int32 (STACK,), scratch
    Source: `lamp_sample`, `rectangle_lux`; a control variate (derived).
    """
    d, r, lux = lamp_sample(lamps, lamp, p, n, lot[0], lot[1])
    area = lamps.kind[lamp] == AREA
    whole = rectangle_lux(lamps, lamp, p, n) if area else lux
    if lux > 0.0 and blocked(geometry, p, d, r, patch, np.int64(-1), stack):
        return whole - lux
    return whole
