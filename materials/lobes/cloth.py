"""Lobes of the sheet as a whole: an elliptic lobe, rough diffuse cloth, and light that comes back through holes.

Rows of `FabricArrays.lobes`:

    ELLIPSE  exp(-dx^2 / 2 sx^2 - dy^2 / 2 sy^2)      p0, p1 = sx, sy (in sines)   p2 = mass of the drawn part
    ROUGH    1 + b S / max(cos ti, cos to)            p0 = b, p1 = factor of S where S < 0 (0 or 1)
    HOLES    T(wi) T(wo) / T(n)^2, through and back   p0 = thickness / diameter of round holes; or
                                                      p1, p2 = thread / pitch of the threads across right and up
"""

from __future__ import annotations

import math

from ..kernels.jit import kernel


@kernel
def ellipse_value(axis, sx, sy, wi, wo):
    """Lobe that is narrower one way than the other, 1 on its axis [1].

    It depends on the shift of the direction cosines alone: reciprocal; and as cos dw = d(x) d(y), the albedo is the
    lobe's mass over the unit disc, largest where the lobe stands in the middle (Anderson's inequality, 1955: its level
    sets are convex and symmetric). Source: Harvey, direction-cosine scatter, 1976 (from memory); the rest derived here.
    """
    ex, ey = (axis * wi[0] + wo[0]) / sx, (axis * wi[1] + wo[1]) / sy
    return math.exp(-0.5 * (ex * ex + ey * ey))


@kernel
def ellipse_density(axis, sx, sy, mass, wi, wo):
    """Density of `ellipse_draw` [1/sr]; what the lobe has beyond the horizon is drawn too, as straight down. Source: derived from `ellipse_draw`."""
    if wo[2] <= 0.0:
        return 0.0
    return ellipse_value(axis, sx, sy, wi, wo) * wo[2] / (2.0 * math.pi * sx * sy * mass)


@kernel
def ellipse_draw(axis, sx, sy, mass, wi, u1, u2):
    """Direction cosines about those of the axis by a Gaussian, widths in sines [1], cut off where no direction reaches. Source: Box-Muller."""
    r, turn = math.sqrt(-2.0 * math.log1p(-u1 * mass)), 2.0 * math.pi * u2
    x = r * sx * math.cos(turn) - axis * wi[0]
    y = r * sy * math.sin(turn) - axis * wi[1]
    left = 1.0 - x * x - y * y
    if left <= 0.0:
        return 0.0, 0.0, -1.0
    return x, y, math.sqrt(left)


@kernel
def rough_value(b, under, wi, wo):
    """Rough diffuse cloth relative to its gain at normal incidence [1]: brighter back towards the light.

    S = sin ti sin to cos(phi) = wi . wo - cos ti cos to. With under = 0 the qualitative form of Oren and Nayar (as sin a
    tan b cos(phi) = S / max cos); with 1 the single-fraction variant takes S as it is where it is negative.
    Source: Oren and Nayar, "Generalization of Lambert's reflectance model", SIGGRAPH 94; Fujii's variant; from memory.
    """
    s = wi[0] * wo[0] + wi[1] * wo[1]
    if s > 0.0:
        return 1.0 + b * s / max(wi[2], wo[2])
    return 1.0 + b * under * s


@kernel
def rough_albedo(b, under, cosine):
    """Albedo of the unit rough lobe at an incidence of this cosine [1].

    With t the angle: (2 / pi) (sin t (t - sin t cos t) / 2 + tan t (1 - sin^3 t) / 3) is the mean of S+ / max cos,
    -2 sin t / 3 pi that of S-. Source: integrals over the half-space, elementary, derived here.
    """
    sine = math.sqrt(max(0.0, 1.0 - cosine * cosine))
    t = math.atan2(sine, cosine)
    far = (1.0 - sine**3) * sine / (3.0 * max(cosine, 1e-12))
    near = 0.5 * sine * (t - sine * cosine)
    return 1.0 + b * (2.0 * (near + far) - 2.0 / 3.0 * under * sine) / math.pi


@kernel
def open_share(depth, right, up, w):
    """Share of the holes' light that goes straight through at direction w, relative to the normal [1].

    Round holes of depth t and diameter d: the overlap of two circles t tan(theta) apart, (2 / pi)(acos x - x sqrt(1 -
    x^2)), x = t tan(theta) / d. Threads of diameter e at pitch p, seen from the side: a round thread's shadow widens to
    e / cos in the plane across it, so (1 - e / (p cos)) / (1 - e / p) each way. Source: derived here.
    """
    if w[2] <= 0.0:
        return 0.0
    tx, ty = w[0] / w[2], w[1] / w[2]
    if right > 0.0 or up > 0.0:
        one = max(0.0, 1.0 - right * math.sqrt(1.0 + tx * tx)) / (1.0 - right)
        return one * max(0.0, 1.0 - up * math.sqrt(1.0 + ty * ty)) / (1.0 - up)
    x = depth * math.sqrt(tx * tx + ty * ty)
    if x >= 1.0:
        return 0.0
    return 2.0 / math.pi * (math.acos(x) - x * math.sqrt(1.0 - x * x))


@kernel
def cosine_draw(u1, u2):
    """Direction by the cosine law about the normal, from two uniform numbers [1]. Source: Lambert; Malley's projection of an even disc."""
    r, turn = math.sqrt(u1), 2.0 * math.pi * u2
    return r * math.cos(turn), r * math.sin(turn), math.sqrt(1.0 - u1)
