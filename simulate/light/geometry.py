"""Surfaces as flat patches (parallelograms and triangles) in read-only arrays, and the nearest hit of a ray among them."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from .displaced_screen import hit_relief, relief_blocks

DIFFUSE, SCREEN = 0, 1
STACK = 64
NO_HIT = -1
_EDGE = 1e-9


class Geometry(NamedTuple):
    """Patches and their tree; all arrays read-only.

    corner, edge_u, edge_v  (P, 3) a patch is corner + u edge_u + v edge_v [m]
    normal                  (P, 3) unit, towards the side that reflects; the other side is black
    plane                   (P, 13) corner, normal, dual_u, dual_v (u = (p - corner) . dual_u on the patch [1/m]), and
                            1 for a triangle (u + v <= 1), 0 for a parallelogram (u, v <= 1): all that a ray asks, in one row
    surface                 (P,) int32, index of the named surface the patch belongs to
    role                    (P,) uint8, DIFFUSE or SCREEN
    box                     (2, 3) the empty shell of a rectangular room [m]; its patches are 0 .. 5; NaN when there is none
    tree_bounds             (N, 6) node bounds, low then high [m]
    tree_child              (N,) int32, inner node: first of two neighbouring children; leaf: first place in tree_patch
    tree_count              (N,) int32, patches in a leaf; 0 for an inner node
    tree_patch              (M,) int32, patches in tree order (without the shell's)
    relief                  the folded cloth (see displaced_screen.py), or an empty tuple for a flat screen
    """

    corner: np.ndarray
    edge_u: np.ndarray
    edge_v: np.ndarray
    normal: np.ndarray
    plane: np.ndarray
    surface: np.ndarray
    role: np.ndarray
    box: np.ndarray
    tree_bounds: np.ndarray
    tree_child: np.ndarray
    tree_count: np.ndarray
    tree_patch: np.ndarray
    relief: Any = ()


@kernel
def patch_hit(plane, i, ox, oy, oz, dx, dy, dz, nearest):
    """Distance, u, v at which a ray meets patch i; distance < 0 when it misses or lies beyond `nearest`.

    ox, oy, oz  origin [m];  dx, dy, dz  direction of any length: distances are in that length, [m] for a unit one;  u, v  [1]
    Source: plane equation with the dual basis of the two edges; derived. A NaN or infinite distance fails the first test.
    """
    i = np.uint32(i)  # an unsigned index spares the test for a negative one
    qx, qy, qz = plane[i, 0] - ox, plane[i, 1] - oy, plane[i, 2] - oz
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
def shell_hit(box, origin, direction):
    """Distance [m] and patch (0 .. 5) at which a ray from inside leaves the rectangular room.

    origin [m], direction unit [1];  patch order front (y = 0), back, left (x low), right, ceiling, floor
    Source: slab method (Kay and Kajiya 1986), one exit per axis.
    """
    t = math.inf
    patch = NO_HIT
    for axis in range(3):
        d = direction[axis]
        if d > 0.0:
            s = (box[1, axis] - origin[axis]) / d
            candidate = 3 if axis == 0 else (0 if axis == 1 else 4)
        elif d < 0.0:
            s = (box[0, axis] - origin[axis]) / d
            candidate = 2 if axis == 0 else (1 if axis == 1 else 5)
        else:
            continue
        if s < t:
            t = s
            patch = candidate
    return t, patch


@kernel
def box_entry(bounds, node, ox, oy, oz, ix, iy, iz, nearest):
    """Distance [m] at which a ray enters a node's box, 0 from inside, or infinity when it misses or enters beyond `nearest` [m].

    ox, oy, oz  origin [m];  ix, iy, iz  as `inverse_direction` of a unit direction gives them [1]
    Source: slab method (Kay and Kajiya 1986); written with plain comparisons, which compile to single instructions.
    """
    n = np.uint32(node)
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


@kernel
def nearest_hit(geometry, origin, direction, skip, stack):
    """Nearest patch along a ray of unit direction [1] from an origin [m]: (distance [m], patch or NO_HIT, u, v [1]).

    skip   patch the ray starts on (a flat patch cannot see itself), or -1;  stack  int32 (STACK,), scratch
    Source: bounding-volume tree, nearer child first.
    """
    plane, bounds, child, counts = geometry.plane, geometry.tree_bounds, geometry.tree_child, geometry.tree_count
    patches = geometry.tree_patch
    ox, oy, oz = origin
    dx, dy, dz = direction
    t, patch, u, v = math.inf, NO_HIT, 0.0, 0.0
    if not math.isnan(geometry.box[0, 0]):
        t, patch = shell_hit(geometry.box, origin, direction)
        if patch >= 0:
            u, v = place_on(plane, patch, (ox + t * dx, oy + t * dy, oz + t * dz))
    s, i, a, b = hit_relief(geometry.relief, origin, direction, skip, t)
    if s > 0.0:
        t, patch, u, v = s, i, a, b
    if counts.shape[0] == 0:
        return t, patch, u, v
    ix, iy, iz = inverse_direction(direction)
    node = np.int64(0)  # a plain 0 would compile the test once more, for the constant
    if box_entry(bounds, node, ox, oy, oz, ix, iy, iz, t) == math.inf:
        return t, patch, u, v
    top = 0
    while True:
        count = np.int64(counts[node])
        first = np.int64(child[node])
        go = -1
        if count > 0:
            for k in range(first, first + count):
                i = np.int64(patches[k])
                if i != skip:
                    s, a, b = patch_hit(plane, i, ox, oy, oz, dx, dy, dz, t)
                    if s > 0.0:
                        t, patch, u, v = s, i, a, b
        else:
            near = box_entry(bounds, first, ox, oy, oz, ix, iy, iz, t)
            far = box_entry(bounds, first + 1, ox, oy, oz, ix, iy, iz, t)
            if near < math.inf or far < math.inf:
                go = first + 1 if far < near else first
                if near < math.inf and far < math.inf:
                    stack[top] = 2 * first + 1 - go
                    top += 1
        if go < 0:
            if top == 0:
                return t, patch, u, v
            top -= 1
            go = np.int64(stack[top])
        node = go


@kernel
def blocked(geometry, origin, direction, distance, skip, skip_end, stack):
    """True when any patch (shell apart) lies between origin [m] and origin + distance [m] * direction (unit [1]).

    skip, skip_end   patches at the two ends, not tested; -1 for none;  stack  int32 (STACK,), scratch
    Source: any-hit walk of the same tree; the room's shell is convex and blocks nothing inside it.
    """
    plane, bounds, child, counts = geometry.plane, geometry.tree_bounds, geometry.tree_child, geometry.tree_count
    if relief_blocks(geometry.relief, origin, direction, distance * (1.0 - 1e-9), skip, skip_end):
        return True
    if counts.shape[0] == 0:
        return False
    ox, oy, oz = origin
    dx, dy, dz = direction
    limit = distance * (1.0 - 1e-9)
    ix, iy, iz = inverse_direction(direction)
    stack[0] = 0
    top = 1
    while top > 0:
        top -= 1
        node = np.int64(stack[top])
        if box_entry(bounds, node, ox, oy, oz, ix, iy, iz, limit) == math.inf:
            continue
        count = np.int64(counts[node])
        first = np.int64(child[node])
        if count > 0:
            for k in range(first, first + count):
                i = np.int64(geometry.tree_patch[k])
                if i != skip and i != skip_end:
                    s, _, _ = patch_hit(plane, i, ox, oy, oz, dx, dy, dz, limit)
                    if s > 0.0:
                        return True
        else:
            stack[top] = first
            stack[top + 1] = first + 1
            top += 2
    return False
