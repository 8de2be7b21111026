"""Throw numbers by hand: lens 3.9 m out, 2.2 m up; picture 2.4 x 1.35 m, its middle 1.425 m up, 0.1 m off the wall."""

import math

import pytest
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.throw import throw
from scene_texts import GOOD, edit

DISTANCE, DROP = 3.8, 2.2 - 1.425


def test_distance_ratio_and_shift():
    got = throw(scene_from_text(GOOD))
    assert got.distance_m == pytest.approx(DISTANCE)
    assert got.ratio == pytest.approx(3.8 / 2.4)
    assert got.shift_right == 0.0
    assert got.shift_up == pytest.approx(-DROP / 1.35)  # the picture lies below the lens
    assert (got.image_tilt_deg, got.keystone_loss, got.feasible) == (0.0, 0.0, True)
    assert got.lines == (
        "throw: 3.80 m from the lens to the screen plane, ratio 1.58 (distance / picture width)",
        "the zoom fits: the lens covers 1.3 to 2.1, 3.12 to 5.04 m for this picture",
        "lens shift needed: 0.00 picture widths, 0.57 picture heights down (from the lens to the picture's middle, "
        "as seen from the seats)",
        "the lens shift reaches it: 0.1 picture widths and 0.6 picture heights each way",
        "image tilt: none",
        "feasible with the throw ratio and lens shift given",
    )


def test_a_picture_to_the_right_of_the_lens_needs_shift_to_the_right():
    got = throw(scene_from_text(edit(("lens_m = [0.0", "lens_m = [-0.24"))))
    assert got.shift_right == pytest.approx(0.1)
    assert "0.10 picture widths to the right" in got.lines[2]
    assert got.feasible is True
    mirrored = throw(scene_from_text(edit(("lens_m = [0.0", "lens_m = [0.24"))))
    assert mirrored.shift_right == pytest.approx(-0.1)
    assert "0.10 picture widths to the left" in mirrored.lines[2]


def test_ratio_and_shift_are_those_of_the_raster():
    """A 2.4 : 1 screen lit by 16 : 9 with fit = height: the raster is 1.0 m high and 16 / 9 m wide."""
    got = throw(scene_from_text(edit(('"16:9"', "2.4"), ('"inside"', '"height"'), ("bottom_m = 0.75", "bottom_m = 1.0"))))
    assert got.ratio == pytest.approx(3.8 / (16 / 9))
    assert got.shift_up == pytest.approx((1.5 - 2.2) / 1.0)


def test_without_lens_shift_the_tilt_is_the_angle_to_the_pictures_middle():
    got = throw(scene_from_text(edit(("lens_shift = [0.1, 0.6]\n", ""))))
    assert got.image_tilt_deg == pytest.approx(math.degrees(math.atan(DROP / DISTANCE)))
    assert got.feasible is None
    assert "if the lens has no shift" in got.lines[-1]


def test_with_too_little_shift_only_the_rest_is_tilt():
    """0.5 heights reach 0.675 m of the 0.775 m; the two angles differ by 1.4548 degrees, the lens is 0.1 m too high."""
    got = throw(scene_from_text(edit(("lens_shift = [0.1, 0.6]", "lens_shift = [0.1, 0.5]"))))
    expected = math.degrees(math.atan(DROP / DISTANCE) - math.atan(0.675 / DISTANCE))
    assert got.image_tilt_deg == pytest.approx(expected)
    assert got.feasible is False
    assert any("falls short by 0.00 picture widths and 0.07 picture heights" in line for line in got.lines)
    assert any("would have to stand 0.10 m lower" in line for line in got.lines)
    assert any("digital keystone" in line and "pixels" in line and "lumens" in line for line in got.lines)
    assert got.lines[-1] == "not feasible with the throw ratio and lens shift given"


@pytest.mark.parametrize(("right", "word"), [(-0.5, "right"), (0.5, "left")])
def test_the_words_say_which_way_the_lens_would_have_to_go(right, word):
    """0.5 m off the middle, shift reaches 0.24 m: 0.26 m to go, towards the picture's middle."""
    got = throw(scene_from_text(edit(("lens_m = [0.0", f"lens_m = [{right}"))))
    assert any(f"would have to stand 0.26 m further to the {word}" in line for line in got.lines)


@pytest.mark.parametrize(
    ("zoom", "words"),
    [
        (
            "[1.6, 2.1]",
            "0.04 m too near for its zoom: the lens covers 1.6 to 2.1, 3.84 to 5.04 m for this picture; "
            "it would have to stand at least 3.94 m out from the wall",
        ),
        (
            "[1.0, 1.5]",
            "0.20 m too far away for its zoom: the lens covers 1 to 1.5, 2.40 to 3.60 m for this picture; "
            "it would have to stand at most 3.70 m out from the wall",
        ),
    ],
)
def test_a_zoom_that_does_not_fit_says_by_how_much(zoom, words):
    got = throw(scene_from_text(edit(("[1.3, 2.1]", zoom))))
    assert got.lines[1] == f"the lens is {words}"
    assert got.feasible is False


def test_a_zoom_that_just_fits_is_feasible():
    ratio = 3.8 / 2.4
    assert throw(scene_from_text(edit(("[1.3, 2.1]", f"[{ratio!r}, {ratio!r}]")))).feasible is True


@pytest.mark.parametrize(
    ("removed", "feasible"), [(("throw_ratio = [1.3, 2.1]\n",), None), (("lens_shift = [0.1, 0.6]\n",), None)]
)
def test_feasibility_is_open_where_one_of_the_two_is_unknown(removed, feasible):
    assert throw(scene_from_text(edit(*((line, "") for line in removed)))).feasible is feasible


def trapezium_loss(distance, low, high, width):
    """Share lost by a lens without shift, turned about the level axis only.

    Elevations a of lower and upper edge; in the plane across the turned axis an edge stands at v = tan(a - t) and is
    width / (r cos(a - t)) long, r its distance in the vertical plane: a trapezium, whose area needs no rotation matrix.
    Source: plane trigonometry, derived here and independent of the code's vectors.
    """
    turn = math.atan((low + high) / 2 / distance)
    edges = [(math.atan(z / distance) - turn, math.hypot(z, distance)) for z in (low, high)]
    lengths = [width / (r * math.cos(a)) for a, r in edges]
    height = math.tan(edges[1][0]) - math.tan(edges[0][0])
    area = (lengths[0] + lengths[1]) / 2 * height
    shape = width / (high - low)
    return 1 - area * shape / max(max(lengths), shape * height) ** 2


@pytest.mark.parametrize(("out", "up"), [(3.9, 2.2), (2.1, 2.4), (3.9, 1.5)])
def test_the_keystone_estimate_agrees_with_plane_trigonometry(out, up):
    got = throw(scene_from_text(edit(("lens_shift = [0.1, 0.6]\n", ""), ("3.9, 2.2]", f"{out}, {up}]"))))
    low, high = 0.75 - up, 0.75 + 1.35 - up
    assert got.keystone_loss == pytest.approx(trapezium_loss(out - 0.1, low, high, 2.4), rel=1e-9)
    assert 0 < got.keystone_loss < 1
    assert any(f"about {100 * got.keystone_loss:.0f} % of the pixels" in line for line in got.lines)


def test_a_steeper_tilt_costs_more():
    losses = [
        throw(scene_from_text(edit(("lens_shift = [0.1, 0.6]\n", ""), ("2.2]", f"{up}]")))).keystone_loss
        for up in (1.5, 1.8, 2.1, 2.4)
    ]
    assert losses == sorted(losses)


def test_a_lens_turned_past_a_corner_loses_everything():
    """Lens 1 cm in front of the screen's plane, beside the picture: no correction shows the far side."""
    scene = scene_from_text(edit(("lens_shift = [0.1, 0.6]\n", ""), ("[0.0, 3.9, 2.2]", "[2.0, 0.11, 0.1]")))
    assert throw(scene).image_tilt_deg > 85
    assert throw(scene).keystone_loss > 0.9


def test_ultra_short_throw():
    """Lens 0.30 m in front of the screen and below it: ratio 0.125, shift (1.425 - 0.3) / 1.35 upward."""
    got = throw(scene_from_text(edit(("[0.0, 3.9, 2.2]", "[0.0, 0.4, 0.3]"), ("[0.1, 0.6]", "[0.0, 0.9]"), ("[1.3", "[0.12"))))
    assert got.ratio == pytest.approx(0.125)
    assert got.shift_up == pytest.approx(1.125 / 1.35)
    assert got.feasible is True


def test_a_loss_to_keystone_that_rounds_to_none_is_told_as_less_than_one_per_cent():
    got = throw(scene_from_text(edit(("lens_shift = [0.1, 0.6]\n", ""), ("2.2]", "1.46]"))))
    assert 0.0 < got.keystone_loss < 0.005
    assert any("would then cost less than 1 % of the pixels" in line for line in got.lines)
