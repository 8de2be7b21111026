"""A number with its standard error: means over independent replications, and the jackknife for whatever is made of them."""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

import numpy as np

# Student's t, 15 degrees of freedom, two-sided 95 %. Source: any table of the t distribution (tested against scipy).
T_95 = 2.131449545559323
REPLICATIONS = 16


class Estimate(NamedTuple):
    """A value, its standard error, and the bound of what the interpolated map may bias it by; the three share a unit."""

    value: float
    standard_error: float = 0.0
    bias_bound: float = 0.0

    def __str__(self) -> str:
        """The value to the second digit of its standard error: 55.25 ± 0.21."""
        if not (math.isfinite(self.value) and self.standard_error > 0.0):
            return f"{self.value:.6g}"
        decimals = 1 - math.floor(math.log10(self.standard_error))
        shown = max(decimals, 0)
        return f"{round(self.value, decimals):.{shown}f} ± {round(self.standard_error, decimals):.{shown}f}"

    def __repr__(self) -> str:
        return str(self)


def replicates(replications: np.ndarray, spread: np.ndarray) -> np.ndarray:
    """Stack of the mean, the means that leave one replication out, and the mean without map extrapolation.

    replications  (R, ...) one independent estimate each [any unit]
    spread     (...) what the extrapolation added to the mean, from the same paths, same unit
    returns    (R + 2, ...), same unit; hand it to any smooth function that keeps the first axis, then to `estimate`
    Source: delete-one jackknife (Quenouille 1956, Tukey 1958).
    """
    count = len(replications)
    total = replications.sum(axis=0)
    mean = total / count
    return np.concatenate([mean[None], (total[None] - replications) / (count - 1), (mean - spread)[None]])


def jackknife_error(values: np.ndarray) -> np.ndarray:
    """Standard error from stacked replicates.

    values   (R + 2, ...) as `replicates` stacks them, or a smooth function of that [any unit]
    returns  (...) in the same unit
    Source: sqrt((R - 1) / R * sum (left-out - their mean)^2) (Tukey 1958); for a mean it is the usual standard error.
    """
    left_out = values[1:-1]
    count = len(left_out)
    return np.sqrt((count - 1) / count * ((left_out - left_out.mean(axis=0)) ** 2).sum(axis=0))


def estimate(values: np.ndarray) -> Estimate:
    """Estimate of a scalar from its replicates (R + 2,) [any unit]; the bias bound is what the map's extrapolation changed.

    Source: `jackknife_error`.
    """
    return Estimate(float(values[0]), float(jackknife_error(values)), float(abs(values[0] - values[-1])))


def exact(value: float) -> Estimate:
    """An exact number [any unit] as an Estimate: no error, no bias. Source: definition."""
    return Estimate(float(value))


@cache
def _halves(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Weights of means over replications, and how the least of each enters `least`.

    count    replications
    returns  (count + 1, K, count) weights of K means, for all replications and with each left out: the mean of all, then both halves
             of each split; and (count + 1, K) factors, which sum to one
    Source: rows of a Sylvester-Hadamard matrix split the replications in even halves, each pair of them as often together as apart.
    """
    sides = np.ones((1, 1))
    while len(sides) < count:
        sides = np.block([[sides, sides], [sides, -sides]])
    first = sides[1:, :count] > 0.0
    present = np.concatenate([np.ones((1, count)), 1.0 - np.eye(count)])[:, None]
    parts = np.concatenate([np.ones((1, count)), first, ~first]) * present  # (count + 1, K, count)
    size = parts.sum(axis=2)
    factor = -size / present.sum(axis=2) / len(first) * _HALVES
    factor[:, 0] = 1.0 + _HALVES
    return parts / np.maximum(size, 1.0)[..., None], factor


_HALVES = 1.0 / (np.sqrt(2.0) - 1.0)


def least(values: np.ndarray, *, greatest: bool = False) -> np.ndarray:
    """Replicates of the least of several noisy values, without the bias that the least of noisy means has.

    values    (R + 2, n) as `replicates` stacks them [any unit]
    greatest  the greatest in its place
    returns   (R + 2,) in the same unit, for `estimate` or further functions
    The least of n means that differ by less than their noise is too low by an amount that goes with 1 / sqrt(R). Halves of the
    replications show it sqrt(2) times as large, so the true value lies 1 / (sqrt(2) - 1) of the difference above. Where one place
    is the least in every half, nothing is added. Where places nearly
    tie it is a little high, by 0.4 of a standard error at most (simulated).
    Source: extrapolation in the sample size (Quenouille 1956, with the power one half that ties have); derived.
    """
    sign = -1.0 if greatest else 1.0
    mean, left_out = values[0], values[1:-1]
    count = len(left_out)
    own = sign * (count * mean - (count - 1) * left_out)  # (R, n): what each replication has for itself
    weights, factor = _halves(count)
    lowest = (weights.reshape(-1, count) @ own).min(axis=1).reshape(factor.shape)
    found = sign * (lowest * factor).sum(axis=1)
    place = int(np.argmin(sign * mean))
    return np.concatenate([found, found[:1] - (values[0] - values[-1])[place]])
