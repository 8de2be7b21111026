"""Ceilings of several faces: a name for each, parts within limits on faces that slope both ways, windows that need a rectangle."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.scenes.library import scene_path
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Room
from halfgain.scenes.rooms.polygon import area_m2
from halfgain.scenes.rooms.spots import areas_m2, spots
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.sound.areas import areas_of
from test_room_shapes import REST, refused

ATTIC = scene_path("attic").read_text(encoding="utf-8")
SLOPE = np.hypot(1.4, 1.4) * 5.6  # of either side, 1.4 m out and up
# one corner of the far end is lower than the rest: the ceiling bends over the diagonal, and its lower half slopes both ways
HIP = """format = 1
[room]
outline_m = [[-2.5, 0], [2.5, 0], [2.5, 5.0], [-2.5, 5.0]]
walls = ["front", "right", "back", "left"]
heights_m = [3.0, 3.0, 2.0, 3.0]
ceiling_bends = [[2, 4]]
[room.finish]
front = 0.5
back = 0.5
left = 0.5
right = 0.5
ceiling = 0.7
floor = 0.2
"""
PART = '[[room.part]]\nname = "patch"\non = "ceiling"\n{0}finish = {1}\n'
ASLANT = np.sqrt(1.0 + 2 * 0.2**2)  # area over that in plan: the low face falls 1 m in 5 both ways


def room(text: str) -> Room:
    return scene_from_text(text).room


def test_a_face_of_the_ceiling_has_a_name_and_ceiling_sets_the_rest() -> None:
    named = ATTIC.replace('ceiling = "white matt paint"', 'ceiling = "white matt paint"\n"ceiling 2" = 0.1')
    split, plain = room(named), room(ATTIC)
    assert plain.surfaces == ("front", "back", "left", "right", "ceiling", "floor")
    assert split.surfaces == (*plain.surfaces, "ceiling 2")
    assert split.finish["ceiling 2"].luminous == pytest.approx(0.1)
    assert split.finish["ceiling"] == plain.finish["ceiling"]
    assert split.shell is not None
    areas = split.shell.areas_m2()
    assert areas["ceiling"] == pytest.approx(2 * SLOPE)  # the slopes, corners 1 2 7 8 and 3 4 5 6
    assert areas["ceiling 2"] == pytest.approx(1.8 * 5.6)  # the level middle, corners 2 3 6 7
    strip = areas_m2(split)
    assert strip["ceiling 2"] == pytest.approx(1.8 * 4.1)  # a part on "ceiling" lies on all its faces
    assert sum(strip.values()) == pytest.approx(sum(areas_m2(plain).values()))
    assert scene_from_text(ATTIC).digest == scene_from_text(ATTIC).change("title", scene_from_text(ATTIC).title).digest


def test_all_faces_may_have_names_and_a_part_lies_on_one_of_them() -> None:
    own = '"ceiling 1" = 0.2\n"ceiling 2" = 0.3\n"ceiling 3" = 0.4'
    every = room(ATTIC.replace('ceiling = "white matt paint"', own))
    assert every.surfaces == ("front", "back", "left", "right", "floor", "ceiling 1", "ceiling 2", "ceiling 3")
    assert [every.finish[f"ceiling {i}"].luminous for i in (1, 2, 3)] == pytest.approx([0.2, 0.3, 0.4])
    one = room(ATTIC.replace('on = "ceiling"', 'on = "ceiling 3"'))
    assert one.finish["ceiling 3"] == one.finish["ceiling"]
    assert len(spots(one, one.parts[0])) == 1
    assert areas_m2(one)["dark strip"] == pytest.approx(SLOPE * 1.5 / 5.6)
    wrong = refused(ATTIC.replace('on = "ceiling"', 'on = "ceiling 4"'))
    assert "is no surface of the room: did you mean" in wrong[0]
    wrong = refused(ATTIC.replace('ceiling = "white matt paint"', 'ceiling = 0.5\n"ceiling 4" = 0.5'))
    assert wrong[0].endswith("allowed front, back, left, right, ceiling, floor, ceiling 1, ceiling 2, ceiling 3)")
    wrong = refused(ATTIC.replace('ceiling = "white matt paint"', '"ceiling 1" = 0.5'))
    assert "room.finish.ceiling: is missing" in wrong[0]


def test_faces_count_in_the_order_of_their_corners_whichever_way_the_outline_runs() -> None:
    mirrored = ATTIC.replace("[[-2.3, 0], [-0.9, 0], [0.9, 0], [2.3, 0], [2.3, 5.6], [0.9, 5.6], [-0.9, 5.6], [-2.3, 5.6]]",
                             "[[2.3, 0], [0.9, 0], [-0.9, 0], [-2.3, 0], [-2.3, 5.6], [-0.9, 5.6], [0.9, 5.6], [2.3, 5.6]]")  # fmt: skip
    mirrored = mirrored.replace(
        '"front", "right", "back", "back", "back", "left"', '"front", "left", "back", "back", "back", "right"'
    )
    for text, sign in ((ATTIC, -1.0), (mirrored, 1.0)):
        found = room(text.replace('on = "ceiling"', 'on = "ceiling 1"'))
        (spot,) = spots(found, found.parts[0])
        assert np.sign(spot.corner[0] + 0.5 * (spot.edge_u + spot.edge_v)[0]) == sign


def test_repaints_and_sound_take_a_ceiling_of_named_faces() -> None:
    named = scene_from_text(ATTIC.replace('ceiling = "white matt paint"', 'ceiling = "white matt paint"\n"ceiling 2" = 0.85'))
    first = named.with_finish("ceiling 1", 0.05)  # not named so far
    assert first.room.finish["ceiling 1"].luminous == pytest.approx(0.05)
    black = named.with_finish("ceiling 2", 0.05)
    assert black.room.finish["ceiling 2"].luminous == pytest.approx(0.05)
    assert black.room.finish["ceiling"] == named.room.finish["ceiling"]
    plain = scene_from_text(ATTIC)
    ours, theirs = areas_of(named), areas_of(plain)
    assert ours.walls["ceiling"] + ours.walls["ceiling 2"] == pytest.approx(theirs.walls["ceiling"])
    assert ours.parts[0].sum() == pytest.approx(theirs.parts[0].sum())


def plan_area(limits: dict[str, tuple[float, float]]) -> float:
    """Area in plan [m2] of the low face, the triangle right 2.5, out 5 and the diagonal, between limits. Source: clipped polygon."""
    ring = [np.array(p) for p in ((2.5, 0.0), (2.5, 5.0), (-2.5, 5.0))]
    for axis, (low, high) in ((0, limits.get("right", (-9, 9))), (1, limits.get("out", (-9, 9))), (2, limits.get("up", (-9, 9)))):
        for value, sign in ((low, 1.0), (high, -1.0)):
            # height 3 - 0.2 (right - 2.5) - 0.2 out on the low face
            def inside(p: np.ndarray, axis: int = axis, value: float = value, sign: float = sign) -> float:
                at = (p[0], p[1], 3.0 - 0.2 * (p[0] - 2.5) - 0.2 * p[1])[axis]
                return sign * (at - value)

            new = []
            for p, q in zip(ring, ring[1:] + ring[:1], strict=True):
                if inside(p) >= 0:
                    new.append(p)
                if inside(p) * inside(q) < 0:
                    new.append(p + inside(p) / (inside(p) - inside(q)) * (q - p))
            ring = new
    return abs(float(area_m2(np.array(ring))))


CUTS = {
    "a strip across": {"out": (3.0, 4.0)},
    "a strip along": {"right": (1.0, 1.6)},
    "between two heights": {"up": (2.2, 2.5)},
    "right and out": {"right": (0.8, 1.6), "out": (3.4, 4.4)},
    "out and up": {"out": (3.0, 4.2), "up": (2.1, 2.4)},
    "a third that does not matter": {"right": (0.8, 1.6), "out": (3.4, 4.4), "up": (2.0, 2.95)},
    "beyond the edges": {"right": (2.0, 9.0), "out": (4.0, 9.0)},
}


@pytest.mark.parametrize("name", CUTS)
def test_limits_cut_strips_and_parallelograms_from_a_face_that_slopes_both_ways(name: str) -> None:
    keys = "".join(f"{key}_m = [{low}, {high}]\n" for key, (low, high) in CUTS[name].items())
    found = room(HIP + PART.format(keys, 0.1).replace('"ceiling"', '"ceiling 2"') + REST)
    (spot,) = spots(found, found.parts[0])
    assert found.shell is not None
    normal = np.cross(spot.edge_u, spot.edge_v)
    assert normal[2] < 0.0  # into the room
    expected = ASLANT * plan_area(CUTS[name])
    assert areas_m2(found)["patch"] == pytest.approx(expected, rel=0.02)  # the grid of places of `areas_m2` has 200 a side
    for a in (0, 1):
        for b in (0, 1):
            x, y, z = spot.corner + a * spot.edge_u + b * spot.edge_v
            assert z == pytest.approx(3.0 - 0.2 * (x - 2.5) + 0.2 * y)


def test_three_limits_that_leave_no_parallelogram_are_refused_and_so_is_a_window_askew() -> None:
    keys = "right_m = [0.8, 1.6]\nout_m = [3.4, 4.4]\nup_m = [2.40, 2.55]\n"
    (line,) = refused(HIP + PART.format(keys, 0.1).replace('"ceiling"', '"ceiling 2"') + REST)
    assert '"ceiling 2" lies aslant: these limits cut no parallelogram from it, leave one out' in line
    window = '[[window]]\nname = "roof"\nsurface = "ceiling"\nright_m = [0.8, 1.6]\nout_m = [3.4, 4.4]\nluminance_cd_m2 = 100\n'
    (line,) = refused(HIP + REST + window)
    assert '"ceiling" lies aslant: these limits cut no rectangle from it' in line


def test_a_part_of_the_surfaces_own_finish_changes_no_light() -> None:
    """On the face that slopes both ways, two limits: the same room within the errors; black it is darker."""
    keys = "right_m = [-0.5, 2.0]\nout_m = [2.5, 4.5]\n"
    texts = (HIP + REST, HIP + PART.format(keys, 0.7) + REST, HIP + PART.format(keys, 0.0) + REST)
    plain, same, black = (measure(scene_from_text(text), error=0.01, most_paths=256).seats[0].washout for text in texts)
    assert abs(plain.value - same.value) <= 3.0 * np.hypot(plain.standard_error, same.standard_error) + 0.003 * plain.value
    assert black.value < 0.99 * plain.value
