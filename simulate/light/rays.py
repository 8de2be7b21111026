"""What one ray asks of one thing: a patch's plane, a node's box, the empty shell of a rectangular room."""

from __future__ import annotations

import math

import numpy as np

from ...materials.kernels.jit import kernel

STACK = 1024  # places of a ray's scratch: nodes of a tree that are due, or a mark for each group of patches
NO_HIT = -1
_EDGE = 1e-9


@kernel
def patch_hit(plane, i, origin, direction, nearest):
    """Distance, u, v at which a ray meets patch i; distance < 0 when it misses or lies beyond `nearest`.

    origin  [m];  direction  of any length: distances are in that length, [m] for a unit one;  u, v  [1]
    Source: plane equation with the dual basis of the two edges; derived. A NaN or infinite distance fails the first test.
    """
    i = np.uint32(i)  # an unsigned index spares the test for a negative one
    dx, dy, dz = direction
    qx, qy, qz = plane[i, 0] - origin[0], plane[i, 1] - origin[1], plane[i, 2] - origin[2]
    nx, ny, nz = plane[i, 3], plane[i, 4], plane[i, 5]
    t = (nx * qx + ny * qy + nz * qz) / (nx * dx + ny * dy + nz * dz)
    if not (t > 1e-7 and t < nearest):
        return -1.0, 0.0, 0.0
    px, py, pz = t * dx - qx, t * dy - qy, t * dz - qz
    u = px * plane[i, 6] + py * plane[i, 7] + pz * plane[i, 8]
    v = px * plane[i, 9] + py * plane[i, 10] + pz * plane[i, 11]
    edge = 1.0 + _EDGE
    if u < -_EDGE or v < -_EDGE or v > edge or u > edge or u + v * plane[i, 12] > edge:
        return -1.0, 0.0, 0.0
    return t, u, v


@kernel
def row_of(plane, i):
    """The numbers of patch i, read once before a loop over rays: what the loop writes could lie in the same memory."""
    p = plane[i]
    return (p[0], p[1], p[2]), (p[3], p[4], p[5]), (p[6], p[7], p[8]), (p[9], p[10], p[11]), p[12]


@kernel
def distance_to(patch, origin, direction):
    """Distance at which a ray meets a patch, infinite when it misses: as `patch_hit`, without a branch, for rays side by side.

    patch  of `row_of`;  the rest as in `patch_hit`
    """
    (cx, cy, cz), (nx, ny, nz), (ux, uy, uz), (vx, vy, vz), slant = patch
    dx, dy, dz = direction
    qx, qy, qz = cx - origin[0], cy - origin[1], cz - origin[2]
    t = (nx * qx + ny * qy + nz * qz) / (nx * dx + ny * dy + nz * dz)
    px, py, pz = t * dx - qx, t * dy - qy, t * dz - qz
    u = px * ux + py * uy + pz * uz
    v = px * vx + py * vy + pz * vz
    edge = 1.0 + _EDGE
    hit = (t > 1e-7) & (u >= -_EDGE) & (v >= -_EDGE) & (u <= edge) & (v <= edge) & (u + v * slant <= edge)
    return t if hit else math.inf


@kernel
def shell_hit(box, origin, direction):
    """Distance [m] and patch (0 .. 5) at which a ray from inside leaves the rectangular room; NO_HIT for a direction that is none.

    origin [m], direction unit [1];  patch order front (y = 0), back, left (x low), right, ceiling, floor
    Source: slab method (Kay and Kajiya 1986), one exit per axis; written so that signs, which nobody can foresee, choose numbers.
    """
    dx, dy, dz = direction
    left, right, back, front, floor, ceiling = box[0, 0], box[1, 0], box[0, 1], box[1, 1], box[0, 2], box[1, 2]
    x = ((right if dx > 0.0 else left) - origin[0]) / dx
    y = ((front if dy > 0.0 else back) - origin[1]) / dy
    z = ((ceiling if dz > 0.0 else floor) - origin[2]) / dz
    x, y, z = x if dx != 0.0 else math.inf, y if dy != 0.0 else math.inf, z if dz != 0.0 else math.inf
    on_x, on_y, on_z = 3 if dx > 0.0 else 2, 0 if dy > 0.0 else 1, 4 if dz > 0.0 else 5
    patch = on_x if x <= y else on_y
    t = x if x <= y else y
    patch = patch if t <= z else on_z
    t = t if t <= z else z
    return t, patch if t < math.inf else NO_HIT


@kernel
def box_entry(bounds, node, origin, inverse, nearest):
    """Distance [m] at which a ray enters a node's box, 0 from inside, or infinity when it misses or enters beyond `nearest` [m].

    origin  [m];  inverse  as `inverse_direction` of a unit direction gives it [1]
    Source: slab method (Kay and Kajiya 1986); written with plain comparisons, which compile to single instructions.
    """
    n = np.uint32(node)
    ox, oy, oz = origin
    ix, iy, iz = inverse
    a, b = (bounds[n, 0] - ox) * ix, (bounds[n, 3] - ox) * ix
    enter, leave = (a, b) if a < b else (b, a)
    a, b = (bounds[n, 1] - oy) * iy, (bounds[n, 4] - oy) * iy
    low, high = (a, b) if a < b else (b, a)
    enter = low if low > enter else enter
    leave = high if high < leave else leave
    a, b = (bounds[n, 2] - oz) * iz, (bounds[n, 5] - oz) * iz
    low, high = (a, b) if a < b else (b, a)
    enter = low if low > enter else enter
    leave = high if high < leave else leave
    enter = 0.0 if enter < 0.0 else enter
    leave = nearest if nearest < leave else leave
    return enter if enter <= leave else math.inf


@kernel
def boxes_met(bounds, origin, inverse, limit, met):
    """1 into met[k] for each of the boxes (6, n), low then high [m], that a ray meets before `limit` [m], else 0.

    origin  [m];  inverse  as `inverse_direction` of a unit direction gives it [1];  met  int32, at least (n,)
    Source: `box_entry`; without a branch, so the compiler takes several boxes at once.
    """
    ox, oy, oz = origin
    ix, iy, iz = inverse
    for k in range(bounds.shape[1]):
        a, b = (bounds[0, k] - ox) * ix, (bounds[3, k] - ox) * ix
        enter = a if a < b else b
        leave = b if a < b else a
        a, b = (bounds[1, k] - oy) * iy, (bounds[4, k] - oy) * iy
        low = a if a < b else b
        high = b if a < b else a
        enter = low if low > enter else enter
        leave = high if high < leave else leave
        a, b = (bounds[2, k] - oz) * iz, (bounds[5, k] - oz) * iz
        low = a if a < b else b
        high = b if a < b else a
        enter = low if low > enter else enter
        leave = high if high < leave else leave
        enter = enter if enter > 0.0 else 0.0
        leave = leave if leave < limit else limit
        met[k] = np.int32(1) if enter <= leave else np.int32(0)


@kernel
def inverse_direction(direction):
    """1 / d per axis of a unit direction [1], huge instead of infinite so that 0 * inf never makes a NaN. Source: derived."""
    x = 1.0 / direction[0] if abs(direction[0]) > 1e-300 else 1e300
    y = 1.0 / direction[1] if abs(direction[1]) > 1e-300 else 1e300
    z = 1.0 / direction[2] if abs(direction[2]) > 1e-300 else 1e300
    return (x, y, z)


@kernel
def place_on(plane, i, p):
    """u, v [1] of the point p [m] on the plane of patch i. Source: dual basis."""
    q = (p[0] - plane[i, 0], p[1] - plane[i, 1], p[2] - plane[i, 2])
    return (
        q[0] * plane[i, 6] + q[1] * plane[i, 7] + q[2] * plane[i, 8],
        q[0] * plane[i, 9] + q[1] * plane[i, 10] + q[2] * plane[i, 11],
    )
