"""Where meshes run into each other: an edge of one that goes through a triangle of the other, or a part that lies inside the other."""

from __future__ import annotations

import numpy as np

from .inside import distances, is_inside

DEEP_M = 1e-3  # less than that on either side of a triangle is touching: models stand their things on each other by the eye
_FEW = 4_000  # pairs of an edge and a triangle that are tried at once
_TRIED = 400  # places of a mesh that are asked whether they lie in another, at most
_LEAST_TRIED, _PAIRS = 16, 4_000_000  # of them where the other has very many triangles
_CANDIDATES = 20  # crossings among those pairs that are looked at closely
_DEEPEST = 24  # halvings of the space


def first_crossing(one: np.ndarray, other: np.ndarray) -> np.ndarray | None:
    """A place (3,) [m] where an edge of one mesh goes through a triangle of the other; None where none does, or only touches.

    one, other  triangles (F, 3, 3) [m]
    Source: the common box is halved until few pairs are left; an edge meets a triangle where its ends lie on both sides of the plane.
    """
    low = np.maximum(one.min(axis=(0, 1)), other.min(axis=(0, 1)))
    high = np.minimum(one.max(axis=(0, 1)), other.max(axis=(0, 1)))
    if (low > high).any():
        return None
    for edges_of, triangles in ((one, other), (other, one)):
        found = _search(edges_of, triangles, triangles, low, high, 0)
        if found is not None:
            return found
    return None


def _within(triangles: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """Those of triangles (F, 3, 3) whose boxes reach into a box."""
    return triangles[(triangles.min(axis=1) <= high).all(axis=1) & (triangles.max(axis=1) >= low).all(axis=1)]


def _search(
    one: np.ndarray, other: np.ndarray, whole: np.ndarray, low: np.ndarray, high: np.ndarray, depth: int
) -> np.ndarray | None:
    """`first_crossing` of edges of `one` through `other`, a part of `whole`, within a box."""
    one, other = _within(one, low, high), _within(other, low, high)
    if not len(one) or not len(other):
        return None
    if len(one) * len(other) <= _FEW or depth == _DEEPEST:
        step = max(1, _FEW // len(other))
        for at in range(0, len(one), step):
            found = _through(one[at : at + step], other, whole)
            if found is not None:
                return found
        return None
    axis = int(np.argmax(high - low))
    middle = 0.5 * (low[axis] + high[axis])
    for k in (0, 1):
        below, above = low.copy(), high.copy()
        (above if k == 0 else below)[axis] = middle
        found = _search(one, other, whole, below, above, depth + 1)
        if found is not None:
            return found
    return None


def _through(one: np.ndarray, other: np.ndarray, whole: np.ndarray) -> np.ndarray | None:
    """A place where an edge of `one` goes through a triangle of `other`, all pairs tried.

    Just before and behind the triangle the edge must be off all of `whole`: what stands half a millimetre in only grazes it.
    """
    start, end = one[:, [0, 1, 2]].reshape(-1, 1, 3), one[:, [1, 2, 0]].reshape(-1, 1, 3)
    a, b, c = (other[None, :, k] for k in range(3))
    normal = np.cross(b - a, c - a)
    normal /= np.maximum(np.linalg.norm(normal, axis=2, keepdims=True), 1e-300)
    s, t = ((start - a) * normal).sum(2), ((end - a) * normal).sum(2)
    i, j = np.nonzero((np.minimum(s, t) < -DEEP_M) & (np.maximum(s, t) > DEEP_M))
    way, drop = end[i, 0] - start[i, 0], s[i, j] - t[i, j]
    place = start[i, 0] + (s[i, j] / drop)[:, None] * way
    inside = np.ones(len(i), bool)
    for p, q in ((a, b), (b, c), (c, a)):
        inside &= (np.cross(normal[0, j], q[0, j] - p[0, j]) * (place - p[0, j])).sum(1) > 0.0
    for k in np.flatnonzero(inside)[:_CANDIDATES]:
        step = DEEP_M * way[k] / abs(drop[k])  # DEEP_M along the normal
        reach = np.abs(step) + DEEP_M
        near = _within(whole, place[k] - reach, place[k] + reach)
        if all(float(distances(near, place[k] + side * step).min()) > 0.9 * DEEP_M for side in (-1.0, 1.0)):
            return np.asarray(place[k])
    return None


def reaches_into(inner: np.ndarray, outer: np.ndarray) -> bool:
    """True where some of a mesh lies inside a closed one, though no edge goes through a triangle: it is within, or their faces coincide.

    inner, outer  triangles (F, 3, 3) [m], of closed bodies facing outwards
    Source: winding number of middles of the inner one's triangles, DEEP_M beneath them; at most _TRIED of those in the common box.
    """
    normal = np.cross(inner[:, 1] - inner[:, 0], inner[:, 2] - inner[:, 0])
    size = np.linalg.norm(normal, axis=1, keepdims=True)
    places = inner.mean(axis=1) - DEEP_M * normal / np.maximum(size, 1e-300)
    places = places[((places > outer.min(axis=(0, 1))) & (places < outer.max(axis=(0, 1)))).all(axis=1)]
    tried = max(_LEAST_TRIED, min(_TRIED, _PAIRS // len(outer)))
    some = places[:: max(1, -(-len(places) // tried))]
    return bool(len(some)) and bool(is_inside(outer, some).any())


def share_inside(one: np.ndarray, other: np.ndarray) -> bool:
    """True where two closed meshes (F, 3, 3) [m] share space: more than DEEP_M of it. Source: `first_crossing`, `reaches_into`."""
    return first_crossing(one, other) is not None or reaches_into(one, other) or reaches_into(other, one)
