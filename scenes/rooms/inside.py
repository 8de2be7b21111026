"""What lies inside a mesh, how near to it, and which of its triangles a box or a pyramid meets. Vectorised, exact, [m]."""

from __future__ import annotations

import numpy as np

from ..arrays import crosses, dots, lengths

TOUCH_M = 1e-6  # bodies that share less than this much depth only touch
_CHUNK = 2_000_000  # triangles times places at once
_PAIRS = 20_000  # of a triangle and a convex body at once


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
        det = np.einsum("ijk,ijk->ij", a, crosses(b, c))
        rest = la * lb * lc + (a * b).sum(2) * lc + (b * c).sum(2) * la + (c * a).sum(2) * lb
        out[low : low + step] = np.arctan2(det, rest).sum(axis=1) / (2.0 * np.pi)
    return out


def distances(triangles: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Distances [m] (..., F) of places (..., 3) from each triangle (..., F, 3, 3). Source: nearest of the plane's foot and the three edges."""
    a, b, c = triangles[..., 0, :], triangles[..., 1, :], triangles[..., 2, :]
    places = places[..., None, :]
    edges = []
    inside: np.ndarray | bool = True
    normal = crosses(b - a, c - a)
    normal /= np.maximum(lengths(normal), 1e-300)[..., None]
    for p, q in ((a, b), (b, c), (c, a)):
        along, way = q - p, places - p
        t = np.clip(dots(way, along) / np.maximum(dots(along, along), 1e-300), 0.0, 1.0)
        edges.append(lengths(way - t[..., None] * along))
        inside &= dots(crosses(along, way), normal) >= 0.0
    return np.where(inside, np.abs(dots(places - a, normal)), np.minimum.reduce(edges))


def nearest(triangles: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Distances [m] (n,) of places (n, 3) from the nearest of triangles (F, 3, 3). Source: `distances`."""
    parts = np.array_split(places, max(1, len(places) * len(triangles) // _CHUNK))
    return np.concatenate([distances(triangles, part).min(axis=1) for part in parts])


def _apart(axes: np.ndarray, triangles: np.ndarray, bodies: np.ndarray) -> np.ndarray:
    """True for the triangles (P, 3, 3) that one of the axes (P, A, 3) parts from a convex body (P, n, 3) by less than TOUCH_M of depth."""
    length = lengths(axes)
    low, high = _shadows(axes, triangles)
    least, most = _shadows(axes, bodies)
    flat = high - low < TOUCH_M * length  # the triangle's own plane: it meets where it lies within
    through = (high > least + TOUCH_M * length) & (low < most - TOUCH_M * length)
    meets = np.where(flat, through, np.minimum(high, most) - np.maximum(low, least) > TOUCH_M * length)
    return np.asarray((~meets & (length > 1e-12)).any(axis=1))


def _shadows(axes: np.ndarray, corners: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """From where to where (P, A) bodies with corners (P, n, 3) reach along axes (P, A, 3), times the axes' lengths."""
    along = np.einsum("pak,pck->cpa", axes, corners)
    return along.min(axis=0), along.max(axis=0)


def meeting(triangles: np.ndarray, corners: np.ndarray, normals: np.ndarray, edges: np.ndarray) -> np.ndarray:
    """(n, F) True where a triangle (F, 3, 3) shares more than TOUCH_M of depth with a convex body [m].

    corners (n, c, 3), normals (n, m, 3) of its faces, edges (n, k, 3) their directions
    Source: separating axes (Gottschalk, Lin and Manocha, SIGGRAPH 1996; from memory).
    """
    out = np.zeros((len(corners), len(triangles)), bool)
    least, most = triangles.min(axis=1), triangles.max(axis=1)
    low, high = corners.min(axis=1) + TOUCH_M, corners.max(axis=1) - TOUCH_M
    bodies = max(1, _CHUNK // max(len(triangles), 1))
    for first in range(0, len(corners), bodies):
        some = slice(first, first + bodies)
        near = (least < high[some, None]).all(-1) & (most > low[some, None]).all(-1)
        pairs = np.argwhere(near) + np.array([first, 0])
        for at in range(0, len(pairs), _PAIRS):
            i, j = pairs[at : at + _PAIRS].T
            part, body = triangles[j], corners[i]
            sides = np.stack([part[:, 1] - part[:, 0], part[:, 2] - part[:, 1], part[:, 0] - part[:, 2]], axis=1)
            own = crosses(sides[:, 0], sides[:, 1])[:, None]
            across = crosses(sides[:, :, None], edges[i, None]).reshape(len(part), -1, 3)
            apart = _apart(normals[i], part, body)
            out[i, j] = ~(apart | _apart(np.concatenate([own, across], axis=1), part, body))
    return out


def meets_box(triangles: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """True for the triangles (F, 3, 3) that reach into a box between two corners (3,) [m]; those that touch it do not.

    Source: `meeting`.
    """
    low, high = np.minimum(low, high), np.maximum(low, high)
    corners = np.array([[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])])
    return np.asarray(meeting(triangles, corners[None], np.eye(3)[None], np.eye(3)[None])[0])


def faces_and_edges(pyramids: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Normals of the faces (n, 5, 3), of any length, and directions of the edges (n, 6, 3) of pyramids (n, 5, 3): apex, then the base in order.

    Source: definition.
    """
    spokes = pyramids[:, 1:] - pyramids[:, :1]
    sides = pyramids[:, [2, 4]] - pyramids[:, [1]]
    normals = [crosses(spokes, np.roll(spokes, -1, axis=1)), crosses(sides[:, :1], sides[:, 1:])]
    return np.concatenate(normals, axis=1), np.concatenate([spokes, sides], axis=1)


def meets_pyramids(triangles: np.ndarray, pyramids: np.ndarray) -> np.ndarray:
    """(n, F) True where a triangle (F, 3, 3) reaches into a pyramid (n, 5, 3) [m]: apex, then the corners of its base in order.

    Source: `meeting`.
    """
    return meeting(triangles, pyramids, *faces_and_edges(pyramids))


def is_inside(triangles: np.ndarray, places: np.ndarray) -> np.ndarray:
    """True for places (n, 3) [m] that a mesh (F, 3, 3) shuts in, however it faces. Source: `winding`."""
    return np.asarray(np.abs(winding(triangles, places)) > 0.5)
