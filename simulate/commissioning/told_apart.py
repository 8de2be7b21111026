"""What the readings can and cannot tell: how far each belief has narrowed, and what is known of two things only together."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.linalg import eigh

INFORMED = 0.9  # of the standard deviation beforehand; what stays wider the readings do not tell (own choice)
OPEN, BETTER = (
    0.65,
    0.6,
)  # a combination is open above the first; known together: below the second times either alone (own choices)


class Direction(NamedTuple):
    """A combination of parameters: weights (k,) on t in prior standard deviations, length 1; narrowed to `ratio` of its prior [1]."""

    weights: np.ndarray
    ratio: float


class Pair(NamedTuple):
    """Two parameters of which only a combination is known.

    first, second   places;  together  +1: their sum (of logarithms: the product), -1: their difference (the ratio)
    known, open     the combination's standard deviation over that beforehand, and that of what is open [1]
    """

    first: int
    second: int
    together: int
    known: float
    open: float


def directions(covariance: np.ndarray, before: np.ndarray) -> list[Direction]:
    """Combinations of parameters from the best known to the least, none related to another before or after.

    covariance, before   (k, k) after and before the readings
    Source: generalised eigenvectors, covariance w = ratio^2 before w (Cui et al. 2014, Inverse Problems 30, 114015: likelihood-informed
    directions); derived: for a flat prior they are the eigenvectors of the Fisher information.
    """
    width = np.sqrt(np.diag(before))
    scale = np.outer(width, width)
    ratios, vectors = eigh(covariance / scale, before / scale)
    found = []
    for ratio, vector in zip(ratios, vectors.T, strict=True):
        vector = vector / np.linalg.norm(vector)
        found.append(Direction(vector * np.sign(vector[np.argmax(np.abs(vector))]), float(np.sqrt(max(ratio, 0.0)))))
    return found


def pairs(covariance: np.ndarray, before: np.ndarray) -> list[Pair]:
    """Pairs of which the readings know a combination, but neither part: both are left to what was held beforehand."""
    found = []
    for i in range(len(covariance)):
        for j in range(i + 1, len(covariance)):
            at = np.ix_([i, j], [i, j])
            best, least = directions(covariance[at], before[at])
            alone = min(narrowed(covariance[at], before[at]))
            if best.ratio < BETTER * alone and least.ratio > OPEN:
                found.append(Pair(i, j, int(np.sign(best.weights[0] * best.weights[1])), best.ratio, least.ratio))
    return sorted(found, key=lambda pair: pair.known / pair.open)


def narrowed(covariance: np.ndarray, before: np.ndarray) -> np.ndarray:
    """Standard deviation after over before, (k,) [1]. Source: definition."""
    return np.sqrt(np.diag(covariance) / np.diag(before))
