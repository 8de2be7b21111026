"""Scenes that can be but deserve a word: shadows, hidden pictures, spilt and missing light."""

import pytest
from halfgain.scenes.load import SceneErrors, scene_from_text
from halfgain.scenes.warning import WarningCode
from scene_texts import GOOD, edit


def texts(scene):
    return tuple(warning.text for warning in scene.warnings)


def warnings(*changes):
    return texts(scene_from_text(edit(*changes)))


def with_object(name, low, high):
    """The sound scene's warnings with one more box in it."""
    text = GOOD.replace(
        "[projector]", f'[[room.object]]\nname = "{name}"\nbox = {{ min_m = {low}, max_m = {high} }}\nfinish = 0.3\n[projector]'
    )
    return texts(scene_from_text(text))


def test_the_sound_scene_gives_none():
    assert scene_from_text(GOOD).warnings == ()


def test_rated_output_and_upper_bound():
    assert warnings(("in_use = 0.7\n", "")) == ("in_use is left out: luminances are for the rated output, not in-use",)
    assert warnings(("checkerboard_contrast = 350\n", "")) == (
        "checkerboard_contrast is left out: checkerboard contrast is the room's limit, an upper bound",
    )


def test_an_object_in_the_beam():
    """A lamp where the beam passes: at 2 m out the beam is 1.475 to 2.15 m up (lens 2.2, raster 0.75 to 2.1)."""
    assert with_object("lamp", [-0.1, 1.9, 1.8], [0.1, 2.1, 2.5]) == (
        '"lamp" stands in the projector\'s beam and throws a shadow',
    )


def test_an_object_just_above_the_beam():
    """At 2 m out the beam's upper edge is 2.15 m up, at 1.9 m 2.1474 m; a lamp that ends at 2.16 m clears it."""
    assert with_object("lamp", [-0.1, 1.9, 2.16], [0.1, 2.1, 2.5]) == ()


def test_a_head_in_the_beam():
    """Lens low: the front head, 0.6 m before it, is in its way; the eye itself is not where the beam starts."""
    assert (
        'the head of "front" stands in the projector\'s beam and throws a shadow; a lens 1.30 m up clears the beam'
        in warnings(("3.9, 2.2]", "3.9, 1.2]"))
    )


def test_a_lens_inside_a_head():
    """Heads are spheres of 0.11 m about the eye: 0.12 m behind it is outside, 0.04 m above it inside."""
    said = 'the lens is inside the head of "front": a limiting case for study, no room has it'
    assert said not in warnings(("3.9, 2.2]", "3.42, 1.1]"))
    assert said in warnings(("3.9, 2.2]", "3.4, 1.14]"))


def test_an_object_between_an_eye_and_the_picture():
    """0.85 m high, 0.5 m out: either eye sees the lower edge past there below 0.80 m, the beam is at 0.903 m."""
    assert with_object("cabinet", [-0.3, 0.5, 0.0], [0.3, 0.9, 0.85]) == (
        '"cabinet" may hide part of the picture from "front"',
        '"cabinet" may hide part of the picture from "rear"',
    )


def test_heads_in_the_way_are_named_together():
    seat = '[[seat]]\nname = "{}"\neye_m = [{}, {}, 1.1]\n'
    text = GOOD + "".join(seat.format(*each) for each in (("a", -0.2, 2.2), ("b", 0.2, 2.2), ("last", 0.0, 3.2)))
    said = next(text for text in texts(scene_from_text(text)) if text.endswith('from "last"'))
    assert said == 'the heads of "front", "a" and "b" may hide part of the picture from "last"'


def test_an_object_under_the_picture_hides_nothing():
    assert with_object("sideboard", [-0.9, 0.0, 0.0], [0.9, 0.5, 0.5]) == ()


def test_the_other_side_of_the_room_is_told_apart():
    """Mirrored scenes get mirrored warnings: a box on the left hides the picture from the left seat only."""
    box = [-1.4, 1.0, 0.0], [-1.25, 1.2, 2.0]
    mirrored = [1.25, 1.0, 0.0], [1.4, 1.2, 2.0]
    left, right = (
        ("eye_m = [0.0, 3.3, 1.1]", "eye_m = [-1.9, 3.3, 1.1]"),
        ("eye_m = [0.0, 3.3, 1.1]", "eye_m = [1.9, 3.3, 1.1]"),
    )

    def names(seat, corners):
        text = edit(
            seat, ("max_m = [1.0, 4.1, 0.85]", f"max_m = {corners[1]}"), ("min_m = [-1.0, 3.2, 0.0]", f"min_m = {corners[0]}")
        )
        return [warning for warning in texts(scene_from_text(text)) if '"front"' in warning]

    assert names(left, box) == names(right, mirrored) == ['"sofa" may hide part of the picture from "front"']
    assert names(left, mirrored) == names(right, box) == []


def test_a_head_before_an_eye():
    got = warnings(("eye_m = [1.2, 5.5, 1.2]", "eye_m = [0.0, 5.5, 1.1]"))
    assert got == ('the head of "front" may hide part of the picture from "rear"',)


def test_several_things_in_one_line():
    text = (
        edit(("eye_m = [1.2, 5.5, 1.2]", "eye_m = [0.0, 5.5, 1.1]"))
        .replace("max_m = [1.0, 4.1, 0.85]", "max_m = [1.0, 4.1, 1.09]")
        .replace("min_m = [-1.0, 3.2, 0.0]", "min_m = [-1.0, 3.6, 0.0]")
    )
    assert texts(scene_from_text(text)) == ('"sofa" and the head of "front" may hide part of the picture from "rear"',)


def test_a_raster_that_spills():
    """16 : 9 on 2.4 : 1 as wide: 1.35 m of light on 1.0 m of screen, 25.9 % beside it."""
    (got,) = warnings(('"16:9"', "2.4"), ('"inside"', '"width"'), ("[0.1, 0.6]", "[0.1, 0.8]"))
    assert got.startswith("the raster is larger than the white area: 25.9 % of it falls on border and wall")


def test_a_raster_that_leaves_the_sides_dark():
    """1.778 m of 2.4 m lit: 25.9 % unlit."""
    (got,) = warnings(('"16:9"', "2.4"), ("[0.1, 0.6]", "[0.1, 1.0]"), ("[1.3, 2.1]", "[1.3, 2.2]"))
    assert got.startswith("the raster leaves 25.9 % of the white area unlit, left and right of the picture")


def test_a_raster_that_leaves_top_and_bottom_dark():
    (got,) = warnings(('"16:9"', "1.6"))
    assert got.startswith("the raster leaves 10.0 % of the white area unlit, above and below the picture")


def test_a_raster_larger_than_the_wall():
    got = warnings(("[3840, 2160]", "[3840, 3840]"), ('"inside"', '"width"'), ("bottom_m = 0.75", "bottom_m = 0.3"))
    assert "the raster is larger than the screen wall: part of the light falls on side walls, floor or ceiling" in got


def test_a_rounded_aspect_is_no_misfit():
    assert warnings(('"16:9"', "1.778")) == ()


def test_overlapping_objects_are_told_and_stacked_ones_are_not():
    assert with_object("cushion", [-0.5, 3.5, 0.7], [0.5, 4.0, 0.95]) == (
        '"sofa" and "cushion" share space: where faces coincide, either finish may count',
    )
    assert with_object("cushion", [-0.5, 3.5, 0.85], [0.5, 4.0, 0.95]) == ()


def test_an_object_may_stand_against_walls_floor_and_ceiling():
    assert with_object("wardrobe", [-2.1, 4.5, 0.0], [-1.6, 6.0, 2.5]) == ()


def test_a_screen_may_fill_its_wall_exactly():
    scene_from_text(edit(("width_m = 2.4", "width_m = 4.04"), ('"16:9"', '"2.35:1"'), ("bottom_m = 0.75", "bottom_m = 0.08")))


@pytest.mark.parametrize("out", [0.0, 0.05, 0.1])
def test_a_box_in_front_of_or_behind_the_fabric_is_refused_to_its_very_face(out):
    with pytest.raises(SceneErrors, match="stands in the screen or its border"):
        with_object("plinth", [-0.5, out, 0.0], [0.5, 0.4, 0.7])  # up to 0.7 m; the border starts at 0.67 m


def test_a_box_may_stand_below_the_border():
    assert with_object("plinth", [-0.5, 0.0, 0.0], [0.5, 0.4, 0.67]) == ()


def test_a_warning_says_as_data_what_it_is_about_and_whom_it_concerns():
    text = edit(("eye_m = [1.2, 5.5, 1.2]", "eye_m = [0.0, 5.5, 1.1]"), ("in_use = 0.7\n", ""))
    found = {warning.code: warning for warning in scene_from_text(text).warnings}
    assert set(found) == {WarningCode.IN_USE_LEFT_OUT, WarningCode.IN_SIGHT}
    assert found[WarningCode.IN_USE_LEFT_OUT].seat is None
    assert (found[WarningCode.IN_SIGHT].seat, found[WarningCode.IN_SIGHT].things) == ("rear", ('the head of "front"',))


@pytest.mark.parametrize("thick", [1e-7, 1e-9, 3e-6])
def test_a_thing_thinner_than_paper_is_found_in_the_beam_all_the_same(thick):
    """It blacks out the screen; the beam's test takes bodies that share less than a micrometre as touching."""
    said = with_object("film", [-1.3, 1.0, 0.5], [1.3, 1.0 + thick, 2.4])
    assert said[0] == '"film" stands in the projector\'s beam and throws a shadow'
    assert f'"film" is {1e6 * thick:.2g} micrometres thick, less than paper, and stops light all the same' in said


def test_a_thin_thing_beside_the_beam_is_not_in_it():
    said = with_object("film", [2.09999, 0.5, 0.5], [2.1, 0.9, 0.9])
    assert said == ('"film" is 10 micrometres thick, less than paper, and stops light all the same',)


def test_two_seats_at_one_eye():
    scene = scene_from_text(edit(("eye_m = [1.2, 5.5, 1.2]", "eye_m = [0.0, 3.3, 1.1]")))
    (found,) = [warning for warning in scene.warnings if warning.code == WarningCode.SEATS_IN_ONE]
    assert found.text == 'the eyes of "front" and "rear" are 0 mm apart: no two heads have room there'


def codes(scene):
    return [warning.code for warning in scene.warnings]


@pytest.mark.parametrize(
    ("hang", "warned"), [("motorised", True), ("pull-down", True), ("tab-tensioned", False), ("fixed frame", False)]
)
@pytest.mark.parametrize("fabric", ["lenticular pearl", "louvred long-throw"])
def test_a_stiff_fabric_on_a_hang_without_tension(fabric, hang, warned):
    """A warning, never a refusal: common practice, no source."""
    scene = scene_from_text(edit(('"matt white"', f'"{fabric}"'), ('"fixed frame"', f'"{hang}"')))
    assert (WarningCode.FABRIC_ON_HANG in codes(scene)) == warned
    if warned:
        assert any("made for tab-tensioned and fixed frame only" in text for text in texts(scene))


@pytest.mark.parametrize(("lens", "warned"), [("3.9, 2.2]", True), ("2.2, 0.6]", False), ("3.9, 1.425]", False)])
def test_a_louvred_fabric_lit_from_the_side_its_dark_facets_look_to(lens, warned):
    """The picture's middle lies 1.425 m up; from 2.2 m the light comes down at 11.5 degrees, from 0.6 m up; level is no side."""
    scene = scene_from_text(edit(('"matt white"', '"louvred long-throw"'), ("3.9, 2.2]", lens)))
    assert (WarningCode.LIGHT_SIDE in codes(scene)) == warned
    if warned:
        (said,) = [warning.text for warning in scene.warnings if warning.code == WarningCode.LIGHT_SIDE]
        assert "wants its light from below" in said
        assert "from 12 degrees above" in said
    turned = 'fabric = { kind = "louvred", gain = 0.7, gain_incidence_deg = 10, gain_from = "above", facet_up_deg = 15, facet_down_deg = 60 }'
    other = scene_from_text(edit(('fabric = "matt white"', turned), ("3.9, 2.2]", lens)))
    assert (WarningCode.LIGHT_SIDE in codes(other)) == (lens == "2.2, 0.6]")
