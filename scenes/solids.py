"""Do pyramids (beams, looks at the picture) and boxes or heads share a point? Exact tests on convex bodies, all pairs at once.

All places in one frame, [m]; the tests do not mind which, nor its handedness.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .arrays import crosses, dots, lengths
from .model import Box, Place
from .rooms.inside import TOUCH_M, distances, faces_and_edges

_SIDES = np.array([(0, 1, 2), (0, 2, 3), (0, 3, 4), (0, 4, 1)])  # of a pyramid: its apex and two corners of the base
_FACES, _TRIANGLES = (np.vstack([_SIDES, base]) for base in ([(1, 2, 3)], [(1, 2, 3), (1, 3, 4)]))
_PAIRS = 4_000  # are judged at once: what they need stays in the processor's caches


def sub(a: Place, b: Place) -> Place:
    """a - b"""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def dot(a: Place, b: Place) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Place, b: Place) -> Place:
    """Vector product."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def boxes_overlap(a: Box, b: Box) -> bool:
    """True where two boxes share more than TOUCH_M [m] of depth; faces that touch do not count."""
    return all(min(a.max_m[i], b.max_m[i]) - max(a.min_m[i], b.min_m[i]) > TOUCH_M for i in range(3))


def pyramids_of(apexes: np.ndarray | Sequence[Place], bases: np.ndarray | Sequence[Sequence[Place]]) -> np.ndarray:
    """Pyramids (n, 5, 3) [m] from apexes (n or 1, 3) over rectangles (n or 1, 4, 3), whose corners come in order. Source: definition."""
    tops, corners = np.asarray(apexes, float)[:, None], np.asarray(bases, float)
    count = max(len(tops), len(corners))
    return np.concatenate([np.broadcast_to(each, (count, *each.shape[1:])) for each in (tops, corners)], axis=1)


def _near(pyramids: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """(n, m) where the boxes around two bodies share a point: settles most pairs of a crowded room at once."""
    return np.asarray(((pyramids.min(axis=1)[:, None] < high) & (pyramids.max(axis=1)[:, None] > low)).all(axis=2))


def meet_boxes(pyramids: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """(n, m) True where a pyramid (n, 5, 3) and a box between two corners (m, 3) share more than TOUCH_M [m] of depth.

    A box thinner than that counts as a little thicker about its middle: so one within the pyramid is found, one that touches it is not.
    Separating-axis theorem: two convex polyhedra are apart exactly if a face normal of one, or a product of two edges,
    one of each, separates their shadows.
    Source: S. Gottschalk, M. C. Lin, D. Manocha, SIGGRAPH 1996, section 5 [from memory].
    """
    met = _near(pyramids, low, high)
    grown = np.maximum(0.0, 0.75 * TOUCH_M - 0.5 * (high - low))
    low, high = low - grown, high + grown
    pairs = np.argwhere(met)
    for at in range(0, len(pairs), _PAIRS):
        i, j = pairs[at : at + _PAIRS].T
        met[i, j] = ~_parted(pyramids[i], low[j], high[j])
    return met


def _parted(pyramids: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """(k,) True where an axis parts a pyramid (k, 5, 3) from a box between corners (k, 3)."""
    unit = np.broadcast_to(np.eye(3), (len(pyramids), 3, 3))
    normals, edges = faces_and_edges(pyramids)
    across = crosses(unit[:, None], edges[:, :, None]).reshape(len(pyramids), -1, 3)
    axes = np.concatenate([unit, normals, across], axis=1)
    shadows = dots(axes, pyramids.swapaxes(0, 1)[:, :, None])
    middle, reach = dots(axes, 0.5 * (low + high)[:, None]), dots(np.abs(axes), 0.5 * (high - low)[:, None])
    shared = np.minimum(shadows.max(axis=0), middle + reach) - np.maximum(shadows.min(axis=0), middle - reach)
    length = lengths(axes)  # parallel edges name no axis
    return np.asarray(((shared <= TOUCH_M * length) & (length >= 1e-12)).any(axis=1))


def meet_balls(pyramids: np.ndarray, centres: np.ndarray | Sequence[Place], radius_m: float) -> np.ndarray:
    """(n, m) True where a pyramid (n, 5, 3) and a ball about a centre (m, 3) share more than TOUCH_M [m] of depth.

    Source: `distances_to_pyramids`.
    """
    centres = np.asarray(centres, float).reshape(-1, 3)
    met = _near(pyramids, centres - radius_m, centres + radius_m)
    i, j = np.nonzero(met)
    met[i, j] = distances_to_pyramids(pyramids[i], centres[j], radius_m) < radius_m - TOUCH_M
    return met


def distances_to_pyramids(pyramids: np.ndarray, places: np.ndarray, within_m: float = np.inf) -> np.ndarray:
    """Distances [m] (k,) from places (k, 3) to pyramids (k, 5, 3), 0 inside, infinite where it is certainly `within_m` or more.

    Source: derived, nearest of the faces; what lies that far beyond the plane of a face lies that far from a convex body.
    """
    beyond = _beyond_a_face(pyramids, places)
    found = np.where(beyond <= 0.0, 0.0, np.inf)
    near = (beyond > 0.0) & (beyond < within_m)
    found[near] = distances(pyramids[near][:, _TRIANGLES], places[near]).min(axis=1)
    return found


def _beyond_a_face(pyramids: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Greatest signed distance [m] (k,) of a place (k, 3) from the planes of a pyramid's faces, outwards; 0 or less inside. Source: derived."""
    inner = 0.5 * (pyramids[:, 0] + 0.5 * (pyramids[:, 1] + pyramids[:, 3]))  # from the apex half way to the middle of the base
    p, q, r = (pyramids[:, _FACES[:, k]] for k in range(3))
    normals = crosses(q - p, r - p)
    sizes = lengths(normals)
    outwards = np.where(dots(normals, inner[:, None] - p) > 0.0, -1.0, 1.0)
    with np.errstate(invalid="ignore"):
        beyond = outwards * dots(normals, places[:, None] - p) / sizes
    return np.asarray(np.where(sizes > 0.0, beyond, -np.inf).max(axis=1))
