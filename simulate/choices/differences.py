"""Differences between paired variants, each with its error, and the word on whether there is one."""

from __future__ import annotations

import numpy as np

from ...materials.dataclass import dataclass
from ..measuring.estimate import T_95, Estimate, estimate
from .figures import Figure, seat_figures
from .together import Paired

ROUNDING = 1e-9  # relative; below it a difference is the arithmetic's, not the room's


@dataclass(frozen=True)
class Difference:
    """A figure of one seat in a variant against the reference.

    reference, value  the figure in both, in its own unit
    absolute          value - reference, same unit;  relative  value / reference - 1 [1]
    found             True where the absolute difference is larger than its error and bias bound
    """

    seat: str
    figure: Figure
    reference: Estimate
    value: Estimate
    absolute: Estimate
    relative: Estimate
    found: bool


def difference(seat: str, figure: Figure, reference: np.ndarray, value: np.ndarray) -> Difference:
    """The difference of two replicate stacks (R + 2,), in the figure's unit, that were traced with the same random numbers.

    Source: jackknife on the paired replications; found where |d| > Student's t x standard error + bias bound.
    """
    absolute, relative = estimate(value - reference), relative_difference(reference, value)
    size = max(abs(reference[0]), abs(value[0]))
    return Difference(seat, figure, estimate(reference), estimate(value), absolute, relative, is_found(absolute, float(size)))


def relative_difference(reference: np.ndarray, value: np.ndarray) -> Estimate:
    """value / reference - 1 [1] from paired replicates (R + 2,); 0 where the reference is 0. Source: `estimate`."""
    return estimate(np.divide(value, reference, out=np.ones_like(value), where=reference != 0.0) - 1.0)


def is_found(absolute: Estimate, size: float) -> bool:
    """True where a difference exceeds its error, its bias bound and the rounding of numbers of that size.

    size  the larger of the two values compared, in the difference's unit
    Source: Student's t interval, 95 %, 15 degrees of freedom (16 replications); bias bound and rounding are added to it.
    """
    margin = T_95 * absolute.standard_error + absolute.bias_bound + ROUNDING * size
    return abs(absolute.value) > margin


def differences(reference: Paired, other: Paired) -> list[Difference]:
    """All differences of two variants, seat by seat and figure by figure; a seat or figure that only one has is passed over."""
    found = []
    theirs = {seat.name: i for i, seat in enumerate(other.seats.scene.seats)}
    for i, seat in enumerate(reference.seats.scene.seats):
        if seat.name not in theirs:
            continue
        first, second = seat_figures(reference.seats, i), seat_figures(other.seats, theirs[seat.name])
        found += [difference(seat.name, figure, first[figure], second[figure]) for figure in first if figure in second]
    return found
