"""Reverberation times: worked examples, an independent library's formulas, its image sources and rays."""

from __future__ import annotations

import math

import numpy as np
import pytest
from halfgain.simulate.sound.reverberation import (
    ARAU,
    EYRING,
    FITZROY,
    SABINE,
    all_four,
    arau_puchades,
    exponent,
    eyring,
    fitzroy,
    sabine,
    to_trust,
    unscattered,
)

from ..outside.kept import kept_batches
from ..outside.sound_rays import batch_times
from ..statistics import within_standard_errors

SIZE = np.array([5.0, 4.0, 2.5])
VOLUME, AREA = 50.0, 85.0
PAIRS = np.array([20.0, 25.0, 40.0])  # m2: left and right, front and back, floor and ceiling
SPEED = 343.2


def absorbed(left: float, right: float, front: float, back: float, floor: float, ceiling: float) -> np.ndarray:
    """Absorption areas of the pairs, (3, 1) [m2], of SIZE with left and right 5 m apart."""
    means = np.array([left + right, front + back, floor + ceiling]) / 2.0
    return (PAIRS * means)[:, None]


def test_a_room_worked_by_hand() -> None:
    """Source: 5 x 4 x 2.5 m at 500 Hz, heavy carpet on concrete 0.14 (published tables), the rest 0.05; then walls of heavy velour, 0.55."""
    hard = 20.0 * 0.14 + 65.0 * 0.05
    assert hard == pytest.approx(6.05)
    assert float(sabine(VOLUME, hard)) == pytest.approx(1.330743, abs=1e-6)
    assert float(eyring(VOLUME, AREA, hard)) == pytest.approx(1.282802, abs=1e-6)
    soft = 20.0 * 0.14 + 45.0 * 0.55 + 20.0 * 0.05
    assert soft == pytest.approx(28.55)
    assert float(sabine(VOLUME, soft)) == pytest.approx(0.281996, abs=1e-6)
    assert float(eyring(VOLUME, AREA, soft)) == pytest.approx(0.231416, abs=1e-6)
    assert 24.0 * math.log(10.0) / SPEED == pytest.approx(0.1610199, abs=1e-7)


def test_both_formulas_agree_with_an_independent_library() -> None:
    """Source: pyroomacoustics. Its Eyring has the sign of the air's term turned (S ln(1 - a) + 4 m V), so air is left out there."""
    from pyroomacoustics.acoustics import rt60_eyring, rt60_sabine

    draw = np.random.default_rng(5)
    for _ in range(50):
        volume, area, mean, air = draw.uniform(20, 200), draw.uniform(50, 250), draw.uniform(0.01, 0.9), draw.uniform(0, 0.02)
        assert float(sabine(volume, area * mean, air)) == pytest.approx(rt60_sabine(area, volume, mean, air, SPEED), rel=1e-12)
        assert float(eyring(volume, area, area * mean)) == pytest.approx(rt60_eyring(area, volume, mean, 0.0, SPEED), rel=1e-12)


def test_air_alone_is_left_where_nothing_else_absorbs() -> None:
    """Source: exp(-m c t) = 1e-6."""
    alone = 6.0 * math.log(10.0) / (SPEED * 0.01)
    nothing = np.zeros((3, 1))
    for found in all_four(VOLUME, PAIRS, nothing, 0.01).values():
        assert found == pytest.approx(alone, rel=1e-12)
    assert unscattered(SIZE, PAIRS, nothing, 0.01) == pytest.approx(alone, rel=1e-12)
    assert np.isinf(sabine(VOLUME, 0.0))


def test_the_pairs_formulas_come_to_eyring_where_the_room_is_even() -> None:
    even = absorbed(*[0.3] * 6)
    found = all_four(VOLUME, PAIRS, even)
    assert found[ARAU] == pytest.approx(found[EYRING], rel=1e-12)
    assert found[FITZROY] == pytest.approx(found[EYRING], rel=1e-12)


def test_arau_s_room_by_hand() -> None:
    """Source: T = prod (0.161 V / (-S ln(1 - a_i)))^(S_i / S), Fitzroy the sum of S_i / S times the same; by hand for 0.1, 0.2, 0.5."""
    uneven = PAIRS[:, None] * np.array([[0.1], [0.2], [0.5]])
    times = [0.1610199 * 50.0 / (85.0 * -math.log(1.0 - a)) for a in (0.1, 0.2, 0.5)]
    by_hand = times[0] ** (20 / 85) * times[1] ** (25 / 85) * times[2] ** (40 / 85)
    assert float(arau_puchades(VOLUME, PAIRS, uneven)[0]) == pytest.approx(by_hand, rel=1e-6)
    mean = times[0] * 20 / 85 + times[1] * 25 / 85 + times[2] * 40 / 85
    assert float(fitzroy(VOLUME, PAIRS, uneven)[0]) == pytest.approx(mean, rel=1e-6)


def test_order_of_the_formulas_in_random_rooms() -> None:
    """Source: -ln(1 - x) exceeds x, so Eyring is below Sabine; a geometric mean is below an arithmetic one."""
    draw = np.random.default_rng(8)
    for _ in range(100):
        found = all_four(VOLUME, PAIRS, PAIRS[:, None] * draw.uniform(0.01, 0.95, (3, 4)), 0.003)
        assert np.all(found[EYRING] < found[SABINE])
        assert np.all(found[ARAU] <= found[FITZROY] * (1 + 1e-12))


def test_which_formula_is_trusted() -> None:
    def trusted(*six: float) -> str:
        area = absorbed(*six)
        return str(to_trust(all_four(VOLUME, PAIRS, area), area.sum(axis=0) / AREA)[0])

    assert trusted(*[0.1] * 6) == SABINE
    assert trusted(*[0.4] * 6) == EYRING
    assert trusted(0.05, 0.05, 0.05, 0.05, 0.6, 0.05) == ARAU


def simulated(name: str, six: tuple[float, ...], scattering: float) -> tuple[float, float]:
    """Mean reverberation time [s] over four seeds by image sources and rays, kept under a name, with its standard error."""
    found = kept_batches(f"sound, {name}", batch_times, SIZE, six, scattering, batches=4, again=1)
    return float(np.mean(found)), float(np.std(found, ddof=1) / 2.0)


@pytest.mark.reference
def test_an_even_room_against_image_sources_and_rays() -> None:
    """Walls that scatter half of the sound, so that it mixes. The simulation rings longer than Eyring, by 1.3 % at 0.15 and 7 % at 0.35:
    he lets all ways between two hits be as long as their mean. Were the ways independent of each other, their spread (relative variance
    up to 0.5 in rooms of such shape) would lengthen the time by 1 / (1 - variance a / 2), with a his exponent: Kuttruff, Room Acoustics
    (from memory). They are not quite, since half of the sound turns as in a mirror; so Eyring and this are the two ends."""
    for coefficient in (0.15, 0.35):
        time, error = simulated(f"even {coefficient}", (coefficient,) * 6, 0.5)
        low = float(eyring(VOLUME, AREA, AREA * coefficient))
        high = low / (1.0 - 0.5 * float(exponent(coefficient)) / 2.0)
        within_standard_errors(time, error, 0.5 * (low + high), bias=0.5 * (high - low))
        assert time < float(sabine(VOLUME, AREA * coefficient))


@pytest.mark.reference
def test_an_uneven_room_against_image_sources_and_rays() -> None:
    """A carpet of 0.6 in a room of 0.08. No formula knows how much the walls scatter, and here it decides: with flat walls late sound stays
    between the four hard ones and rings two to three times as long as any mixed field; with furniture's scattering Arau-Puchades is near;
    with walls that send sound everywhere Eyring is the upper limit. So a report has to give the first and the second."""
    six = (0.08, 0.08, 0.08, 0.08, 0.6, 0.08)
    area = absorbed(*six)
    times = {name: float(value[0]) for name, value in all_four(VOLUME, PAIRS, area).items()}
    flat = float(unscattered(SIZE, PAIRS, area)[0])
    assert times[EYRING] < times[ARAU] < times[FITZROY] < flat
    bare, bare_error = simulated("uneven, bare", six, 0.02)
    assert times[FITZROY] + 4.0 * bare_error < bare < flat - 4.0 * bare_error
    furnished, error = simulated("uneven, furnished", six, 0.2)
    assert times[EYRING] - 4.0 * error < furnished < times[FITZROY] + 4.0 * error
    mixed, mixed_error = simulated("uneven, mixed", six, 0.8)
    assert mixed < times[EYRING] + 4.0 * mixed_error
