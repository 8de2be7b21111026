"""A fabric's clear top coat: Fresnel's law, energy, reciprocity, sampling, and what it mirrors at ultra-short throw."""

from __future__ import annotations

import math

import numpy as np
import pytest
from halfgain.materials.coat import finest_deg
from halfgain.materials.fabric_error import FabricError
from halfgain.materials.fabric_table import FabricTable
from halfgain.materials.lobes.brdf import directional_albedo, fabric_density, fabric_gains, fabric_sample, fabric_value
from halfgain.materials.lobes.coat import fresnel
from scipy.stats import qmc
from test_materials_energy import albedos_by_incidence, check_reciprocity, towards

COATED = [
    {"kind": "diffuse", "gain": 0.85, "coat_index": 1.5},
    {"kind": "diffuse", "gain": 0.85, "coat_index": 1.5, "coat_roughness": 0.4},
    {"kind": "angular-reflective", "gain": 1.3, "half_gain_deg": 35, "albedo": 0.75, "coat_index": 1.5},
    {"kind": "retro-reflective", "gain": 1.6, "half_gain_deg": 25, "albedo": 0.7, "coat_index": 1.6, "coat_roughness": 0.2},
    {"lobe": "half-vector", "gain": 1.0, "half_gain_deg": 45, "base_gain": 0.2, "coat_index": 1.4},
    {"gain": 0.8, "kind": "diffuse", "open_area": 0.05, "behind_reflectance": 0.1, "coat_index": 1.5},
    {"kind": "measured", "curve": [[0, 1.2], [10, 1.15], [20, 1.0], [40, 0.6], [60, 0.35]], "coat_index": 1.5},
]


def fabric_of(stated: dict):
    return FabricTable.model_validate(stated).to_fabric()


def test_fresnels_law() -> None:
    """n = 1.5: 0.04 along the normal; ((n^2 - 1) / (n^2 + 1))^2 / 2 at Brewster's angle; 1 at grazing. Source: Fresnel's equations, by hand."""
    assert fresnel(1.5, 1.0) == pytest.approx(0.04, rel=1e-12)
    assert fresnel(1.5, math.cos(math.atan(1.5))) == pytest.approx(0.5 * (1.25 / 3.25) ** 2, rel=1e-12)
    assert fresnel(1.5, 0.0) == pytest.approx(1.0)
    assert fresnel(1.5, math.cos(math.radians(60.0))) == pytest.approx(0.0892, abs=1e-4)
    assert fresnel(1.5, math.cos(math.radians(75.0))) == pytest.approx(0.2531, abs=1e-4)


@pytest.mark.parametrize("stated", COATED, ids=lambda stated: " ".join(f"{v}" for v in stated.values())[:50])
def test_a_coated_fabric_obeys_energy_and_reciprocity(stated: dict) -> None:
    fabric = fabric_of(stated)
    check_reciprocity(fabric)
    albedos = albedos_by_incidence(fabric)
    assert albedos[0] == pytest.approx(fabric.albedo, abs=2e-4)  # sums of rings across the kinks of tables and plateaus
    assert max(albedos) <= 1.0 - fabric.open_area + 1e-6


@pytest.mark.parametrize("stated", COATED, ids=lambda stated: " ".join(f"{v}" for v in stated.values())[:50])
@pytest.mark.parametrize("angle", [0.0, 35.0, 65.0])
def test_the_albedo_of_a_coated_fabric_is_that_of_an_even_sum_over_the_half_space(stated: dict, angle: float) -> None:
    """Source: midpoint rule over 900 x 360 directions."""
    arrays, wi = fabric_of(stated).arrays(), towards(angle, 33.0)
    t, p = np.meshgrid((np.arange(900) + 0.5) * math.pi / 1800.0, (np.arange(360) + 0.5) * math.pi / 180.0, indexing="ij")
    wo = np.stack([np.sin(t) * np.cos(p), np.sin(t) * np.sin(p), np.cos(t)], axis=-1).reshape(-1, 3)
    gains = fabric_gains(arrays, np.tile(wi, (len(wo), 1)), wo)
    whole = (gains * np.cos(t).ravel() * np.sin(t).ravel()).sum() / 1800.0 * math.pi / 180.0
    assert directional_albedo(arrays, wi) == pytest.approx(whole, abs=3e-4)


@pytest.mark.parametrize("stated", COATED, ids=lambda stated: " ".join(f"{v}" for v in stated.values())[:50])
@pytest.mark.parametrize("angle", [0.0, 40.0, 65.0, 80.0])
def test_mean_weight_of_the_sampler_is_the_albedo(stated: dict, angle: float) -> None:
    """Source: expectation of f cos / density = albedo. Even points err an eighth (root mean square over the cases, 0.4 at most) of what

    20,000 independent ones do; twice that is the limit.
    """
    arrays, wi = fabric_of(stated).arrays(), towards(angle, 33.0)
    weights = np.array([fabric_sample(arrays, wi, *u)[1] for u in qmc.Sobol(3, seed=5).random(4096)])
    assert abs(weights.mean() - directional_albedo(arrays, wi)) <= 2.0 * weights.std() / math.sqrt(20_000) + 1e-6
    wo, weight = fabric_sample(arrays, wi, 0.99, 0.3, 0.4)
    if weight > 0.0:
        assert weight == pytest.approx(fabric_value(arrays, wi, wo) * wo[2] / fabric_density(arrays, wi, wo))


def test_the_coat_mirrors_what_fresnels_law_says_and_the_cloth_beneath_gets_the_rest() -> None:
    """Smooth coat, black ground: F(65 deg) = 0.1206. Diffuse ground: gain (1 - F(ti)) (1 - F(to)) / (1 - F(0))^2 beside the glint."""
    black = fabric_of({"kind": "diffuse", "gain": 1e-6, "coat_index": 1.5, "coat_roughness": 0.03})
    law = fresnel(1.5, math.cos(math.radians(65.0)))
    assert directional_albedo(black.arrays(), towards(65.0)) == pytest.approx(law, rel=0.03)
    assert 0.1 < law < 0.2
    white = fabric_of({"kind": "diffuse", "gain": 0.85, "coat_index": 1.5, "coat_roughness": 0.03})
    passed = (1.0 - fresnel(1.5, math.cos(math.radians(65.0)))) / (1.0 - 0.04)
    got = math.pi * fabric_value(white.arrays(), towards(65.0, 90.0), (0.0, 0.0, 1.0))
    assert got == pytest.approx(0.85 * passed, rel=1e-3)


def test_what_a_coat_does_not_go_with_is_refused() -> None:
    louvred = {
        "kind": "louvred",
        "facet_up_deg": 30,
        "facet_down_deg": 60,
        "facet_up_reflectance": 0.1,
        "facet_down_reflectance": 0.8,
    }
    beads = {"kind": "retro-reflective", "gain": 2.0, "half_gain_deg": 20, "entrance_half_deg": 30}
    rough = {"kind": "rough-diffuse", "gain": 0.8, "roughness_deg": 20}
    for stated in (louvred, beads, rough):
        with pytest.raises(FabricError):
            fabric_of({**stated, "coat_index": 1.5})
    with pytest.raises(FabricError, match="refractive index"):
        fabric_of({"kind": "diffuse", "gain": 0.8, "coat_roughness": 0.1})


def test_light_is_sampled_as_finely_as_the_glint_asks() -> None:
    """Half of D at twice the half-vector's tilt. Source: GGX, D(t) / D(0) = 1 / 2 at tan t = a sqrt(sqrt 2 - 1)."""
    fabric = fabric_of(COATED[0])
    half = math.radians(finest_deg(fabric) / 2.0)
    a = 0.1
    ratio = (1.0 / (math.cos(half) ** 2 * (1.0 + (math.tan(half) / a) ** 2))) ** 2
    assert ratio == pytest.approx(0.5, rel=0.02)
    assert finest_deg(fabric_of({"kind": "diffuse", "gain": 0.8})) == 90.0
