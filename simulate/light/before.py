"""What may stand between a node of the map and the lit screen, where there are pieces: a short list of them, or the tree."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from .pieces import pieces_between
from .rays import STACK
from .vectors import dot, row, sub

LISTED = 24  # pieces that are tested one by one; where more may stand before the screen the tree is asked
BY_TREE = -1
_HAIR = 1e-9
LIFT_M = 2e-5  # off the surface and its neighbours: corners in single precision lie off their plane by less


class NodeSight(NamedTuple):
    """How a node of the map sees the lit screen.

    place, normal  of the node, three numbers each [m], [1]
    shift     three numbers, from the node's place to where its sight is asked [m], where there are pieces
    found     int64, patches or pieces that may stand before the screen;  blockers  how many of them, or BY_TREE
    whole     True where nothing hides anything of the screen, the node's own horizon neither
    """

    place: tuple[float, float, float]
    normal: tuple[float, float, float]
    shift: tuple[float, float, float]
    found: np.ndarray
    blockers: int
    whole: bool


@kernel
def side_plane(y, a, b, middle, plane):
    """Write the plane through y, a and b (3,) [m] that looks towards y + middle into plane (4,). Source: cross product."""
    px, py, pz = a[0] - y[0], a[1] - y[1], a[2] - y[2]
    qx, qy, qz = b[0] - y[0], b[1] - y[1], b[2] - y[2]
    sx, sy, sz = py * qz - pz * qy, pz * qx - px * qz, px * qy - py * qx
    turn = -1.0 if sx * middle[0] + sy * middle[1] + sz * middle[2] < 0.0 else 1.0
    lay_plane((turn * sx, turn * sy, turn * sz), y, plane)


@kernel
def lay_plane(normal, place, plane):
    """Write a plane's normal [any unit] and how far it lies along it from the origin [times m] into plane (4,). Source: definition."""
    plane[0], plane[1], plane[2] = normal
    plane[3] = dot(normal, place) + _HAIR


@kernel
def pyramid_of(y, n, rim, planes):
    """Write the half-spaces that hold the pyramid from a node y [m], normal n, to the rim (4, 3) [m]: planes (6, 4) that look inwards.

    Source: convexity; what lies outside one of them cannot cut a segment from the node to the cloth.
    """
    a, b, c = row(rim, 0), row(rim, 1), row(rim, 2)
    ax, ay, az = sub(b, a)
    bx, by, bz = sub(c, b)
    lay_plane(n, y, planes[0])
    lay_plane((ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx), a, planes[1])
    mx = 0.25 * (rim[0, 0] + rim[1, 0] + rim[2, 0] + rim[3, 0]) - y[0]
    my = 0.25 * (rim[0, 1] + rim[1, 1] + rim[2, 1] + rim[3, 1]) - y[1]
    mz = 0.25 * (rim[0, 2] + rim[1, 2] + rim[2, 2] + rim[3, 2]) - y[2]
    for k in range(4):
        side_plane(y, rim[k], rim[(k + 1) % 4], (mx, my, mz), planes[2 + k])


@kernel
def box_outside(bounds, node, planes):
    """True when a box of the tree lies outside one of the planes (6, 4). Source: its farthest corner along each normal."""
    for k in range(6):
        most = 0.0
        for axis in range(3):
            n = planes[k, axis]
            most += max(n * bounds[node, axis], n * bounds[node, 3 + axis])
        if most <= planes[k, 3]:
            return True
    return False


@kernel
def piece_outside(pieces, i, planes):
    """True when a piece lies outside one of the planes (6, 4). Source: its corners."""
    for k in range(6):
        n = row(planes, k)
        base, u, v = dot(n, row(pieces.plane, i)), dot(n, row(pieces.edge_u, i)), dot(n, row(pieces.edge_v, i))
        both = u + v if pieces.plane[i, 12] == 0.0 else 0.0
        if base + max(0.0, u, v, both) <= planes[k, 3]:
            return True
    return False


@kernel
def pieces_before(geometry, y, n, rim, scratch):
    """Write into scratch.found the pieces that may stand between a node and the screen; returns how many, or BY_TREE for many.

    y, n   place [m] and normal of the node;  rim (4, 3) [m] holds the lit cloth;  scratch  a SightScratch
    Source: `pyramid_of`.
    """
    planes, found = scratch.planes, scratch.found
    pyramid_of(y, n, rim, planes)
    child, counts = geometry.tree_child, geometry.tree_count
    if counts.shape[0] == 0:
        return 0
    many, top = 0, LISTED
    found[top] = 0
    top += 1
    while top > LISTED:
        top -= 1
        node = found[top]
        if box_outside(geometry.tree_bounds, node, planes):
            continue
        count, first = np.int64(counts[node]), np.int64(child[node])
        if count == 0:
            found[top] = first
            found[top + 1] = first + 1
            top += 2
            continue
        for k in range(first, first + count):
            i = np.int64(geometry.tree_patch[k])
            if not piece_outside(geometry.pieces, i, planes):
                if many == LISTED:
                    return BY_TREE
                found[many] = i
                many += 1
    return many


@kernel
def some_box_within(boxes, planes, inside):
    """True when some of the boxes (6, m), middle then half size [m], may reach inside all of the planes (6, 4).

    inside  scratch, at least (m,). Source: a box's farthest corner along each normal; without a branch, as `patches_before`.
    """
    many = boxes.shape[1]
    for k in range(many):
        inside[k] = 1.0
    for p in range(6):
        nx, ny, nz, least = planes[p, 0], planes[p, 1], planes[p, 2], planes[p, 3]
        ax, ay, az = abs(nx), abs(ny), abs(nz)
        for k in range(many):
            most = nx * boxes[0, k] + ny * boxes[1, k] + nz * boxes[2, k] + ax * boxes[3, k] + ay * boxes[4, k] + az * boxes[5, k]
            inside[k] = inside[k] if most > least else 0.0
    some = 0.0
    for k in range(many):
        some += inside[k]
    return some > 0.0


@kernel
def patches_before(occluders, corners, boxes, y, n, rim, scratch):
    """Write into scratch.found those of the occluders (n,) that may stand between a node and the screen; returns how many.

    corners (12, n) of the occluders, boxes (6, m) that hold them, middle then half size [m];  y, n, rim  as `pieces_before` has them
    scratch  a SightScratch
    Loops have no branch, so the compiler takes several occluders at once.
    Source: convexity; an occluder with no corner on the inner side of one of the planes is left out.
    """
    inside, many, planes = scratch.inside, occluders.shape[0], scratch.planes
    pyramid_of(y, n, rim, planes)
    if not some_box_within(boxes, planes, inside):
        return 0
    for k in range(many):
        inside[k] = 1.0
    for p in range(6):
        nx, ny, nz, least = planes[p, 0], planes[p, 1], planes[p, 2], planes[p, 3]
        for k in range(many):
            a = nx * corners[0, k] + ny * corners[1, k] + nz * corners[2, k]
            b = nx * corners[3, k] + ny * corners[4, k] + nz * corners[5, k]
            c = nx * corners[6, k] + ny * corners[7, k] + nz * corners[8, k]
            d = nx * corners[9, k] + ny * corners[10, k] + nz * corners[11, k]
            a, c = a if a > b else b, c if c > d else d
            inside[k] = inside[k] if (a if a > c else c) > least else 0.0
    count = 0
    for k in range(many):
        scratch.found[count] = occluders[k]
        count += 1 if inside[k] > 0.0 else 0
    return count


@kernel
def without_backs(geometry, y, found, count):
    """Leave out of the first `count` patches of `found` the backs of solids that a node y [m] stands outside of; returns how many are left.

    Source: what a convex body hides is what those of its faces hide that look towards the node.
    """
    kept = 0
    for k in range(count):
        i = found[k]
        solid = geometry.solid_of[i]
        found[kept] = i
        back = dot(sub(y, row(geometry.corner, i)), row(geometry.normal, i)) < 0.0
        kept += 0 if back and solid >= 0 and stands_outside(geometry.solid[solid], y) else 1
    return kept


@kernel
def stands_outside(solid, y):
    """True where y [m] lies outside of a solid (12,) as solids.Solids has it, by more than rounding. Source: its own coordinates."""
    q = (y[0] - solid[0], y[1] - solid[1], y[2] - solid[2])
    outside = False
    for k in range(3, 12, 3):
        at = q[0] * solid[k] + q[1] * solid[k + 1] + q[2] * solid[k + 2]
        outside = outside or at < -_HAIR or at > 1.0 + _HAIR
    return outside


@kernel
def cut_by_tree(geometry, sight, samples, first, many, sent, at):
    """Put nought into `sent` from `at` on for those of the samples first .. first + many - 1 that a piece hides from a node's eye.

    sight  a NodeSight;  samples (7, n) place [m] first
    Source: `pieces_between`; the node's own eye lies `shift` off its place.
    """
    y, shift, none = sight.place, sight.shift, np.int64(-1)
    for i in range(many):
        if sent[at + i] > 0.0:
            sample = (samples[0, first + i], samples[1, first + i], samples[2, first + i])
            to_eye = (y[0] + shift[0] - sample[0], y[1] + shift[1] - sample[1], y[2] + shift[2] - sample[2])
            if pieces_between(geometry, sample, to_eye, 1.0 - 1e-9, none, none, sight.found[LISTED:]):
                sent[at + i] = 0.0


def list_of(occluders: np.ndarray, pieced: bool) -> np.ndarray:
    """Scratch for the list of one thread: int64, one more than there are occluders, or LISTED and a stack where there are pieces."""
    return np.empty(LISTED + STACK if pieced else len(occluders) + 1, np.int64)
