"""Bounds against plane trigonometry, published figures, and what `measure` reads in a scene made as told."""

from __future__ import annotations

import math

import numpy as np
import pytest
from halfgain.scenes.casing import casing_box, casing_hides
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Seat
from halfgain.scenes.parts import Optics
from halfgain.scenes.warning import WarningCode
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.placing.bounds import Bound, BoundRole, By, Cause, Range, first_named, one_by_one, range_of
from halfgain.simulate.placing.placement import place
from halfgain.simulate.placing.published import widest_by_pixels
from halfgain.simulate.placing.seen import direct_white_cd_m2, picture_tops_deg, picture_widths_deg, pixels_arcmin

from tests.rooms import ANGULAR, RETRO, room
from tests.scenes.scene_texts import edit

BARE = (
    '[[room.object]]\nname = "sofa"\nbox = { min_m = [-1.0, 3.2, 0.0], max_m = [1.0, 4.1, 0.85] }\nfinish = "dark upholstery"\n',
    "",
)
CASING = ("lens_shift = [0.1, 0.6]", "lens_shift = [0.1, 0.6]\n[projector.casing]\nsize_m = [0.4, 0.5, 0.2]\nair_m = 0.05")


def bound(found: Range, by: By) -> Bound:
    return next(each for each in found.bounds if each.by is by)


def test_the_lens_stands_between_zoom_and_shift() -> None:
    """2.4 x 1.35 m of 16:9, 0.10 m off the wall, its middle 1.425 m up: 1.3 to 2.1 widths and 0.1 widths, 0.6 heights off it."""
    right, out, up = place(scene_from_text(edit(BARE))).lens.ranges
    zoom, sideways, upright = bound(out, By.ZOOM), bound(right, By.SHIFT), bound(up, By.SHIFT)
    assert (zoom.low_m, zoom.high_m) == (3.22, 5.14)
    assert (sideways.low_m, sideways.high_m) == (-0.24, 0.24)
    assert (upright.low_m, upright.high_m) == (0.62, 2.23), "0.615 and 2.235, inwards to the cm"
    assert bound(out, By.BACK).high_m == 5.99
    assert bound(up, By.CEILING).high_m == 2.49


def test_a_casing_keeps_its_lens_off_the_walls_by_what_reaches_behind_it() -> None:
    """Lens in the middle of the front face: 0.2 m of casing and 0.05 m of air sideways, 0.5 + 0.05 m behind, 0.1 + 0.05 m above."""
    scene = scene_from_text(edit(BARE, CASING))
    right, out, up = place(scene).lens.ranges
    assert bound(right, By.CASING).high_m == pytest.approx(2.1 - 0.25)
    assert bound(out, By.CASING).high_m == pytest.approx(6.0 - 0.55)
    assert bound(up, By.CASING).high_m == pytest.approx(2.5 - 0.15)
    box = casing_box(scene.projector, with_air=False)
    assert box is not None
    assert box.min_m == pytest.approx((-0.2, 3.9, 2.1))
    assert box.max_m == pytest.approx((0.2, 4.4, 2.3))


def test_a_casing_through_a_wall_is_told_with_the_place_that_does() -> None:
    scene = scene_from_text(edit(BARE, CASING, ("[0.0, 3.9, 2.2]", "[0.0, 5.8, 2.42]")))
    told = [warning for warning in scene.warnings if warning.code is WarningCode.CASING]
    assert {(move.axis, move.to_m) for warning in told for move in warning.remedies} == {("out", 5.45), ("up", 2.35)}
    after = scene.change("projector.lens_m", [0.0, 5.45, 2.35])
    assert not [warning for warning in after.warnings if warning.code is WarningCode.CASING]


def test_a_casing_before_a_rear_seat_hides_its_picture() -> None:
    scene = scene_from_text(edit(BARE, CASING, ("[0.0, 3.9, 2.2]", "[0.0, 3.9, 1.4]"), ("[1.2, 5.5, 1.2]", "[0.0, 5.5, 1.5]")))
    assert list(casing_hides(Optics(scene.screen, scene.projector), scene.seats)) == ["rear"]
    assert any(warning.code is WarningCode.CASING and warning.seat == "rear" for warning in scene.warnings)
    assert any(each is not None for each in (bound(place(scene).lens.ranges[2], By.CASING_IN_SIGHT).low_m,))


def test_the_rear_row_sits_as_high_as_the_tangent_over_the_head_before_it() -> None:
    """From the lower edge (0.10 m out, 0.45 m up) over a head of 0.11 m about (3.3, 1.1): the tangent at 5.2 m out."""
    scene = scene_from_text(edit(BARE, ("bottom_m = 0.75", "bottom_m = 0.45"), ("[1.2, 5.5, 1.2]", "[0.0, 5.2, 1.1]")))
    front, rear = place(scene).rows
    slope = math.atan2(1.1 - 0.45, 3.2) + math.asin(0.11 / math.hypot(3.2, 1.1 - 0.45))
    least = 0.45 + 5.1 * math.tan(slope) - 1.1
    assert front.lifted_m == 0.0
    assert rear.lift.low_m == math.ceil(100 * least) / 100 == 0.57
    assert rear.lift.low_by is not None
    assert (rear.lift.low_by.by, rear.lift.low_by.low_thing) == (By.SIGHT, "front")


def test_the_lower_edge_lies_over_the_same_tangent() -> None:
    """The same heads with the rear eye 0.35 m higher: the line from it over the front head meets the screen at its lowest edge."""
    scene = scene_from_text(edit(BARE, ("[1.2, 5.5, 1.2]", "[0.0, 5.2, 1.45]")))
    slope = math.atan2(1.45 - 1.1, 1.9) - math.asin(0.11 / math.hypot(1.9, 0.35))
    least = 1.45 - 5.1 * math.tan(slope)
    found = bound(place(scene).bottom, By.SIGHT)
    assert found.low_m == math.ceil(100 * least) / 100
    assert found.low_thing == "front"


def test_the_width_that_a_far_seat_asks_for_is_that_of_thirty_degrees() -> None:
    """Source: SMPTE EG 18-1994 asks for 30 degrees (second-hand); W = 2 d tan 15 for a seat on the middle line at half its height."""
    scene = scene_from_text(edit(BARE, ("[1.2, 5.5, 1.2]", "[0.0, 5.5, 1.425]"), ("bottom_m = 0.75", "bottom_m = 0.7")))
    least = bound(place(scene).width, By.ANGLE).low_m
    assert least is not None
    level = 0.7 + least / 16 * 9 / 2
    width = 2 * math.hypot(5.4, 1.425 - level) * math.tan(math.radians(15))
    assert width <= least < width + 0.011


@pytest.mark.parametrize(("pixels", "degrees"), [(1920, 31.0), (3840, 58.0), (7680, 96.0)])
def test_a_pixel_of_one_minute_of_arc_gives_the_published_viewing_angles(pixels: int, degrees: float) -> None:
    """Source: ITU-R BT.1845-1, optimal horizontal viewing angles (from memory; whole degrees)."""
    assert 2 * math.degrees(math.atan(widest_by_pixels(pixels) / 2)) == pytest.approx(degrees, abs=0.5)


@pytest.mark.parametrize("fabric", ['[screen.fabric]\nkind = "diffuse"\ngain = 0.9', ANGULAR, RETRO])
def test_what_a_seat_sees_is_what_measure_reads(fabric: str) -> None:
    scene = room(fabric=fabric, projector="corner_to_centre = 0.7\npixels = [1920, 1080]")
    read = measure(scene, error=0.1)
    white, wide, top = (each(scene, scene.seats) for each in (direct_white_cd_m2, picture_widths_deg, picture_tops_deg))
    for i in range(len(scene.seats)):
        assert wide[i] == pytest.approx(read.geometry[i].picture_width_deg, rel=1e-12)
        assert top[i] == pytest.approx(read.geometry[i].picture_top_deg, rel=1e-12)
        assert white[i] == pytest.approx(read.seats[i].direct["centre"].value, rel=1e-9)
    side_on = pixels_arcmin(scene, [Seat("straight on", (0.0, 3.001, 0.7 + 0.675))])
    assert side_on == [pytest.approx(60 * 2 * math.degrees(math.atan(2.4 / 1920 / 2 / 3.0)), rel=1e-9)]
    with pytest.raises(ValueError, match="no pixels"):
        pixels_arcmin(room(), scene.seats)


def test_white_falls_with_the_area_so_the_widest_follows_from_lumens() -> None:
    """A diffuse screen of gain 0.9 and even light: L = g Phi / (pi A), so W = sqrt(g Phi 16 / (9 pi L))."""
    scene = room(width=8.0, height=4.0)
    widest = bound(place(scene, white_cd_m2=60.0).width, By.WHITE).high_m
    assert widest == math.floor(100 * math.sqrt(0.9 * 1000 * 16 / (9 * math.pi * 60.0))) / 100


def test_a_run_is_the_one_nearest_to_the_present_value_and_gaps_are_seen() -> None:
    """Fits below 0.3, from 0.5 to 0.7 and from 0.9 on; must be at least 0.1."""
    gaps = Cause(By.BEAM, BoundRole.MUST, one_by_one(lambda x: None if x < 0.295 or 0.495 < x < 0.705 or x > 0.895 else "lamp"))
    least = Cause(By.FLOOR, BoundRole.MUST, one_by_one(lambda x: None if x >= 0.1 else ""))
    aim = Cause(By.WHITE, BoundRole.AIM, one_by_one(lambda x: None if x < 0.6 else "seat"))
    found = range_of("key", "up", 0.42, [gaps, least, aim], (0.0, 1.2))
    assert (found.low_m, found.high_m, found.nearest_m, found.fits_now) == (0.5, 0.7, 0.5, False)
    assert found.low_by is not None
    assert (found.low_by.by, found.low_by.low_thing, found.low_by.high_thing) == (By.BEAM, "lamp", "lamp")
    assert bound(found, By.WHITE).high_m == 0.59
    low = range_of("key", "up", 0.2, [gaps, least], (0.0, 1.2))
    assert (low.low_m, low.high_m, low.nearest_m) == (0.1, 0.29, 0.2)
    assert low.low_by is not None
    assert low.low_by.by is By.FLOOR
    whole = range_of(
        "key", "up", 0.2, [least, Cause(By.CEILING, BoundRole.MUST, one_by_one(lambda x: "" if x > 0.3 else None))], (0.1, 0.3)
    )
    assert (whole.low_m, whole.high_m) == (0.1, 0.3)
    assert whole.low_by is not None
    assert whole.high_by is not None
    assert (whole.low_by.by, whole.high_by.by) == (By.FLOOR, By.CEILING)  # where the search ends, and what ends there
    assert (bound(whole, By.FLOOR).low_m, bound(whole, By.FLOOR).high_m) == (0.1, None)
    untried = range_of("key", "up", 0.2, [least], (0.2, 0.3))
    assert (untried.low_m, untried.high_m, untried.low_by, untried.high_by) == (0.2, 0.3, None, None)
    none = range_of(
        "key", "up", 0.2, [gaps, Cause(By.SIDE, BoundRole.MUST, one_by_one(lambda x: None if 0.3 < x < 0.49 else ""))], (0.0, 1.2)
    )
    assert (none.low_m, none.nearest_m, none.fits_now) == (None, None, False)


def test_a_present_value_between_two_steps_serves_where_it_is_all_that_does() -> None:
    """Steps of 5 cm: 2.73 m under a ceiling at 2.74 m over a beam that is free from 2.71 m; and a zoom that reaches to 7.48 m."""
    free = Cause(By.BEAM, BoundRole.MUST, one_by_one(lambda x: "head" if x < 2.71 else None))
    ceiling = Cause(By.CEILING, BoundRole.MUST, one_by_one(lambda x: "" if x > 2.74 else None))
    found = range_of("key", "up", 2.73, [free, ceiling], (0.0, 2.743), 0.05)
    assert (found.low_m, found.high_m, found.nearest_m, found.fits_now) == (2.73, 2.73, 2.73, True)
    assert not bound(found, By.BEAM).empty
    zoom = Cause(By.ZOOM, BoundRole.MUST, one_by_one(lambda x: None if 6.72 <= x <= 7.48 else ""))
    found = range_of("key", "out", 7.47, [zoom], (0.0, 9.0), 0.05)
    assert (found.low_m, found.high_m) == (6.75, 7.47), "what is told to fit lies in the range that is told"
    found = range_of("key", "out", 7.13, [zoom], (0.0, 9.0), 0.05)
    assert (found.low_m, found.high_m) == (6.75, 7.45)


def test_where_nothing_fits_what_is_in_the_way_of_the_present_value_is_named() -> None:
    """A wall is in the way everywhere; far below the present value a cabinet is before it."""
    sight = Cause(By.SIGHT, BoundRole.ASKED, one_by_one(lambda x: "cabinet" if x < 0.4 else "wall"))
    found = bound(range_of("key", "up", 0.834, [sight], (0.0, 1.2)), By.SIGHT)
    assert (found.empty, found.low_thing, found.high_thing) == (True, "wall", "wall")
    assert found.things == ("wall", "cabinet"), "who takes the wall away meets the cabinet"
    free = Cause(By.SIGHT, BoundRole.ASKED, one_by_one(lambda x: "cabinet" if x < 0.4 else None))
    assert bound(range_of("key", "up", 0.834, [free], (0.0, 1.2)), By.SIGHT).things == ()


def test_where_several_are_in_the_way_the_first_is_named() -> None:
    found = [
        ("lamp", np.array([False, True, True])),
        ("sofa", np.array([False, False, True])),
        ("", np.array([False, True, False])),
    ]
    assert first_named(found, 3) == [None, "lamp", "lamp"]
    assert first_named(reversed(found), 3) == [None, "", "sofa"]
