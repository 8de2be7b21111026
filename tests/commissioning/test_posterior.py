"""Bayesian least squares against closed forms, numpy and scipy; what is told apart against linear algebra done apart."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.commissioning.posterior import Linear, linear_posterior, posterior
from halfgain.simulate.commissioning.told_apart import directions, narrowed, pairs
from scipy import optimize, stats

RNG = np.random.default_rng(4)


def _random_case(readings: int, parameters: int) -> tuple[np.ndarray, Linear, np.ndarray, np.ndarray]:
    jacobian = RNG.standard_normal((readings, parameters))
    half, other = RNG.standard_normal((readings, readings)), RNG.standard_normal((parameters, parameters))
    linear = Linear(RNG.standard_normal(readings), jacobian, half @ half.T + np.eye(readings))
    return RNG.standard_normal(readings), linear, RNG.standard_normal(parameters), other @ other.T + np.eye(parameters)


@pytest.mark.parametrize(("readings", "parameters"), [(9, 4), (3, 7)])
def test_a_linear_posterior_is_that_of_the_normal_equations(readings: int, parameters: int) -> None:
    # Expected: covariance (J' C^-1 J + P^-1)^-1 and its mean, textbook (Tarantola 2005, equations 3.37 and 3.38), by plain inverses
    read, linear, mean, before = _random_case(readings, parameters)
    about = RNG.standard_normal(parameters)
    found = linear_posterior(read, about, linear, mean, before)
    weight = np.linalg.inv(linear.noise)
    covariance = np.linalg.inv(linear.jacobian.T @ weight @ linear.jacobian + np.linalg.inv(before))
    away = read - linear.value - linear.jacobian @ (mean - about)
    np.testing.assert_allclose(found.covariance, covariance, atol=1e-10)
    np.testing.assert_allclose(found.mean, mean + covariance @ linear.jacobian.T @ weight @ away, atol=1e-10)


def test_the_evidence_is_the_density_of_the_readings() -> None:
    # Expected: scipy's multivariate normal, mean and covariance of the readings before they are taken
    read, linear, mean, before = _random_case(6, 3)
    found = linear_posterior(read, mean, linear, mean, before)
    whole = linear.jacobian @ before @ linear.jacobian.T + linear.noise
    assert found.evidence == pytest.approx(stats.multivariate_normal(linear.value, whole).logpdf(read), rel=1e-12)


def test_one_reading_of_one_thing_is_the_weighted_mean() -> None:
    # Expected: 10 +- 1 beforehand, read 12 +- 2: (10 / 1 + 12 / 4) / (1 + 1/4) = 10.4, variance 0.8, worked by hand
    found = linear_posterior(
        np.array([12.0]), np.array([10.0]), Linear(np.array([10.0]), np.eye(1), 4.0 * np.eye(1)), np.array([10.0]), np.eye(1)
    )
    assert found.mean[0] == pytest.approx(10.4, rel=1e-12)
    assert found.covariance[0, 0] == pytest.approx(0.8, rel=1e-12)


def test_a_curved_model_ends_at_the_greatest_posterior_density() -> None:
    # Expected: scipy's minimiser of the same -2 ln density, which knows no slopes
    def value(t: np.ndarray) -> np.ndarray:
        return np.array([np.exp(t[0]) * (1.0 + 0.5 * np.tanh(t[1])), np.exp(t[0]), t[1] ** 2])

    def model(t: np.ndarray) -> Linear:
        e, th = np.exp(t[0]), np.tanh(t[1])
        slopes = [[e * (1 + 0.5 * th), e * 0.5 * (1 - th**2)], [e, 0.0], [0.0, 2 * t[1]]]
        return Linear(value(t), np.array(slopes), np.diag([0.02, 0.05, 0.3]) ** 2)

    read, mean, before = np.array([3.1, 2.2, 1.0]), np.array([0.0, 0.5]), np.diag([1.0, 0.6]) ** 2
    found = posterior(read, model, mean, before)

    def height(t: np.ndarray) -> float:
        return float((((read - value(t)) / [0.02, 0.05, 0.3]) ** 2).sum() + (((t - mean) / [1.0, 0.6]) ** 2).sum())

    expected = optimize.minimize(height, mean, method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 4000})
    assert found.settled
    np.testing.assert_allclose(found.mean, expected.x, atol=1e-4)


def test_directions_are_eigenvectors_of_what_the_readings_say() -> None:
    # Expected: for a prior of unit deviations, posterior = (F + 1)^-1, so ratio^2 = 1 / (1 + eigenvalue of F), numpy's eigh
    jacobian = RNG.standard_normal((5, 3))
    information = jacobian.T @ jacobian
    found = directions(np.linalg.inv(information + np.eye(3)), np.eye(3))
    values, vectors = np.linalg.eigh(information)
    np.testing.assert_allclose([each.ratio for each in found], 1.0 / np.sqrt(1.0 + values[::-1]), rtol=1e-9)
    for each, vector in zip(found, vectors.T[::-1], strict=True):
        assert abs(each.weights @ vector) == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_what_only_a_sum_or_a_difference_tells_of_is_a_pair(sign: float) -> None:
    # Expected: a reading of a + sign b to 0.01 where both are 1 beforehand: the other combination stays as open as it was
    before = np.diag([1.0, 1.0, 4.0])
    jacobian = np.array([[1.0, sign, 0.0], [0.0, 0.0, 1.0]])
    found = linear_posterior(np.zeros(2), np.zeros(3), Linear(np.zeros(2), jacobian, 1e-4 * np.eye(2)), np.zeros(3), before)
    told = pairs(found.covariance, before)
    assert [(pair.first, pair.second, pair.together) for pair in told] == [(0, 1, int(sign))]
    assert told[0].known == pytest.approx(0.01 / np.sqrt(2.0), rel=1e-3)
    assert told[0].open == pytest.approx(1.0, rel=1e-6)
    np.testing.assert_allclose(narrowed(found.covariance, before), [np.sqrt(0.5), np.sqrt(0.5), 0.005], rtol=1e-3)


def test_what_each_reading_tells_of_by_itself_is_no_pair() -> None:
    before = np.eye(2)
    found = linear_posterior(np.zeros(2), np.zeros(2), Linear(np.zeros(2), np.eye(2), 1e-2 * np.eye(2)), np.zeros(2), before)
    assert pairs(found.covariance, before) == []
    nothing = linear_posterior(np.zeros(1), np.zeros(2), Linear(np.zeros(1), np.zeros((1, 2)), np.eye(1)), np.zeros(2), before)
    assert pairs(nothing.covariance, before) == []
    np.testing.assert_allclose(narrowed(nothing.covariance, before), 1.0)
