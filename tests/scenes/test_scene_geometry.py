"""Places, the screen's frame, raster and picture, and the solids that warnings rest on."""

import random

import numpy as np
import pytest
from halfgain.scenes.geometry import corners, picture, raster, screen_frame, to_file, to_inside, white_area
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Box
from halfgain.scenes.rooms.standing import inside_thing
from halfgain.scenes.solids import boxes_overlap, distances_to_pyramids, meet_balls, meet_boxes
from scene_texts import GOOD, edit
from scipy.optimize import linprog, nnls


def box(low, high):
    return Box("box", low, high, None)  # the tests here ask no finish


def test_the_two_maps_undo_each_other():
    for place in [(1.0, 2.0, 3.0), (-0.5, 0.0, 1.1)]:
        assert to_file(to_inside(place)) == place
        assert to_inside(to_file(place)) == place


def test_the_file_frame_is_left_handed_and_the_inner_one_right_handed():
    """[right, out, up]: right x out points down, so the map has determinant -1; right stays right."""
    matrix = np.array([to_inside((1.0, 0.0, 0.0)), to_inside((0.0, 1.0, 0.0)), to_inside((0.0, 0.0, 1.0))])
    assert np.linalg.det(matrix) == pytest.approx(-1.0)
    assert to_inside((1.0, 0.0, 0.0)) == (1.0, 0.0, 0.0)
    assert to_inside((0.0, 2.5, 1.0)) == (0.0, -2.5, 1.0)


def test_the_screens_frame_is_right_handed_and_faces_the_seats():
    scene = scene_from_text(edit(("right_m = 0.0", "right_m = 0.3")))
    frame = screen_frame(scene)
    assert frame.centre == pytest.approx((0.3, -0.1, 0.75 + 1.35 / 2))
    assert np.cross(frame.right, frame.up) == pytest.approx(frame.normal)
    seat = np.array(to_inside(scene.seats[0].eye_m))
    assert np.dot(seat - frame.centre, frame.normal) > 0


def test_a_seat_on_the_right_is_on_the_right_of_the_screens_frame():
    """A mirrored file gives mirrored places."""
    scene = scene_from_text(GOOD)
    mirrored = scene_from_text(edit(("eye_m = [1.2, 5.5, 1.2]", "eye_m = [-1.2, 5.5, 1.2]")))
    frame = screen_frame(scene)
    here = np.dot(np.array(to_inside(scene.seats[1].eye_m)) - frame.centre, frame.right)
    there = np.dot(np.array(to_inside(mirrored.seats[1].eye_m)) - frame.centre, frame.right)
    assert (here, there) == (1.2, -1.2)


@pytest.mark.parametrize(
    ("aspect", "fit", "width", "height", "seen"),
    [  # 16:9 raster, white area 2.4 m wide; by hand
        ("2.4", "width", 2.4, 1.35, (2.4, 1.0)),  # higher than the screen, which cuts it
        ("2.4", "height", 16 / 9, 1.0, (16 / 9, 1.0)),  # sides stay dark
        ("2.4", "inside", 16 / 9, 1.0, (16 / 9, 1.0)),
        ("1.6", "width", 2.4, 1.35, (2.4, 1.35)),  # top and bottom stay dark
        ("1.6", "height", 8 / 3, 1.5, (2.4, 1.5)),  # wider than the screen, which cuts it
        ("1.6", "inside", 2.4, 1.35, (2.4, 1.35)),
        ('"16:9"', "height", 2.4, 1.35, (2.4, 1.35)),
    ],
)
def test_raster_and_picture(aspect, fit, width, height, seen):
    scene = scene_from_text(edit(('"16:9"', aspect), ('"inside"', f'"{fit}"'), ("bottom_m = 0.75", "bottom_m = 0.7")))
    light, visible = raster(scene), picture(scene)
    assert (light.width_m, light.height_m) == pytest.approx((width, height))
    assert (visible.width_m, visible.height_m) == pytest.approx(seen)
    assert light.area_m2 == pytest.approx(width * height)
    for area in (light, visible, white_area(scene)):
        assert (area.left_m + area.right_m, area.bottom_m + area.top_m) == pytest.approx((0.0, 0.0))


def test_without_pixels_the_raster_is_the_white_area():
    scene = scene_from_text(edit(("pixels = [3840, 2160]\n", ""), ('"16:9"', '"2.35:1"'), ('"inside"', '"width"')))
    assert raster(scene) == white_area(scene) == picture(scene)


def test_corners_of_the_picture_in_the_room():
    scene = scene_from_text(edit(("right_m = 0.0", "right_m = -0.2")))
    low_left, low_right, high_right, high_left = corners(scene, white_area(scene))
    assert low_left == pytest.approx((-1.4, 0.1, 0.75))
    assert low_right == pytest.approx((1.0, 0.1, 0.75))
    assert high_right == pytest.approx((1.0, 0.1, 2.1))
    assert high_left == pytest.approx((-1.4, 0.1, 2.1))


def test_boxes():
    first = box((0, 0, 0), (1, 1, 1))
    assert boxes_overlap(first, box((0.9, 0.9, 0.9), (2, 2, 2)))
    assert not boxes_overlap(first, box((1, 0, 0), (2, 1, 1)))  # stacked: faces touch
    assert not boxes_overlap(first, box((3, 3, 3), (4, 4, 4)))
    assert inside_thing((1.0, 0.5, 0.5), first)
    assert not inside_thing((1.001, 0.5, 0.5), first)


def random_pyramid(generator):
    """A beam as rooms have them: apex up to 5 m out, a rectangle near the wall."""
    left, bottom = generator.uniform(-2, 0), generator.uniform(0.2, 1.2)
    right, top = left + generator.uniform(0.5, 3), bottom + generator.uniform(0.4, 1.5)
    apex = (generator.uniform(-2, 2), generator.uniform(0.3, 5), generator.uniform(0.1, 2.4))
    return (apex, (left, 0.1, bottom), (right, 0.1, bottom), (right, 0.1, top), (left, 0.1, top))


def depth_by_programming(pyramid, solid):
    """Largest t such that some point of the pyramid lies t inside the box: linear programming, not our axes."""
    points = np.array(pyramid).T
    rows, limits = [], []
    for i in range(3):
        rows += [[*points[i], 1.0], [*-points[i], 1.0]]
        limits += [solid.max_m[i], -solid.min_m[i]]
    done = linprog(
        [0] * 5 + [-1], A_ub=rows, b_ub=limits, A_eq=[[1] * 5 + [0]], b_eq=[1], bounds=[(0, None)] * 5 + [(None, None)]
    )
    return -done.fun


def test_pyramid_and_box_agree_with_linear_programming():
    """Independent method: scipy's linear programming. 400 random pairs, both answers common."""
    generator, seen = random.Random(7), []
    for _ in range(400):
        pyramid = random_pyramid(generator)
        low = tuple(generator.uniform(a, b) for a, b in ((-2, 2), (0.2, 5), (0, 2)))
        solid = box(low, tuple(x + generator.uniform(0.05, 2) for x in low))
        depth = depth_by_programming(pyramid, solid)
        if abs(depth) < 1e-4:
            continue
        seen.append(depth > 0)
        met = meet_boxes(np.array([pyramid]), np.array([solid.min_m]), np.array([solid.max_m]))
        assert met.item() == (depth > 0), (pyramid, solid)
    assert 50 < sum(seen) < 350


def test_distance_to_a_pyramid_agrees_with_least_squares():
    """Independent method: the nearest convex combination of the corners, by non-negative least squares (scipy)."""
    generator, weight = random.Random(8), 1e4
    for _ in range(300):
        pyramid = random_pyramid(generator)
        place = tuple(generator.uniform(a, b) for a, b in ((-3, 3), (0, 5), (0, 2.5)))
        rows = np.vstack([np.array(pyramid).T, weight * np.ones(5)])
        _, residual = nnls(rows, np.array([*place, weight]))
        assert distances_to_pyramids(np.array([pyramid]), np.array([place])) == pytest.approx(residual, abs=2e-6)


def test_a_sphere_meets_a_pyramid_from_its_radius_on():
    pyramid = ((0.0, 4.0, 1.0), (-1.0, 0.1, 0.5), (1.0, 0.1, 0.5), (1.0, 0.1, 1.5), (-1.0, 0.1, 1.5))
    inside, behind_the_apex, farther = (0.0, 2.0, 1.0), (0.0, 4.1, 1.0), (0.0, 4.12, 1.0)
    assert meet_balls(np.array([pyramid]), [inside, behind_the_apex, farther], 0.11).tolist() == [[True, True, False]]
    behind, beside = (0.0, 0.1 - 0.05, 1.0), (2.0, 0.1, 1.0)
    assert distances_to_pyramids(np.array([pyramid] * 2), np.array([behind, beside])) == pytest.approx([0.05, 1.0])


def test_all_pairs_at_once_are_judged_as_each_alone():
    """Thousands of pairs: more than are judged at once, so in several parts; bodies thinner than a touch among them."""
    generator = random.Random(9)
    pyramids = np.array([random_pyramid(generator) for _ in range(90)])
    low = np.array([[generator.uniform(a, b) for a, b in ((-2, 2), (0.2, 5), (0, 2))] for _ in range(110)])
    high = low + [[generator.choice([0.0, 0.3, 1.5]) for _ in range(3)] for _ in low]
    boxes, balls = meet_boxes(pyramids, low, high), meet_balls(pyramids, low, 0.3)
    for met in (boxes, balls):
        assert 500 < met.sum() < met.size - 500
    for i, j in [(generator.randrange(90), generator.randrange(110)) for _ in range(400)]:
        one = pyramids[i : i + 1]
        assert meet_boxes(one, low[j : j + 1], high[j : j + 1]).item() == boxes[i, j]
        assert meet_balls(one, low[j : j + 1], 0.3).item() == balls[i, j]
