"""Pictures: windows smaller than a zone, images, frames, the picture level."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.answers.frames import ImageError, frames_of, picture_of
from halfgain.simulate.answers.picture_readings import contrast_by_level, frame_readings, picture_readings, zone_matrix
from halfgain.simulate.answers.pictures import (
    BLACK_PICTURE,
    WHITE_PICTURE,
    ZONES,
    ZonePicture,
    checkerboard,
    even,
    from_levels,
    window,
)
from halfgain.simulate.light.irradiance_cache import zone_map
from halfgain.simulate.light.ledger import trace
from halfgain.simulate.light.screen_samples import light_the_screen
from halfgain.simulate.light.spill import spilt_light
from halfgain.simulate.light.walk import walk
from PIL import Image

from tests.rooms import ANGULAR, lowered, room


@pytest.fixture(scope="module")
def answers() -> Answers:
    return Answers.of(
        room(fabric=ANGULAR, projector="checkerboard_contrast = 500", left="{ reflectance = [0.5, 0.3, 0.1] }"), seed=6, paths=64
    )


def test_shapes_that_fill_zones_are_their_levels() -> None:
    np.testing.assert_allclose(window(1.0).zones, 1.0, atol=1e-12)
    quarter = window(0.25).zones.reshape(12, 16)
    expected = np.zeros((12, 16))
    expected[3:9, 4:12] = 1.0
    np.testing.assert_allclose(quarter, expected, atol=1e-12)
    np.testing.assert_allclose(window(0.25).bound, 0.0, atol=1e-12)


@pytest.mark.parametrize("share", [0.01, 0.037, 0.4])
def test_a_window_keeps_its_light_and_its_middle(share: float) -> None:
    # Sums over zones of weight, and of weight times place, are those of the shape itself: the differences cancel
    picture = window(share, right=0.4, down=0.6)
    assert picture.zones.sum() == pytest.approx(share * ZONES, rel=1e-12)
    column = (np.arange(ZONES) % 16 + 0.5) / 16
    assert (picture.zones[:, 0] * column).sum() / picture.zones.sum() == pytest.approx(0.4, abs=1e-12)


def test_an_image_of_a_window_is_the_window() -> None:
    image = np.zeros((120, 160))
    image[48:72, 64:96] = 1.0  # 0.2 of width and height about the middle
    a, b = from_levels(image), window(0.04)
    np.testing.assert_allclose(a.zones, b.zones, atol=1e-12)
    np.testing.assert_allclose(a.bound, b.bound, atol=1e-12)


@pytest.mark.parametrize("tile", [44, 0, 7])
def test_a_one_percent_window_is_a_fresh_solve_of_just_that_window(answers: Answers, tile: int) -> None:
    """Expected: the lit screen cut into 10 x 10 tiles of its own, a map of that tile, the production walk on the same paths."""
    arrays, points, prepared = lowered(answers.scene)
    lit = light_the_screen(arrays.geometry, arrays.projector, zones=(10, 10), levels=(1, 2, 4, 8))
    tiles = zone_map(arrays.geometry, prepared.grid, lit, arrays.fabric, test_blocked=False)
    ledger = trace(
        arrays.geometry, prepared.starts, seed=6, replications=16, low_path=0, paths=64, survival=answers.stage.kept.survival
    )
    lighting = prepared.lighting._replace(node_lx=tiles[:, [tile]], zone=np.zeros((ZONES, 1)))
    sums = walk(
        arrays.geometry,
        prepared.starts,
        points.seats,
        prepared.grid,
        lighting,
        prepared.finishes,
        arrays.fabric,
        ledger,
        spilt_light(arrays.geometry, arrays.projector, ledger),
        pooling=False,
    )
    expected = (sums.sum(axis=2)[:, :, 0] / 64).reshape(16, 25, 2, 3).mean(axis=0)
    row, column = divmod(tile, 10)
    picture = window(0.01, right=(column + 0.5) / 10, down=(row + 0.5) / 10)
    matrix, scale = zone_matrix(answers)
    found, slip = (np.einsum("cptz,zk,c->ptc", matrix[:, 0], table, scale) for table in (picture.zones, picture.bound))
    # the same paths, so no noise: what is left is the bound (and 1e-3 of the quadrature of the lit screen)
    assert np.all(np.abs(found - expected) <= np.abs(slip) + 3e-3 * expected)
    assert np.abs(slip / expected).max() < 0.05


def test_a_small_window_has_no_more_noise_than_white(answers: Answers) -> None:
    small, white = (picture_readings(answers.with_picture(p))[0].black for p in (window(0.01), WHITE_PICTURE))
    assert small.standard_error / small.value <= 1.5 * white.standard_error / white.value


def test_white_black_and_checkerboard_are_what_measure_reads(answers: Answers) -> None:
    reading = answers.seats(answers.stack(pooling=False)).reading(0)
    white = picture_readings(answers.with_picture(WHITE_PICTURE))[0]
    assert white.white.value == pytest.approx(reading.white["centre"].value, rel=2e-4)
    black = picture_readings(answers.with_picture(BLACK_PICTURE))[0]
    assert black.black.value == pytest.approx(reading.black.value, rel=2e-4)
    board = picture_readings(answers.with_picture(checkerboard()))[0]
    assert board.shown_contrast is not None
    assert board.shown_contrast.value == pytest.approx(reading.checkerboard_one_pattern.value, rel=1e-3)


def test_frames_at_once_are_frames_one_by_one(answers: Answers) -> None:
    draw = np.random.default_rng(2)
    frames: list[ZonePicture] = [from_levels(draw.random((24, 32, 3)) ** 3) for _ in range(3)] + [window(0.02), even(0.3)]
    at_once = frame_readings(answers, frames)
    for i, frame in enumerate(frames):
        for seat, reading in enumerate(picture_readings(answers.with_picture(frame))):
            assert at_once.black[i, seat] == pytest.approx(reading.black.value, rel=1e-9)
            assert at_once.contrast[i, seat] == pytest.approx(reading.contrast.value, rel=1e-9)
            assert at_once.contrast_error[i, seat] == pytest.approx(reading.contrast.standard_error, rel=1e-6)


def test_the_level_curve_is_the_reading_of_even_pictures(answers: Answers) -> None:
    levels = np.array([0.005, 0.1, 1.0])
    curve, _ = contrast_by_level(answers, levels)
    for i, level in enumerate(levels):
        reading = picture_readings(answers.with_picture(even(float(level))))
        assert curve[i] == pytest.approx([r.contrast.value for r in reading], rel=1e-3)
    assert np.all(np.diff(curve, axis=0) < 0)


def test_image_files(tmp_path: Path) -> None:
    # Expected: ITU-R BT.1886, level = code^2.4; half the area at code 128 of 255, half black
    code = np.zeros((400, 600, 3), np.uint8)
    code[:, :300] = 128
    Image.fromarray(code).save(tmp_path / "b.png")
    Image.fromarray(code[:, :, 0]).save(tmp_path / "a.png")
    found = frames_of(tmp_path)
    assert [p.name for p in found] == ["a.png", "b.png"]
    for picture in found:
        assert picture.average == pytest.approx([0.5 * (128 / 255) ** 2.4] * 3, rel=1e-9)
    (tmp_path / "c.png").write_bytes(b"no image")
    with pytest.raises(ImageError, match=r"c\.png"):
        picture_of(tmp_path / "c.png")
    with pytest.raises(ImageError, match="no such"):
        frames_of(tmp_path / "none")


IMPOSSIBLE = [
    lambda: window(0.0),
    lambda: window(1.1),
    lambda: window(0.5, right=0.1),
    lambda: even(1.5),
    lambda: from_levels(np.full((2, 2), 1.5)),
    lambda: from_levels(np.zeros((2, 2, 2))),
]


@pytest.mark.parametrize("wrong", IMPOSSIBLE)
def test_impossible_pictures_are_refused(wrong: object) -> None:
    with pytest.raises(ValueError, match=r"allowed|leaves"):
        wrong()  # type: ignore[operator]
