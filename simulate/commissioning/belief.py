"""Parameters, prior and readings as the model that Bayesian least squares asks for."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...materials.dataclass import dataclass
from .parameter import Parameter
from .parameters import prior_covariance
from .posterior import Linear, Posterior, posterior
from .predictor import Knobs, Predictor

LEAST_NOISE = 1e-5  # of a reading, relative: what the ledger's single-precision numbers hold
SLIP = 1.0  # relative standard deviation of a reading that went wrong: a slipped digit, a wrong place (own choice)


@dataclass(frozen=True)
class Opened:
    """What is no longer held to be as stated: parameters (sets that move together) and readings, by place."""

    paints: tuple[tuple[int, ...], ...] = ()
    readings: tuple[int, ...] = ()


class Belief:
    """A design, its readings, and what is held of both.

    read  (n,) what the meters read [lx] or [cd/m2]
    """

    def __init__(self, predictor: Predictor, parameters: Sequence[Parameter], read: np.ndarray, other_paint: float) -> None:
        self.predictor, self.parameters, self.read, self._other = predictor, tuple(parameters), read, other_paint
        self.mean = np.array([each.mean for each in parameters])

    def before(self, opened: Opened) -> np.ndarray:
        """Covariance (k, k) beforehand; opened finishes may be any other, together where they are one."""
        covariance = prior_covariance(self.parameters)
        for places in opened.paints:
            together = np.zeros(len(covariance))
            together[list(places)] = self._other
            covariance += np.outer(together, together)
        return covariance

    def knobs(self, t: np.ndarray) -> Knobs:
        """The predictor's knobs for parameters t (k,)."""
        knobs = self.predictor.stated
        for parameter, value in zip(self.parameters, t, strict=True):
            knobs = parameter.put(knobs, float(value))
        return knobs

    def linear(self, t: np.ndarray, opened: Opened) -> Linear:
        """Prediction, slopes and noise at t (k,)."""
        return self._linear(self.knobs(t), t, range(len(self.parameters)), opened)

    def _linear(self, knobs: Knobs, t: np.ndarray, places: Sequence[int], opened: Opened) -> Linear:
        stack, slopes = self.predictor.line(knobs)
        columns = [self.parameters[i].by(slopes, float(x), knobs) for i, x in zip(places, t, strict=True)]
        return Linear(stack[0], np.stack(columns, axis=1), self.noise(stack, opened))

    def noise(self, stack: np.ndarray, opened: Opened) -> np.ndarray:
        """Covariance (n, n) that readings have about a prediction (R + 2, n) besides their calibration: theirs and the light paths'."""
        value = stack[0]
        own = np.array([each.own_uncertainty(x) for each, x in zip(self.predictor.readings, value, strict=True)])
        own = np.hypot(own, LEAST_NOISE * np.maximum(np.abs(value), np.abs(self.read)))
        for i in opened.readings:
            own[i] = SLIP * max(abs(value[i]), abs(self.read[i]))
        return np.diag(own**2) + path_covariance(stack)

    def after_alone(self, opened: Opened, free: Sequence[int], start: np.ndarray) -> Posterior:
        """Posterior of some parameters with all others as the scene states them; means and covariance are of those in `free`.

        start  of all parameters (k,)
        """
        places = list(free)
        held = self.predictor.stated

        def linear(t: np.ndarray) -> Linear:
            knobs = held
            for i, value in zip(places, t, strict=True):
                knobs = self.parameters[i].put(knobs, float(value))
            return self._linear(knobs, t, places, opened)

        return posterior(self.read, linear, self.mean[places], self.before(opened)[np.ix_(places, places)], start[places])

    def after(self, opened: Opened, start: np.ndarray | None = None) -> Posterior:
        """Posterior with some things opened."""
        return posterior(self.read, lambda t: self.linear(t, opened), self.mean, self.before(opened), start)


def path_covariance(stack: np.ndarray) -> np.ndarray:
    """Covariance (n, n) of predictions from their replicates (R + 2, n), what the map may be wrong by included.

    Source: delete-one jackknife (Tukey 1958); the map's bound as a rectangular distribution, GUM 4.3.7.
    """
    left_out = stack[1:-1]
    away, bias = left_out - left_out.mean(axis=0), stack[0] - stack[-1]
    count = len(left_out)
    return (count - 1) / count * away.T @ away + np.outer(bias, bias) / 3.0
