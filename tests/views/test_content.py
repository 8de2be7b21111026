"""What the projector shows: charts, levels, image files; decoding, filtering, which way round."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from halfgain.simulate.measuring.lens import levels_of
from halfgain.simulate.measuring.solver import patch_levels
from halfgain.simulate.views.charts import CHARTS
from halfgain.simulate.views.content import Content, PictureError, from_srgb, load_content, to_srgb
from halfgain.simulate.views.shade import shown, zone_levels

from tests.rooms import room


def test_srgb_curve_has_the_standard_values() -> None:
    # Expected: IEC 61966-2-1: 8-bit 128 is 0.21586 linear, the two branches meet at 0.04045 / 0.0031308 (from memory)
    assert float(from_srgb(np.array(128 / 255))) == pytest.approx(0.21586, abs=1e-5)
    assert float(from_srgb(np.array(0.04045))) == pytest.approx(0.0031308, rel=1e-4)
    values = np.linspace(0, 1, 101)
    assert to_srgb(from_srgb(values)) == pytest.approx(values, abs=2e-5)


@pytest.mark.parametrize("name", CHARTS)
def test_charts_are_shares_of_white(name: str) -> None:
    content = load_content(name, 16 / 9)
    assert content.linear.min() >= 0.0
    assert content.linear.max() <= 1.0
    assert content.zones().mean() == pytest.approx(content.level, abs=1e-12)


def test_checkerboard_chart_is_the_pattern_that_measure_traces() -> None:
    assert load_content("checkerboard", 16 / 9).zones()[:, 0] == pytest.approx(patch_levels(), abs=1e-12)


def test_box_filter_is_the_mean_over_the_rectangle() -> None:
    # Expected: sums over subpixels of a random image, each pixel cut into 8 x 8
    image = np.random.default_rng(1).random((6, 8, 3))
    fine = image.repeat(8, axis=0).repeat(8, axis=1)
    sample = Content("x", image).sampler()
    found = sample(np.array([28 / 64]), np.array([20 / 48]), np.array([24 / 64]), np.array([8 / 48]))
    assert found[0] == pytest.approx(fine[16:24, 16:40].mean(axis=(0, 1)), abs=1e-12)


def test_zoomed_in_pixels_stay_squares() -> None:
    image = np.arange(4.0).reshape(2, 2, 1) / 4
    sample = Content("x", image).sampler()
    assert sample(np.array([0.26, 0.74]), np.array([0.4, 0.6]), np.zeros(2), np.zeros(2))[:, 0] == pytest.approx([0.0, 0.75])


def test_image_files_are_decoded_and_fitted_with_black_beside(tmp_path: Path) -> None:
    from PIL import Image

    red = np.zeros((90, 90, 3), np.uint8)
    red[..., 0] = 128
    Image.fromarray(red).save(tmp_path / "red.png")
    content = load_content(str(tmp_path / "red.png"), 16 / 9)
    assert content.linear.shape == (90, 160, 3)
    assert content.linear[45, 80] == pytest.approx([0.21586, 0, 0], abs=1e-5)
    assert content.linear[:, :34].max() == content.linear[:, 126:].max() == 0.0


def test_grey_image_has_one_channel(tmp_path: Path) -> None:
    from PIL import Image

    Image.fromarray(np.full((9, 16), 255, np.uint8)).save(tmp_path / "grey.png")
    assert load_content(str(tmp_path / "grey.png"), 16 / 9).linear.shape == (9, 16, 1)


@pytest.mark.parametrize("name", ["101%", "-1%", "x%", "nan%", "no-such-file.png"])
def test_unknown_pictures_are_refused_in_words(name: str) -> None:
    with pytest.raises(PictureError, match="allowed"):
        load_content(name, 1.6)


def test_file_that_is_no_image_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.png").write_text("no image")
    with pytest.raises(PictureError, match="not an image"):
        load_content(str(tmp_path / "a.png"), 1.6)


def test_black_of_the_checkerboard_is_one_over_its_contrast() -> None:
    """The format: native contrast and the lens's veil make black 1 / checkerboard contrast at half white; white stays 1."""
    scene = room(projector="checkerboard_contrast = 250", native=2000.0)
    level = zone_levels(scene, load_content("checkerboard", 16 / 9))
    assert sorted(set(level[:, 0].round(12))) == pytest.approx([1 / 250, 1.0])
    assert shown(scene, load_content("0%", 1.0), np.zeros(1))[0] == pytest.approx(levels_of(scene).black)


def test_letters_chart_names_its_sides() -> None:
    """RIGHT and LEFT stand where they say; the R of RFBEDPGQ is no mirror image: its stem is on the left."""
    chart = 1.0 - CHARTS["letters"](16 / 9)
    rows, columns = chart.shape
    top_line = chart[int(0.12 * rows) : int(0.36 * rows)]
    ink = np.flatnonzero(top_line.sum(axis=0) > 0)
    letter_f = top_line[:, ink[0] : ink[0] + int(0.05 * columns)]  # F: its stem is left, and its top is heavier than its foot
    used = letter_f[np.flatnonzero(letter_f.sum(axis=1) > 0)]
    assert used[:, : used.shape[1] // 3].sum() > 2 * used[:, -used.shape[1] // 3 :].sum()
    assert used[: len(used) // 2].sum() > 1.3 * used[len(used) // 2 :].sum()
