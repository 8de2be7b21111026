"""Spreading slowly changing light over an image from few pixels."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.views.cells import Forecast, spread_over

SHAPE = (65, 97)


def run(key: np.ndarray, truth: np.ndarray) -> tuple[np.ndarray, int]:
    return spread_over(key, lambda pixels: truth.reshape(-1, 1)[pixels], 1)


def test_slow_plane_is_exact_from_the_coarse_grid() -> None:
    y, x = np.indices(SHAPE)
    truth = 100.0 + 0.3 * x + 0.2 * y
    value, asked = run(np.zeros(SHAPE, int), truth)
    assert value[..., 0] == pytest.approx(truth, rel=1e-12)
    assert asked == 5 * 7


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


def forecast(light: np.ndarray, rest: float = 0.0) -> Forecast:
    return Forecast(light[..., None], np.full(SHAPE, rest), np.ones(SHAPE, bool))


def test_a_shadow_between_corners_is_found_by_the_forecast() -> None:
    # Expected: the truth itself; the forecast is 5 % too bright everywhere
    y, x = np.indices(SHAPE)
    truth = 10.0 - 6.0 * np.exp(-(((x - 40.0) / 3.0) ** 2)) + 0.01 * y
    key = np.zeros(SHAPE, int)
    blind, _ = run(key, truth)
    value, asked = spread_over(key, lambda pixels: truth.reshape(-1, 1)[pixels], 1, forecast(1.05 * truth))
    assert np.abs(blind[..., 0] / truth - 1.0).max() > 0.2
    assert np.abs(value[..., 0] / truth - 1.0).max() < 0.02
    assert asked < truth.size / 4


def test_where_the_forecast_tells_how_light_falls_few_pixels_are_asked() -> None:
    # Expected: the truth itself; steep light whose fall the forecast tells but for 3 % at one end of the picture
    y, x = np.indices(SHAPE)
    truth = 1.0 / ((x + 60.0) ** 2 + y**2)
    key = np.zeros(SHAPE, int)
    _, blind = run(key, truth)
    value, asked = spread_over(key, lambda pixels: truth.reshape(-1, 1)[pixels], 1, forecast(truth * (1.0 + 0.03 * x / SHAPE[1])))
    assert asked < 0.5 * blind
    assert np.abs(value[..., 0] / truth - 1.0).max() < 0.01


def test_differences_count_as_shares_of_all_the_light() -> None:
    # Expected: a peak of 5 % of all the light, the rest of which is known, is no matter for the coarse grid; alone it is
    y, x = np.indices(SHAPE)
    truth = 1.0 + np.exp(-(((x - 40.0) / 20.0) ** 2)) + 0.0 * y
    key, dark = np.zeros(SHAPE, int), np.zeros(SHAPE)
    _, alone = spread_over(key, lambda pixels: truth.reshape(-1, 1)[pixels], 1, forecast(dark))
    value, beside = spread_over(key, lambda pixels: truth.reshape(-1, 1)[pixels], 1, forecast(dark, 18.0))
    assert beside == 5 * 7 < alone
    assert np.abs(value[..., 0] - truth).max() < 0.01 * 19.0
