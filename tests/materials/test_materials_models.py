"""Formulas of the families against numbers computed outside this project, and against a reference renderer."""

from __future__ import annotations

import math

import numpy as np
import pytest
from halfgain.materials.fabric_table import FabricTable
from halfgain.materials.lobes import beckmann
from halfgain.materials.lobes.brdf import directional_albedo, fabric_gains, fabric_value
from halfgain.materials.lobes.perforation import Perforation, arc_minutes, moire, returned_gain
from halfgain.materials.lobes.profile import MIRROR, SOURCE, Profile
from halfgain.materials.lobes.shapes import EllipticLobe, HalfVectorLobe
from halfgain.materials.solving.pair import ggx_roughness
from lobe_cases import CURVE, case

from tests.needs import needs


def towards(angle_deg, turn_deg=0.0):
    t, p = math.radians(angle_deg), math.radians(turn_deg)
    return (math.sin(t) * math.cos(p), math.sin(t) * math.sin(p), math.cos(t))


def ggx(alpha, axis=MIRROR):
    """GGX with F = 1: gain on the axis F / (4 a^2)."""
    fabric = case("ggx")
    lobe = HalfVectorLobe(0.25 / alpha**2, alpha, alpha, axis)
    return type(fabric)(**{**fabric.__dict__, "base_gain": 0.0, "lobes": (lobe,)}).arrays()


def test_ggx_values():
    """a = 0.3, light at 30 degrees: mirror view, and 10 degrees beyond the normal.

    Source: f = D G2 / (4 cos cos) of Walter et al. 2007 with the height-correlated G2 of Heitz 2014 (both from memory), worked apart
    in double precision; the first is by hand 1 / (4 a^2 cos^2 t sqrt(1 + a^2 tan^2 t)), the light at t, since D along its own normal
    is 1 / (pi a^2).
    """
    light, cosine = towards(30), math.cos(math.radians(30))
    assert 0.25 / (0.09 * cosine**2 * math.sqrt(1.0 + 0.09 * (1.0 / cosine**2 - 1.0))) == pytest.approx(3.6493676969, abs=1e-10)
    assert math.pi * fabric_value(ggx(0.3), light, towards(30, 180)) == pytest.approx(3.6493676969, abs=1e-9)
    assert math.pi * fabric_value(ggx(0.3), light, towards(10, 180)) == pytest.approx(1.8973479419, abs=1e-9)
    assert math.pi * fabric_value(ggx(0.3, SOURCE), light, light) == pytest.approx(3.6493676969, abs=1e-9)


# Source: directional albedos for F = 1, computed outside this project, good to 5e-5: a, at 0, 30, 60 degrees.
GGX_ALBEDOS = [(0.2, 0.94761, 0.93904, 0.89522), (0.3, 0.87734, 0.86386, 0.82170), (0.5, 0.68784, 0.68305, 0.69824)]


@pytest.mark.parametrize(("alpha", "normal", "thirty", "sixty"), GGX_ALBEDOS)
def test_ggx_albedos(alpha, normal, thirty, sixty):
    for angle, expected in ((0, normal), (30, thirty), (60, sixty)):
        for axis in (MIRROR, SOURCE):
            assert directional_albedo(ggx(alpha, axis), towards(angle, 25)) == pytest.approx(expected, abs=6e-5)
    assert HalfVectorLobe(0.25 / alpha**2, alpha, alpha).unit_albedo() * 0.25 / alpha**2 == pytest.approx(normal, abs=6e-5)


# Source: table of half-vector lobes, computed outside this project: half-gain angle [deg], a, largest gain for F = 1,
# its albedo.
GGX_TABLE = [
    (10, 0.13251, 14.23683, 0.97854),
    (15, 0.19340, 6.68389, 0.95131),
    (20, 0.24869, 4.04224, 0.91674),
    (25, 0.29764, 2.82208, 0.87931),
    (30, 0.34000, 2.16257, 0.84279),
    (35, 0.37593, 1.76897, 0.80960),
    (40, 0.40577, 1.51840, 0.78097),
    (45, 0.42995, 1.35240, 0.75728),
    (50, 0.44893, 1.24045, 0.73852),
    (55, 0.46313, 1.16558, 0.72443),
    (60, 0.47287, 1.11801, 0.71475),
]


@pytest.mark.parametrize(("half_gain_deg", "alpha", "gain", "albedo"), GGX_TABLE)
def test_roughness_of_a_half_gain_angle(half_gain_deg, alpha, gain, albedo):
    found = ggx_roughness(math.radians(half_gain_deg), 0.0)
    assert found == pytest.approx(alpha, abs=6e-6)
    assert 0.25 / found**2 == pytest.approx(gain, abs=6e-6)
    assert HalfVectorLobe(gain, found, found).unit_albedo() * gain == pytest.approx(albedo, abs=2e-5)


def test_oren_nayar_values():
    """Source: worked numbers, rho 0.9: sigma 20 degrees, gain at 60 / 60 same side and along the normal; s = 0.35."""
    cases = [
        ({"gain": 0.7786510933, "roughness_deg": 20.0}, 1.1280638497),
        ({"gain": 0.8176409166, "roughness_deg": math.degrees(0.35), "rough_model": "single-fraction"}, 1.2469023978),
    ]
    for stated, expected in cases:
        arrays = FabricTable.model_validate({"kind": "rough-diffuse", **stated}).to_fabric().arrays()
        assert math.pi * fabric_value(arrays, towards(60), towards(60)) == pytest.approx(expected, abs=1e-9)
        assert math.pi * fabric_value(arrays, towards(0), towards(50)) == pytest.approx(stated["gain"], abs=1e-12)


def test_open_areas():
    """Source: elementary geometry, numbers computed outside this project."""
    assert Perforation("hexagonal", 1.5, 0.5).open_area == pytest.approx(0.1007666313, abs=1e-10)
    assert Perforation("square", 1.5, 0.5).open_area == pytest.approx(0.0872664626, abs=1e-10)
    assert Perforation("hexagonal", 5.1, 1.2).open_area == pytest.approx(0.0502089789, abs=1e-10)
    assert Perforation("woven", 1.0, 0.6).open_area == pytest.approx(0.16, abs=1e-12)


def test_oblique_light_through_round_holes():
    """Source: overlap of two circles, numbers computed outside this project: depth 0.35 mm, diameter 1.2 mm."""
    holes = Perforation("hexagonal", 5.1, 1.2, 0.35)
    assert float(holes.transmittance(30)) / holes.open_area == pytest.approx(0.7866119713, abs=1e-9)
    assert float(holes.transmittance(60)) / holes.open_area == pytest.approx(0.3852987271, abs=1e-9)
    arrays = (
        FabricTable.model_validate(
            {"gain": 0.9, "hole_pitch_mm": 5.1, "hole_diameter_mm": 1.2, "sheet_thickness_mm": 0.35, "behind_reflectance": 0.5}
        )
        .to_fabric()
        .arrays()
    )
    more = [math.pi * fabric_value(arrays, towards(angle), towards(0)) - 0.9 for angle in (0, 30, 60)]
    assert more[1] / more[0] == pytest.approx(0.7866119713, abs=1e-9)
    assert more[2] / more[0] == pytest.approx(0.3852987271, abs=1e-9)


def test_weave_dims_across_its_threads_as_drawn():
    """Source: a thread of 0.5 of the pitch shades 0.5 / cos t of it: 1 - 0.5 / cos 45 = 0.292893 of a half-open row."""
    weave = Perforation("woven", 1.0, 0.5)
    assert float(weave.transmittance(45.0, 0.0)) / 0.5 == pytest.approx(1.0 - 0.5 * math.sqrt(2.0), abs=1e-12)
    assert float(weave.transmittance(61.0, 90.0)) == 0.0


def test_light_returned_from_behind():
    """Source: worked numbers: T 0.05, rc 0.1, rb 0.6; T 0.10, rc 0.05, rb 0.6."""
    assert returned_gain(open_area=0.05, behind_reflectance=0.1, back_reflectance=0.6) == pytest.approx(2.6511e-4, abs=5e-9)
    assert returned_gain(open_area=0.10, behind_reflectance=0.05, back_reflectance=0.6) == pytest.approx(5.1387e-4, abs=5e-9)


def test_moire():
    """Source: beat of two gratings |1/p - 1/q|^-1: 1.1 and 1.0 mm beat every 11 mm; 1 mm at 3.43775 m fills 1'."""
    beat = moire(pitch_mm=1.1, pixel_mm=1.0, distance_m=3.0)
    assert beat.beat_mm == pytest.approx(11.0, rel=1e-9)
    assert (beat.order_holes, beat.order_pixels) == (1, 1)
    assert beat.beat_arcmin == pytest.approx(arc_minutes(size_mm=11.0, distance_m=3.0))
    assert arc_minutes(size_mm=1.0, distance_m=3.437746770784939) == pytest.approx(1.0, rel=1e-6)
    assert "every 11 mm" in beat.words
    assert moire(pitch_mm=2.0, pixel_mm=1.0, distance_m=3.0).beat_mm == math.inf  # two pixels a hole, exactly
    assert "little moire" in moire(pitch_mm=0.3, pixel_mm=1.0, distance_m=3.0).words
    assert moire(pitch_mm=2.0, pixel_mm=1.02, distance_m=3.0).order_pixels == 2


def test_elliptic_lobe_keeps_both_angles_and_is_round_where_they_agree():
    """Source: exp(-sin^2 / 2 w^2): the width in sines is the same in all planes when both are equal."""
    round_lobe = EllipticLobe(1.0, 0.3, 0.3)
    assert round_lobe.shape(0.4, 0.0) == pytest.approx(float(round_lobe.shape(0.4, 1.0)), abs=1e-15)
    # integral of exp(-r^2 / 2 w^2) over the disc / pi = 2 w^2 (1 - exp(-1 / 2 w^2)), elementary
    assert round_lobe.unit_albedo() == pytest.approx(0.18 * -math.expm1(-1.0 / 0.18), abs=1e-12)
    assert Profile(0.0, (round_lobe,)).gain(0.0) == pytest.approx(1.0)


def test_measured_curve_passes_its_points_and_makes_no_hump():
    """Source: monotone interpolation keeps the data's order (Fritsch and Carlson 1980)."""
    t = np.radians(np.linspace(0.0, 90.0, 5001))
    gains = CURVE.gain(t)
    assert CURVE.gain(np.radians(CURVE.view_deg)) == pytest.approx(np.array(CURVE.gains), rel=1e-12)
    assert np.all(np.diff(gains) <= 1e-12)
    arrays = case("measured").arrays()
    scale = 0.9 / CURVE.albedo()
    eyes = np.stack([np.sin(t), 0 * t, np.cos(t)], axis=1)[:-1]
    seen = fabric_gains(arrays, np.tile([0.0, 0.0, 1.0], (len(eyes), 1)), eyes)
    assert np.max(np.abs(seen / scale - gains[:-1])) < 2e-4 * 1.6  # bound of the table's error


def test_monotone_slopes_are_those_of_scipy():
    """Source: scipy's PchipInterpolator, another implementation of the same slopes."""
    from scipy.interpolate import PchipInterpolator

    x = np.radians(CURVE.view_deg)
    t = np.linspace(0.0, x[-1], 700)
    assert CURVE.gain(t) == pytest.approx(np.exp(PchipInterpolator(x, np.log(CURVE.gains))(t)), rel=1e-12)


@pytest.mark.reference
@pytest.mark.parametrize("alpha", [0.15, 0.3, 0.5])
def test_half_vector_lobes_agree_with_the_reference_renderers_rough_conductor(alpha):
    """Source: mitsuba's `roughconductor`, a mirror of F = 1. It takes G1 G1 for shading where this takes the height-
    correlated G2: where one direction is the normal both are one formula; elsewhere its value is turned by G2 / G1 G1.
    Its Beckmann shading is a rational fit, good to about 0.4 percent, its single precision to 1e-5."""
    mi = needs("mitsuba")
    mi.set_variant("scalar_rgb")

    def reference(name, wi, wo):
        bsdf = mi.load_dict({"type": "roughconductor", "material": "none", "distribution": name, "alpha": alpha})
        interaction = mi.SurfaceInteraction3f()
        interaction.wi = wi
        return float(bsdf.eval(mi.BSDFContext(), interaction, wo)[0]) * math.pi / wo[2]

    def lam(w):
        return 0.5 * (math.sqrt(1.0 + alpha**2 * (1.0 / w[2] ** 2 - 1.0)) - 1.0)

    for light, view, turn in ((0, 0, 0), (0, 35, 10), (50, 0, 0), (30, 30, 180), (40, 20, 120), (65, 50, 160)):
        wi, wo = towards(light), towards(view, turn)
        turned = (1.0 + lam(wi)) * (1.0 + lam(wo)) / (1.0 + lam(wi) + lam(wo))
        value = math.pi * fabric_value(ggx(alpha), wi, wo)
        assert value == pytest.approx(reference("ggx", wi, wo) * turned, rel=2e-5)
        if 0 in (light, view):
            assert turned == pytest.approx(1.0, abs=1e-15)
            assert beckmann.gain(alpha, wi, wo) == pytest.approx(reference("beckmann", wi, wo), rel=4e-3)


def test_beckmann_is_ggx_in_the_limit_of_smooth_sheets_on_the_axis():
    """Source: both have D(n) = 1 / pi a^2; and energy: F = 1 gives back at most 1, nearly 1 when smooth."""
    assert beckmann.gain(0.2, towards(0), towards(0)) == pytest.approx(0.25 / 0.04, rel=1e-12)
    assert 0.985 < beckmann.albedo(0.1, 0.0) <= 1.0 + 2e-5  # the sum's own error
    assert beckmann.albedo(0.3, 0.5) < 1.0
    there = beckmann.gain(0.3, towards(20, 10), towards(50, 140))
    assert there == pytest.approx(beckmann.gain(0.3, towards(50, 140), towards(20, 10)), rel=1e-13)
