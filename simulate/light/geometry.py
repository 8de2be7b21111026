"""Surfaces as flat patches (parallelograms and triangles) in read-only arrays, and the nearest hit of a ray among them.

Whole patches are few: a ray asks the boxes of all their groups at once, which takes a third of the time of a walk through a tree.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from ...materials.kernels.arguments import lasting
from ...materials.kernels.by_type import by_type, holds
from ...materials.kernels.jit import within_callers
from .displaced_screen import hit_relief, relief_blocks
from .pieces import blocked_by_piece, nearest_piece
from .rays import NO_HIT, STACK, boxes_met, inverse_direction, patch_hit, place_on, shell_hit
from .vectors import along

DIFFUSE, SCREEN = 0, 1
__all__ = ["DIFFUSE", "NO_HIT", "SCREEN", "STACK", "Geometry", "blocked", "is_pieced", "nearest_hit", "patch_hit", "place_on"]


@lasting
class Geometry(NamedTuple):
    """Patches, and what a ray looks for them in; all arrays read-only.

    corner, edge_u, edge_v  (P, 3) a patch is corner + u edge_u + v edge_v [m]
    normal                  (P, 3) unit, towards the side that reflects; the other side is black
    plane                   (P, 13) corner, normal, dual_u, dual_v (u = (p - corner) . dual_u on the patch [1/m]), and
                            1 for a triangle (u + v <= 1), 0 for a parallelogram (u, v <= 1): all that a ray asks, in one row
    surface                 (P,) int32, index of the named surface the patch belongs to
    role                    (P,) uint8, DIFFUSE or SCREEN
    box                     (2, 3) the empty shell of a rectangular room [m]; its patches are 0 .. 5; NaN when there is none
    group_bounds            (6, G) bounds of groups of patches, low then high [m]; none where there are pieces
    group_first             (G + 1,) int32, first place of each group in group_patch
    group_patch             (M,) int32, patches by group, without the shell's; a group is an object, or a part of a larger one
    solid, solid_face, solid_of, loose   bodies with six sides, and what is none, as solids.Solids has them
    tree_bounds             (N, 6) bounds of the nodes of the pieces' tree, low then high [m]
    tree_child              (N,) int32, inner node: first of two neighbouring children; leaf: first place in tree_patch
    tree_count              (N,) int32, pieces in a leaf; 0 for an inner node
    tree_patch              (M,) int32, pieces in tree order
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
    group_bounds: np.ndarray
    group_first: np.ndarray
    group_patch: np.ndarray
    solid: np.ndarray
    solid_face: np.ndarray
    solid_of: np.ndarray
    loose: np.ndarray
    tree_bounds: np.ndarray
    tree_child: np.ndarray
    tree_count: np.ndarray
    tree_patch: np.ndarray
    relief: Any = ()
    pieces: Any = ()


def is_pieced(geometry):
    """True where rays meet pieces; known when a kernel is compiled. Source: definition."""
    return len(geometry.pieces) > 0


@by_type(lambda geometry, *_: nearest_piece if holds(geometry, "pieces") else nearest_patch)
def nearest_hit(geometry, origin, direction, skip, stack):
    """Nearest patch along a ray of unit direction [1] from an origin [m]: (distance [m], patch or NO_HIT, u, v [1]).

    skip   patch the ray starts on (a flat patch cannot see itself), or -1;  stack  int32 (STACK,), scratch
    Source: `nearest_patch`, `nearest_piece`.
    """
    find = nearest_piece if is_pieced(geometry) else nearest_patch
    return find(geometry, origin, direction, skip, stack)


@within_callers
def nearest_patch(geometry, origin, direction, skip, stack):
    """`nearest_hit` [m] without pieces. Source: the box of every group, then the patches of those that the ray meets."""
    plane = geometry.plane
    t, patch, u, v = math.inf, NO_HIT, 0.0, 0.0
    if not math.isnan(geometry.box[0, 0]):
        t, patch = shell_hit(geometry.box, origin, direction)
        if patch >= 0:
            u, v = place_on(plane, patch, along(origin, direction, t))
    s, i, a, b = hit_relief(geometry.relief, origin, direction, skip, t)
    if s > 0.0:
        t, patch, u, v = s, i, a, b
    boxes_met(geometry.group_bounds, origin, inverse_direction(direction), t, stack)
    for g in range(geometry.group_bounds.shape[1]):
        if stack[g] > 0:
            for k in range(geometry.group_first[g], geometry.group_first[g + 1]):
                i = np.int64(geometry.group_patch[k])
                if i != skip:
                    s, a, b = patch_hit(plane, i, origin, direction, t)
                    if s > 0.0:
                        t, patch, u, v = s, i, a, b
    return t, patch, u, v


@by_type(lambda geometry, *_: blocked_by_piece if holds(geometry, "pieces") else blocked_by_patch)
def blocked(geometry, origin, direction, distance, skip, skip_end, stack):
    """True when any patch (shell apart) lies between origin [m] and origin + distance [m] * direction (unit [1]).

    skip, skip_end   patches at the two ends, not tested; -1 for none;  stack  int32 (STACK,), scratch
    Source: `blocked_by_patch`, `blocked_by_piece`.
    """
    find = blocked_by_piece if is_pieced(geometry) else blocked_by_patch
    return find(geometry, origin, direction, distance, skip, skip_end, stack)


@within_callers
def blocked_by_patch(geometry, origin, direction, distance, skip, skip_end, stack):
    """`blocked` [m] without pieces. Source: any hit in a group whose box is met; the shell is convex and blocks nothing inside it."""
    limit = distance * (1.0 - 1e-9)
    if relief_blocks(geometry.relief, origin, direction, limit, skip, skip_end):
        return True
    boxes_met(geometry.group_bounds, origin, inverse_direction(direction), limit, stack)
    for g in range(geometry.group_bounds.shape[1]):
        if stack[g] > 0:
            for k in range(geometry.group_first[g], geometry.group_first[g + 1]):
                i = np.int64(geometry.group_patch[k])
                if i != skip and i != skip_end:
                    s, _, _ = patch_hit(geometry.plane, i, origin, direction, limit)
                    if s > 0.0:
                        return True
    return False
