"""Sobol indices against a function whose indices are published, and against an independent program."""

from __future__ import annotations

import math

import numpy as np
import pytest
from halfgain.simulate.studies.designs import unit_points
from halfgain.simulate.studies.indices import sobol_indices

from tests.needs import needs

# Ishigami and Homma 1990, a = 7, b = 0.1: indices in closed form (Saltelli et al. 2008, Global Sensitivity Analysis: The Primer)
A, B = 7.0, 0.1
VARIANCE = A**2 / 8 + B * math.pi**4 / 5 + B**2 * math.pi**8 / 18 + 0.5
FIRST = (0.5 * (1 + B * math.pi**4 / 5) ** 2 / VARIANCE, A**2 / 8 / VARIANCE, 0.0)
THIRTEEN = B**2 * math.pi**8 * (1 / 18 - 1 / 50) / VARIANCE
TOTAL = (FIRST[0] + THIRTEEN, FIRST[1], THIRTEEN)


def ishigami(points: np.ndarray) -> np.ndarray:
    x = math.pi * (2.0 * points - 1.0)
    return np.sin(x[:, 0]) + A * np.sin(x[:, 1]) ** 2 + B * x[:, 2] ** 4 * np.sin(x[:, 0])


def test_the_closed_form_is_the_published_one() -> None:
    """0.3139, 0.4424, 0 and 0.5576, 0.4424, 0.2437 stand in many papers."""
    assert pytest.approx((0.3139, 0.4424, 0.0), abs=5e-5) == FIRST
    assert pytest.approx((0.5576, 0.4424, 0.2437), abs=5e-5) == TOTAL


def test_indices_of_the_ishigami_function_within_their_errors() -> None:
    found = sobol_indices(ishigami(unit_points("sobol indices", 4096, 3, seed=1)), 3)
    for estimates, truth in ((found.first, FIRST), (found.total, TOTAL)):
        for value, true in zip(estimates, truth, strict=True):
            assert abs(value.value - true) < 4.0 * value.standard_error
            assert value.standard_error < 0.03
    assert found.variance == pytest.approx(VARIANCE, rel=0.01)


def test_errors_of_indices_hold_over_many_designs() -> None:
    """95 % of intervals of two errors should hold the truth; points of a net err less than chance would, never more."""
    inside = [
        abs(value.value - true) <= 2.131 * value.standard_error
        for seed in range(100)
        for value, true in zip(sobol_indices(ishigami(unit_points("sobol indices", 256, 3, seed)), 3).first, FIRST, strict=True)
    ]
    assert np.mean(inside) > 0.93


def test_indices_are_those_of_an_independent_program() -> None:
    """SALib, on the same values in its order of rows."""
    sobol = needs("SALib.analyze.sobol")
    samples, factors = 1024, 3
    values = ishigami(unit_points("sobol indices", samples, factors, seed=2))
    blocks = values.reshape(factors + 2, samples)
    theirs = np.concatenate([blocks[:1], blocks[2:], blocks[1:2]]).T.ravel()  # a row of A, its AB_i, its B, one after the other
    problem = {"num_vars": 3, "names": ["a", "b", "c"], "bounds": [[0, 1]] * 3}
    reference = sobol.analyze(problem, theirs, calc_second_order=False, seed=1)
    found = sobol_indices(values, factors)
    # they scale by the standard deviation of A and B together, without taking the mean from one of two: alike to rounding
    assert [each.value for each in found.first] == pytest.approx(list(reference["S1"]), abs=2e-3)
    assert [each.value for each in found.total] == pytest.approx(list(reference["ST"]), abs=2e-3)


def test_what_does_not_vary_has_no_indices() -> None:
    found = sobol_indices(np.full(16 * 4, 3.0), 2)
    assert [each.value for each in (*found.first, *found.total)] == [0.0] * 4


@pytest.mark.parametrize("count", [15, 63])
def test_rows_that_are_no_design_are_refused(count: int) -> None:
    with pytest.raises(ValueError, match="no design"):
        sobol_indices(np.zeros(count), 2)


def test_what_varies_by_rounding_alone_has_no_share() -> None:
    from halfgain.simulate.studies.indices import _indices

    blocks = 0.93 + 1e-7 * np.random.default_rng(5).standard_normal((4, 64))
    assert (_indices(blocks) == 0.0).all()
    blocks = 0.93 + 1e-3 * np.random.default_rng(5).standard_normal((4, 64))
    assert (_indices(blocks) != 0.0).any()
