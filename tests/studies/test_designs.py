"""Designs hold what they are named for: strata, nets, the order of rows that indices ask for; spreads are those of scipy.stats."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from halfgain.simulate.studies.designs import METHODS, unit_points
from halfgain.simulate.studies.spreads import moments, quantile
from scipy.stats import qmc


@pytest.mark.parametrize("samples, factors", [(7, 3), (64, 5), (100, 1)])
def test_a_latin_hypercube_has_one_sample_in_each_stratum_of_each_factor(samples: int, factors: int) -> None:
    """McKay, Beckman and Conover 1979: n strata of equal chance, each sampled once."""
    points = unit_points("latin hypercube", samples, factors, seed=3)
    assert points.shape == (samples, factors)
    for column in points.T:
        assert sorted(np.floor(column * samples)) == list(range(samples))


def test_a_latin_hypercube_estimates_a_sum_with_far_less_noise_than_chance() -> None:
    """Stein 1987: what is additive has variance of a smaller order than 1 / n."""

    def spread(method: str) -> float:
        return float(np.std([unit_points(method, 64, 4, seed).sum(axis=1).mean() for seed in range(200)]))  # type: ignore[arg-type]

    assert spread("latin hypercube") < 0.1 * spread("random")


def test_sobol_points_are_a_net_and_fewer_are_the_first_of_more() -> None:
    """Each dyadic interval of length 1/64 holds one of 64 points; an extended study keeps its first variants."""
    points = unit_points("sobol", 64, 6, seed=5)
    for column in points.T:
        assert sorted(np.floor(column * 64)) == list(range(64))
    assert np.array_equal(points[:32], unit_points("sobol", 32, 6, seed=5))
    assert qmc.discrepancy(points) < 0.5 * qmc.discrepancy(unit_points("random", 64, 6, seed=5))


def test_rows_of_the_indices_design_are_a_b_and_a_with_one_column_of_b() -> None:
    points = unit_points("sobol indices", 16, 3, seed=1).reshape(5, 16, 3)
    a, b = points[:2]
    for i in range(3):
        others = [j for j in range(3) if j != i]
        assert np.array_equal(points[2 + i][:, i], b[:, i])
        assert np.array_equal(points[2 + i][:, others], a[:, others])


@pytest.mark.parametrize("method", METHODS)
def test_the_same_seed_gives_the_same_points_and_another_others(method: str) -> None:
    one, same, other = (unit_points(method, 32, 3, seed) for seed in (1, 1, 2))  # type: ignore[arg-type]
    assert np.array_equal(one, same)
    assert not np.array_equal(one, other)


@pytest.mark.parametrize(
    "kind, arguments, reference",
    [
        ("uniform", (2.0, 0.0, 5.0), scipy.stats.uniform(2.0, 3.0)),
        ("triangular", (1.0, 2.0, 5.0), scipy.stats.triang(0.25, 1.0, 4.0)),
        ("triangular", (1.0, 1.0, 5.0), scipy.stats.triang(0.0, 1.0, 4.0)),
        ("normal", (0.0, 3.0, 3.5), scipy.stats.norm(3.0, 0.5)),
    ],
)
def test_quantiles_and_moments_are_those_of_scipy_stats(kind: str, arguments: tuple[float, ...], reference: object) -> None:
    shares = np.linspace(0.001, 0.999, 41)
    assert quantile(kind, shares, *arguments) == pytest.approx(reference.ppf(shares), rel=1e-12)  # type: ignore[arg-type, attr-defined]
    assert moments(kind, *arguments) == pytest.approx((reference.mean(), reference.std()), rel=1e-12)  # type: ignore[arg-type, attr-defined]
