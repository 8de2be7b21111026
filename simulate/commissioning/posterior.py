"""Bayesian least squares: what normal beliefs become by readings, for a model that is linear, or is made so again and again."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
from scipy.linalg import cho_factor, cho_solve

from ...materials.dataclass import dataclass

MOST_STEPS = 20
_CLOSE = 3e-4  # a step, in prior standard deviations, that is small: no further one is made
_LEVEL = 0.01  # of -2 ln density: what slopes and predictions of one ledger may differ by
_HALVINGS = 6


@dataclass(frozen=True)
class Posterior:
    """Beliefs after the readings, and how well these were to be expected.

    mean (k,), covariance (k, k)   of the parameters
    predicted (n,), jacobian (n, k)   of the model at the mean;  noise (n, n) covariance of the readings there
    misfit     d' S^-1 d of the readings about what the prior expects, S = J P J' + C: chi-square with n degrees of freedom where
               prior, meters and model are as stated
    evidence   ln of the readings' density given prior and model
    steps      linearisations made;  settled  False where the last step was not yet small
    """

    mean: np.ndarray
    covariance: np.ndarray
    predicted: np.ndarray
    jacobian: np.ndarray
    noise: np.ndarray
    misfit: float
    evidence: float
    steps: int
    settled: bool

    @property
    def deviation(self) -> np.ndarray:
        """Standard deviations (k,)."""
        return np.sqrt(np.diag(self.covariance))


@dataclass(frozen=True)
class Linear:
    """The model about a point: value (n,), slopes (n, k), covariance (n, n) of what readings have on their own."""

    value: np.ndarray
    jacobian: np.ndarray
    noise: np.ndarray


Model = Callable[[np.ndarray], Linear]


def linear_posterior(read: np.ndarray, about: np.ndarray, linear: Linear, mean: np.ndarray, covariance: np.ndarray) -> Posterior:
    """Posterior of a model that is a straight line through `linear` at `about`.

    read (n,), about (k,) where the model was made linear, mean (k,), covariance (k, k) beforehand
    Source: Tarantola and Valette (1982), Rev. Geophys. 20, 219, equation 24 in the readings' space: no inverse of the prior is needed.
    """
    jacobian, away = linear.jacobian, read - linear.value + linear.jacobian @ (about - mean)
    expected = jacobian @ covariance @ jacobian.T + linear.noise
    factor = cho_factor(expected, lower=True)
    gain = cho_solve(factor, jacobian @ covariance).T
    misfit = float(away @ cho_solve(factor, away))
    log_det = 2.0 * float(np.log(np.diag(factor[0])).sum())
    keep = np.eye(len(mean)) - gain @ jacobian
    after = keep @ covariance @ keep.T + gain @ linear.noise @ gain.T  # Joseph's form: symmetric, never negative
    return Posterior(
        mean + gain @ away,
        0.5 * (after + after.T),
        linear.value,
        jacobian,
        linear.noise,
        misfit,
        -0.5 * (misfit + log_det + len(read) * math.log(2.0 * math.pi)),
        1,
        True,
    )


_LONGEST = 10.0  # longest step, in widths of what is held beforehand


def posterior(
    read: np.ndarray, model: Model, mean: np.ndarray, covariance: np.ndarray, start: np.ndarray | None = None
) -> Posterior:
    """Posterior of any smooth model: made linear at each new mean until that stays (Gauss-Newton), halving steps that make it worse.

    start   where to begin (k,); None: at the mean beforehand
    Source: Tarantola and Valette (1982), total inversion; the covariance is that of the last straight line.
    """
    width = np.sqrt(np.diag(covariance))
    at = mean if start is None else start
    linear, settled = model(at), False
    for step in range(1, MOST_STEPS + 1):
        found = linear_posterior(read, at, linear, mean, covariance)
        move = found.mean - at
        settled = float(np.abs(move / width).max()) < _CLOSE
        if settled or step == MOST_STEPS:
            break
        move = move * min(1.0, _LONGEST / float(np.abs(move / width).max()))  # a straight line is no guide farther off
        noise = cho_factor(linear.noise, lower=True)
        before = _height(read, linear.value, noise, at - mean, covariance)
        for halving in range(_HALVINGS):
            move = move if halving == 0 else 0.5 * move
            beyond = _tried(model, at + move)
            if beyond is None:
                continue
            after = _height(read, beyond.value, noise, at + move - mean, covariance)
            if after <= before + _LEVEL * (1.0 + 0.01 * before):
                break
        if beyond is None:  # no step along this line leads anywhere
            break
        at, linear = at + move, beyond
    return replace(found, predicted=linear.value, steps=step, settled=settled)


def _tried(model: Model, at: np.ndarray) -> Linear | None:
    """The model at a point, None where its numbers run over: a step too far, which is to be halved."""
    try:
        with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
            found = model(at)
    except OverflowError:
        return None
    finite = all(np.isfinite(part).all() for part in (found.value, found.jacobian, found.noise))
    return found if finite else None


def _height(read: np.ndarray, value: np.ndarray, noise: Any, away: np.ndarray, covariance: np.ndarray) -> float:
    """-2 ln of the posterior density at a point for one noise (its Cholesky factor), up to what does not change."""
    residual = read - value
    return float(residual @ cho_solve(noise, residual) + away @ np.linalg.solve(covariance, away))
