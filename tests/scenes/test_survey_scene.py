"""The scene of a survey holds the measures that were taken, whatever unit they were said in, and whatever is not asked yet."""

from __future__ import annotations

from fractions import Fraction

import pytest
from halfgain.scenes.survey.lengths import Length
from halfgain.scenes.survey.question import RefusedAnswer
from halfgain.scenes.survey.questions import SHEET_QUESTIONS
from halfgain.scenes.survey.survey import surveyed_scene
from hypothesis import given, settings
from hypothesis import strategies as st

UNITS = st.sampled_from(["_m", "_cm", "_mm", "_in"])
NEAR_M = 1e-9  # what the loader takes for a wall


def _said(low_mm: int, high_mm: int) -> st.SearchStrategy[Length]:
    """A length in whole millimetres or sixteenths of an inch, in any unit."""
    metric = st.tuples(st.integers(low_mm, high_mm).map(lambda mm: Fraction(mm, 1000)), UNITS)
    inches = st.integers(low_mm * 16 // 25, high_mm * 16 // 26).map(lambda n: (Fraction(n, 16) * Fraction(254, 10_000), "_in"))
    return st.one_of(metric, inches).map(lambda pair: Length(pair[0], pair[1], "as said"))


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    width=_said(3000, 9000), depth=_said(4000, 9000), height=_said(2200, 4000), picture=_said(800, 2500), bottom=_said(300, 700),
    lens_out=_said(2000, 3800), lens_up=_said(1500, 2100), eye_out=_said(2000, 3500), eye_up=_said(900, 1400), across=_said(500, 2400),
)  # fmt: skip
def test_a_scene_holds_what_was_measured(
    width: Length, depth: Length, height: Length, picture: Length, bottom: Length, lens_out: Length, lens_up: Length,
    eye_out: Length, eye_up: Length, across: Length,
) -> None:  # fmt: skip
    # Expected: the measures themselves, exactly; right of the middle is from the left wall less half the width
    scene = surveyed_scene({
        "title": 'Den "7" \\ café', "room_width": width, "room_depth": depth, "room_height": height, "picture_width": picture,
        "picture_bottom": bottom, "lens_from_left": across, "lens_from_screen_wall": lens_out, "lens_height": lens_up,
        "seat": [{"name": "one", "from_left": across, "from_screen_wall": eye_out, "eye_height": eye_up}],
    })  # fmt: skip
    right = float(across.metres - width.metres / 2)
    assert scene.title == 'Den "7" \\ café'
    expected = [width, depth, height, picture, bottom]
    found = [scene.room.width_m, scene.room.depth_m, scene.room.height_m, scene.screen.width_m, scene.screen.bottom_m]
    assert found == pytest.approx([float(each.metres) for each in expected], abs=NEAR_M)
    assert scene.projector.lens_m == pytest.approx([right, float(lens_out.metres), float(lens_up.metres)], abs=NEAR_M)
    assert scene.seats[0].eye_m == pytest.approx([right, float(eye_out.metres), float(eye_up.metres)], abs=NEAR_M)


def test_numbers_said_with_many_digits_keep_them() -> None:
    scene = surveyed_scene({
        "light_output_lm": 1234.5678, "native_contrast": 1234567.0, "checkerboard_contrast": 300.12345,
        "throw_ratio": (1.2345678, 1.5), "light": [{"name": "lamps", "lux": 4.1234567}],
    })  # fmt: skip
    projector = scene.projector
    assert (projector.light_output_lm, projector.native_contrast) == (1234.5678, 1234567.0)
    assert projector.checkerboard_contrast == 300.12345
    assert projector.throw_ratio == (1.2345678, 1.5)
    assert [light.screen_lx for light in scene.lights] == [4.1234567]


@pytest.mark.parametrize("width", [Fraction(4), Fraction(162 * 254, 10_000), Fraction(1621, 10) * Fraction(254, 10_000) / 8 * 8])
def test_a_thing_from_wall_to_wall_stays_in_the_room(width: Fraction) -> None:
    """Half a width is rounded in the file: by less than the loader minds."""
    wall, none = Length(width, "_in", ""), Length(Fraction(0), "_m", "")
    riser = {
        "name": "riser",
        "left": none,
        "right": wall,
        "near": Length(Fraction(3), "_m", ""),
        "far": Length(Fraction(4), "_m", ""),
    }
    scene = surveyed_scene(
        {"room_width": wall, "furniture": [{**riser, "bottom": none, "top": Length(Fraction(1, 5), "_m", ""), "finish": 0.3}]}
    )
    assert scene.room.objects[0].max_m[0] == pytest.approx(float(width) / 2, abs=1e-9)


def test_what_is_not_asked_yet_makes_a_scene_all_the_same() -> None:
    assert surveyed_scene({}).room.width_m == 4.0
    small = {
        key: Length(Fraction(value), "_m", "")
        for key, value in (("room_width", "1"), ("room_depth", "1"), ("room_height", "3/2"))
    }
    assert surveyed_scene(small).room.height_m == 1.5


@pytest.mark.parametrize(
    ("key", "said", "value"),
    [
        ("native_contrast", "1500:1", 1500.0),
        ("native_contrast", "1500 : 1", 1500.0),
        ("checkerboard_contrast", "250", 250.0),
        ("lens_shift", "20 % 60 %", (0.2, 0.6)),
        ("lens_shift", "±24.5% ±60%", (0.245, 0.6)),
        ("lens_shift", "0.2, 0.6", (0.2, 0.6)),
        ("throw_ratio", "1.3-2.1", (1.3, 2.1)),
    ],
)
def test_figures_are_taken_as_sheets_print_them(key: str, said: str, value: object) -> None:
    assert next(each for each in SHEET_QUESTIONS if each.key == key).value(said, "_m", {}) == value


@pytest.mark.parametrize(
    ("key", "said"), [("native_contrast", "1500:2"), ("lens_shift", "60"), ("lens_shift", "400 % 0 %"), ("throw_ratio", "130 %")]
)
def test_figures_that_mean_nothing_are_refused(key: str, said: str) -> None:
    with pytest.raises(RefusedAnswer):
        next(each for each in SHEET_QUESTIONS if each.key == key).value(said, "_m", {})
