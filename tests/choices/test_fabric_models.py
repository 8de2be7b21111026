"""Models with the same gain and half-gain angle, and the spread they leave."""
from __future__ import annotations

import math

import pytest
from halfgain.materials.solve import fabric_from_pair
from halfgain.simulate.choices.fabric_models import fabric_models, model_spreads, model_variants
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
    assert len(fabric_models(fabric_from_pair(name="x", gain=0.9))) == 1


def test_the_spread_holds_every_model() -> None:
    _, variants = model_variants(document(fabric=PAIR).scene)
    paired = measure_together([variant.scene for variant in variants], error=0.2)
    spreads = model_spreads(variants, paired)
    assert {each.seat for each in spreads} == {"middle", "side"}
    for each in spreads:
        assert each.least.value <= each.reference.value <= each.greatest.value
        assert each.relative == pytest.approx((each.greatest.value - each.least.value) / each.reference.value)
    assert max(each.relative for each in spreads if each.figure.key == "checkerboard_ratio") > 0.1
