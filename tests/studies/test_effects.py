"""Main effects, rankings and fronts against what follows by hand, and how far chance is told from effect."""

from __future__ import annotations

import math

import numpy as np
import pytest
from halfgain.simulate.measuring.estimate import REPLICATIONS
from halfgain.simulate.studies.designs import unit_points
from halfgain.simulate.studies.effects import main_effects
from halfgain.simulate.studies.figures import worst
from halfgain.simulate.studies.ranking import pareto_front, ranked

from .test_indices import FIRST, ishigami


def stack_of(values: np.ndarray, noise: float = 0.0, seed: int = 1) -> np.ndarray:
    """Replicates of values whose replications have independent noise."""
    samples = values[:, None] + noise * np.random.default_rng(seed).standard_normal((len(values), REPLICATIONS))
    mean = samples.mean(axis=1, keepdims=True)
    left_out = (REPLICATIONS * mean - samples) / (REPLICATIONS - 1)
    return np.concatenate([mean, left_out, mean], axis=1)


def grid(*sides: list[float]) -> np.ndarray:
    return np.stack([each.ravel() for each in np.meshgrid(*sides, indexing="ij")], axis=1)


def columns(points: np.ndarray) -> list[list[float | str]]:
    return [[float(value) for value in column] for column in points.T]


def test_effects_of_a_full_grid_are_the_analysis_of_variance() -> None:
    """y = 3 a + b + a b on a, b = -1, 0, 1: mean squares 6, 2/3 and 4/9 of 6 + 2/3 + 4/9 (by hand)."""
    points = grid([-1.0, 0.0, 1.0], [-1.0, 0.0, 1.0])
    values = 3.0 * points[:, 0] + points[:, 1] + points[:, 0] * points[:, 1]
    effects = main_effects(["b", "a"], columns(points[:, ::-1]), [False, False], stack_of(values))
    assert [effect.factor for effect in effects] == ["a", "b"]
    whole = 6.0 + 2.0 / 3.0 + 4.0 / 9.0
    assert [effect.share.value for effect in effects] == pytest.approx([6.0 / whole, 2.0 / 3.0 / whole], rel=1e-12)
    assert [level.mean.value for level in effects[0].levels] == pytest.approx([-3.0, 0.0, 3.0], abs=1e-12)
    assert [level.mean.standard_error for level in effects[0].levels] == pytest.approx([0.0] * 3, abs=1e-12)


@pytest.mark.parametrize("method", ["latin hypercube", "sobol", "random"])
def test_shares_of_drawn_factors_are_first_order_indices(method: str) -> None:
    """Bins of the Ishigami function's arguments find its published indices, but for what eight bins miss of its waves."""
    points = unit_points(method, 4096, 3, seed=4)  # type: ignore[arg-type]
    effects = {
        each.factor: each for each in main_effects(["0", "1", "2"], columns(points), [True] * 3, stack_of(ishigami(points)))
    }
    half = (
        math.pi / 8
    )  # of a bin's angle; the mean of a sine over a bin is sin(half) / half of it, of its square's wave twice that
    kept = [(math.sin(half) / half) ** 2, (math.sin(2 * half) / (2 * half)) ** 2, 1.0]
    for i in range(3):
        found = effects[str(i)].share
        assert abs(found.value - FIRST[i] * kept[i]) < 4.0 * found.standard_error


def test_a_factor_that_does_nothing_has_no_share_beyond_its_error() -> None:
    """Where chance alone differs between levels epsilon squared takes it off: in 200 draws the mean share is below one error."""
    shares = []
    for seed in range(200):
        points = unit_points("random", 64, 2, seed)
        effects = {each.factor: each for each in main_effects(["a", "b"], columns(points), [True, True], stack_of(points[:, 0]))}
        shares.append(effects["b"].share)
        assert effects["b"].share.value < 5.0 * effects["b"].share.standard_error
    assert np.mean([share.value for share in shares]) < np.mean([share.standard_error for share in shares])


def test_levels_that_meet_the_same_draws_are_not_blurred_by_them() -> None:
    """Two levels, 0.1 apart, over draws that spread by 1: the share is that of the variants, the means are apart."""
    draws = unit_points("random", 32, 1, seed=1)[:, 0]
    values = np.concatenate([draws, draws + 0.1])
    level = ["low"] * 32 + ["high"] * 32
    effects = {
        e.factor: e
        for e in main_effects(["x", "level"], [[*map(float, draws), *map(float, draws)], level], [True, False], stack_of(values))
    }
    low, high = (each.mean for each in effects["level"].levels)
    assert high.value - low.value == pytest.approx(0.1, rel=1e-9)
    assert high.standard_error < 0.03
    assert effects["level"].share.value == pytest.approx(0.05**2 / np.var(values), rel=1e-9)


@pytest.mark.parametrize("draws", [4, 64])
def test_a_tolerance_about_each_scenes_own_value_is_not_taken_for_the_scene(draws: int) -> None:
    """30 % about 2200 lm in one scene and 2800 lm in another: a contrast goes with the scene alone, a share of the nominal with the draw."""
    drawn = unit_points("latin hypercube", draws, 1, seed=2)
    factor = 1.0 + 0.3 * (2.0 * drawn[:, 0] - 1.0)
    shares_drawn = np.tile(np.stack([drawn[:, 0], np.full(draws, np.nan)], axis=1), (2, 1))
    lumens, scene = np.concatenate([2200.0 * factor, 2800.0 * factor]), ["a"] * draws + ["b"] * draws
    for figure, shares in ((np.repeat([50.0, 100.0], draws), (0.0, 1.0)), (np.tile(factor, 2), (1.0, 0.0))):
        stack = stack_of(figure)
        effects = main_effects(["lumens", "scene"], [list(map(float, lumens)), scene], [True, False], stack, shares_drawn)
        found = {each.factor: each.share.value for each in effects}
        assert (found["lumens"], found["scene"]) == pytest.approx(shares, abs=0.04), "bins miss 1 / 64 of an even spread"


def test_a_tolerance_in_a_sampled_design_is_not_taken_for_the_scene_that_was_drawn_with_it() -> None:
    """Scenes drawn beside it, three times as bright one as the other: what goes with the scene alone is no share of the tolerance's."""
    drawn = unit_points("latin hypercube", 128, 2, seed=3)
    second = drawn[:, 1] >= 0.5
    lumens = np.where(second, 3000.0, 1000.0) * (1.0 + 0.3 * (2.0 * drawn[:, 0] - 1.0))
    columns = [list(map(float, lumens)), ["b" if each else "a" for each in second]]
    draws = np.stack([drawn[:, 0], np.full(128, np.nan)], axis=1)
    for figure, shares in ((np.where(second, 100.0, 50.0), (0.0, 1.0)), (drawn[:, 0], (1.0, 0.0))):
        found = {
            each.factor: each.share for each in main_effects(["lumens", "scene"], columns, [True] * 2, stack_of(figure), draws)
        }
        for name, share in zip(("lumens", "scene"), shares, strict=True):
            assert abs(found[name].value - share) < 0.04 + 3.0 * found[name].standard_error
    assert found["lumens"].value > 0.95


def test_the_worst_seat_of_each_variant_keeps_its_replicates() -> None:
    one, other = stack_of(np.array([1.0, 5.0]), 0.1), stack_of(np.array([2.0, 4.0]), 0.1, seed=2)
    both = np.stack([one, other])
    assert np.array_equal(worst(both, 1), np.stack([one[0], other[1]]))
    assert np.array_equal(worst(both, -1), np.stack([other[0], one[1]]))
    assert worst(both, 0) == pytest.approx(0.5 * (one + other))


def test_a_ranking_tells_who_is_surely_behind_by_paired_differences() -> None:
    """Common noise of 1 does not hide a difference of 0.1; independent noise does."""
    shared = stack_of(np.zeros(1), 1.0)
    common = ranked(np.concatenate([shared, shared - 0.1]), better=1)
    assert list(common.behind) == [False, True]
    apart = ranked(stack_of(np.array([0.0, -0.1]), 1.0), better=1)
    assert list(apart.behind) == [False, False]
    assert list(ranked(stack_of(np.array([3.0, 1.0, np.nan, 2.0])), better=-1).order) == [1, 3, 0]
    digits = stack_of(np.array([87.0, 87.0 * (1.0 + 1e-14)]))
    assert not ranked(digits, better=1).behind.any()


def test_the_front_holds_what_none_beats_in_both() -> None:
    one = stack_of(np.array([1.0, 2.0, 3.0, 1.5, 0.5]))
    other = stack_of(np.array([3.0, 2.0, 1.0, 1.5, 0.5]))
    found = pareto_front(one, other, (1, 1))
    assert sorted(found.front) == [0, 1, 2]
    assert list(found.near) == []
    assert sorted(pareto_front(one, other, (-1, -1)).front) == [4]


def test_rounding_alone_puts_nothing_on_the_front_nor_near_it() -> None:
    """Lumens move white and leave a contrast as it is, but for its last digits: only the brightest is best."""
    one = stack_of(np.array([1.0, 2.0, 3.0]))
    other = stack_of(np.array([87.0 * (1.0 + 1e-14), 87.0 * (1.0 + 2e-14), 87.0]))
    for pair in (one, other), (other, one):
        found = pareto_front(*pair, (1, 1))
        assert (list(found.front), list(found.near)) == ([2], [])


def test_variants_within_the_errors_of_the_front_are_near_it() -> None:
    one, other = stack_of(np.array([1.0, 0.99]), 0.1), stack_of(np.array([1.0, 0.99]), 0.1, seed=2)
    found = pareto_front(one, other, (1, 1))
    assert len(found.front) + len(found.near) == 2
