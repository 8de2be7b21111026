"""Derivatives against finite differences of fresh traces."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.answers.slopes import FIGURES, log_slopes

from tests.answers.test_repaint import fresh
from tests.rooms import ANGULAR, box_object, room

STEP = 0.01


@pytest.mark.parametrize("surface", ["ceiling", "left", "crate"])
def test_slopes_are_the_differences_of_fresh_traces_of_the_same_paths(surface: str) -> None:
    # Expected: central difference, definition; the same seed makes the traces' noise cancel, the step errs by 1e-4
    base = {"ceiling": 0.6, "left": 0.3, "crate": 0.4}

    def scene(factor: float) -> object:
        now = {**base, surface: base[surface] * factor}
        crate = box_object("crate", [0.8, 2.0, 0.0], [1.4, 2.6, 0.9], now["crate"])
        return room(ceiling=now["ceiling"], left=now["left"], objects=crate, fabric=ANGULAR)

    answers = Answers.of(scene(1.0), seed=9, paths=16)
    place = answers.arrays.surfaces.index(surface)
    slope = log_slopes(answers, ("checkerboard", "washout", "white"))
    high, low = (fresh(scene(np.exp(s)), seed=9, paths=16) for s in (STEP, -STEP))
    for name in ("checkerboard", "washout", "white"):
        expected = np.log(getattr(high, name)[0] / getattr(low, name)[0]) / (2 * STEP)
        found = [slope[name][seat][place].value for seat in range(2)]
        np.testing.assert_allclose(found, expected, rtol=1e-3, atol=1e-6)


def test_every_figure_of_merit_has_a_slope_with_an_error() -> None:
    answers = Answers.of(room(fabric=ANGULAR), paths=16)
    slope = log_slopes(answers)
    assert set(slope) == set(FIGURES)
    ceiling = answers.arrays.surfaces.index("ceiling")
    for name, seats in slope.items():
        assert all(np.isfinite(value.value) and value.standard_error >= 0 for value in seats[0]), name
    assert slope["checkerboard"][0][ceiling].value < 0 < slope["washout"][0][ceiling].value
    # black at full-black is white over the native contrast: the same slope, by definition
    assert slope["black"][0][ceiling].value == pytest.approx(slope["white"][0][ceiling].value, rel=1e-9)
