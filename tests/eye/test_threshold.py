"""The worst place on patterns whose answer is known: modulation times sensitivity, where they are, what does not count."""

import math

import numpy as np
import pytest
from halfgain.simulate.eye.barten import contrast_sensitivity
from halfgain.simulate.eye.pattern import without_smooth
from halfgain.simulate.eye.sight import NONE, SINGLE, Sight
from halfgain.simulate.eye.threshold import worst_place
from halfgain.simulate.eye.verdict import verdict
from halfgain.simulate.eye.warp import warp_of, without_keystone_and_bow

WIDTH, HEIGHT, AWAY = 2.4, 1.35, 3.5
X = WIDTH * ((np.arange(640) + 0.5) / 640 - 0.5)
Y = HEIGHT * (0.5 - (np.arange(360) + 0.5) / 360)
GX, GY = np.meshgrid(X, Y)
DEG = math.degrees(1 / AWAY)  # degrees a metre takes up from 3.5 m, everywhere the same: a seat far away in effect
SIGHT = Sight(48.0, np.full(GX.shape, DEG), np.full(GX.shape, DEG))


def look(pattern):
    return worst_place(pattern, SIGHT, X, Y)


def sensitivity(wavelength, field):
    u = 1 / (wavelength * DEG)
    return float(contrast_sensitivity(u, luminance_cd_m2=48.0, width_deg=field[0], height_deg=field[1]))


@pytest.mark.parametrize("wavelength", [0.3, 0.21, 0.1, 0.05])
@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0])
def test_an_even_wave_is_modulation_times_sensitivity(wavelength, angle):
    """Definition: one component of modulation m, field the whole picture: ratio m S(u). Windows cut field and wave a little."""
    t = math.radians(angle)
    got = look(1 + 0.01 * np.cos(2 * np.pi * (GX * np.cos(t) + GY * np.sin(t)) / wavelength + 0.4))
    assert got.modulation == pytest.approx(0.01, rel=0.07)
    assert got.cycles_per_deg == pytest.approx(1 / (wavelength * DEG), rel=0.03)
    assert got.field_deg == pytest.approx((WIDTH * DEG, HEIGHT * DEG), rel=0.1)
    assert got.ratio == pytest.approx(0.01 * sensitivity(wavelength, got.field_deg), rel=0.08)
    assert got.peak_to_peak == pytest.approx(0.02, rel=0.15)  # taking out a quadratic leaves a little of it in few periods


def test_the_numbers_of_the_source():
    """Computed apart: 0.3 m waves from 3.5 m at 48 cd/m2 in 30 x 17 degrees: u 0.203746, S 129.4476, threshold 0.0077251."""
    u = 1 / math.degrees(2 * math.atan(0.3 / (2 * 3.5)))
    assert u == pytest.approx(0.203746, rel=1e-5)
    s = contrast_sensitivity(u, luminance_cd_m2=48.0, width_deg=30.0, height_deg=17.0)
    assert s == pytest.approx(129.4476, rel=1e-6)
    assert 1 / s == pytest.approx(0.0077251, rel=1e-4)
    small = contrast_sensitivity(u, luminance_cd_m2=48.0, width_deg=5.0, height_deg=5.0)
    assert small == pytest.approx(58, abs=0.5)


def test_a_wave_that_grows_counts_at_its_peak():
    """Half peak-to-peak in the window, not the mean over it: amplitude 0.01 x / 1.2 m is near 0.0095 at its outermost crests."""
    got = look(1 + 0.01 * GX / 1.2 * np.cos(2 * np.pi * GX / 0.2))
    assert 0.0085 < got.modulation < 0.0100
    assert abs(got.place_m[0]) > 0.5


def test_a_patch_is_found_where_it_is():
    """Fine waves under a soft bell at (0.6, 0.3) m of 0.15 m: the place is in it, the field about as wide as it."""
    bell = np.exp(-((GX - 0.6) ** 2 + (GY - 0.3) ** 2) / (2 * 0.15**2))
    got = look(1 + 0.01 * bell * np.cos(2 * np.pi * GX / 0.06))
    assert math.hypot(got.place_m[0] - 0.6, got.place_m[1] - 0.3) < 0.12
    assert 0.008 < got.modulation < 0.0115
    half = 2 * 0.15 * math.sqrt(2 * math.log(2)) * DEG  # the bell's own width at half its height
    assert got.field_deg == pytest.approx((half, half), rel=0.35)


def test_fewer_than_three_periods_are_no_waves():
    """1.2 m on a picture of 2.4 m is two periods: the matched filter judges them, m S still; a smooth fall is nothing at all."""
    two = look(1 + 0.01 * np.cos(2 * np.pi * GX / 1.2))
    assert two.channel == SINGLE
    assert two.ratio == pytest.approx(0.01 * sensitivity(1.2, (WIDTH * DEG, HEIGHT * DEG)), rel=0.1)
    assert look(1 - 0.2 * (GX**2 + GY**2)).ratio < 0.05
    flat = look(np.ones_like(GX))
    assert (flat.ratio, flat.channel) == (0.0, NONE)


def test_two_components_add():
    """By probability, (sum (m S)^3.5)^(1/3.5), the project's verdict scale, at least; at most by energy, as the matched filter adds them."""
    a, b = 0.3, 0.11
    one = look(1 + 0.01 * np.cos(2 * np.pi * GX / a)).ratio
    two = look(1 + 0.01 * np.cos(2 * np.pi * GY / b)).ratio
    both = look(1 + 0.01 * np.cos(2 * np.pi * GX / a) + 0.01 * np.cos(2 * np.pi * GY / b)).ratio
    assert 0.97 * (one**3.5 + two**3.5) ** (1 / 3.5) < both < 1.03 * np.hypot(one, two)


def test_many_waves_are_held_at_their_energy():
    """Noise of a rms has peaks of three times that; its components keep what Parseval gives them, within a quarter."""
    rng = np.random.default_rng(5)
    pattern = np.ones_like(GX)
    for _ in range(40):
        t = rng.uniform(0, np.pi)
        k = 2 * np.pi / rng.uniform(0.08, 0.12)
        pattern = pattern + 0.002 * np.cos(k * (GX * np.cos(t) + GY * np.sin(t)) + rng.uniform(0, 6.3))
    got = look(pattern)
    assert 0.003 < got.modulation < 0.03


def test_holes_of_the_map_are_passed_over():
    pattern = 1 + 0.01 * np.cos(2 * np.pi * GX / 0.2)
    whole = look(pattern)
    pattern[:, :6] = np.nan
    assert look(pattern).ratio == pytest.approx(whole.ratio, rel=0.05)


def test_the_smooth_part_is_the_quadratic():
    smooth = 0.9 + 0.02 * GX - 0.05 * GX * GY - 0.04 * GY**2
    assert np.abs(without_smooth(smooth)).max() < 1e-12


def test_warp_leaves_nothing_of_keystone_and_bow():
    """A small homography, x' = x + (a x + b y + c) - x (g x + h y), plus bows; all are quadratics."""
    shift = np.stack([0.3 + 0.1 * GX - GX * (0.2 * GX + 0.1 * GY), 0.2 * GY - GY * (0.2 * GX + 0.1 * GY) + 0.3 * GX**2], axis=2)
    assert np.abs(without_keystone_and_bow(shift, X, Y)).max() < 1e-12
    wave = np.stack([0.6 * np.cos(2 * np.pi * GX / 0.3), np.zeros_like(GX)], axis=2)
    got = warp_of(shift + wave, X, Y, (0.5, 0.5))
    assert got.peak_to_peak_arcmin == pytest.approx(1.2, rel=0.03)
    assert got.peak_to_peak_px == pytest.approx(2.4, rel=0.03)
    assert got.rms_arcmin == pytest.approx(0.6 / math.sqrt(2), rel=0.03)
    assert got.straight_line_ratio == pytest.approx(got.acuity_ratio * 6)


@pytest.mark.parametrize(("ratio", "seen_by"), [(11.6244, 1.0), (0.6472380, 0.1403236), (0.1135255, 3.41648e-4)])
def test_share_of_observers(ratio, seen_by):
    """The project's verdict scale."""
    assert verdict(ratio).seen_by == pytest.approx(seen_by, rel=1e-4)


def test_verdict_words():
    """The project's verdict scale: below 0.7 not visible, to 1.5 borderline, above visible."""
    assert [verdict(r).word for r in (0.0, 0.69, 0.71, 1.49, 1.51)] == [
        "not visible",
        "not visible",
        "borderline",
        "borderline",
        "visible",
    ]
    assert verdict(3.0).margin == "3 times the threshold"
    assert verdict(0.1).margin == "1/10 of the threshold"
    assert verdict(0.003).margin == "1/330 of the threshold"
    assert verdict(4e-13).margin == "less than 1/1000 of the threshold"
    assert verdict(123.0).margin == "120 times the threshold"
