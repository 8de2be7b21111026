"""What a ray meets where patches are not whole parallelograms: triangles of a flat group, sheets of two sides, parts on a wall.

A patch stays what all else knows: a frame with u, v from 0 to 1, one normal, one surface. Here it may be cut into pieces: the
rays meet pieces, and are told patch, u and v. Scenes of boxes alone hold an empty tuple in place of `Pieces`, and the calls in
geometry.py are compiled to the plain walk for them, so they keep their speed and their bits.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from .displaced_screen import hit_relief, relief_blocks
from .rays import NO_HIT, box_entry, inverse_direction, patch_hit, place_on, shell_hit
from .vectors import along


class Pieces(NamedTuple):
    """Pieces of patches; all arrays read-only.

    plane           (T, 13) as Geometry.plane, of each piece
    edge_u, edge_v  (T, 3) [m]
    front, back     (T,) int32, patch seen from the side of the normal, and from the other, -1 where that side is black
    under           (P,) int32, the patch on which a part lies, the patch itself for all others
    first, part     (P + 1,) and (n,) int32, parts that lie on patch i are part[first[i] : first[i + 1]], the uppermost first
    """

    plane: np.ndarray
    edge_u: np.ndarray
    edge_v: np.ndarray
    front: np.ndarray
    back: np.ndarray
    under: np.ndarray
    first: np.ndarray
    part: np.ndarray


@kernel
def base_of(pieces, patch):
    """The patch whose pieces a ray from `patch` must pass by: a part lies in the plane of what is under it. Source: definition."""
    return np.int64(pieces.under[patch]) if patch >= 0 else np.int64(-1)


@kernel
def uppermost(geometry, patch, p):
    """Patch, u, v at the place p [m] of a patch: the uppermost part that lies there, or the patch itself. Source: definition."""
    pieces = geometry.pieces
    for k in range(pieces.first[patch], pieces.first[patch + 1]):
        part = np.int64(pieces.part[k])
        u, v = place_on(geometry.plane, part, p)
        if u >= 0.0 and u <= 1.0 and v >= 0.0 and v <= 1.0:
            return part, u, v
    u, v = place_on(geometry.plane, patch, p)
    return patch, u, v


@kernel
def nearest_piece(geometry, origin, direction, skip, stack):
    """As geometry.nearest_hit [m], where there are pieces. Source: bounding-volume tree, nearer child first."""
    pieces, bounds, child, counts = geometry.pieces, geometry.tree_bounds, geometry.tree_child, geometry.tree_count
    items, plane, front, back = geometry.tree_patch, pieces.plane, pieces.front, pieces.back
    own = base_of(pieces, skip)
    dx, dy, dz = direction
    t, patch, found = math.inf, np.int64(NO_HIT), np.int64(-1)
    if not math.isnan(geometry.box[0, 0]):
        t, wall = shell_hit(geometry.box, origin, direction)
        patch = np.int64(wall)
    s, cloth, u, v = hit_relief(geometry.relief, origin, direction, skip, t)
    if s > 0.0:
        t, patch = s, np.int64(-1)
    inverse = inverse_direction(direction)
    node, top = np.int64(0), 0
    inside = counts.shape[0] > 0 and box_entry(bounds, node, origin, inverse, t) < math.inf
    while inside:
        count = np.int64(counts[node])
        first = np.int64(child[node])
        go = -1
        if count > 0:
            for k in range(first, first + count):
                i = np.int64(items[k])
                if front[i] != own and (back[i] != own or own < 0):
                    d, _, _ = patch_hit(plane, i, origin, direction, t)
                    if d > 0.0:
                        t, found = d, i
        else:
            near = box_entry(bounds, first, origin, inverse, t)
            far = box_entry(bounds, first + 1, origin, inverse, t)
            if near < math.inf or far < math.inf:
                go = first + 1 if far < near else first
                if near < math.inf and far < math.inf:
                    stack[top] = 2 * first + 1 - go
                    top += 1
        if go < 0:
            if top == 0:
                break
            top -= 1
            go = np.int64(stack[top])
        node = go
    if found >= 0:
        behind = plane[found, 3] * dx + plane[found, 4] * dy + plane[found, 5] * dz > 0.0
        patch = np.int64(back[found] if behind and back[found] >= 0 else front[found])
    elif s > 0.0:
        return t, np.int64(cloth), u, v
    if patch < 0:
        return t, patch, 0.0, 0.0
    on, u, v = uppermost(geometry, patch, along(origin, direction, t))
    return t, on, u, v


@kernel
def pieces_between(geometry, origin, direction, limit, own, end, stack):
    """True when a piece lies between origin [m] and origin + limit * direction; direction of any length, limit in that length.

    own, end  patches at the two ends, whose pieces are not tested; -1 for none;  stack  int32 or int64 (STACK,), scratch
    Source: any-hit walk of the tree.
    """
    pieces, bounds, child, counts = geometry.pieces, geometry.tree_bounds, geometry.tree_child, geometry.tree_count
    plane, front, back = pieces.plane, pieces.front, pieces.back
    if counts.shape[0] == 0:
        return False
    inverse = inverse_direction(direction)
    stack[0] = 0
    top = 1
    while top > 0:
        top -= 1
        node = np.int64(stack[top])
        if box_entry(bounds, node, origin, inverse, limit) == math.inf:
            continue
        count = np.int64(counts[node])
        first = np.int64(child[node])
        if count > 0:
            for k in range(first, first + count):
                i = np.int64(geometry.tree_patch[k])
                a, b = front[i], back[i]
                if a != own and a != end and (b < 0 or (b != own and b != end)):
                    s, _, _ = patch_hit(plane, i, origin, direction, limit)
                    if s > 0.0:
                        return True
        else:
            stack[top] = first
            stack[top + 1] = first + 1
            top += 2
    return False


@kernel
def blocked_by_piece(geometry, origin, direction, distance, skip, skip_end, stack):
    """As geometry.blocked [m], where there are pieces: walls of a room that is no box block too. Source: `pieces_between`."""
    limit = distance * (1.0 - 1e-9)
    if relief_blocks(geometry.relief, origin, direction, limit, skip, skip_end):
        return True
    return pieces_between(
        geometry, origin, direction, limit, base_of(geometry.pieces, skip), base_of(geometry.pieces, skip_end), stack
    )
