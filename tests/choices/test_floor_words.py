"""Missed floors in words: what is below a floor is never printed like it."""

from __future__ import annotations

import pytest
from halfgain.simulate.choices.floor_words import shortfall_words
from halfgain.simulate.choices.floors import Floor, Shortfall


@pytest.mark.parametrize(
    ("floor", "got", "told"),
    [
        (Floor.HOT_SPOT, 50.4, "has 50 % of the middle, at least 68 % is asked"),
        (Floor.HOT_SPOT, 67.7, "has 67.7 % of the middle, at least 68 % is asked"),
        (Floor.HOT_SPOT, 67.996, "has 67.996 % of the middle, at least 68 % is asked"),
        (Floor.TOO_DARK, 30.0, "too dark: 30 cd/m2 at a, at least 68 is asked"),
        (Floor.TOO_DARK, 67.98, "too dark: 67.98 cd/m2 at a, at least 68 is asked"),
    ],
)
def test_what_misses_a_floor_by_little_is_told_with_as_many_figures_as_show_it(floor: Floor, got: float, told: str) -> None:
    assert told in shortfall_words(Shortfall(floor, got, 68.0, "", seat="a"))
