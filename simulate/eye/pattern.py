"""A pattern of brightness made ready for the eye: its smooth part taken out, its holes filled, continued beyond its edges."""

from __future__ import annotations

import numpy as np

_TERMS = ((0, 0), (0, 1), (1, 0), (0, 2), (1, 1), (2, 0))  # powers of (y, x) in a quadratic


def without_smooth(pattern: np.ndarray) -> np.ndarray:
    """A map over its best quadratic, less 1 [1]; places that are no numbers become 0.

    pattern  (rows, columns), positive [any unit]
    Source: a smooth fall over the whole picture is not seen as a fold (SMPTE ST 431-1 accepts edges at 75 to 90 % of the centre);
    least squares on the finite places.
    """
    rows, columns = pattern.shape
    x, y = np.linspace(-1.0, 1.0, columns), np.linspace(-1.0, 1.0, rows)
    good = np.isfinite(pattern)
    known = pattern if good.all() else np.where(good, pattern, 0.0)
    px, py = (np.vander(t, 5, increasing=True) for t in (x, y))
    if known is pattern:
        places = np.outer(py.sum(axis=0), px.sum(axis=0))
    else:
        places = py.T @ (good.astype(float) @ px)  # sums of y^i x^j over the finite places
    values = py[:, :3].T @ (known @ px[:, :3])
    normal = [[places[i + k, j + m] for i, j in _TERMS] for k, m in _TERMS]
    c = np.zeros((3, 3))
    for (i, j), each in zip(_TERMS, np.linalg.solve(normal, [values[i, j] for i, j in _TERMS]), strict=True):
        c[i, j] = each
    smooth = py[:, :3] @ c @ px[:, :3].T
    return np.where(good, pattern / smooth - 1.0, 0.0)


def filled(rest: np.ndarray, good: np.ndarray) -> np.ndarray:
    """The pattern with its holes filled by reflection at their edges, so that a hole's edge is no step.

    rest  (rows, columns) [any unit];  good  (rows, columns) True where it is known, somewhere at least
    Source: as at the picture's edge; where the mirrored place is no better, the nearest good one.
    """
    if good.all():
        return rest
    from scipy.ndimage import distance_transform_edt

    nearest = distance_transform_edt(~good, return_distances=False, return_indices=True)
    here = np.indices(good.shape)
    mirrored = 2 * nearest - here
    last = np.array(good.shape)[:, None, None] - 1
    inside = ((mirrored >= 0) & (mirrored <= last)).all(axis=0)
    mirrored = np.clip(mirrored, 0, last)
    use = inside & good[mirrored[0], mirrored[1]]
    row, column = np.where(use, mirrored, nearest)
    return np.where(good, rest, rest[row, column])


def distinct(values: np.ndarray) -> np.ndarray:
    """The different numbers of an array, rising. Source: np.unique, which imports numpy.ma first, 10 ms of a start."""
    ordered = np.sort(values, axis=None)
    return ordered[np.concatenate([[True], ordered[1:] != ordered[:-1]])]


def sums_of_neighbours(values: np.ndarray, count: int) -> np.ndarray:
    """Sums (rows, columns / count) of as many neighbours in each row: a few strided sums are quicker than one over a short last axis.

    values  (rows, columns) [any unit], columns a multiple of `count`
    Source: definition.
    """
    total = values[:, ::count].copy()
    for k in range(1, count):
        total += values[:, k::count]
    return total


def thinned(pattern: np.ndarray, step: int) -> np.ndarray:
    """Means over blocks of step x step cells; blocks that reach beyond the last row or column are filled by reflection.

    pattern  (rows, columns) [any unit]
    Source: definition.
    """
    if step == 1:
        return pattern
    rows, columns = pattern.shape
    if rows % step or columns % step:
        pattern = np.pad(pattern, ((0, -rows % step), (0, -columns % step)), mode="symmetric")
    by_row = pattern.reshape(pattern.shape[0] // step, step, pattern.shape[1]).sum(axis=1)
    return sums_of_neighbours(by_row, step) * pattern.dtype.type(1.0 / step**2)
