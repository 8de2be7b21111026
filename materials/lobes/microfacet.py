"""Half-vector lobes: many small mirrors, tilted by chance (GGX), that shade and hide one another.

A facet tilted by t sends light off by 2 t: at normal incidence the half-gain angle is twice a facet tilt, and off normal
the lobe leans further than the mirror direction.

    f = F D(h) G2 / (4 cos ti cos to),  h = (wi + wo) / |wi + wo|,  G2 = 1 / (1 + L(wi) + L(wo))

Rows of `FabricArrays.lobes`: p0, p1 = roughness a right and up, p2 = p3 = 0. `gain` is that on the axis at normal
incidence: F / (4 a_right a_up). Retro-reflecting (axis -1) is the same with wi turned half about the normal.
Source: Walter, Marschner, Li, Torrance, EGSR 2007; Heitz, JCGT 3(2), 2014 (height-correlated G2); Belcour et al., JOSA A
31(11), 2014 (back vector); all from memory.
"""

from __future__ import annotations

import math

from ..kernels.jit import kernel


@kernel
def ggx_value(side, ax, ay, wi, wo):
    """GGX lobe relative to its height on the axis at normal incidence [1].

    Source: D / D(n) = (|H|^2 / ((Hx/ax)^2 + (Hy/ay)^2 + Hz^2))^2 with H = wi + wo not normalised, and
    G2 / (cos cos) = 2 / (co sqrt(ci^2 + (ax wix)^2 + (ay wiy)^2) + ci sqrt(the same of wo)): the head's formula.
    """
    hx, hy, hz = side * wi[0] + wo[0], side * wi[1] + wo[1], wi[2] + wo[2]
    square = hx * hx + hy * hy + hz * hz
    ex, ey = hx / ax, hy / ay
    ratio = square / (ex * ex + ey * ey + hz * hz)
    pi, qi, po, qo = ax * wi[0], ay * wi[1], ax * wo[0], ay * wo[1]
    seen = wo[2] * math.sqrt(wi[2] * wi[2] + pi * pi + qi * qi) + wi[2] * math.sqrt(wo[2] * wo[2] + po * po + qo * qo)
    return 2.0 * ratio * ratio / seen


@kernel
def facet_density(side, ax, ay, wi, wo):
    """Density of `facet_draw` [1/sr]; over the whole sphere it integrates to 1, wi above the horizon.

    Source: visible normals, G1(wi) D(h) / (4 cos ti) (Heitz, JCGT 7(4), 2018, from memory).
    """
    hx, hy, hz = side * wi[0] + wo[0], side * wi[1] + wo[1], wi[2] + wo[2]
    if hz <= 0.0:
        return 0.0
    ex, ey = hx / ax, hy / ay
    ratio = (hx * hx + hy * hy + hz * hz) / (ex * ex + ey * ey + hz * hz)
    p, q = ax * wi[0], ay * wi[1]
    return ratio * ratio / (2.0 * math.pi * ax * ay * (wi[2] + math.sqrt(wi[2] * wi[2] + p * p + q * q)))


@kernel
def facet_draw(side, ax, ay, wi, u1, u2):
    """Unit direction [1] by a visible GGX facet, from two uniform numbers in 0..1 [1]; it may lie below the horizon.

    Source: Heitz, "Sampling the GGX distribution of visible normals", JCGT 7(4), 2018 (from memory).
    """
    wx, wy, wz = side * wi[0], side * wi[1], wi[2]
    vx, vy, vz = ax * wx, ay * wy, wz
    size = math.sqrt(vx * vx + vy * vy + vz * vz)
    vx, vy, vz = vx / size, vy / size, vz / size
    flat = vx * vx + vy * vy
    tx, ty = (-vy / math.sqrt(flat), vx / math.sqrt(flat)) if flat > 1e-20 else (1.0, 0.0)
    r, turn = math.sqrt(u1), 2.0 * math.pi * u2
    p = r * math.cos(turn)
    s = 0.5 * (1.0 + vz)
    q = (1.0 - s) * math.sqrt(max(0.0, 1.0 - p * p)) + s * r * math.sin(turn)
    rest = math.sqrt(max(0.0, 1.0 - p * p - q * q))
    # second tangent = v x t
    nx = ax * (p * tx - q * vz * ty + rest * vx)
    ny = ay * (p * ty + q * vz * tx + rest * vy)
    nz = max(1e-9, q * (vx * ty - vy * tx) + rest * vz)
    size = math.sqrt(nx * nx + ny * ny + nz * nz)
    nx, ny, nz = nx / size, ny / size, nz / size
    along = 2.0 * (wx * nx + wy * ny + wz * nz)
    return along * nx - wx, along * ny - wy, along * nz - wz
