"""Do a pyramid (a beam, a look at the picture) and a box or a head share a point? Exact tests on convex bodies.

All places in one frame, [m]; the tests do not mind which, nor its handedness.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from .model import Body, Box, Place

Pyramid = tuple[Place, Place, Place, Place, Place]  # apex, then the base rectangle's corners in order
TOUCH_M = 1e-6  # bodies that share less than this much depth only touch


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
    return any(min(point[i] for point in pyramid) >= high[i] or max(point[i] for point in pyramid) <= low[i] for i in range(3))


def _span(points: Sequence[Place], axis: Place) -> tuple[float, float]:
    values = [dot(point, axis) for point in points]
    return min(values), max(values)


def _box_corners(box: Box) -> list[Place]:
    return [
        (x, y, z)
        for x in (box.min_m[0], box.max_m[0])
        for y in (box.min_m[1], box.max_m[1])
        for z in (box.min_m[2], box.max_m[2])
    ]


def _not_too_thin(box: Box) -> Box:
    """The box, at least 1.5 TOUCH_M thick about its middle: so one within the pyramid is found, one that touches it is not."""
    grown = [max(0.0, 0.75 * TOUCH_M - 0.5 * (high - low)) for low, high in zip(box.min_m, box.max_m, strict=True)]
    if not any(grown):
        return box
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
    corners = _box_corners(_not_too_thin(box))
    unit: list[Place] = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)]
    normals, edges = _pyramid_axes(pyramid)
    for axis in unit + normals + [cross(a, b) for a in unit for b in edges]:
        length = math.sqrt(dot(axis, axis))
        if length < 1e-12:  # parallel edges name no axis
            continue
        low_a, high_a = _span(pyramid, axis)
        low_b, high_b = _span(corners, axis)
        if min(high_a, high_b) - max(low_a, low_b) <= TOUCH_M * length:
            return False
    return True


def pyramid_meets_sphere(pyramid: Pyramid, centre: Place, radius_m: float) -> bool:
    """True where a pyramid and a sphere share more than TOUCH_M [m] of depth. Source: `distance_to_pyramid`."""
    for i in range(3):
        a, b, c, d, e = (point[i] for point in pyramid)
        if min(a, b, c, d, e) >= centre[i] + radius_m or max(a, b, c, d, e) <= centre[i] - radius_m:
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
        normal = cross(sub(q, p), sub(r, p))
        size = math.sqrt(dot(normal, normal))
        if size > 0.0:
            side = -1.0 if dot(normal, sub(inner, p)) > 0.0 else 1.0
            most = max(most, side * dot(normal, sub(place, p)) / size)
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
