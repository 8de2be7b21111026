"""Models with the same gain and half-gain angle, and the spread they leave."""

from __future__ import annotations

import math

import pytest
from halfgain.materials.fabric import PAIR_KINDS
from halfgain.materials.fabric_table import FabricTable
from halfgain.materials.library import load_library
from halfgain.materials.lobes.shapes import HoleLobe
from halfgain.materials.solving.pair import LOBES
from halfgain.materials.solving.solve import fabric_from_pair, largest_albedo
from halfgain.simulate.choices.fabric_models import (
    fabric_models,
    model_spreads,
    model_variants,
    same_values,
    sheet_albedo,
    why,
    with_lobe,
)
from halfgain.simulate.choices.together import measure_together

from .scenes import document

PAIR = '[screen.fabric]\nkind = "angular-reflective"\ngain = 1.4\nhalf_gain_deg = 35'


def test_every_model_has_the_stated_gain_and_half_gain_angle_and_an_allowed_albedo() -> None:
    # Source: G0 sin^2(h) / 2 <= albedo <= G0 (1 + sin^2(h)) / 2 for a falling curve (derived, physics 1.2)
    fabric = fabric_from_pair(name="x", gain=1.4, half_gain_deg=35.0)
    models = fabric_models(fabric)
    assert len(models) >= 3
    sine = math.sin(math.radians(35.0)) ** 2
    for _, model in models:
        assert (model.gain, model.half_gain_deg) == (1.4, 35.0)
        assert 0.7 * sine <= model.albedo <= 0.7 * (1.0 + sine) + 1e-9
    albedos = [model.albedo for _, model in models]
    assert min(albedos) < fabric.albedo < max(albedos)


def test_a_stated_albedo_and_a_diffuse_fabric_leave_one_model_of_this_family() -> None:
    given = fabric_from_pair(name="x", gain=1.4, half_gain_deg=35.0, albedo=0.7)
    assert not any("albedo" in name for name, _ in fabric_models(given))
    assert len(fabric_models(fabric_from_pair(name="x", gain=0.9, kind="diffuse"))) == 1


def test_the_spread_holds_every_model() -> None:
    _, variants = model_variants(document(fabric=PAIR).scene)
    paired = measure_together([variant.scene for variant in variants], error=0.2)
    spreads = model_spreads(variants, paired)
    assert {each.seat for each in spreads} == {"middle", "side"}
    for each in spreads:
        assert each.least.value <= each.reference.value <= each.greatest.value
        assert each.relative == pytest.approx((each.greatest.value - each.least.value) / each.reference.value)
    assert max(each.relative for each in spreads if each.figure.key == "checkerboard_ratio") > 0.1


def test_every_library_fabric_keeps_its_geometry_and_anisotropy_in_every_model() -> None:
    for name, fabric in load_library().fabrics.items():
        models = fabric_models(fabric)
        assert models[0][1] is fabric
        for words, model in models:
            kept = (model.half_gain_deg, model.half_gain_up_deg, model.perforation, model.open_area, model.groove, model.tint)
            said = (
                fabric.half_gain_deg,
                fabric.half_gain_up_deg,
                fabric.perforation,
                fabric.open_area,
                fabric.groove,
                fabric.tint,
            )
            softer = fabric.half_gain_deg is None and model is not fabric  # a gain alone: half of it at 60 degrees
            assert kept == ((60.0, *said[1:]) if softer else said), f"{name}: {words}"
            assert model.gain == fabric.gain
            angles = [0.0, math.radians(model.half_gain_deg or 0.0)]
            across = model.profile.gain(angles)
            assert across[1] == pytest.approx(across[0] if model.half_gain_deg is None else 0.5 * fabric.gain, rel=1e-6)
            if fabric.half_gain_up_deg is not None:  # the definition of the half-gain angle, up
                up = model.profile.gain(math.radians(fabric.half_gain_up_deg), 0.5 * math.pi)
                assert up == pytest.approx(0.5 * fabric.gain, rel=1e-6), f"{name}: {words}"


def test_the_model_that_is_the_fabrics_own_has_the_same_brdf_in_all_directions() -> None:
    found = 0
    for name, fabric in load_library().fabrics.items():
        if fabric.kind in PAIR_KINDS:
            own = [with_lobe(fabric, lobe, sheet_albedo(fabric)) for lobe in LOBES]
            assert any(one is not None and same_values(one, fabric, 1e-9) for one in own), name
            found += 1
    assert found >= 9


def test_entrance_fall_off_and_light_from_behind_the_holes_stay() -> None:
    beads = load_library().fabrics["beaded"]
    assert all(lobe.fall == beads.lobes[0].fall > 0.0 for _, model in fabric_models(beads) for lobe in model.lobes)
    table = {"gain": 1.3, "half_gain_deg": 38, "kind": "angular-reflective", "albedo": 0.67, "open_area": 0.2}
    cloth = FabricTable.model_validate({**table, "behind_reflectance": 0.5}).to_fabric()
    behind = [lobe for lobe in cloth.lobes if isinstance(lobe, HoleLobe)]
    assert len(behind) == 1
    for _, model in fabric_models(cloth):
        assert [lobe for lobe in model.lobes if isinstance(lobe, HoleLobe)] == behind
        assert model.albedo == pytest.approx(cloth.albedo, abs=1e-6)
        assert largest_albedo(model) <= 1.0 + 1e-6


def test_a_kind_left_out_and_a_measured_curve_may_follow_the_light_instead() -> None:
    unsaid = fabric_from_pair(name="x", gain=1.4, half_gain_deg=35.0, albedo=0.7)
    assert {model.axis for _, model in fabric_models(unsaid)} == {1, -1}
    said = fabric_from_pair(name="x", gain=1.4, half_gain_deg=35.0, albedo=0.7, kind="angular-reflective")
    assert {model.axis for _, model in fabric_models(said)} == {1}
    curve = FabricTable.model_validate({"kind": "measured", "curve": [[0, 1.2], [30, 0.8], [60, 0.4], [90, 0.3]]}).to_fabric()
    models = fabric_models(curve)
    assert sorted(model.axis for _, model in models) == [-1, 1]
    assert "mirror direction or the light" in why(curve)


@pytest.mark.parametrize(
    ("name", "reason"),
    [("louvred short-throw", "grooves"), ("rough matt cloth", "roughness"), ("painted white wall", "gain alone")],
)
def test_a_fabric_of_one_model_says_why(name: str, reason: str) -> None:
    fabric = load_library().fabrics[name]
    assert len(fabric_models(fabric)) == 1
    assert reason in why(fabric)


def test_a_gain_alone_leaves_the_albedo_open_and_gets_a_second_model() -> None:
    """Same gain along the normal, half of it at 60 degrees, as little light in all as a smooth lobe of that angle gives back."""
    white = load_library().fabrics["matt white"]
    (_, own), (name, soft) = fabric_models(white)
    assert own is white
    assert "soft lobe" in name
    assert (soft.gain, soft.albedo) == (pytest.approx(0.92), pytest.approx(0.92 / 1.50405, rel=1e-4))
    assert "nor how much light" in why(white)


def test_the_soft_model_keeps_what_comes_back_through_the_holes() -> None:
    """Light behind the holes adds to both models alike, whatever the lobe."""
    bare = {"gain": 0.85, "hole_pitch_mm": 1.5, "hole_diameter_mm": 0.5}
    (_, dark), (_, dark_soft) = fabric_models(FabricTable.model_validate(bare).to_fabric())
    (_, lit), (_, lit_soft) = fabric_models(FabricTable.model_validate({**bare, "behind_reflectance": 0.8}).to_fabric())
    assert lit.albedo - dark.albedo > 1e-4
    assert lit_soft.albedo - dark_soft.albedo == pytest.approx(lit.albedo - dark.albedo, rel=1e-9)
