"""Mechanics of a hung sheet. Truth: numbers computed apart, in double precision, textbooks, quadrature."""

import math
from dataclasses import replace

import numpy as np
import pytest
from halfgain.materials.lobes.perforation import Perforation
from halfgain.materials.solving.curve import curve_from_text
from halfgain.materials.solving.pair import PairShape
from halfgain.materials.text.word import UnknownWord
from halfgain.scenes.cloth import mechanics as m
from halfgain.scenes.cloth.cords import at_level
from halfgain.scenes.cloth.edges import EdgeCurl
from halfgain.scenes.cloth.estimate import effects_of, folds_at
from halfgain.scenes.cloth.hanging import Hang, hanging_of
from halfgain.scenes.cloth.surface import LEVELS, cloth_of
from halfgain.scenes.errors import SceneErrors
from halfgain.scenes.geometry import raster
from halfgain.scenes.load import scene_from_text
from scene_texts import edit
from scipy.integrate import quad


@pytest.mark.parametrize(
    ("modulus", "thickness", "poisson", "expected"), [(20e6, 0.4e-3, 0.45, 1.3375131e-4), (100e6, 0.35e-3, 0.4, 4.2534722e-4)]
)
def test_bending_stiffness(modulus, thickness, poisson, expected):
    """Plate theory; both values: computed apart."""
    assert m.bending_stiffness(modulus_pa=modulus, thickness_m=thickness, poisson=poisson) == pytest.approx(expected, rel=1e-7)


@pytest.mark.parametrize("amplitude", [0.002, 0.05, 0.3])
def test_arc_length_of_a_sine(amplitude):
    """Quadrature of sqrt(1 + y'^2); computed apart gives 4.38504880e-4 for 2 mm on 300 mm."""
    k = 2 * math.pi / 0.3
    length, _ = quad(lambda x: math.sqrt(1 + (amplitude * k * math.cos(k * x)) ** 2), 0, 0.3, epsabs=1e-13, limit=200)
    assert m.excess_length(amplitude_m=amplitude, wavelength_m=0.3) == pytest.approx(length / 0.3 - 1, rel=1e-7)
    assert m.excess_length(amplitude_m=0.002, wavelength_m=0.3) == pytest.approx(4.38504880e-4, rel=1e-7)


def test_amplitude_of_an_excess():
    """Computed apart: excess 1e-3 has the peak slope 2 sqrt(1e-3) = 0.0632 at any wavelength; 2.48e-3 at 0.3 m 4.7557 mm."""
    for wavelength in (0.1, 0.5):
        amplitude = m.amplitude_of_excess(excess=1e-3, wavelength_m=wavelength)
        assert 2 * math.pi * amplitude / wavelength == pytest.approx(2 * math.sqrt(1e-3))
    assert m.amplitude_of_excess(excess=2.480199e-3, wavelength_m=0.3) == pytest.approx(4.7557e-3, rel=1e-4)


@pytest.mark.parametrize(
    ("stiffness", "tension", "expected"),
    [(1.3375e-4, 2, 0.392616), (1.3375e-4, 20, 0.220784), (1.3375e-4, 100, 0.147647), (1e-4, 20, 0.205302), (5e-4, 20, 0.306998)],
)
def test_wrinkle_wavelength(stiffness, tension, expected):
    """Table computed apart, at L = 1.5 m (law of Cerda and Mahadevan 2003, prefactor from memory)."""
    got = m.wrinkle_wavelength_m(stiffness_nm=stiffness, tension_n_per_m=tension, length_m=1.5)
    assert got == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize(("depth", "expected"), [(0.1, 0.078750), (0.5, 0.191544), (1.0, 0.322138), (1.4, 0.569965)])
def test_wrinkles_grow_down_a_hung_sheet(depth, expected):
    """Computed apart, w 0.4, H 1.5, B 1.3375e-4; it takes g = 9.81."""
    tension = 0.4 * 9.81 * (1.5 - depth)
    got = m.wrinkle_wavelength_m(stiffness_nm=1.3375e-4, tension_n_per_m=tension, length_m=depth)
    assert got == pytest.approx(expected, rel=2e-4)


@pytest.mark.parametrize(("weight", "expected"), [(0.3, 0.0356905), (0.4, 0.0324269), (0.5, 0.0301025)])
def test_draping_length(weight, expected):
    """Computed apart."""
    got = m.draping_length_m(stiffness_nm=1.3375131e-4, areal_weight_kg_m2=weight)
    assert got == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(("bar", "sag", "slope"), [(0.0, 0.867631e-3, 1.26200e-3), (0.8, 1.500521e-3, 2.1826e-3)])
def test_roller_tube(bar, sag, slope):
    """5 w L^4 / 384 E I, textbook; computed apart for aluminium 50 x 1.2 mm, 2.2 m, 0.4 kg/m2 x 1.5 m."""
    inertia = m.tube_inertia_m4(diameter_m=0.05, wall_m=0.0012)
    assert inertia == pytest.approx(5.479780e-8, rel=1e-6)
    mass = m.tube_kg_per_m(diameter_m=0.05, wall_m=0.0012, density_kg_m3=2700)
    assert mass == pytest.approx(0.49672, rel=1e-4)
    beam = {"load_n_per_m": m.GRAVITY * (mass + 0.6 + bar), "length_m": 2.2, "modulus_pa": 69e9, "inertia_m4": inertia}
    assert m.beam_deflection_m(**beam) == pytest.approx(sag, rel=1e-5)
    assert m.beam_end_slope(**beam) == pytest.approx(slope, rel=1e-4)


def test_beam_deflection_by_integrating_its_bending():
    """E I y'' = M(x) = w x (L - x) / 2 integrated twice numerically, ends held."""
    load, length, stiff = 18.6, 2.2, 69e9 * 5.47978e-8
    x = np.linspace(0, length, 20001)
    curvature = load * x * (length - x) / 2 / stiff
    slope = np.concatenate([[0], np.cumsum(0.5 * (curvature[1:] + curvature[:-1]) * np.diff(x))])
    y = np.concatenate([[0], np.cumsum(0.5 * (slope[1:] + slope[:-1]) * np.diff(x))])
    y -= x / length * y[-1]
    got = m.beam_deflection_m(load_n_per_m=load, length_m=length, modulus_pa=69e9, inertia_m4=5.47978e-8)
    assert got == pytest.approx(-y.min(), rel=1e-6)


def test_curvature_of_a_sagging_tube():
    """Even load, textbook: the end slope w L^3 / 24 E I is a third of the curvature of the middle, w L^2 / 8 E I, times L."""
    beam = {"load_n_per_m": 18.6, "length_m": 2.2, "modulus_pa": 69e9, "inertia_m4": 5.47978e-8}
    assert m.beam_curvature(**beam) * 2.2 / 3 == pytest.approx(m.beam_end_slope(**beam))


@pytest.mark.parametrize(("tension", "pull"), [(20, 1.228800), (40, 2.457600)])
def test_cord_pull(tension, pull):
    """Computed apart, parabola of depth 12 mm over 1.25 m."""
    assert m.cord_pull_n_per_m(tension_n=tension, depth_m=0.012, height_m=1.25) == pytest.approx(pull, rel=1e-9)


def test_curl():
    """Computed apart (Timoshenko 1925): strain 1e-3, 0.4 mm: 3.75 /m; a 30 mm edge lifts by 1.6875 mm."""
    curvature = m.curl_curvature(strain=1e-3, thickness_m=0.4e-3)
    assert curvature == pytest.approx(3.75)
    assert 0.5 * curvature * 0.03**2 == pytest.approx(1.6875e-3)


def test_pendulum():
    """Textbooks: a uniform rod swings like a simple pendulum of 2 L / 3, a bob on a massless one like L."""
    rod = m.pendulum_period_s(drop_m=1.5, sheet_kg=1.3, bar_kg=0.0)
    assert rod == pytest.approx(2 * math.pi * math.sqrt(2 * 1.5 / 3 / 9.80665))
    bob = m.pendulum_period_s(drop_m=1.5, sheet_kg=0.0, bar_kg=2.0)
    assert bob == pytest.approx(2 * math.pi * math.sqrt(1.5 / 9.80665))
    both = m.pendulum_period_s(drop_m=1.5, sheet_kg=1.3, bar_kg=2.0)
    assert rod < both < bob


def test_pendulum_by_integrating_its_motion():
    """Small swing of rod and bar, I a = -g (sum m r) sin(a), integrated in small steps over a quarter period."""
    drop, sheet, bar = 1.5, 1.3, 1.9
    rate = 9.80665 * drop * (0.5 * sheet + bar) / (sheet * drop**2 / 3 + bar * drop**2)
    angle, speed, step, time = 1e-3, 0.0, 1e-5, 0.0
    while angle > 0:
        speed -= rate * math.sin(angle) * step
        angle += speed * step
        time += step
    got = m.pendulum_period_s(drop_m=drop, sheet_kg=sheet, bar_kg=bar)
    assert got == pytest.approx(4 * time, rel=1e-4)


def screen(hang, extra="", width="2.4", border="0.08"):
    text = edit(
        ('hang = "fixed frame"\n', f'hang = "{hang}"\n{extra}'),
        ("width_m = 2.4\n", f"width_m = {width}\n"),
        ("border_m = 0.08\n", f"border_m = {border}\n"),
    )
    return scene_from_text(text)


def test_a_fixed_frame_is_taken_as_flat_and_says_that_it_is_not_judged():
    frame = screen("fixed frame")
    assert all(cloth_of(frame.screen, level).flat for level in LEVELS)
    assert any("taken as flat" in note and "not judged" in note for note in frame.notes)


def test_a_corded_sheet_has_lines_at_its_tabs_that_wide_masking_hides():
    """Low to high more; 100 mm of masking leave nothing of the typical lines, which die away over about 12 mm."""
    narrow, wide = (screen("tab-tensioned", border=border) for border in ("0.02", "0.1"))
    slopes = [cloth_of(narrow.screen, level).steepest for level in LEVELS]
    assert 1e-4 < slopes[0] < slopes[1] < slopes[2] < 0.02
    assert cloth_of(wide.screen, "typical").flat
    (waves, cords, _) = effects_of(narrow.screen.drape.hanging, width_m=2.4, height_m=1.35)
    lines = cords.folds["typical"][0]
    assert lines.reach_m == pytest.approx(0.012, rel=0.2)
    heights = cloth_of(narrow.screen).at(np.array([1.2, 1.2]), np.array([0.0, 0.125])).height
    assert heights == pytest.approx(np.array([1.0, -1.0]) * 0.0005 * math.exp(-0.02 / lines.reach_m), rel=1e-6)
    assert "typical" not in waves.folds


def test_defaults_are_told_of_the_hang_that_has_them():
    """Cords belong to a corded sheet alone."""
    told = {hang: " ".join(screen(hang).notes) for hang in ("pull-down", "motorised", "tab-tensioned")}
    assert [hang for hang in told if "side cords" in told[hang]] == ["tab-tensioned"]


def test_cords_never_carry_more_than_the_bar_weighs():
    """Statics: two cords at 500 N would lift a bar of 4 kg; they end at half its weight each, and the cloth hangs on itself."""
    given = screen("tab-tensioned", "[screen.hanging]\nbar_kg = 4\ncord_tension_n = 500\n").screen.drape.hanging
    tension = at_level(given, "typical")
    assert tension.cord_n == pytest.approx(0.5 * 4 * 9.80665)
    assert tension.upright_n_per_m == pytest.approx(0.5 * 0.4 * 1.61 * 9.80665)


@pytest.mark.parametrize("hang", ["pull-down", "motorised"])
def test_untensioned_hangs_fold_more_from_low_to_high(hang):
    low, typical, high = (cloth_of(screen(hang).screen, level).steepest for level in ("low", "typical", "high"))
    assert low < typical < high < 0.2
    assert typical > 0.02


def test_any_hang_may_be_declared_flat():
    assert cloth_of(screen("pull-down", "[screen.hanging]\nflat = true\n").screen, "high").flat


def test_a_rigid_tube_leaves_no_roller_waves():
    extra = '[screen.hanging]\ntube_material = "rigid"\ncurl_strain = 0\n'
    assert cloth_of(screen("motorised", extra).screen, "high").steepest < 1e-9


def test_turns_that_were_not_wound_leave_no_waves_and_more_turns_more():
    """Low, typical and high are 1, 2 and 3 turns; the tube's sag alone makes nothing, whatever it is."""
    hanging = screen("motorised").screen.drape.hanging
    (roller, *_) = effects_of(hanging, width_m=2.4, height_m=1.35)
    low, typical, high = (roller.figures[f"amplitude_{level}_m"] for level in LEVELS)
    assert low < typical < high < 3.0 * typical
    tight = replace(hanging, hang=Hang.TAB_TENSIONED)
    assert "typical" not in effects_of(tight, width_m=2.4, height_m=1.35)[0].folds
    soft = replace(hanging, modulus_pa=hanging.modulus_pa / 10)
    assert effects_of(soft, width_m=2.4, height_m=1.35)[0].folds == {}, "a soft sheet narrows by more than was gathered"


def test_roller_waves_follow_from_the_parameters():
    """By hand with the formulas above: 50 x 1.2 mm aluminium over 2.56 m of sheet that is 1.61 m long, two turns wound."""
    extra = "[screen.hanging]\nbar_kg = 2.048\n"
    (roller, _, swing) = effects_of(screen("motorised", extra).screen.drape.hanging, width_m=2.4, height_m=1.35)
    load = 9.80665 * (0.49672 + 0.4 * 1.61 + 0.8)
    sag = 5 * load * 2.56**4 / (384 * 69e9 * 5.47978e-8)
    assert roller.figures["tube_sag_m"] == pytest.approx(sag, rel=1e-4)
    tension = 9.80665 * (0.4 * 0.805 + 0.8)
    gathered = load * 2.56**2 / (8 * 69e9 * 5.47978e-8) * 1.61 * math.log(1 + 2 * math.pi * 0.05 / 1.61)
    taken = 0.45 * tension / (20e6 * 0.4e-3)
    length = 1.61 * (1 - taken / gathered)
    wavelength = 2 * math.sqrt(math.pi) * (1.3375131e-4 / tension) ** 0.25 * math.sqrt(length) * 0.75**0.25
    assert roller.figures["wavelength_typical_m"] == pytest.approx(wavelength, rel=1e-4)
    amplitude = wavelength / math.pi * math.sqrt(4 / 3 * (gathered - taken))
    assert roller.figures["amplitude_typical_m"] == pytest.approx(amplitude, rel=1e-3)
    (waves,) = roller.folds["typical"]
    z = np.linspace(0.0, length, 2001)  # the middle thread's excess, k^2 a(z)^2 / 4 on the mean, uses up its mean slack
    tall = waves.at(np.zeros_like(z), 0.675 + 0.1 + 0.08 - z).height
    k = 2 * math.pi / wavelength
    assert np.mean(k**2 * tall**2 / 4) == pytest.approx(np.mean(gathered * (1 - z / 1.61) - taken), rel=5e-3)
    sheet = 0.4 * 2.56 * 1.61
    inertia, moment = sheet * 1.61**2 / 3 + 2.048 * 1.61**2, 1.61 * (sheet / 2 + 2.048)
    assert swing.figures["period_s"] == pytest.approx(2 * math.pi * math.sqrt(inertia / moment / 9.80665))


def test_every_effect_says_where_it_comes_from():
    for hang in (Hang.PULL_DOWN, Hang.MOTORISED, Hang.TAB_TENSIONED):
        hanging = hanging_of(hang, {}, width_m=2.6, height_m=1.4625, border_m=0.0)
        for effect in effects_of(hanging, width_m=2.6, height_m=1.4625):
            words = ("our own", "common practice, no source", "textbook")
            assert any(word in effect.sentence for word in words), effect.sentence
            assert all(math.isfinite(value) for value in effect.figures.values())


def test_large_pull_downs_are_warned_of_and_get_grooves():
    """100 inches diagonal (16:9) are 2.2138 m wide; common practice, no source."""
    small, large = screen("pull-down", width="2.2"), screen("pull-down", width="2.3")
    assert not any("V-grooves" in line.text for line in small.warnings)
    assert any("V-grooves" in line.text for line in large.warnings)
    assert not any("V-grooves" in line.text for line in screen("motorised", width="2.3").warnings)
    names = [effect.name for effect in effects_of(large.screen.drape.hanging, width_m=2.3, height_m=2.3 * 9 / 16)]
    assert "v-groove" in names
    low = effects_of(large.screen.drape.hanging, width_m=2.3, height_m=2.3 * 9 / 16)
    assert len(folds_at(low, "low")) < len(folds_at(low, "high"))


def test_an_estimate_never_goes_through_the_wall():
    text = edit(('hang = "fixed frame"\n', 'hang = "motorised"\n'), ("gap_to_wall_m = 0.10", "gap_to_wall_m = 0.003"))
    scene = scene_from_text(text)
    assert any("touch the wall" in line.text for line in scene.warnings)
    assert cloth_of(scene.screen, "high").lowest_m > -0.003


@pytest.mark.parametrize("word", ["typcial", "High", "", None])
def test_a_misspelt_level_is_refused(word):
    with pytest.raises(UnknownWord, match="level of folds"):
        cloth_of(screen("motorised").screen, word)
    with pytest.raises(UnknownWord, match="level of folds"):
        folds_at((), word)


def test_a_misspelt_word_is_refused_wherever_it_would_be_taken_for_another():
    """A level, a hang, a fit, a side, a lattice, a lobe, a unit of angles: each with its nearest spelling where there is one."""
    made = screen("motorised")
    with pytest.raises(UnknownWord, match="did you mean 'typical'"):
        cloth_of(made.screen, "typcial")
    with pytest.raises(UnknownWord, match="'tab-tensioned'"):
        hanging_of("tab tensioned", {}, width_m=2.4, height_m=1.35, border_m=0.0)
    with pytest.raises(UnknownWord, match="hang"):
        effects_of(replace(made.screen.drape.hanging, hang="motorized"), width_m=2.4, height_m=1.35)
    with pytest.raises(UnknownWord, match="fit"):
        raster(replace(made, projector=replace(made.projector, fit="Width", pixels=(1920, 1080))))
    with pytest.raises(UnknownWord, match="side"):
        EdgeCurl(0.001, 0.03, ("lft",), (1.2, 0.7))
    with pytest.raises(UnknownWord, match="lattice"):
        Perforation("hexagon", 1.5, 0.5)
    with pytest.raises(UnknownWord, match="lobe"):
        PairShape(0.5, "gausian")
    with pytest.raises(UnknownWord, match="angles"):
        curve_from_text("view_deg,gain\n0,1\n0.5,0.9\n", angles="radian")


def test_the_amplitude_scale_multiplies_every_estimated_fold():
    """Heights are 0.5 or 3 times those of mechanics at every level; the figures of the effects and "estimated" stay."""
    plain = screen("motorised")
    right, up = np.meshgrid(np.linspace(-1.1, 1.1, 41), np.linspace(-0.6, 0.6, 21))
    for scale in (0.5, 3.0):
        scaled = screen("motorised", f"[screen.hanging]\namplitude_scale = {scale}\n")
        for level in LEVELS:
            expected = scale * cloth_of(plain.screen, level).at(right, up).height
            assert np.allclose(cloth_of(scaled.screen, level).at(right, up).height, expected, atol=1e-15)
            assert cloth_of(plain.with_fold_scale(scale).screen, level) == cloth_of(scaled.screen, level)
        assert any(f"amplitude_scale = {scale:g}" in note and "estimated" in note for note in scaled.notes)
        assert scaled.screen.drape.folds == ()
    assert cloth_of(plain.with_fold_scale(0.0).screen, "high").flat
    for wrong in (-0.1, 10.5, math.nan):
        with pytest.raises(SceneErrors, match="amplitude_scale"):
            plain.with_fold_scale(wrong)


def test_stated_folds_keep_their_heights_whatever_the_amplitude_scale():
    tables = '[screen.hanging]\namplitude_scale = 5\n[[screen.fold]]\nkind = "wave"\namplitude_mm = 1\nwavelength_mm = 500\n'
    made = screen("motorised", tables)
    assert cloth_of(made.screen).highest_m == pytest.approx(0.001, rel=1e-3)
    assert any("amplitude_scale = 5 has no part in them" in note for note in made.notes)


def test_an_amplitude_scale_that_brings_the_cloth_to_the_lens_is_refused():
    text = edit(('hang = "fixed frame"\n', 'hang = "motorised"\n[screen.hanging]\namplitude_scale = 10\n'))
    near = text.replace(next(line for line in text.splitlines() if line.startswith("lens_m")), "lens_m = [0, 0.115, 1.2]")
    with pytest.raises(SceneErrors, match=r"amplitude_scale.*brings the cloth to the lens"):
        scene_from_text(near)
