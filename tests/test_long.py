"""Which tests `-m "not long"` leaves out."""

from __future__ import annotations

from tests.conftest import QUICK_S, long_ones


def test_as_many_of_the_longest_are_left_out_as_the_others_need() -> None:
    seconds = {f"test {i}": 0.5 * QUICK_S / (i + 1) for i in range(20)}
    long = long_ones(seconds)
    rest = {test: took for test, took in seconds.items() if test not in long}
    assert sum(rest.values()) <= QUICK_S < sum(rest.values()) + min(seconds[test] for test in long)
    assert min(seconds[test] for test in long) >= max(rest.values())
    assert long_ones({"a": QUICK_S}) == {}
