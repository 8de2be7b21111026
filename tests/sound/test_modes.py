"""Modes of a rectangular room, the frequency below which they stand alone, and what published guidance asks."""

from __future__ import annotations

import math

import numpy as np
import pytest
from halfgain.simulate.sound.modes import AXIAL, OBLIQUE, TANGENTIAL, modes, transition_hz
from halfgain.simulate.sound.target import LONG, MET, OPEN, SHORT, limits_s, target, verdicts

C = 343.2


def test_modes_against_the_closed_form() -> None:
    """Source: Rayleigh, c / 2 sqrt(sum (n / L)^2), every triple tried."""
    size, limit = (5.0, 4.0, 2.5), 150.0
    by_hand = sorted(
        (C / 2.0 * math.sqrt((a / size[0]) ** 2 + (b / size[1]) ** 2 + (k / size[2]) ** 2), (a, b, k))
        for a in range(20)
        for b in range(20)
        for k in range(20)
        if a + b + k
    )
    expected = [each for each in by_hand if each[0] <= limit]
    found = modes(*size, limit).found
    assert [mode.frequency_hz for mode in found] == pytest.approx([f for f, _ in expected], rel=1e-12)
    assert {mode.orders for mode in found} == {orders for _, orders in expected}
    assert found[0].orders == (1, 0, 0)
    assert found[0].frequency_hz == pytest.approx(34.32)
    kinds = {mode.orders: mode.kind for mode in found}
    assert (kinds[1, 0, 0], kinds[1, 1, 0], kinds[1, 1, 1]) == (AXIAL, TANGENTIAL, OBLIQUE)


def test_number_of_modes_against_the_published_count() -> None:
    """Source: 4 pi V f^3 / 3 c^3 + pi S f^2 / 4 c^2 + L f / 8 c (Bolt; Kuttruff), the mean of a staircase."""
    w, d, h, f = 4.2, 6.0, 2.5, 300.0
    volume, area, edges = w * d * h, 2.0 * (w * d + w * h + d * h), 4.0 * (w + d + h)
    expected = 4.0 * math.pi * volume * f**3 / (3.0 * C**3) + math.pi * area * f**2 / (4.0 * C**2) + edges * f / (8.0 * C)
    assert len(modes(w, d, h, f).found) == pytest.approx(expected, rel=0.03)


def test_coincident_modes_of_a_cube_are_told_and_odd_ratios_have_none_low_down() -> None:
    cube = modes(3.0, 3.0, 3.0, 120.0)
    assert next((a.orders, b.orders) for a, b in cube.coincident) == ((0, 0, 1), (0, 1, 0))
    assert modes(5.0, 4.1, 2.6, 60.0).coincident == ()
    twice = modes(5.0, 2.5, 3.3, 75.0)  # a width of twice the depth
    assert ((2, 0, 0), (0, 1, 0)) in [tuple(sorted((a.orders, b.orders), reverse=True)) for a, b in twice.coincident]


def test_transition_frequency_of_a_constant_time() -> None:
    """Source: 2000 sqrt(T / V), Schroeder."""
    assert transition_hz(50.0, np.full(8, 0.5)) == pytest.approx(200.0, rel=1e-9)
    falling = np.linspace(1.0, 0.2, 8)
    f = transition_hz(60.0, falling)
    time = np.interp(math.log(f), np.log([63, 125, 250, 500, 1000, 2000, 4000, 8000]), falling)
    assert f == pytest.approx(2000.0 * math.sqrt(time / 60.0), rel=1e-9)
    assert math.isfinite(transition_hz(60.0, np.full(8, np.inf)))


def test_nominal_time_and_its_limits() -> None:
    """Source: ITU-R BS.1116 and EBU Tech 3276 (from memory): 0.25 s at 100 m3; 0.05 s from 200 Hz to 4 kHz, 0.3 s above at 63 Hz."""
    assert target(100.0).nominal_s == pytest.approx(0.25)
    assert target(800.0).nominal_s == pytest.approx(0.5)
    above, below = limits_s([63.0, 200.0, 1000.0, 4000.0, 8000.0])
    assert above == pytest.approx([0.3, 0.05, 0.05, 0.05, 0.1])
    assert below == pytest.approx([0.05, 0.05, 0.05, 0.05, 0.1])
    assert 0.05 < float(limits_s(125.0)[0]) < 0.3


def test_a_band_that_only_the_unknown_decides_stays_open() -> None:
    asked = target(100.0)
    short = np.array([0.25, 0.25, 0.40, 0.10, 0.25, 0.10, 0.25, 0.25])
    long = np.array([0.30, 0.25, 0.60, 0.15, 0.90, 0.25, 0.25, 0.25])
    assert verdicts(asked, short, long) == (MET, MET, LONG, SHORT, OPEN, OPEN, MET, MET)
