"""Files of a seat's picture: EXR values and words, the tone curve, the false-colour scale."""

from __future__ import annotations

import io
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import pytest
from halfgain.scenes import leavings
from halfgain.simulate.output.picture.false_colour import colour_of, false_colour, scale_ends
from halfgain.simulate.output.picture.luminance_exr import exr_bytes
from halfgain.simulate.output.picture.seat_files import notes, report, seat_files
from halfgain.simulate.output.picture.tone import KEY, tone_mapped
from halfgain.simulate.views.content import from_srgb, load_content
from halfgain.simulate.views.render import PictureSetup, SeatPicture, seat_camera, seat_picture, set_the_stage
from PIL import Image

from tests.needs import needs

from ..coarse import make_coarse
from ..rooms import room
from .test_seat_picture import SEATS, SIZE

Seen = tuple[PictureSetup, list[SeatPicture]]


@pytest.fixture(scope="module")
def seen() -> Seen:
    """A room and what its two seats see, coarsely lit: files hold whatever picture there is."""
    with pytest.MonkeyPatch.context() as patch:
        make_coarse(patch.setattr)
        stage = set_the_stage(room(seats=SEATS, left="{ reflectance = [0.7, 0.5, 0.3] }"), load_content("white", 16 / 9))
        return stage, [seat_picture(stage, seat_camera(stage.scene, seat, field_deg=85.0, **SIZE)) for seat in (0, 1)]


def test_exr_read_back_is_the_picture_in_cd_m2(tmp_path: Path, seen: Seen) -> None:
    import OpenEXR

    stage, (picture, _) = seen
    path = tmp_path / "a.exr"
    path.write_bytes(exr_bytes(picture.cd_m2, notes(stage, 0, picture)))
    with OpenEXR.File(str(path), separate_channels=True) as file:
        header, channels = dict(file.header()), file.channels()
        y = channels["Y"].pixels
        rgb = np.stack([channels[c].pixels for c in "RGB"], axis=-1)
    assert y.dtype == np.float32
    assert rgb == pytest.approx(picture.cd_m2, rel=1e-6)
    # Expected: luminance weights of ITU-R BT.709, item 3.2
    assert y == pytest.approx(rgb @ np.array([0.2126, 0.7152, 0.0722]), rel=1e-5)
    assert (header["seat"], header["seed"], header["sceneSha256"]) == ("a", "1", stage.scene.sha256)
    assert header["units"].startswith("cd/m2")
    assert header["whiteLuminance"] == 1.0


def test_a_second_reader_finds_the_same_numbers_in_the_exr(tmp_path: Path) -> None:
    # Expected: what the reader of a general renderer (mitsuba, a reader of its own beside OpenEXR's Python one) takes for each channel
    mitsuba = needs("mitsuba")
    mitsuba.set_variant("scalar_rgb")
    cd_m2 = np.random.default_rng(3).gamma(2.0, 40.0, (5, 7, 3))
    path = tmp_path / "a.exr"
    path.write_bytes(exr_bytes(cd_m2, {"seat": "a"}))
    bitmap = mitsuba.Bitmap(str(path))
    names = [field.name for field in bitmap.struct_()]
    pixels = dict(zip(names, np.moveaxis(np.array(bitmap), -1, 0), strict=True))
    assert sorted(names) == ["B", "G", "R", "Y"]
    for i, name in enumerate("RGB"):
        assert pixels[name] == pytest.approx(cd_m2[..., i], rel=1e-6)
    assert pixels["Y"] == pytest.approx(cd_m2 @ np.array([0.2126, 0.7152, 0.0722]), rel=1e-5)


def test_three_files_a_seat_and_a_report_in_words(seen: Seen) -> None:
    stage, (_, picture) = seen
    files = seat_files(stage, 1, picture, "b", adaptation=None)
    assert sorted(files) == ["b-luminance.png", "b.exr", "b.png"]
    image = Image.open(io.BytesIO(files["b.png"]))
    assert image.size == (320, 180)
    assert "adaptation level" in image.info["toneCurve"]
    said = report(stage, 1, picture, adaptation=5.0)
    assert "adaptation level 5 cd/m2" in said
    assert "beside the screen" in said


def test_adaptation_level_is_shown_as_18_percent_of_the_curve() -> None:
    # Expected: Reinhard et al. 2002, equation 4, far below burn-out: 0.18 / 1.18
    image = np.full((4, 4, 3), 10.0)
    shown = from_srgb(tone_mapped(image, adaptation_cd_m2=10.0, white_cd_m2=1e5) / 255.0)
    assert shown == pytest.approx(KEY / (1 + KEY), rel=0.02)
    ramp = np.linspace(0, 200, 64)[None, :, None] * np.ones((1, 1, 3))
    assert (np.diff(tone_mapped(ramp, adaptation_cd_m2=20.0, white_cd_m2=180.0)[0, :, 0].astype(int)) >= 0).all()


def test_false_colour_of_known_patches_is_read_back_from_the_picture() -> None:
    """Four patches of known luminance come out in the colours the scale gives them, and the scale's ends hold them."""
    levels = np.array([[0.5, 5.0], [50.0, 200.0]])
    image = levels.repeat(200, axis=0).repeat(300, axis=1)
    low, high = scale_ends(image)
    assert (low, high) == pytest.approx((0.5, 200.0))
    drawn = np.asarray(Image.open(io.BytesIO(false_colour(image, "title", "line"))).convert("RGB"), float) / 255
    wide, tall = 8.4 * 150, 8.4 * 150 * 400 / 600
    for i in range(2):
        for j in range(2):
            x, y = int(15 + (j + 0.5) * wide / 2), int(drawn.shape[0] - 0.15 * 150 - tall + (i + 0.5) * tall / 2)
            assert drawn[y, x] == pytest.approx(colour_of(levels[i, j], low, high)[:3], abs=0.006)


def test_false_colour_scale_is_perceptually_even() -> None:
    """CIE lightness L* grows by even steps with the logarithm of luminance. Expected: L* from ISO/CIE 11664-4."""
    colours = from_srgb(colour_of(np.geomspace(1.0, 1000.0, 21), 1.0, 1000.0)[:, :3])
    y = colours @ np.array([0.2126, 0.7152, 0.0722])
    lightness = np.where(y > (6 / 29) ** 3, 116 * np.cbrt(y) - 16, y * (29 / 3) ** 3)
    steps = np.diff(lightness)
    assert steps.min() > 0.5 * steps.mean()
    assert steps.max() < 1.5 * steps.mean()


def test_scale_of_a_black_picture_still_has_two_ends() -> None:
    low, high = scale_ends(np.zeros((3, 3)))
    assert 0.0 < low < high


def test_the_place_for_passing_files_is_clean_afterwards(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also of what a run that was killed there left."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    over = subprocess.Popen([sys.executable, "-c", ""])
    over.wait()
    (tmp_path / f".halfgain-{leavings._machine()}-{over.pid}-5-abcd").mkdir()
    assert exr_bytes(np.ones((4, 4, 3)), {"seat": "a"}).startswith(b"\x76\x2f\x31\x01")
    assert list(tmp_path.iterdir()) == []
