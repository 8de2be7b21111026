"""Vectors as 3-tuples of float64: in kernels they live in registers, which small arrays do not."""

from __future__ import annotations

import math

from ...materials.kernels.jit import kernel


@kernel
def dot(a, b):
    """Scalar product of two 3-tuples [any unit]. Source: definition."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@kernel
def sub(a, b):
    """a - b of two 3-tuples [any unit]. Source: definition."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


@kernel
def along(a, d, t):
    """a + t d of 3-tuples, a place a [m], a distance t [m], a unit direction d [1]. Source: definition."""
    return (a[0] + t * d[0], a[1] + t * d[1], a[2] + t * d[2])


@kernel
def unit(a):
    """a / |a| of a 3-tuple [any unit], without a unit; the zero vector is the caller's fault. Source: definition."""
    s = 1.0 / math.sqrt(dot(a, a))
    return (a[0] * s, a[1] * s, a[2] * s)


@kernel
def row(array, i):
    """Row i of an (n, 3) array as a tuple, in the array's unit."""
    return (array[i, 0], array[i, 1], array[i, 2])


@kernel
def triple(array):
    """A (3,) array as a tuple, in the array's unit."""
    return (array[0], array[1], array[2])


@kernel
def tangents(n):
    """Two unit vectors [1] that make a right-handed frame with the unit normal n, without a singular direction.

    Source: Duff et al., "Building an orthonormal basis, revisited", JCGT 6(1), 2017 (formula from memory, tested).
    """
    sign = 1.0 if n[2] >= 0.0 else -1.0
    a = -1.0 / (sign + n[2])
    b = n[0] * n[1] * a
    return (1.0 + sign * n[0] * n[0] * a, sign * b, -sign * n[0]), (b, sign + n[1] * n[1] * a, -n[1])


@kernel
def screen_tangents(n):
    """Right and up [1] on the cloth with unit normal n: up is the vertical's part in the cloth, right completes the frame.

    The same frame as `tangents` cannot serve: grooves and anisotropic lobes have a direction on the cloth.
    Source: derived; a horizontal cloth has no up, then `tangents` serves.
    """
    up = (-n[0] * n[2], -n[1] * n[2], 1.0 - n[2] * n[2])
    size = math.sqrt(dot(up, up))
    if size < 1e-9:
        return tangents(n)
    up = (up[0] / size, up[1] / size, up[2] / size)
    right = (up[1] * n[2] - up[2] * n[1], up[2] * n[0] - up[0] * n[2], up[0] * n[1] - up[1] * n[0])
    return right, up


@kernel
def to_local(d, right, up, n):
    """World direction [1] to the frame (right, up, n). Source: definition."""
    return (dot(d, right), dot(d, up), dot(d, n))


@kernel
def to_world(d, right, up, n):
    """Direction [1] in the frame (right, up, n) to the world. Source: definition."""
    return (
        d[0] * right[0] + d[1] * up[0] + d[2] * n[0],
        d[0] * right[1] + d[1] * up[1] + d[2] * n[1],
        d[0] * right[2] + d[1] * up[2] + d[2] * n[2],
    )


@kernel
def small_sine_cosine(x):
    """sin x and cos x [1] for |x| <= pi / 4 [rad], each to 2e-11.

    Source: Taylor series to x^11 and x^12; several times faster than libm.
    """
    y = x * x
    sine = x * (1.0 + y * (-1 / 6 + y * (1 / 120 + y * (-1 / 5040 + y * (1 / 362880 - y / 39916800)))))
    cosine = 1.0 + y * (-0.5 + y * (1 / 24 + y * (-1 / 720 + y * (1 / 40320 + y * (-1 / 3628800 + y / 479001600)))))
    return sine, cosine


@kernel
def cosine_direction(u, v):
    """Direction about z with density cos(theta) / pi [1/sr] from two numbers in [0, 1).

    Source: Malley's method with the concentric map of Shirley and Chiu (JGT 2(3), 1997), which keeps strata compact.
    """
    a = 2.0 * u - 1.0
    b = 2.0 * v - 1.0
    wide = abs(a) > abs(b)  # numbers, not ways, are chosen: nobody can foresee which
    more, less = a if wide else b, b if wide else a
    sine, cosine = small_sine_cosine((math.pi / 4.0) * (less / (more if more != 0.0 else 1.0)))
    along, across, rest = more * cosine, more * sine, 1.0 - more * more
    return (along if wide else across, across if wide else along, math.sqrt(rest if rest > 0.0 else 0.0))


@kernel
def turned_direction(u, v):
    """Direction about z with density cos(theta) / pi [1/sr] from two numbers in [0, 1), periodic in v as lattices want it.

    Source: Malley's method, the disc by radius and turn. The sine and cosine of a quarter of the turn, doubled twice.
    """
    sine, cosine = small_sine_cosine((0.5 * math.pi) * (v - 0.5))
    sine, cosine = 2.0 * sine * cosine, 1.0 - 2.0 * sine * sine
    sine, cosine = 2.0 * sine * cosine, 1.0 - 2.0 * sine * sine
    radius = math.sqrt(u)
    return (radius * cosine, radius * sine, math.sqrt(1.0 - u))
