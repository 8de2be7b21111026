"""Two programs held against each other in turn: the median of ratios of pairs, and an interval that asks nothing of how times scatter."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist, median
from typing import NamedTuple

SURE = 0.95


class Ratio(NamedTuple):
    """Median of ratios [1], the interval that holds the true median with the probability `sure`, and of how many pairs."""

    value: float
    low: float
    high: float
    sure: float
    pairs: int

    @property
    def error(self) -> float:
        """Standard error of the median [1], as if its logarithm were normal. Source: the interval's width over the normal one's."""
        return 0.5 * self.value * math.log(self.high / self.low) / NormalDist().inv_cdf(0.5 + 0.5 * self.sure)

    def __str__(self) -> str:
        return f"{self.value:.3f} +- {self.error:.3f} ({self.low:.3f} to {self.high:.3f}, {100 * self.sure:.0f} % sure)"


def ratio_of(above: Sequence[float], below: Sequence[float]) -> Ratio:
    """Ratio of two programs' times, the first and second of each pair taken in turn under the same load [any unit, the same].

    From the narrowest pair of order statistics that is at least SURE, or all of them where there are fewer than six pairs.
    raises  ValueError where there are no pairs, or a time is not positive
    Source: sign test; the k-th of n lies below the true median with the binomial probability, whatever the distribution.
    """
    if not above or len(above) != len(below) or min(*above, *below) <= 0.0:
        raise ValueError("ratios need pairs of positive times")
    ratios = sorted(a / b for a, b in zip(above, below, strict=True))
    count, cut = len(ratios), 0
    while 2 * (cut + 1) < count and _sure(count, cut + 1) >= SURE:
        cut += 1
    return Ratio(median(ratios), ratios[cut], ratios[count - 1 - cut], _sure(count, cut), count)


def _sure(count: int, cut: int) -> float:
    """Probability [1] that the median of n lies between order statistics cut and n - 1 - cut, counted from 0. Source: binomial."""
    return 1.0 - 2.0 * sum(math.comb(count, k) for k in range(cut + 1)) / 2.0**count
