"""Spreading slowly changing light over an image from few pixels."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.views.cells import spread_over

SHAPE = (49, 81)


def run(key: np.ndarray, truth: np.ndarray) -> tuple[np.ndarray, int]:
    return spread_over(key, lambda pixels: truth.reshape(-1, 1)[pixels], 1)


def test_slow_plane_is_exact_from_the_coarse_grid() -> None:
    y, x = np.indices(SHAPE)
    truth = 100.0 + 0.3 * x + 0.2 * y
    value, asked = run(np.zeros(SHAPE, int), truth)
    assert value[..., 0] == pytest.approx(truth, rel=1e-12)
    assert asked == 4 * 6


def test_inverse_square_light_stays_within_half_a_percent() -> None:
    y, x = np.indices(SHAPE)
    truth = 1.0 / ((x + 12.0) ** 2 + y**2)
    value, asked = run(np.zeros(SHAPE, int), truth)
    assert (np.abs(value[..., 0] / truth - 1.0) < 0.005).mean() > 0.98
    assert np.abs(value[..., 0] / truth - 1.0).max() < 0.02
    assert asked < truth.size / 4


def test_light_never_leaks_across_an_edge() -> None:
    y, x = np.indices(SHAPE)
    key = (x + 0.37 * y > 40).astype(int)
    truth = np.where(key == 1, 1000.0, 1.0)
    value, _ = run(key, truth)
    assert value[..., 0] == pytest.approx(truth, rel=1e-12)


def test_small_things_and_holes_are_found() -> None:
    key = np.zeros(SHAPE, int)
    key[11:14, 13] = 5
    key[30:35, 50:60] = -1
    truth = np.where(key == 5, 7.0, 2.0)
    value, _ = run(key, truth)
    assert value[11:14, 13, 0] == pytest.approx(7.0)
    assert value[key == 0] == pytest.approx(2.0)


def test_a_shadow_between_corners_is_found_by_the_guide() -> None:
    # Expected: the truth itself; the guide knows it but for a factor and 0.5 % of noise
    y, x = np.indices(SHAPE)
    truth = 10.0 - 6.0 * np.exp(-(((x - 40.0) / 3.0) ** 2)) + 0.01 * y
    guide = 3.0 * truth * (1.0 + 0.005 * np.random.default_rng(1).uniform(-1.0, 1.0, SHAPE))
    key = np.zeros(SHAPE, int)
    blind, _ = run(key, truth)
    value, asked = spread_over(key, lambda pixels: truth.reshape(-1, 1)[pixels], 1, guide)
    assert np.abs(blind[..., 0] / truth - 1.0).max() > 0.2
    assert np.abs(value[..., 0] / truth - 1.0).max() < 0.02
    assert asked < truth.size / 4


def test_where_the_guide_knows_how_light_falls_few_pixels_are_asked() -> None:
    # Expected: the truth itself; steep light whose fall the guide tells but for a factor that changes by 3 % over the picture
    y, x = np.indices(SHAPE)
    truth = 1.0 / ((x + 60.0) ** 2 + y**2)
    guide = truth * (1.0 + 0.03 * x / SHAPE[1])
    key = np.zeros(SHAPE, int)
    _, blind = run(key, truth)
    value, asked = spread_over(key, lambda pixels: truth.reshape(-1, 1)[pixels], 1, guide)
    assert asked < 0.5 * blind
    assert np.abs(value[..., 0] / truth - 1.0).max() < 0.01
