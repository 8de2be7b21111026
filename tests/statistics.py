"""What the tests ask of an estimate: to lie within four standard errors of the truth (1 in 15,000 fails by chance; seeds are fixed)."""

from __future__ import annotations

import numpy as np


def within_standard_errors(value: float, standard_error: float, truth: float, *, times: float = 4.0, bias: float = 0.0) -> None:
    """Fail with all the figures when value is farther from truth than times standard errors plus a stated bias bound."""
    away = abs(value - truth)
    room = times * standard_error + bias
    assert away <= room, (
        f"{value} is {away:.3g} from {truth}; allowed {room:.3g} ({times} standard errors of {standard_error:.3g}, bias {bias:.3g})"
    )


def mean_and_error(replications: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Mean over the first axis and its standard error."""
    return replications.mean(axis=0), replications.std(axis=0, ddof=1) / np.sqrt(len(replications))
