"""Do a pyramid (a beam, a look at the picture) and a box or a head share a point? Exact tests on convex bodies.

All places in one frame, [m]; the tests do not mind which, nor its handedness.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import chain

from .model import Body, Box, Place

Pyramid = tuple[Place, Place, Place, Place, Place]  # apex, then the base rectangle's corners in order
TOUCH_M = 1e-6  # bodies that share less than this much depth only touch
_UNIT: tuple[Place, Place, Place] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def sub(a: Place, b: Place) -> Place:
    """a - b"""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def dot(a: Place, b: Place) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Place, b: Place) -> Place:
    """Vector product."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def inside_box(place: Place, box: Box | Body) -> bool:
    """True in the box, or in the one round a mesh, and on its faces."""
    return all(low <= x <= high for low, x, high in zip(box.min_m, place, box.max_m, strict=True))


def boxes_overlap(a: Box, b: Box) -> bool:
    """True where two boxes share more than TOUCH_M [m] of depth; faces that touch do not count."""
    return all(min(a.max_m[i], b.max_m[i]) - max(a.min_m[i], b.min_m[i]) > TOUCH_M for i in range(3))


def _apart(pyramid: Pyramid, low: Place, high: Place) -> bool:
    """True where the boxes around two bodies are apart: settles most pairs of a crowded room at once."""
    for (a, b, c, d, e), least, most in zip(zip(*pyramid, strict=True), low, high, strict=True):
        if min(a, b, c, d, e) >= most or max(a, b, c, d, e) <= least:
            return True
    return False


def _not_too_thin(box: Box) -> Box:
    """The box, at least 1.5 TOUCH_M thick about its middle: so one within the pyramid is found, one that touches it is not."""
    if min(high - low for low, high in zip(box.min_m, box.max_m, strict=True)) >= 1.5 * TOUCH_M:
        return box
    grown = [max(0.0, 0.75 * TOUCH_M - 0.5 * (high - low)) for low, high in zip(box.min_m, box.max_m, strict=True)]
    low: Place = (box.min_m[0] - grown[0], box.min_m[1] - grown[1], box.min_m[2] - grown[2])
    high: Place = (box.max_m[0] + grown[0], box.max_m[1] + grown[1], box.max_m[2] + grown[2])
    return replace(box, min_m=low, max_m=high)


def _pyramid_axes(pyramid: Pyramid) -> tuple[list[Place], list[Place]]:
    """Face normals and edge directions of a pyramid."""
    apex, *base = pyramid
    spokes = [sub(corner, apex) for corner in base]
    sides = [sub(base[1], base[0]), sub(base[3], base[0])]
    normals = [cross(spokes[i], spokes[(i + 1) % 4]) for i in range(4)] + [cross(*sides)]
    return normals, spokes + sides


def pyramid_meets_box(pyramid: Pyramid, box: Box) -> bool:
    """True where a pyramid and a box share more than TOUCH_M [m] of depth; a box thinner than that counts as a little thicker.

    Separating-axis theorem: two convex polyhedra are apart exactly if a face normal of one, or a product of two edges,
    one of each, separates their shadows.
    Source: S. Gottschalk, M. C. Lin, D. Manocha, SIGGRAPH 1996, section 5 [from memory].
    """
    if _apart(pyramid, box.min_m, box.max_m):
        return False
    box = _not_too_thin(box)
    (x0, y0, z0), (x1, y1, z1) = box.min_m, box.max_m
    at_x, at_y, at_z = 0.5 * (x0 + x1), 0.5 * (y0 + y1), 0.5 * (z0 + z1)
    half_x, half_y, half_z = 0.5 * (x1 - x0), 0.5 * (y1 - y0), 0.5 * (z1 - z0)
    normals, edges = _pyramid_axes(pyramid)
    crossed = (axis for a, b, c in edges for axis in ((0.0, -c, b), (c, 0.0, -a), (-b, a, 0.0)))
    (p0, q0, r0), (p1, q1, r1), (p2, q2, r2), (p3, q3, r3), (p4, q4, r4) = pyramid
    for x, y, z in chain(_UNIT, normals, crossed):
        length = math.sqrt(x * x + y * y + z * z)
        if length < 1e-12:  # parallel edges name no axis
            continue
        a, b, c = x * p0 + y * q0 + z * r0, x * p1 + y * q1 + z * r1, x * p2 + y * q2 + z * r2
        d, e = x * p3 + y * q3 + z * r3, x * p4 + y * q4 + z * r4
        middle, reach = x * at_x + y * at_y + z * at_z, abs(x) * half_x + abs(y) * half_y + abs(z) * half_z
        if min(max(a, b, c, d, e), middle + reach) - max(min(a, b, c, d, e), middle - reach) <= TOUCH_M * length:
            return False
    return True


def pyramid_meets_sphere(pyramid: Pyramid, centre: Place, radius_m: float) -> bool:
    """True where a pyramid and a sphere share more than TOUCH_M [m] of depth. Source: `distance_to_pyramid`."""
    x, y, z = centre
    if _apart(pyramid, (x - radius_m, y - radius_m, z - radius_m), (x + radius_m, y + radius_m, z + radius_m)):
        return False
    beyond = _farthest_beyond_a_face(pyramid, centre)
    if beyond >= radius_m:  # all of the body lies on the other side of that face
        return False
    return beyond <= 0.0 or distance_to_pyramid(pyramid, centre) < radius_m - TOUCH_M


def _farthest_beyond_a_face(pyramid: Pyramid, place: Place) -> float:
    """Greatest signed distance [m] of a place from the planes of a pyramid's faces, outwards; 0 or less inside. Source: derived."""
    apex, b, c, d, e = pyramid
    middle = ((b[0] + d[0]) / 2, (b[1] + d[1]) / 2, (b[2] + d[2]) / 2)  # of the base
    inner = ((apex[0] + middle[0]) / 2, (apex[1] + middle[1]) / 2, (apex[2] + middle[2]) / 2)
    most = -math.inf
    for p, q, r in ((apex, b, c), (apex, c, d), (apex, d, e), (apex, e, b), (b, c, d)):
        x, y, z = p
        ux, uy, uz, vx, vy, vz = q[0] - x, q[1] - y, q[2] - z, r[0] - x, r[1] - y, r[2] - z
        nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        size = math.sqrt(nx * nx + ny * ny + nz * nz)
        if size > 0.0:
            side = -1.0 if nx * (inner[0] - x) + ny * (inner[1] - y) + nz * (inner[2] - z) > 0.0 else 1.0
            most = max(most, side * (nx * (place[0] - x) + ny * (place[1] - y) + nz * (place[2] - z)) / size)
    return most


def distance_to_pyramid(pyramid: Pyramid, place: Place) -> float:
    """Distance [m] from a place to a pyramid, 0 inside it. Source: derived, nearest of faces and edges."""
    apex, *base = pyramid
    middle: Place = tuple(sum(point[i] for point in pyramid) / 5 for i in range(3))  # type: ignore[assignment]
    faces = [(apex, base[i], base[(i + 1) % 4]) for i in range(4)] + [(base[0], base[1], base[2]), (base[0], base[2], base[3])]
    inside = True
    for a, b, c in faces:
        normal = cross(sub(b, a), sub(c, a))
        if dot(normal, sub(place, a)) * dot(normal, sub(middle, a)) < 0:
            inside = False
    return 0.0 if inside else min(_distance_to_triangle(place, *face) for face in faces)


def _distance_to_triangle(p: Place, a: Place, b: Place, c: Place) -> float:
    """Distance [m] from a place to a triangle: to its plane where the foot lies in it, else to its nearest edge."""
    normal = cross(sub(b, a), sub(c, a))
    area = dot(normal, normal)
    if area > 0 and all(dot(normal, cross(sub(v, u), sub(p, u))) >= 0 for u, v in ((a, b), (b, c), (c, a))):
        return abs(dot(normal, sub(p, a))) / math.sqrt(area)
    return min(_distance_to_edge(p, u, v) for u, v in ((a, b), (b, c), (c, a)))


def _distance_to_edge(p: Place, a: Place, b: Place) -> float:
    along = sub(b, a)
    length = dot(along, along)
    t = min(1.0, max(0.0, dot(sub(p, a), along) / length)) if length > 0 else 0.0
    return math.dist(p, (a[0] + t * along[0], a[1] + t * along[1], a[2] + t * along[2]))
