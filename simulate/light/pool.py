"""Light after the first hit, learnt from all paths at once: a smooth function on each patch, fitted to what every start's paths found.

What arrives on a diffuse surface does not depend on who asks. Each path that hits a patch brings a noisy value of the light that
arrives there from the room; least squares over all of them, whichever start they came from, gives a function of the place with far
less noise than one path has, and each start takes its mean over its own hits. What the fit leaves out matters only where it goes
together with what the fit leaves out of the start's own view of the patch: a product of two small residuals, bounded by comparing
fits of two degrees. Source: control of variance by regression over a shared field, as irradiance caching; derived.
"""

from __future__ import annotations

import math

import numpy as np

from ...materials.kernels.jit import kernel

TERMS = 6  # 1, u, v, uu, vv, uv with u, v from -1 to 1 on the patch
MOMENT = (  # which of the MOMENTS sums of products of two terms each pair has: 1, a, b, aa, bb, ab, aaa, aab, abb, bbb, aaaa ...
    (0, 1, 2, 3, 4, 5),
    (1, 3, 5, 6, 8, 7),
    (2, 5, 4, 7, 9, 8),
    (3, 6, 7, 10, 12, 11),
    (4, 8, 9, 12, 14, 13),
    (5, 7, 8, 11, 13, 12),
)
MOMENTS = 15
DEGREES = (TERMS, 3, 1)  # terms of the fits tried, quadratic, linear and constant
A_TERM = 3  # least paths for each term of a fit


@kernel
def terms_at(u, v, terms):
    """Write the terms of the fit [1] at the place u, v in 0 .. 1 [1] of a patch into terms (TERMS,).

    Source: quadratic in both.
    """
    a, b = 2.0 * u - 1.0, 2.0 * v - 1.0
    terms[0], terms[1], terms[2] = 1.0, a, b
    terms[3], terms[4], terms[5] = a * a, b * b, a * b


@kernel
def remember(square, side, patch, terms, found):
    """Add one path's values found (2K, C) [any unit] at a place of a patch to the sums of the fit.

    square (P, MOMENTS) [1], side (P, 2K, C, TERMS) in the values' unit
    Source: normal equations of least squares.
    """
    one, a, b, aa, bb, ab = terms[0], terms[1], terms[2], terms[3], terms[4], terms[5]  # numbers: nothing written can change them
    moments = square[patch]
    moments[0] += one
    moments[1] += a
    moments[2] += b
    moments[3] += aa
    moments[4] += bb
    moments[5] += ab
    moments[6] += aa * a
    moments[7] += aa * b
    moments[8] += bb * a
    moments[9] += bb * b
    moments[10] += aa * aa
    moments[11] += aa * ab
    moments[12] += aa * bb
    moments[13] += ab * bb
    moments[14] += bb * bb
    for k in range(found.shape[0]):
        for c in range(found.shape[1]):
            sums, value = side[patch, k, c], found[k, c]
            sums[0] += one * value
            sums[1] += a * value
            sums[2] += b * value
            sums[3] += aa * value
            sums[4] += bb * value
            sums[5] += ab * value


@kernel
def factor(square, patch, count, lower):
    """Cholesky factor (count, count) [1] of the sums of a patch into `lower`; False where its hits do not tell the terms apart.

    Source: Golub and Van Loan, Matrix Computations, section 4.2 (from memory).
    """
    for i in range(count):
        for j in range(i + 1):
            rest = square[patch, MOMENT[i][j]]
            for k in range(j):
                rest -= lower[i, k] * lower[j, k]
            if i > j:
                lower[i, j] = rest / lower[j, j]
            elif rest <= 1e-4 * square[patch, MOMENT[i][i]]:
                return False
            else:
                lower[i, i] = math.sqrt(rest)
    return True


@kernel
def fit(square, side, patch, count, lower, out):
    """Coefficients of `count` terms into out (2K, C, TERMS), 0 for the others; False where there are too few hits for them.

    side  (P, 2K, C, TERMS) sums of `remember` [any unit]; the coefficients have the same
    Source: least squares by `factor`, forward and back substitution.
    """
    if square[patch, 0] < A_TERM * count and count > 1:
        return False
    if not factor(square, patch, count, lower):
        return False
    for k in range(out.shape[0]):
        for c in range(out.shape[1]):
            for i in range(count):
                value = side[patch, k, c, i]
                for j in range(i):
                    value -= lower[i, j] * out[k, c, j]
                out[k, c, i] = value / lower[i, i]
            for i in range(count - 1, -1, -1):
                value = out[k, c, i]
                for j in range(i + 1, count):
                    value -= lower[j, i] * out[k, c, j]
                out[k, c, i] = value / lower[i, i]
            for i in range(count, TERMS):
                out[k, c, i] = 0.0
    return True


@kernel
def fit_all(square, side, lower, simpler):
    """Replace side (P, 2K, C, TERMS) [any unit] by the coefficients of each patch's fit, of the highest degree its hits bear.

    Rows K .. 2K - 1 gain what the next lower degree would have said less: with them the bound of the map holds that of the fit.
    lower (TERMS, TERMS), simpler (2, 2K, C, TERMS)   scratch
    Source: derived; what a fit leaves out is judged by what one degree more put in.
    """
    kinds = side.shape[1] // 2
    for patch in range(square.shape[0]):
        if square[patch, 0] == 0.0:
            continue
        best, less = simpler[0], simpler[1]
        found = 0
        for d in range(len(DEGREES)):
            if found < 2 and fit(square, side, patch, DEGREES[d], lower, simpler[found]):
                found += 1
        if found < 2:
            less = best
        for k in range(kinds):
            for c in range(side.shape[2]):
                for i in range(TERMS):
                    side[patch, k, c, i] = best[k, c, i]
                    side[patch, kinds + k, c, i] = best[kinds + k, c, i] + best[k, c, i] - less[k, c, i]


@kernel
def pooled(side, patch, terms, k, c):
    """Value of a patch's fit for picture k and channel c, in the unit of `side` [any unit]. Source: `fit_all`."""
    sums, value = side[patch, k, c], 0.0
    for i in range(TERMS):
        value += terms[i] * sums[i]
    return value


def scratch(patches: int, kinds: int, channels: int) -> tuple[np.ndarray, ...]:
    """Room for the sums and the fits of one thread: square, side, lower, simpler, terms."""
    return (
        np.empty((patches, MOMENTS)),
        np.empty((patches, 2 * kinds, channels, TERMS)),
        np.empty((TERMS, TERMS)),
        np.empty((2, 2 * kinds, channels, TERMS)),
        np.empty(TERMS),
    )
