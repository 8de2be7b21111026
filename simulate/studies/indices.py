"""Sobol indices: what share of a figure's variance each uncertain thing brings, alone and with all its company."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..measuring.estimate import Estimate

BLOCKS = 16  # of samples, for the jackknife
LEAST_SPREAD = (
    1e-5  # standard deviation over mean: below it a figure varies by the rounding of kept paths (single precision) alone
)


class Indices(NamedTuple):
    """First-order and total index of each factor [1], with the standard error of sampling; variance of the figure in its unit squared.

    first  share of the variance that would go if this factor alone were known
    total  share that would stay if all others were known
    """

    first: tuple[Estimate, ...]
    total: tuple[Estimate, ...]
    variance: float


def sobol_indices(values: np.ndarray, factors: int) -> Indices:
    """Indices from a figure's values over the rows of a "sobol indices" design.

    values   (samples x (factors + 2),) in the figure's unit, rows as `unit_points` orders them
    raises   ValueError where the rows do not fit, or fewer than BLOCKS samples stand in it
    Source: first order by Saltelli et al. 2010 (Comput. Phys. Commun. 181(2), table 2, b), total by Jansen 1999; errors by the
    jackknife over blocks of samples drawn by lot: that of random sampling, too large for Sobol's even points (blocks of neighbours,
    even themselves, gave errors far too small).
    """
    samples, left = divmod(len(values), factors + 2)
    if left or samples < BLOCKS:
        raise ValueError(f"{len(values)} values of {factors} factors are no design of {BLOCKS} or more samples")
    blocks = np.asarray(values, float).reshape(factors + 2, samples)
    whole = _indices(blocks)
    block = np.random.default_rng(samples).permutation(samples) % BLOCKS
    left_out = np.array([_indices(blocks[:, block != i]) for i in range(BLOCKS)])
    error = np.sqrt((BLOCKS - 1) / BLOCKS * ((left_out - left_out.mean(axis=0)) ** 2).sum(axis=0))
    found = [[Estimate(float(v), float(e)) for v, e in zip(whole[i], error[i], strict=True)] for i in range(2)]
    return Indices(tuple(found[0]), tuple(found[1]), float(np.var(blocks[:2])))


def _indices(blocks: np.ndarray) -> np.ndarray:
    """First-order and total indices (2, factors) of blocks (factors + 2, samples); 0 where nothing varies."""
    centred = blocks - blocks[:2].mean()  # the first-order estimator's noise grows with the mean
    a, b, mixed = centred[0], centred[1], centred[2:]
    variance = np.var(centred[:2])
    if variance <= (LEAST_SPREAD * blocks[:2].mean()) ** 2:  # rounding alone
        return np.zeros((2, len(mixed)))
    return np.stack([(b * (mixed - a)).mean(axis=1), 0.5 * ((a - mixed) ** 2).mean(axis=1)]) / variance
