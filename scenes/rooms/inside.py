"""What lies inside a mesh, how near to it, and which of its triangles a box or a pyramid meets. Vectorised, exact, [m]."""

from __future__ import annotations

import numpy as np

TOUCH_M = 1e-6  # bodies that share less than this much depth only touch
_CHUNK = 2_000_000  # triangles times places at once


def _cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Vector products (..., 3), written out: of a few triangles the library's own takes ten times as long."""
    x, y, z = a[..., 0], a[..., 1], a[..., 2]
    u, v, w = b[..., 0], b[..., 1], b[..., 2]
    return np.stack([y * w - z * v, z * u - x * w, x * v - y * u], axis=-1)


def winding(triangles: np.ndarray, places: np.ndarray) -> np.ndarray:
    """How often a closed mesh (F, 3, 3) [m] winds round places (n, 3) [m]: 1 inside, 0 outside, turned about where it faces inwards.

    Source: van Oosterom and Strackee (1983), solid angle of a triangle, over 4 pi; with holes the part of the sphere that is shut.
    """
    out = np.zeros(len(places))
    step = max(1, _CHUNK // max(len(triangles), 1))
    for low in range(0, len(places), step):
        q = triangles[None] - places[low : low + step, None, None]
        a, b, c = q[:, :, 0], q[:, :, 1], q[:, :, 2]
        la, lb, lc = (np.linalg.norm(side, axis=2) for side in (a, b, c))
        det = np.einsum("ijk,ijk->ij", a, _cross(b, c))
        rest = la * lb * lc + (a * b).sum(2) * lc + (b * c).sum(2) * la + (c * a).sum(2) * lb
        out[low : low + step] = np.arctan2(det, rest).sum(axis=1) / (2.0 * np.pi)
    return out


def distances(triangles: np.ndarray, place: np.ndarray) -> np.ndarray:
    """Distance [m] of a place (3,) from each triangle (F, 3, 3). Source: nearest of the plane's foot and the three edges."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    edges = []
    for p, q in ((a, b), (b, c), (c, a)):
        along = q - p
        t = np.clip(((place - p) * along).sum(1) / np.maximum((along * along).sum(1), 1e-300), 0.0, 1.0)
        edges.append(np.linalg.norm(place - p - t[:, None] * along, axis=1))
    normal = _cross(b - a, c - a)
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-300)
    inside = np.ones(len(triangles), bool)
    for p, q in ((a, b), (b, c), (c, a)):
        inside &= (_cross(q - p, place - p) * normal).sum(1) >= 0.0
    off = np.abs(((place - a) * normal).sum(1))
    return np.where(inside, off, np.minimum.reduce(edges))


def _apart(axes: np.ndarray, triangles: np.ndarray, body: np.ndarray) -> np.ndarray:
    """True for the triangles (F,) that one of the axes (F or 1, A, 3) parts from a convex body (n, 3) by less than TOUCH_M of depth."""
    length = np.linalg.norm(axes, axis=2)
    of_triangle = np.einsum("fak,fck->fac", np.broadcast_to(axes, (len(triangles), *axes.shape[1:])), triangles)
    of_body = np.einsum("fak,ck->fac", axes, body)
    shared = np.minimum(of_triangle.max(2), of_body.max(2)) - np.maximum(of_triangle.min(2), of_body.min(2))
    flat = np.ptp(of_triangle, axis=2) < TOUCH_M * length  # the triangle's own plane: it meets where it lies within
    through = (of_triangle.max(2) > of_body.min(2) + TOUCH_M * length) & (of_triangle.min(2) < of_body.max(2) - TOUCH_M * length)
    meets = np.where(flat, through, shared > TOUCH_M * length)
    return np.asarray((~meets & (length > 1e-12)).any(axis=1))


def meeting(triangles: np.ndarray, corners: np.ndarray, normals: np.ndarray, edges: np.ndarray) -> np.ndarray:
    """True for the triangles (F, 3, 3) that share more than TOUCH_M of depth with a convex body [m].

    corners (n, 3), normals (m, 3) of its faces, edges (k, 3) their directions
    Source: separating axes (Gottschalk, Lin and Manocha, SIGGRAPH 1996; from memory).
    """
    out = np.zeros(len(triangles), bool)
    low, high = corners.min(axis=0) + TOUCH_M, corners.max(axis=0) - TOUCH_M
    some = np.flatnonzero((triangles.min(axis=1) < high).all(1) & (triangles.max(axis=1) > low).all(1))
    for at in range(0, len(some), 20_000):
        part = triangles[some[at : at + 20_000]]
        if not len(part):
            break
        sides = np.stack([part[:, 1] - part[:, 0], part[:, 2] - part[:, 1], part[:, 0] - part[:, 2]], axis=1)
        own = _cross(sides[:, 0], sides[:, 1])[:, None]
        across = _cross(sides[:, :, None], edges[None, None]).reshape(len(part), -1, 3)
        apart = _apart(normals[None], part, corners)
        apart |= _apart(np.concatenate([own, across], axis=1), part, corners)
        out[some[at : at + 20_000]] = ~apart
    return out


def meets_box(triangles: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """True for the triangles (F, 3, 3) that reach into a box between two corners (3,) [m]; those that touch it do not.

    Source: `meeting`.
    """
    low, high = np.minimum(low, high), np.maximum(low, high)
    corners = np.array([[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])])
    return meeting(triangles, corners, np.eye(3), np.eye(3))


def meets_pyramid(triangles: np.ndarray, pyramid: np.ndarray) -> np.ndarray:
    """True for the triangles (F, 3, 3) that reach into a pyramid (5, 3) [m]: apex, then the corners of its base in order.

    Source: `meeting`.
    """
    apex, base = pyramid[0], pyramid[1:]
    spokes = base - apex
    sides = np.array([base[1] - base[0], base[3] - base[0]])
    normals = np.concatenate([_cross(spokes, np.roll(spokes, -1, axis=0)), _cross(sides[:1], sides[1:])])
    return meeting(triangles, pyramid, normals, np.concatenate([spokes, sides]))


def is_inside(triangles: np.ndarray, places: np.ndarray) -> np.ndarray:
    """True for places (n, 3) [m] that a mesh (F, 3, 3) shuts in, however it faces. Source: `winding`."""
    return np.asarray(np.abs(winding(triangles, places)) > 0.5)
