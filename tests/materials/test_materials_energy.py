"""No fabric gives back more than arrives; exchanging light and eye changes nothing; half gain is half."""
from __future__ import annotations

import math

import numpy as np
import pytest
from halfgain.materials.brdf import directional_albedo, fabric_value
from halfgain.materials.judge import albedo_band, largest_gain
from halfgain.materials.library import load_library
from halfgain.materials.solve import fabric_from_pair
from hypothesis import given, settings
from hypothesis import strategies as st

FABRICS = load_library().fabrics
INCIDENCES_DEG = (0, 20, 40, 60, 75, 85)


def towards(angle_deg, turn_deg=0.0):
    t, p = math.radians(angle_deg), math.radians(turn_deg)
    return (math.sin(t) * math.cos(p), math.sin(t) * math.sin(p), math.cos(t))


def random_directions(count, seed):
    rng = np.random.default_rng(seed)
    z = rng.uniform(0.01, 1.0, count)
    turn = rng.uniform(0.0, 2.0 * math.pi, count)
    side = np.sqrt(1.0 - z * z)
    return list(zip(side * np.cos(turn), side * np.sin(turn), z, strict=True))


def check_energy(fabric):
    arrays = fabric.arrays()
    albedos = [directional_albedo(arrays, towards(angle)) for angle in INCIDENCES_DEG]
    assert albedos[0] == pytest.approx(fabric.albedo, abs=2e-7)
    assert max(albedos) <= 1.0 - fabric.open_area + 1e-6
    # Rearrangement inequality on the sphere: a falling lobe gives back most where its axis is the normal.
    assert max(albedos) <= albedos[0] + 1e-6
    assert max(albedos) * max(fabric.tint) <= 1.0 + 1e-6


def check_reciprocity(fabric):
    arrays = fabric.arrays()
    for wi, wo in zip(random_directions(50, 1), random_directions(50, 2), strict=True):
        one, other = fabric_value(arrays, wi, wo), fabric_value(arrays, wo, wi)
        assert one > 0.0 or fabric.base_gain == 0.0
        assert abs(one - other) <= 1e-12 * max(one, 1e-30)


def check_half_gain(fabric):
    arrays = fabric.arrays()
    peak = fabric_value(arrays, (0.0, 0.0, 1.0), (0.0, 0.0, 1.0))
    assert math.pi * peak == pytest.approx(fabric.gain, rel=1e-12)  # definition of gain, CIE S 017
    if fabric.half_gain_deg is not None:
        for turn in (0.0, 77.0):
            half = fabric_value(arrays, (0.0, 0.0, 1.0), towards(fabric.half_gain_deg, turn))
            assert half / peak == pytest.approx(0.5, abs=1e-12)  # definition of the half-gain angle


@pytest.mark.parametrize("name", FABRICS)
def test_library_fabric_obeys_energy_reciprocity_and_its_half_gain_angle(name):
    check_energy(FABRICS[name])
    check_reciprocity(FABRICS[name])
    check_half_gain(FABRICS[name])


@settings(max_examples=300, deadline=None, derandomize=True)
@given(
    half_gain_deg=st.floats(0.5, 89.99),
    gain_share=st.floats(0.001, 0.999999),
    albedo_share=st.none() | st.floats(0.0, 1.0),
    kind=st.sampled_from(["angular-reflective", "retro-reflective"]),
)
def test_every_pair_below_the_hard_limit_is_accepted_with_every_albedo_of_its_band(
    half_gain_deg, gain_share, albedo_share, kind
):
    gain = gain_share * largest_gain(half_gain_deg=half_gain_deg)
    low, high = albedo_band(gain=gain, half_gain_deg=half_gain_deg)
    albedo = None if albedo_share is None else low + albedo_share * (high - low)
    fabric = fabric_from_pair(name="any", gain=gain, half_gain_deg=half_gain_deg, kind=kind, albedo=albedo)
    if albedo is not None:
        assert fabric.albedo == pytest.approx(albedo, abs=2e-8)
    assert low - 1e-12 <= fabric.albedo <= min(1.0, high) + 2e-8
    curve = fabric.profile.gain(np.radians(np.linspace(0.0, 180.0, 2001)))
    assert np.all(np.diff(curve) <= 1e-15 * gain)
    assert np.all(curve >= 0.0)
    check_energy(fabric)
    check_reciprocity(fabric)
    check_half_gain(fabric)


@pytest.mark.parametrize("half_gain_deg", [1, 5, 10, 30, 60, 80, 85, 89])
@pytest.mark.parametrize("end", [0, 1])
def test_both_ends_of_the_albedo_band_are_reached(half_gain_deg, end):
    gain = 0.7 * largest_gain(half_gain_deg=half_gain_deg)
    # Source: energy; sin^2 h = sine squared of the half-gain angle bounds the albedo from both sides.
    square = math.sin(math.radians(half_gain_deg)) ** 2
    albedo = (0.5 * gain * square, min(1.0, 0.5 * gain * (1.0 + square)))[end]
    fabric = fabric_from_pair(name="end", gain=gain, half_gain_deg=half_gain_deg, albedo=albedo)
    assert fabric.albedo == pytest.approx(albedo, abs=2e-8)
    check_half_gain(fabric)
