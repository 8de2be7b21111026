"""The page's own computations against others: sight lines, folded pictures, repainting in order, fabric bands, SVG."""

from __future__ import annotations

from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from halfgain.materials.fabric_table import FabricTable
from halfgain.scenes.cloth.surface import LEVELS, cloth_of
from halfgain.scenes.load import load_scene
from halfgain.simulate.answers.allowed import default_allowed
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.answers.repaint_order import repaint_order, worst_contrast
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.measuring.targets import CLASSES, ClassStanding
from halfgain.simulate.output.drawing import figure_of
from halfgain.simulate.page.charts import Charts, band_chart
from halfgain.simulate.page.elevation import numbers
from halfgain.simulate.page.fabric_band import FabricBand, Spread, band_figure, fabric_band
from halfgain.simulate.page.findings import GOOD, LOOK, NOTE, _class_words
from halfgain.simulate.page.pairs import at_level, flat
from halfgain.simulate.page.seat_pictures import _fold_ratios, folded, seats_to_show
from halfgain.simulate.page.sections import fabric as fabric_section
from halfgain.simulate.page.sightlines import sight_lines
from halfgain.simulate.page.svg import inline_svg
from halfgain.simulate.views.content import load_content
from halfgain.simulate.views.render import seat_camera, seat_picture, set_the_stage

from ..coarse import make_coarse
from ..rooms import ANGULAR, box_object, room


def test_sight_lines_hide_what_measure_says_is_hidden() -> None:
    """Against the kernel's own count through its tree of patches, which shares nothing with the slab test but the grid."""
    seats = '[[seat]]\nname = "front"\neye_m = [0.2, 2.6, 1.0]\n[[seat]]\nname = "rear"\neye_m = [0.25, 4.2, 0.95]'
    scene = room(objects=box_object("chest", [-0.5, 1.0, 0.0], [0.4, 1.5, 1.1], 0.3), seats=seats)
    found = sight_lines(scene)
    for sight, place in zip(found, measure(scene, error=0.2).geometry, strict=True):
        assert sight.hidden == pytest.approx(place.hidden_share, abs=1e-9)
    assert found[0].hidden > 0.02
    assert [name for name, _ in found[1].by] == ["chest", "head at front"]
    assert found[1].rows[-1] > found[1].rows[0], "what stands on the floor hides the lower edge first"


def test_a_wall_before_the_screen_is_called_one() -> None:
    """From the far corner of the dining bay, where the bay's corner stands before half of the screen."""
    corner = load_scene("l-living-room").change("seat.table.eye_m", [4.3, 5.9, 1.1])
    sight = next(each for each in sight_lines(corner) if each.seat == "table")
    assert 0.3 < sight.hidden < 0.7
    assert {name for name, _ in sight.by} >= {'wall "right"', 'wall "bay front"'}


def test_a_folded_picture_made_from_the_flat_one_is_the_rendered_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Against the full rendering of the folded cloth, within 0.5 % on the mean and 2 % in nineteen of twenty pixels.

    Both stand in the same coarse light: what the folds do to the projector's own is compared.
    """
    make_coarse(monkeypatch.setattr)
    scene = room(fabric='hang = "pull-down"\n' + ANGULAR, gap=0.08, objects="")
    scene = at_level(scene, "typical")
    content = load_content("gradient", 16 / 9)
    camera = seat_camera(scene, 1, width=192, height=108)
    still = seat_picture(set_the_stage(flat(scene), content), camera)
    quick = folded(scene, still, _fold_ratios(scene, 1)[1])  # type: ignore[index]
    whole = seat_picture(set_the_stage(scene, content), camera)
    inside = whole.screen.copy()
    for axis in (0, 1):  # the cloth's edge moves with its folds, the flat one's does not
        for step in (-2, -1, 1, 2):
            inside &= np.roll(whole.screen, step, axis)
    off = np.abs(quick[inside] / whole.cd_m2[inside] - 1.0)
    assert off.mean() < 0.005
    assert np.quantile(off, 0.95) < 0.02
    assert np.abs(still.cd_m2[inside] / whole.cd_m2[inside] - 1.0).mean() > 3.0 * off.mean(), "the folds are there to be seen"


def test_a_level_without_folds_is_a_flat_cloth() -> None:
    """Without stated folds a cloth would be at its typical estimate."""
    scene = load_scene("light-lounge")
    for level in LEVELS:
        assert cloth_of(at_level(scene, level).screen).folds == cloth_of(scene.screen, level).folds
    assert not cloth_of(scene.screen, "low").folds


def test_repainting_takes_the_surface_that_gives_most_first() -> None:
    """Each step against every other one, asked one at a time."""
    scene = load_scene("long-lounge")
    answers = Answers.of(scene)
    allowed = default_allowed(scene)
    steps = repaint_order(answers, allowed)
    assert len(steps) >= 2
    contrast = [worst_contrast(answers).value, *(step.contrast.value for step in steps)]
    assert all(b > a for a, b in pairwise(contrast))
    one = {each.surface: worst_contrast(answers.with_finish(each.surface, each.finish)).value for each in allowed}
    assert steps[0].contrast.value == pytest.approx(max(one.values()))
    assert repaint_order(Answers.of(load_scene("dark-room")), default_allowed(load_scene("dark-room"))) == []


def test_every_curve_of_a_fabric_has_its_gain_and_half_gain_angle() -> None:
    """Definition: all models give the gain at 0 and half of it at the half-gain angle; the band holds the one taken."""
    scene = load_scene("wide-row")
    fabric = scene.screen.fabric
    band = fabric_band(Answers.of(scene), fabric)
    assert band.open
    for curve in (band.least, band.greatest):
        assert np.interp(0.0, band.angle_deg, curve) == pytest.approx(fabric.gain, rel=2e-3)
        assert np.interp(fabric.half_gain_deg or 0.0, band.angle_deg, curve) == pytest.approx(fabric.gain / 2, rel=1e-2)
    assert ((band.least <= band.own) & (band.own <= band.greatest)).all()
    for spread in (*band.white_cd_m2, *band.contrast):
        assert spread.least <= spread.own <= spread.greatest


def test_a_measured_fabric_that_never_falls_to_half_its_gain_has_its_section() -> None:
    """The page once broke off here: such a curve has no half-gain angle, yet its lobe may follow mirror or light."""
    fabric = FabricTable.model_validate({"kind": "measured", "curve": [[0, 0.8], [15, 0.9], [30, 0.7], [60, 0.5]]}).to_fabric()
    assert fabric.half_gain_deg is None
    angle, own = np.linspace(0.0, 80.0, 9), np.full(9, 0.8)
    seats = (Spread(30.0, 28.0, 31.0),)
    band = FabricBand(fabric, ("as the scene has it", "other"), angle, own, own, own, seats, seats)
    evidence: Any = SimpleNamespace(
        bands=(band,), measurement=SimpleNamespace(geometry=[SimpleNamespace(lobe_angle_deg=None)]), seats=("middle",)
    )
    chart = band_chart(evidence, 0)
    found = fabric_section(evidence, Charts("", "", "", "", (chart,), {}), 0)
    assert found["half"] == ""
    assert "0.8 at the middle; a band" in found["chart"]


def test_the_legend_of_a_slowly_falling_curve_lies_beside_it() -> None:
    """A gain that falls little crosses the upper right corner, where that of a narrow lobe leaves room."""
    fabric = FabricTable.model_validate({"gain": 1.0, "half_gain_deg": 75.0, "kind": "angular-reflective"}).to_fabric()
    angle = np.linspace(0.0, 80.0, 161)
    own = np.cos(np.radians(0.8 * angle))
    figure = band_figure(FabricBand(fabric, ("as the scene has it",), angle, own, own, own, (), ()), [])
    figure.canvas.draw()
    axes = figure.axes[0]
    legend = axes.get_legend()
    assert legend is not None
    box = legend.get_window_extent()
    assert not any(box.contains(x, y) for x, y in axes.transData.transform(np.column_stack([angle, own])))


def test_seats_with_pictures_hold_the_worst_and_the_brightest() -> None:
    found = measure(load_scene("wide-row"), error=0.2)
    shown = seats_to_show(found, 16)
    white = [reading.white["centre"].value for reading in found.seats]
    assert len(shown) == 3
    assert {int(np.argmin(white)), int(np.argmax(white))} <= set(shown)
    assert seats_to_show(found, 2) == (0, 1, 2, 3, 4)


def test_numbers_of_seats_are_joined() -> None:
    assert numbers([0, 1, 2, 3, 5]) == "1-4, 6"
    assert numbers([0, 1]) == "1, 2"
    assert numbers([6]) == "7"


def test_svg_has_its_own_ids_and_no_style_of_its_own() -> None:
    def drawn() -> str:
        figure = figure_of(2.0, 2.0)
        axes = figure.add_axes((0.2, 0.2, 0.7, 0.7))
        axes.fill_between([0, 1], [0, 0], [1, 2])
        return inline_svg(figure, "one", 'a "chart" <b>')

    text = drawn()
    assert text == drawn()
    assert text.startswith('<svg class="chart" role="img" aria-label="a &quot;chart&quot; &lt;b&gt;"')
    assert "<style" not in text
    assert "<metadata" not in text
    assert all(part.startswith("one-") for part in text.split(' id="')[1:])
    assert text.count('href="#one-') == text.count('href="#')


def test_below_every_class_is_said_only_where_it_is_sure() -> None:
    low, high = CLASSES[0], CLASSES[1]
    sure, none, unsure = ClassStanding(high, ()), ClassStanding(None, ()), ClassStanding(None, (low,))
    assert _class_words([sure, ClassStanding(low, (high,))]) == (NOTE, "enough for passive viewing")
    assert _class_words([sure]) == (GOOD, "enough for basic decision making")
    assert _class_words([sure, none]) == (LOOK, "below every class")
    assert _class_words([sure, unsure]) == (NOTE, "no class is sure")
