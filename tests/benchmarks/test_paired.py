"""Ratios of pairs: the interval holds the true ratio as often as it says, however the times scatter."""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks.against import Compared, compared, in_turn
from benchmarks.paired import ratio_of

TRUE = 1.07


def pairs(rng: np.random.Generator, count: int, tail: bool) -> tuple[list[float], list[float]]:
    """Times of two programs in turn on a machine whose speed drifts, with noise that now and then is large."""
    drift = np.exp(np.cumsum(rng.normal(0.0, 0.2, count)))
    noise = rng.standard_t(1.5, (2, count)) if tail else rng.normal(size=(2, count))
    above, below = drift * np.exp(0.02 * noise)
    return list(TRUE * above), list(below)


@pytest.mark.parametrize("tail", [False, True])
@pytest.mark.parametrize(("count", "expected"), [(3, 0.75), (6, 0.96875), (7, 0.984375), (12, 0.9614257812)])
def test_the_interval_holds_the_true_ratio_as_often_as_it_says(count: int, expected: float, tail: bool) -> None:
    # Expected: binomial distribution, 1 - 2 (C(n, 0) + ... + C(n, cut)) / 2^n, by hand: 12 pairs leave out two at either end
    rng, draws = np.random.default_rng(count), 4000
    found = [ratio_of(*pairs(rng, count, tail)) for _ in range(draws)]
    assert all(each.sure == pytest.approx(expected, abs=1e-9) for each in found)
    held = np.mean([each.low <= TRUE <= each.high for each in found])
    assert held == pytest.approx(expected, abs=4.0 * np.sqrt(expected * (1.0 - expected) / draws))


def test_the_standard_error_is_that_of_the_medians() -> None:
    # Expected: the scatter of the medians themselves over many draws of normal noise; an interval of 25 pairs tells it to a few per cent
    rng = np.random.default_rng(5)
    found = [ratio_of(*pairs(rng, 25, False)) for _ in range(3000)]
    scatter = np.std([each.value for each in found])
    assert np.mean([each.error for each in found]) == pytest.approx(scatter, rel=0.1)


def test_ratios_need_pairs_of_positive_times() -> None:
    for above, below in (([], []), ([1.0], []), ([1.0], [0.0]), ([-1.0], [1.0])):
        with pytest.raises(ValueError, match="pairs of positive times"):
            ratio_of(above, below)
    assert ratio_of([2.0], [1.0])[:3] == (2.0, 2.0, 2.0)


def test_slower_is_said_where_it_is_sure_and_counts() -> None:
    steady = [(1.0, 1.0)] * 7
    assert not compared("same", steady).slower
    assert not compared("a little", [(1.01 * a, b) for a, b in steady]).slower
    assert compared("more", [(1.05 * a, b) for a, b in steady]).slower
    assert not compared("more, but too few pairs", [(1.05, 1.0)] * 3).slower  # three hold the median in 75 of 100
    assert not compared("one pair of seven alone", [(2.0, 1.0), *steady[1:]]).slower
    assert "SLOWER" in str(compared("more", [(1.05, 1.0)] * 7))
    assert "not compared: no such job" in str(Compared("group", 0.0, 0.0, None, "no such job"))


def test_times_are_asked_for_in_turn() -> None:
    asked: list[str] = []

    def ask(who: str, seconds: float) -> float:
        asked.append(who)
        return seconds

    assert in_turn(lambda: ask("this", 0.1), lambda: ask("other", 0.2), 2) == (0.1, 0.2)
    assert asked == ["this", "other", "other", "this"] * 2
    asked.clear()
    assert in_turn(lambda: ask("this", 1.0), lambda: ask("other", 2.0), 2) == (1.0, 2.0)  # long jobs have one turn
    assert asked == ["this", "other", "other", "this"]
