"""Pictures: they open, have the size that was meant, hold many colours, and brighter seats look brighter."""

from __future__ import annotations

import dataclasses
import io
import unicodedata

import numpy as np
import pytest
from halfgain.simulate.measuring.estimate import exact
from halfgain.simulate.measuring.measure import Measurement
from halfgain.simulate.output.file_names import ENDINGS, file_stems
from halfgain.simulate.output.measure.pictures import pictures
from halfgain.simulate.output.measure.plan import plan
from halfgain.simulate.output.measure.screen_map import screen_map
from matplotlib.image import imread

from ..outputs import half_the_dots
from .conftest import measured


def _pixels(data: bytes) -> np.ndarray:
    assert data.startswith(b"\x89PNG\r\n\x1a\n")  # Source: ISO/IEC 15948, 5.2, the PNG signature
    return imread(io.BytesIO(data))[:, :, :3]


def _colours(picture: np.ndarray) -> int:
    red, green, blue = (255 * picture.reshape(-1, 3)).round().astype(np.uint32).T
    there = np.zeros(1 << 24, bool)
    there[(red << 16) | (green << 8) | blue] = True
    return int(np.count_nonzero(there))


@pytest.fixture(scope="module")
def drawn() -> bytes:
    """The plan of the lounge, with a fourth of the pixels."""
    with half_the_dots():
        return plan(measured("long-lounge"))


@pytest.fixture(scope="module")
def row() -> dict[str, bytes]:
    """All pictures of the wide row, as users get them."""
    return pictures(measured("wide-row"))


def test_a_plan_and_a_map_for_each_seat_with_sound_pixels(row: dict[str, bytes]) -> None:
    assert sorted(row) == [
        "plan.png",
        "screen-far-left.png",
        "screen-far-right.png",
        "screen-left.png",
        "screen-middle.png",
        "screen-right.png",
        "section.png",
    ]
    for name, data in row.items():
        pixels = _pixels(data)
        assert pixels.shape[0] >= 600
        assert pixels.shape[1] >= 1400
        assert _colours(pixels) > 200, name
        assert 0.05 < np.mean(pixels < 0.9) < 0.95, name


def test_a_mirrored_pair_of_seats_has_mirrored_maps(row: dict[str, bytes]) -> None:
    # a symmetrical room: what the left seat sees at the left, the right seat sees at the right
    left, right = (_pixels(row[f"screen-far-{side}.png"]).mean(axis=2) for side in ("left", "right"))
    height, width = left.shape
    top, low, first, last = height // 2 - 20, height // 2 + 20, int(0.2 * width), int(0.75 * width)
    ramp_left = np.polyfit(np.arange(last - first), left[top:low, first:last].mean(axis=0), 1)[0]
    ramp_right = np.polyfit(np.arange(last - first), right[top:low, first:last].mean(axis=0), 1)[0]
    assert ramp_left < 0.0 < ramp_right


@pytest.mark.usefixtures("half_drawn")
def test_same_measurement_gives_the_same_bytes(lounge: Measurement, drawn: bytes) -> None:
    assert plan(lounge) == drawn


@pytest.mark.usefixtures("half_drawn")
def test_plan_colours_follow_the_luminance(lounge: Measurement, drawn: bytes) -> None:
    dim = lounge.seats[0].with_values(white_cd_m2=exact(10.0))
    changed = dataclasses.replace(lounge, seats=(dim, *lounge.seats[1:]))
    assert np.abs(_pixels(plan(changed)) - _pixels(drawn)).max() > 0.5


@pytest.mark.usefixtures("half_drawn")
def test_any_name_can_be_drawn(lounge: Measurement) -> None:
    names = ["$5 seat_{", "座席 一", "a" * 300, "[bold]x", "\\frac{"]
    odd = tuple(dataclasses.replace(seat, name=name) for seat, name in zip(lounge.seats, names, strict=False))
    assert len(odd) == len(names)
    changed = dataclasses.replace(lounge, seats=(*odd, *lounge.seats[len(odd) :]))
    for i, name in enumerate(names):
        assert _colours(_pixels(screen_map(changed, i))) > 200, name
    assert _colours(_pixels(plan(changed))) > 50


def test_file_stems_are_plain_and_unique() -> None:
    names = ["Front Left", "front left", "front/left", "../../etc", "", "***", "x" * 300, "x" * 299, "Zweite Reihe, Mitte"]
    stems = file_stems(names)
    assert len({stem.casefold() for stem in stems}) == len(names)
    for stem in stems:
        assert stem
        assert len(stem) <= 48
        assert not set(stem) & set('/\\.:*?"<>| ')
    assert file_stems(["front left"]) == ["front-left"]
    assert file_stems(["a", "a-2", "a"]) == ["a", "a-2", "a-3"]


@pytest.mark.parametrize(
    "names",
    [
        ["a", "a-luminance"],
        ["a-luminance", "a"],
        ["A", "a luminance", "a-luminance"],
        ["a-luminance", "a", "a-luminance-luminance"],
        ["\u00e9", "e\u0301"],
        ["\ufb01rst", "first"],
        ["\u212awest", "kwest"],
        ["stra\u00dfe", "STRASSE"],
        ["\u0131n", "IN"],
        ["con", "CON", "seat-con"],
        ["x" * 44, "x" * 44 + "-luminance"],
        ["plan", "seat-plan"],
    ],
)
def test_no_two_files_of_seats_have_names_that_some_file_system_takes_for_one(names: list[str]) -> None:
    files = [f"{stem}{ending}" for stem in file_stems(names) for ending in ENDINGS]
    for form in ("NFC", "NFD", "NFKC", "NFKD"):
        for fold in (str.casefold, str.lower, str.upper):
            assert len({fold(unicodedata.normalize(form, file)) for file in files}) == len(files), (form, fold)


@pytest.mark.parametrize(
    "name",
    [
        "con",
        "NUL",
        "Aux",
        "prn",
        "com1",
        "COM9",
        "lpt1",
        "com\u00b9",
        "LPT\u00b3",
        "con.",
        "con:",
        " nul ",
        "aux.exr",
        "trailing.",
        "end ",
    ],
)
def test_no_file_of_a_seat_has_a_name_that_a_system_keeps_for_itself(name: str) -> None:
    """Source: Microsoft, "Naming Files, Paths, and Namespaces" (from memory): devices whatever the case and ending, no dot at the end."""
    devices = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in "0123456789\u00b9\u00b2\u00b3")}
    [stem] = file_stems([name])
    for ending in ENDINGS:
        assert f"{stem}{ending}".partition(".")[0].casefold() not in devices
        assert not stem.endswith((".", " "))


@pytest.mark.usefixtures("undrawn")
def test_a_seat_s_picture_is_not_called_like_another_picture_of_ours(lounge: Measurement) -> None:
    ours = [
        "plan",
        "compare",
        "folds",
        "fold-multiples",
        "fabric-models",
        "advice",
        "finishes",
        "levels",
        "flatness",
        "gain",
        "reflectance",
        "lobe",
        "light-from",
        "residuals",
        "screen-front-left",
        "folds-a",
        "before-after-a",
        "seen-a",
    ]
    stems = file_stems(ours)
    assert not set(stems) & set(ours)
    assert not {f"{stem}.png" for stem in stems} & set(pictures(lounge))
