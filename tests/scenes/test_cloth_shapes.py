"""Shapes of folds: the kinds of the scene format, slopes against differences, extremes, outline."""

import math

import numpy as np
import pytest
from halfgain.scenes.cloth.cloth import Cloth
from halfgain.scenes.cloth.gathered import GatheredWaves
from halfgain.scenes.cloth.kinds import KINDS
from halfgain.scenes.cloth.tab_lines import TabLines
from halfgain.scenes.cloth.table import FoldTable
from halfgain.scenes.load import scene_from_text
from scene_texts import edit

FOLDS = {
    "wave": "amplitude_mm = 2\nwavelength_mm = 300\ncrests = 30\nphase_deg = 40\ngrowth = 0.7",
    "roller waves": "amplitude_mm = 3\nwavelength_mm = 250",
    "v-groove": "amplitude_mm = 8\nangle_deg = 25\noffset_mm = 50",
    "crease": 'amplitude_mm = 4\ncrests = "horizontal"\nspacing_mm = 400\nwidth_mm = 90',
    "tension lines": "amplitude_mm = 2\nwavelength_mm = 120",
    "edge curl": 'amplitude_mm = 3\nwidth_mm = 60\nsides = "all"',
    "swing": "amplitude_mm = 5",
    "random": "amplitude_mm = 1\nwavelength_mm = 100\nseed = 4",
}


def cloth(*folds, **changes):
    """The cloth of the sound scene (2.4 x 1.35 m) with folds given as (kind, keys)."""
    tables = "".join(f'[[screen.fold]]\nkind = "{kind}"\n{keys}\n' for kind, keys in folds)
    text = edit(('hang = "fixed frame"\n', f'hang = "fixed frame"\n{tables}'), *changes.items())
    screen = scene_from_text(text).screen
    return Cloth(screen.width_m, screen.height_m, screen.drape.folds)


def test_every_kind_of_the_table_has_its_keys_and_the_other_way_round():
    choices = set(FoldTable.model_fields["kind"].annotation.__args__)
    assert choices == set(KINDS)
    fields = {key for kind in KINDS.values() for key in (*kind.needs, *kind.takes)}
    assert fields | {"kind"} == set(FoldTable.model_fields)


@pytest.mark.parametrize(
    ("crests", "s"),
    [
        ('"vertical"', lambda x, y: x),
        ('"horizontal"', lambda x, y: y),
        ("90", lambda x, y: y),
        ("30", lambda x, y: x * math.cos(math.pi / 6) + y * math.sin(math.pi / 6)),
    ],
)
def test_the_contract_of_a_wave(crests, s):
    """design.md: height towards the seats = amplitude cos(2 pi s / wavelength + phase), s across the crests from the middle."""
    got = cloth(("wave", f"amplitude_mm = 2\nwavelength_mm = 300\ncrests = {crests}\nphase_deg = 25"))
    x, y = np.meshgrid(np.linspace(-1.2, 1.2, 23), np.linspace(-0.6, 0.6, 11))
    expected = 0.002 * np.cos(2 * math.pi * s(x, y) / 0.3 + math.radians(25))
    assert np.allclose(got.at(x, y).height, expected, atol=1e-15)


def test_phase_nought_puts_a_crest_through_the_middle():
    got = cloth(("wave", "amplitude_mm = 2\nwavelength_mm = 300"))
    assert got.at(0.0, 0.3).height == pytest.approx(0.002)
    assert got.highest_m == pytest.approx(0.002, rel=1e-3)
    assert got.steepest == pytest.approx(0.0418879, rel=1e-3)  # computed apart: peak slope of 2 mm on 300 mm
    assert got.finest_m == pytest.approx(0.3)


@pytest.mark.parametrize("kind", FOLDS)
def test_slopes_are_the_derivatives(kind):
    """Central differences of the height."""
    got = cloth((kind, FOLDS[kind]))
    rng = np.random.default_rng(3)
    x, y = rng.uniform(-1.19, 1.19, 400), rng.uniform(-0.66, 0.66, 400)
    e = 1e-6
    _, right, up = got.at(x, y)
    by_right = (got.at(x + e, y).height - got.at(x - e, y).height) / (2 * e)
    by_up = (got.at(x, y + e).height - got.at(x, y - e).height) / (2 * e)
    assert np.allclose(right, by_right, atol=2e-7)
    assert np.allclose(up, by_up, atol=2e-7)
    assert np.hypot(right, up).max() > 1e-4


@pytest.mark.parametrize(
    "folds",
    [
        (GatheredWaves(0.002, 0.17, 0.9, 0.78, 0.8),),
        (GatheredWaves(0.002, 0.17, 0.9, 0.4, 0.5), TabLines(0.001, 0.25, 0.03, 1.22), GatheredWaves(0.001, 0.2, 3.0, 2.0, 3.0)),
        (GatheredWaves(0.002, 0.17, 0.9, 5.0, 0.5),),  # none of it on the cloth
        (),
    ],
)
def test_a_grid_of_places_gets_the_heights_of_its_places(folds):
    got, right, up = Cloth(2.4, 1.35, folds), np.linspace(-1.2, 1.2, 41), np.linspace(0.675, -0.675, 23)
    expected = got.at(*np.meshgrid(right, up))
    for a, b in zip(got.on_grid(right, up), expected, strict=True):
        assert a.shape == (23, 41)
        assert np.array_equal(a, b)
    assert len(folds) < 2 or np.abs(expected.height).max() > 0.001


@pytest.mark.parametrize("fold", [GatheredWaves(0.002, 0.17, 0.9, 0.78, 0.8), TabLines(0.001, 0.25, 0.03, 1.22)])
def test_slopes_of_estimated_folds_are_the_derivatives(fold):
    """Central differences of the height; both are nothing where the formula ends."""
    rng = np.random.default_rng(5)
    x, y = rng.uniform(-1.19, 1.19, 4000), rng.uniform(-0.66, 0.66, 4000)
    e = 1e-6
    _, right, up = fold.at(x, y)
    assert np.allclose(right, (fold.at(x + e, y).height - fold.at(x - e, y).height) / (2 * e), atol=2e-7)
    assert np.allclose(up, (fold.at(x, y + e).height - fold.at(x, y - e).height) / (2 * e), atol=2e-7)
    assert np.hypot(right, up).max() > 1e-3


@pytest.mark.parametrize("kind", ["wave", "roller waves", "v-groove", "crease", "edge curl", "swing"])
def test_the_amplitude_is_reached(kind):
    keys = FOLDS[kind].replace("spacing_mm = 400\n", "").replace("growth = 0.7", "").replace('sides = "all"', "")
    got = cloth((kind, keys))
    size = float(FOLDS[kind].split("amplitude_mm = ")[1].split("\n")[0]) / 1000
    x, y = np.meshgrid(np.linspace(-1.2, 1.2, 1601), np.linspace(-0.675, 0.675, 301))
    height = got.at(x, y).height
    assert np.abs(height).max() == pytest.approx(size, rel=0.02)


def test_growth_is_one_at_the_lower_edge():
    """Computed apart: amplitude goes with the square root of the compression, which grows with depth."""
    got = cloth(("roller waves", "amplitude_mm = 4\nwavelength_mm = 300\nlead_mm = 150"))
    assert got.at(0.0, -0.675).height == pytest.approx(0.004)
    assert got.at(0.0, 0.675).height == pytest.approx(0.004 * math.sqrt(0.15 / 1.5))


def test_v_groove_lies_back_along_its_arms():
    """30 degrees from the vertical: 1 m up, the arms lie tan(30) m to either side of the pull."""
    got = cloth(("v-groove", "amplitude_mm = 8\nangle_deg = 30\nrounding_mm = 1\ngrowth = 0\nwidth_mm = 200"))
    x = np.linspace(-1.2, 1.2, 4801)
    height = got.at(x, np.full_like(x, 0.325)).height
    assert abs(x[height.argmin()]) == pytest.approx(math.tan(math.pi / 6), abs=0.002)
    assert height.min() == pytest.approx(-0.008, rel=0.01)
    assert height[2400] > -0.001


def test_random_mix_has_the_rms_of_one_wave_and_follows_its_seed():
    """Variances of independent waves add: rms = amplitude / sqrt(2), here over one finite cloth, so within a quarter."""

    def heights(seed):
        got = cloth(("random", f"amplitude_mm = 2\nwavelength_mm = 60\nlongest_mm = 150\nseed = {seed}"))
        x, y = np.meshgrid(np.linspace(-1.2, 1.2, 241), np.linspace(-0.675, 0.675, 136))
        return got.at(x, y).height

    first = heights(1)
    assert first.std() == pytest.approx(0.002 / math.sqrt(2), rel=0.25)
    assert np.array_equal(first, heights(1))
    assert not np.allclose(first, heights(2))


def test_folds_add_up():
    a, b = ("wave", FOLDS["wave"]), ("edge curl", FOLDS["edge curl"])
    x, y = np.linspace(-1.2, 1.2, 50), np.linspace(-0.6, 0.6, 50)
    both = cloth(a, b).at(x, y)
    assert np.allclose(both.height, cloth(a).at(x, y).height + cloth(b).at(x, y).height)


def test_outlines():
    got = cloth(("concave edges", "depth_mm = 12"), ("bar sag", "depth_mm = 5"))
    assert got.smooth
    assert not got.flat
    assert got.half_width_m(0.0) == pytest.approx(1.188)
    assert got.half_width_m(0.675) == pytest.approx(1.2)
    assert got.lower_edge_m(0.0) == pytest.approx(-0.675)
    assert got.lower_edge_m(1.2) == pytest.approx(-0.67)
    right, up = np.array([0.0, 1.195, 1.195, 1.1]), np.array([0.0, 0.0, 0.6, -0.674])
    assert got.covers(right, up).tolist() == [True, False, True, False]


def test_stated_folds_stand_in_place_of_the_hangs_own():
    from halfgain.scenes.cloth.surface import cloth_of, hang_effects

    tables = '[[screen.fold]]\nkind = "wave"\namplitude_mm = 1\nwavelength_mm = 500\n'
    scene = scene_from_text(edit(('hang = "fixed frame"\n', f'hang = "motorised"\n{tables}')))
    assert hang_effects(scene.screen) == ()
    assert cloth_of(scene.screen, "low").highest_m == pytest.approx(0.001, rel=1e-3)
    assert any("in place of" in note for note in scene.notes)
