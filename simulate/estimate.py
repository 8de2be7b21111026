"""A number with its standard error: means over independent scrambles, and the jackknife for whatever is made of them."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

# Student's t, 15 degrees of freedom, two-sided 95 %. Source: any table of the t distribution (tested against scipy).
T_95 = 2.131449545559323
SCRAMBLES = 16


class Estimate(NamedTuple):
    """A value, its standard error, and the bound of what the interpolated map may bias it by; the three share a unit."""

    value: float
    standard_error: float = 0.0
    bias_bound: float = 0.0


def replicates(scrambles: np.ndarray, spread: np.ndarray) -> np.ndarray:
    """Stack of the mean, the means that leave one scramble out, and the mean without map extrapolation.

    scrambles  (R, ...) one independent estimate each [any unit]
    spread     (...) what the extrapolation added to the mean, from the same paths, same unit
    returns    (R + 2, ...), same unit; hand it to any smooth function that keeps the first axis, then to `estimate`
    Source: delete-one jackknife (Quenouille 1956, Tukey 1958).
    """
    count = len(scrambles)
    total = scrambles.sum(axis=0)
    mean = total / count
    return np.concatenate([mean[None], (total[None] - scrambles) / (count - 1), (mean - spread)[None]])


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
