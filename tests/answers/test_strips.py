"""Strips and rugs told from one ledger, against the same room traced with such a part of its surface."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.materials.finish import Finish
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.answers.repaint import Allowed
from halfgain.simulate.answers.strips import STEP_M, Strip, strips
from halfgain.simulate.measuring.estimate import estimate

from tests.rooms import room

DARK = Finish("dark", (0.05, 0.05, 0.05))


def worst(answers: Answers) -> tuple[float, float]:
    found = answers.quick().checkerboard
    least = estimate(found[:, int(np.argmin(found[0]))])
    return least.value, least.standard_error


@pytest.fixture(scope="module")
def found() -> tuple[Answers, list[Strip]]:
    answers = Answers.of(room(ceiling=0.8), paths=256, threads=2)
    return answers, strips(answers, [Allowed("ceiling", DARK, 12.0), Allowed("left", DARK, 8.0), Allowed("back", DARK, 8.0)])


def test_a_strip_gives_what_a_room_traced_with_it_has(found: tuple[Answers, list[Strip]]) -> None:
    # Expected: the same room with the part in its scene, traced with other random numbers
    strip = found[1][0]
    assert strip.surface == "ceiling"
    part = f'[[room.part]]\nname = "strip"\non = "ceiling"\nout_m = [0, {strip.out_m}]\nfinish = 0.05\n'
    traced = Answers.of(room(ceiling=0.8, objects=part), paths=256, seed=9, threads=2)
    value, error = worst(traced)
    assert abs(value - strip.contrast.value) < 3.0 * np.hypot(error, strip.contrast.standard_error) + 0.003 * value


def test_a_strip_is_the_narrowest_that_gives_most_of_its_surface(found: tuple[Answers, list[Strip]]) -> None:
    answers, all_of_them = found
    now, _ = worst(answers)
    whole, _ = worst(answers.with_finish("ceiling", DARK))
    strip = all_of_them[0]
    assert strip.whole.value == pytest.approx(whole, rel=1e-6)
    share = np.log(strip.contrast.value / now) / np.log(whole / now)
    assert 0.8 <= share < 0.85
    assert strip.out_m / STEP_M == pytest.approx(round(strip.out_m / STEP_M))
    assert strip.area_m2 == pytest.approx(4.0 * strip.out_m, rel=0.01)
    assert strip.price == pytest.approx(12.0 * strip.area_m2)


def test_a_wall_that_does_not_reach_out_has_no_strip(found: tuple[Answers, list[Strip]]) -> None:
    assert "back" not in [strip.surface for strip in found[1]]
