"""What the cloth sends a seat out of even light: factors at a few places, and between them what a smooth fabric leaves no choice about.

A place of some fabrics takes half a millisecond. Where a net of half as many steps misses the other places of the net, the fabric has
an edge in what it gives back, and every place is worked out.
Source: interpolation at Chebyshev's points (Trefethen, Approximation Theory and Approximation Practice, 2013).
"""

from __future__ import annotations

import numpy as np

from ...materials.lobes.albedo import directional_albedos
from ..light.direct import cloth_points, directions_to
from ..measuring.flatten import SceneArrays
from .sights import INSET, places_on

_NET = 13, 9  # places across and down
_SMOOTH = 5e-4  # of the largest factor, by which the coarser net may miss: the finer one then errs less than half floats do


def even_light_map(arrays: SceneArrays, seat: int, columns: int, rows: int) -> np.ndarray:
    """Luminance factors (rows, columns) [1] at even places on the picture, edges included, from the top. Source: reciprocity."""
    found = _from_few(arrays, seat, columns, rows)
    if found is None:
        found = _factors(arrays, seat, *places_on(arrays, columns, rows)).reshape(rows, columns)
    return found


def _from_few(arrays: SceneArrays, seat: int, to_columns: int, to_rows: int) -> np.ndarray | None:
    """The map from the factors at few places; None for a fabric that has an edge in what it gives back."""
    columns, rows = _NET
    x, y = _chebyshev(columns), _chebyshev(rows)
    left, right, bottom, top = arrays.projector.picture
    across, upward = np.meshgrid(left + (right - left) * x, top - (top - bottom) * y)
    value = _factors(arrays, seat, across.ravel(), upward.ravel()).reshape(rows, columns)
    half = between(y[::2], y) @ value[::2, ::2] @ between(x[::2], x).T
    if np.abs(half - value).max() > _SMOOTH * value.max():
        return None
    over, down = (between(part, np.linspace(INSET, 1.0 - INSET, count)) for part, count in ((x, to_columns), (y, to_rows)))
    return np.asarray(down @ value @ over.T)


def _factors(arrays: SceneArrays, seat: int, across: np.ndarray, upward: np.ndarray) -> np.ndarray:
    """Luminance factors for even light (n,) [1] towards a seat at places on the cloth [m]. Source: reciprocity."""
    cloth = cloth_points(arrays.geometry, arrays.projector, across, upward)
    ways = directions_to(cloth, arrays.eyes[seat : seat + 1])
    return directional_albedos(arrays.fabric, np.ascontiguousarray(ways[:, 0]))


def _chebyshev(count: int) -> np.ndarray:
    """Chebyshev's points of the second kind from just inside 0 to just inside 1 (count,) [1]. Source: cosines of even angles."""
    return np.asarray(0.5 - (0.5 - INSET) * np.cos(np.linspace(0.0, np.pi, count)))


def between(points: np.ndarray, at: np.ndarray) -> np.ndarray:
    """What takes values at Chebyshev's points (n,) to values at other places (m,), (m, n) [1].

    Source: barycentric formula with its weights for points of the second kind (Berrut and Trefethen, SIAM Review 2004).
    """
    weight = (-1.0) ** np.arange(len(points))
    weight[[0, -1]] *= 0.5
    away = at[:, None] - points
    same = np.abs(away) < 1e-12
    share = weight / np.where(same, 1.0, away)
    share[same.any(axis=1)] = 0.0
    share[same] = 1.0
    return np.asarray(share / share.sum(axis=1, keepdims=True))
