"""Three repaints from one ledger against two programs that solve each room anew: refined radiosity and a reference renderer.

Quantity: returned irradiance on the 25 measuring points of a diffuse screen, for a white picture and a checkerboard.
"""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.answers.answers import Answers

from tests.light.test_against_others import EXITANCE, GAIN, HEIGHT, WIDTH, both_pictures, measuring_points
from tests.outside import mitsuba_room, radiosity
from tests.outside.box_room import Room, Screen, checkerboard
from tests.outside.kept import kept_batches
from tests.rooms import room

REPAINTS = (
    {"front": 0.5, "back": 0.5, "left": 0.5, "right": 0.5, "ceiling": 0.7, "floor": 0.2},
    {"front": 0.05, "back": 0.6, "left": 0.05, "right": 0.05, "ceiling": 0.05, "floor": 0.1},
    {"front": 0.1, "back": 0.3, "left": 0.6, "right": 0.2, "ceiling": 0.1, "floor": 0.4},
)


@pytest.fixture(scope="module")
def ledger() -> Answers:
    return Answers.of(room(), seed=21, paths=1024, cells=40, threads=2)


def returned(ledger: Answers, walls: dict[str, float]) -> np.ndarray:
    """(replication, picture, point) irradiance over the exitance of white; replications from the left-out means."""
    stack = ledger.with_finishes(walls).stack()[:, :, 0, :, :, 0].sum(axis=2)
    each = 16 * stack[:1] - 15 * stack[1:-1]
    return np.moveaxis(each, 2, 1) * np.pi / GAIN / EXITANCE


@pytest.mark.long
@pytest.mark.parametrize("walls", REPAINTS)
def test_repaints_agree_with_a_fresh_radiosity_solve(ledger: Answers, walls: dict[str, float]) -> None:
    # Expected: tests/outside/radiosity.py, exact exchange areas, refined until it moves less than 0.2 %
    found = returned(ledger, walls)
    place = measuring_points()
    answers = both_pictures(lambda screen: radiosity.returned_irradiance(Room(4.0, 6.0, 2.7, walls), screen, place).irradiance)
    error = found.std(axis=0, ddof=1) / 4
    assert np.all(np.abs(found.mean(axis=0) - answers) <= 4 * error + 0.005 * answers)
    ratio = found.mean(axis=2) / answers.mean(axis=1)
    assert np.all(np.abs(ratio.mean(axis=0) - 1) <= 3 * ratio.std(axis=0, ddof=1) / 4 + 0.0025)


@pytest.mark.long
@pytest.mark.reference
@pytest.mark.parametrize("walls", REPAINTS)
def test_repaints_agree_with_the_reference_renderer(ledger: Answers, walls: dict[str, float]) -> None:
    # Expected: mitsuba, path integrator, 16 independent seeds
    found, place = returned(ledger, walls), measuring_points()
    for picture, radiance in enumerate((1.0, checkerboard())):
        screen = Screen(WIDTH, HEIGHT, 0.7, GAIN, radiance=radiance / np.pi, gap_m=0.001)
        name = f"repaint {REPAINTS.index(walls) + 1}, {('white', 'checkerboard')[picture]}"
        there = Room(4.0, 6.0, 2.7, walls)
        other = kept_batches(name, mitsuba_room.batch_irradiance, there, screen, place, spp=900)[:, :, 1]
        ours, theirs = found[:, picture].mean(axis=1), other.mean(axis=1)
        spread = np.hypot(ours.std(ddof=1), theirs.std(ddof=1)) / 4
        assert abs(ours.mean() - theirs.mean()) <= 3 * spread + 0.005 * theirs.mean()
        assert spread < 0.01 * theirs.mean()
