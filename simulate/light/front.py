"""A front of paths: the rays of many paths side by side, met with the room in loops without branches.

The compiler takes eight rays or so at once in such loops: a ray among walls takes 5 ns where one by one it took 40. It does so where
all that may be written back is read before it is chosen from. What is convex and has six sides (most furniture) is met as one solid;
folded cloth and many pieces are asked ray by ray.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.kernels.by_type import by_type, holds
from ...materials.kernels.jit import kernel
from .displaced_screen import hit_relief, normal_on
from .front_pieces import FEW_PIECES, nearer_pieces
from .geometry import is_pieced, nearest_hit
from .numbers import LANES
from .rays import NO_HIT, STACK, distance_to, place_on, row_of, shell_hit
from .vectors import dot, row, tangents, to_world, turned_direction

PLACES = 65535.0
_LEVEL = 1e-300  # in place of 0, so that along faces a ray's way to them is very long and never 0 / 0
WIDE = 16  # rays are met in multiples of this, so that no loop ends ray by ray


class RayFront(NamedTuple):
    """Rays side by side, scratch of one thread: the first of LANES are in use.

    place, way, normal  (3, LANES) where each begins [m], unit direction [1], normal of the surface that it leaves or has met [1]
    reach, u, v         (LANES,) distance to what it meets [m], and where on that patch [1]
    number              (2, LANES) random numbers that its direction comes from [1]
    patch, skip, own    (LANES,) int32, the patch that it meets or NO_HIT, the one that it leaves or -1, the solid that it leaves or -1
    lane                (LANES,) int32, number of its path in the block
    steps               (2, LANES) uint16, u and v in steps of 1 / PLACES
    stack               int32 (STACK,)
    """

    place: np.ndarray
    way: np.ndarray
    normal: np.ndarray
    reach: np.ndarray
    u: np.ndarray
    v: np.ndarray
    number: np.ndarray
    patch: np.ndarray
    skip: np.ndarray
    own: np.ndarray
    lane: np.ndarray
    steps: np.ndarray
    stack: np.ndarray


def new_front() -> RayFront:
    """A front that has not begun; all zeros, since rays beyond the last in use are met as well."""
    rays, marks, steps = np.zeros((14, LANES)), np.zeros((4, LANES), np.int32), np.zeros((2, LANES), np.uint16)
    numbers = (rays[:3], rays[3:6], rays[6:9], rays[9], rays[10], rays[11], rays[12:])
    return RayFront(*numbers, marks[0], marks[1], marks[2], marks[3], steps, np.empty(STACK, np.int32))


@kernel
def scatter(front, count):
    """Turn the first `count` rays by their numbers into directions of the cosine law about their normals. Source: `turned_direction`."""
    way, normal = front.way, front.normal
    for i in range(count):
        local = turned_direction(front.number[0, i], front.number[1, i])
        n = (normal[0, i], normal[1, i], normal[2, i])
        right, up = tangents(n)
        way[0, i], way[1, i], way[2, i] = to_world(local, right, up, n)


@kernel
def leave(geometry, front, starts, s, count):
    """Let the first `count` rays leave start s by the cosine law, by their numbers. Source: `turned_direction`."""
    place, way = front.place, front.way
    origin, right, up, n = row(starts.place, s), row(starts.right, s), row(starts.up, s), row(starts.normal, s)
    patch = np.int32(starts.patch[s])
    own = np.int32(geometry.solid_of[patch] if patch >= 0 else -1)
    for i in range(count):
        local = turned_direction(front.number[0, i], front.number[1, i])
        way[0, i], way[1, i], way[2, i] = to_world(local, right, up, n)
        place[0, i], place[1, i], place[2, i] = origin
        front.skip[i], front.own[i] = patch, own


@by_type(lambda geometry, *_: _meet_pieces if holds(geometry, "pieces") else _meet_patches)  # type: ignore[has-type]
def meet(geometry, front, count):
    """Write patch, reach, u and v of what the first `count` rays meet; patch NO_HIT where it is nothing. Source: `nearest_hit`."""
    return _meet_pieces(geometry, front, count) if is_pieced(geometry) else _meet_patches(geometry, front, count)


@kernel
def _meet_one_by_one(geometry, front, count):
    place, way = front.place, front.way
    for i in range(count):
        origin, direction = (place[0, i], place[1, i], place[2, i]), (way[0, i], way[1, i], way[2, i])
        t, patch, u, v = nearest_hit(geometry, origin, direction, np.int64(front.skip[i]), front.stack)
        front.reach[i], front.patch[i], front.u[i], front.v[i] = t, np.int32(patch), u, v


@kernel
def _meet_pieces(geometry, front, count):
    if geometry.pieces.plane.shape[0] > FEW_PIECES:
        _meet_one_by_one(geometry, front, count)
        return
    meet_shell(geometry, front, count)
    nearer_pieces(geometry, meet_relief(geometry, front, count), front, count)


@kernel
def _meet_patches(geometry, front, count):
    meet_shell(geometry, front, count)
    cloth = meet_relief(geometry, front, count)
    for k in range(geometry.solid_face.shape[0]):
        meet_solid(geometry, np.int32(k), front, count)
    loose = geometry.loose
    for k in range(loose.shape[0]):
        meet_flat(geometry.plane, loose[k], front, count)
    place_on_patches(geometry.plane, cloth, front, count)


@kernel
def meet_shell(geometry, front, count):
    """Begin with what the rays meet of the empty shell. Source: `shell_hit`."""
    place, way = front.place, front.way
    bare = math.isnan(geometry.box[0, 0])
    for i in range(count):
        t, patch = shell_hit(geometry.box, (place[0, i], place[1, i], place[2, i]), (way[0, i], way[1, i], way[2, i]))
        front.reach[i] = math.inf if bare else t
        front.patch[i] = np.int32(NO_HIT) if bare else np.int32(patch)


@kernel
def meet_solid(geometry, solid, front, count):
    """Note where rays meet a solid before what they have met.

    A ray that leaves one of its faces cannot meet it again; one that begins inside meets a back.
    Source: slab method (Kay and Kajiya 1986) in the coordinates in which the solid is the unit cube.
    """
    place, way, s, face = front.place, front.way, geometry.solid[solid], geometry.solid_face[solid]
    cx, cy, cz, ax, ay, az = s[0], s[1], s[2], s[3], s[4], s[5]
    bx, by, bz, ex, ey, ez = s[6], s[7], s[8], s[9], s[10], s[11]
    a0, a1, b0, b1, c0, c1 = face[0], face[1], face[2], face[3], face[4], face[5]
    for i in range(count):
        qx, qy, qz = cx - place[0, i], cy - place[1, i], cz - place[2, i]
        dx, dy, dz = way[0, i], way[1, i], way[2, i]
        along = dx * ax + dy * ay + dz * az
        inverse = 1.0 / (along if along != 0.0 else _LEVEL)
        low = (qx * ax + qy * ay + qz * az) * inverse
        high = low + inverse
        enter, leave = low if low < high else high, high if low < high else low
        into, out = a0 if inverse > 0.0 else a1, a1 if inverse > 0.0 else a0
        along = dx * bx + dy * by + dz * bz
        inverse = 1.0 / (along if along != 0.0 else _LEVEL)
        low = (qx * bx + qy * by + qz * bz) * inverse
        high = low + inverse
        near, far = low if low < high else high, high if low < high else low
        into = (b0 if inverse > 0.0 else b1) if near > enter else into
        out = (b1 if inverse > 0.0 else b0) if far < leave else out
        enter, leave = near if near > enter else enter, far if far < leave else leave
        along = dx * ex + dy * ey + dz * ez
        inverse = 1.0 / (along if along != 0.0 else _LEVEL)
        low = (qx * ex + qy * ey + qz * ez) * inverse
        high = low + inverse
        near, far = low if low < high else high, high if low < high else low
        into = (c0 if inverse > 0.0 else c1) if near > enter else into
        out = (c1 if inverse > 0.0 else c0) if far < leave else out
        enter, leave = near if near > enter else enter, far if far < leave else leave
        inside = enter <= 1e-7
        t, patch = leave if inside else enter, out if inside else into
        nearest, before = front.reach[i], front.patch[i]
        hit = (enter <= leave) & (t > 1e-7) & (t < nearest) & (front.own[i] != solid)
        front.reach[i], front.patch[i] = t if hit else nearest, patch if hit else before


@kernel
def meet_flat(plane, patch, front, count):
    """Note where rays meet a patch before what they have met."""
    place, way, numbers = front.place, front.way, row_of(plane, patch)
    for i in range(count):
        origin, direction = (place[0, i], place[1, i], place[2, i]), (way[0, i], way[1, i], way[2, i])
        nearest, before = front.reach[i], front.patch[i]
        t = distance_to(numbers, origin, direction)
        hit = (t < nearest) & (front.skip[i] != patch)
        front.reach[i], front.patch[i] = t if hit else nearest, patch if hit else before


@kernel
def place_on_patches(plane, cloth, front, count):
    """Write u and v of what rays have met, but on the folded cloth, the patch `cloth`. Source: `place_on`."""
    place, way = front.place, front.way
    for i in range(count):
        patch, t = np.uint32(max(front.patch[i], np.int32(0))), front.reach[i]
        p = (place[0, i] + t * way[0, i], place[1, i] + t * way[1, i], place[2, i] + t * way[2, i])
        u, v = place_on(plane, patch, p)
        known = front.patch[i] == cloth
        front.u[i], front.v[i] = front.u[i] if known else u, front.v[i] if known else v


@by_type(lambda geometry, *_: _meet_relief if holds(geometry, "relief") else _meet_no_relief)  # type: ignore[has-type]
def meet_relief(geometry, front, count):
    """Note where rays meet folded cloth before what they have met; returns its patch, NO_HIT without. Source: `hit_relief`."""
    return _meet_relief(geometry, front, count) if len(geometry.relief) else _meet_no_relief(geometry, front, count)


@kernel
def _meet_no_relief(geometry, front, count):
    return np.int32(NO_HIT)


@kernel
def _meet_relief(geometry, front, count):
    place, way = front.place, front.way
    for i in range(count):
        origin, direction = (place[0, i], place[1, i], place[2, i]), (way[0, i], way[1, i], way[2, i])
        t, patch, u, v = hit_relief(geometry.relief, origin, direction, np.int64(front.skip[i]), front.reach[i])
        if t > 0.0:
            front.reach[i], front.patch[i], front.u[i], front.v[i] = t, np.int32(patch), u, v
    return np.int32(geometry.relief.patch[0])


@kernel
def turn_to_meet(geometry, front, count):
    """Write normals and steps of what rays have met; patch NO_HIT where that is a black back or nothing. Source: definition."""
    normal, way = front.normal, front.way
    for i in range(count):
        patch = front.patch[i]
        n = normal_on(geometry, np.int64(max(patch, np.int32(0))), front.u[i], front.v[i])
        normal[0, i], normal[1, i], normal[2, i] = n
        u, v = front.u[i] if front.u[i] > 0.0 else 0.0, front.v[i] if front.v[i] > 0.0 else 0.0
        front.steps[0, i] = np.uint16(np.int32((u if u < 1.0 else 1.0) * PLACES + 0.5))
        front.steps[1, i] = np.uint16(np.int32((v if v < 1.0 else 1.0) * PLACES + 0.5))
        front.patch[i] = patch if dot(n, (way[0, i], way[1, i], way[2, i])) < 0.0 else np.int32(NO_HIT)


@kernel
def go_on(geometry, front, i, to):
    """Let ray i begin anew where it has met something, as number `to`, at most i. Source: definition."""
    place, way, normal, t = front.place, front.way, front.normal, front.reach[i]
    i, to = np.uint64(i), np.uint64(to)  # an unsigned index spares the test for a negative one
    for k in range(3):
        place[k, to] = place[k, i] + t * way[k, i]
        normal[k, to] = normal[k, i]
    patch = front.patch[i]
    front.skip[to], front.own[to], front.lane[to] = patch, geometry.solid_of[max(patch, np.int32(0))], front.lane[i]
