"""Smooth heights between the samples of a map: uniform cubic B-splines with exact slopes."""

from __future__ import annotations

import numpy as np

from ...materials.kernels.jit import kernel


@kernel
def _weights(t):
    """Values and derivatives of the four cubic B-spline pieces at t in 0..1. Source: de Boor; textbook form."""
    u = 1.0 - t
    return (
        (
            u * u * u / 6.0,
            (4.0 - 6.0 * t * t + 3.0 * t * t * t) / 6.0,
            (4.0 - 6.0 * u * u + 3.0 * u * u * u) / 6.0,
            t * t * t / 6.0,
        ),
        (-0.5 * u * u, -2.0 * t + 1.5 * t * t, 2.0 * u - 1.5 * u * u, 0.5 * t * t),
    )


@kernel
def spline_at(coefficients, x, y):
    """Height [m] and its derivatives [m per sample] at one place x, y [samples]. Source: see `spline_heights`."""
    rows, columns = coefficients.shape[0] - 2, coefficients.shape[1] - 2
    a = min(max(x, 0.0), columns - 1.0)
    b = min(max(y, 0.0), rows - 1.0)
    j, k = min(int(a), columns - 2), min(int(b), rows - 2)
    wx, dx = _weights(a - j)
    wy, dy = _weights(b - k)
    h = sx = sy = 0.0
    for m in range(4):
        line = slope = 0.0
        for n in range(4):
            c = coefficients[k + m, j + n]
            line += wx[n] * c
            slope += dx[n] * c
        h += wy[m] * line
        sx += wy[m] * slope
        sy += dy[m] * line
    return h, sx, sy


@kernel
def spline_heights(coefficients, x, y, out):
    """Height [m] and its derivatives by x and y [m per sample] of a padded coefficient map at places, into out (n, 3).

    coefficients (rows + 2, columns + 2) [m]: one more all round
    x, y  (n,) each, in columns and in rows from the first [samples], clipped to the map
    Source: tensor product of cubic B-splines.
    """
    for i in range(x.shape[0]):
        out[i, 0], out[i, 1], out[i, 2] = spline_at(coefficients, x[i], y[i])


def spline_coefficients(samples: np.ndarray) -> np.ndarray:
    """Padded coefficients (rows + 2, columns + 2) [m] of the natural cubic spline through samples (rows, columns) [m].

    Source: interpolation c[i-1] + 4 c[i] + c[i+1] = 6 f[i] with f'' = 0 at both ends, row by row then column by column.
    """
    return _along_first(_along_first(np.asarray(samples, float).T).T)


def _along_first(samples: np.ndarray) -> np.ndarray:
    """Coefficients (n + 2, m) along the first axis of samples (n, m). Natural ends: c[0] = f[0], and beyond them 2 c[0] - c[1]."""
    count, others = samples.shape
    padded = np.empty((count + 2, others))
    c = padded[1:-1]
    c[:] = samples
    if count > 2:
        c[1:-1] *= 6.0
        c[1] -= c[0]
        c[-2] -= c[-1]
        _solve(c[1:-1], np.empty(count - 2))
    padded[0] = 2.0 * c[0] - c[1]
    padded[-1] = 2.0 * c[-1] - c[-2]
    return padded


@kernel
def _solve(x, diagonal):
    """Put x (n, m) with x[i-1] + 4 x[i] + x[i+1] = given[i], nought beyond the ends, in place of what is given there; diagonal  room for n.

    Source: Gaussian elimination of a matrix whose diagonal is heavier than the rest of each row, so that no rows are exchanged;
    LAPACK's gtsv does the same steps, but importing it takes longer than all splines of a scene.
    """
    count, lines = x.shape
    diagonal[0] = 4.0
    for i in range(1, count):
        factor = 1.0 / diagonal[i - 1]
        diagonal[i] = 4.0 - factor
        for j in range(lines):
            x[i, j] -= factor * x[i - 1, j]
    for i in range(count - 1, -1, -1):
        for j in range(lines):
            x[i, j] = (x[i, j] - (x[i + 1, j] if i + 1 < count else 0.0)) / diagonal[i]
