"""Bands of every figure within the tolerances, and which uncertain thing brings how much of each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ...choices.figures import Figure
from ...measuring.estimate import Estimate, jackknife_error
from ..designs import unit_points
from .derivatives import Derivatives
from .uncertain import Uncertain

SAMPLES = 4096
ENDS = (0.05, 0.95)  # of a band: nine of ten such rooms lie within


class Band(NamedTuple):
    """A figure within the tolerances.

    low, high  5 and 95 % of such rooms lie below, as factors of the figure as the scene has it [1], with the light paths' error
    shares     of the variance of its logarithm that each uncertain thing brings alone [1]: first-order Sobol indices
    """

    seat: str
    figure: Figure
    low: Estimate
    high: Estimate
    shares: tuple[Estimate, ...]


def bands_of(found: Derivatives) -> tuple[Band, ...]:
    """Bands of all figures at all seats; figures that are nought are left out.

    Source: ln figure = its value + the sum of what each deviation alone does (`Derivatives.changes`), which holds for what acts by
    factors and to first order for the rest; quantiles and variances over 4096 Sobol points of the deviations; in a sum the
    first-order indices are the parts' variances over that of the whole.
    """
    deviation = deviations(found.uncertain, SAMPLES)  # (samples, uncertain)
    bands = []
    for seat, figure in found.slopes:
        if not np.isfinite(found.logs[seat, figure]).all():
            continue
        changes = found.changes((seat, figure), deviation)  # (uncertain, samples, R + 2)
        ends = np.exp(np.quantile(changes.sum(axis=0), ENDS, axis=0))  # (2, R + 2)
        parts = changes.var(axis=1)
        whole = parts.sum(axis=0)
        with np.errstate(invalid="ignore", divide="ignore"):
            shares = np.where(whole > 0.0, parts / whole, 0.0)
        low, high = (Estimate(float(end[0]), float(jackknife_error(end))) for end in ends)
        each = tuple(Estimate(float(share[0]), float(jackknife_error(share))) for share in shares)
        bands.append(Band(found.scene.seats[seat].name, figure, low, high, each))
    return tuple(bands)


def deviations(uncertain: Sequence[Uncertain], samples: int) -> np.ndarray:
    """Sobol points of the deviations (samples, uncertain), in the unit of each; the same at every call."""
    points = unit_points("sobol", samples, len(uncertain), seed=1)
    columns = [each.deviation(points[:, i]) for i, each in enumerate(uncertain)]
    return np.stack(columns, axis=1) if columns else np.zeros((samples, 0))
