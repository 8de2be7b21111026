"""Viewers as dark bodies: the boxes they are, what they take of the room's light, and where none has room."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Box
from halfgain.scenes.warning import WarningCode
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.measure import measure
from scene_texts import GOOD, edit
from test_room_shapes import PLAN, REST, refused

FRONT = 'name = "front"'
BODY = (FRONT, f"{FRONT}\nbody = 0.1")


def test_a_body_is_two_boxes_and_nothing_else() -> None:
    """Written out as objects the same boxes give the same figures, to the last bit."""
    plain, seated = scene_from_text(GOOD), scene_from_text(edit(BODY))
    trunk, lap = seated.room.objects[-2:]
    assert isinstance(trunk, Box)
    assert isinstance(lap, Box)
    _, out, up = seated.seats[0].eye_m
    assert np.subtract(trunk.max_m, trunk.min_m) == pytest.approx([0.45, 0.25, 0.55])
    assert trunk.max_m[2] == pytest.approx(up - 0.2)
    assert lap.max_m[1] == pytest.approx(trunk.min_m[1]) == pytest.approx(out)
    written = GOOD
    for each in (trunk, lap):
        table = f'[[room.object]]\nname = "{each.name}"\nbox = {{ min_m = {list(each.min_m)}, max_m = {list(each.max_m)} }}\nfinish = 0.1\n'
        written = written.replace("[projector]", f"{table}[projector]", 1)
    found = [measure(scene, error=1e-9, most_paths=32) for scene in (seated, scene_from_text(written), plain)]
    assert found[0].seats[0].values == found[1].seats[0].values
    assert found[0].seats[0].washout.value < found[2].seats[0].washout.value
    assert plain.digest == scene_from_text(GOOD).digest != seated.digest
    assert all("viewer" not in "".join(each.things) for each in seated.warnings if each.code == WarningCode.OVERLAP)


def test_a_body_follows_its_seat_and_passes_the_check_of_scenes_made_in_code() -> None:
    seated = scene_from_text(edit(BODY))
    moved = seated.with_seat("front", [0.3, 3.0, 1.2])
    assert moved.room.objects[-2].max_m[0] == pytest.approx(0.3 + 0.225)
    flatten(replace(seated, title="another"))


def test_bodies_are_cut_by_walls_and_kept_off_the_screen() -> None:
    depth = scene_from_text(GOOD).room.depth_m
    near_back = scene_from_text(edit(BODY)).with_seat("front", [0.0, depth - 0.1, 1.1])
    assert near_back.room.objects[-2].max_m[1] == depth
    gap = near_back.screen.gap_to_wall_m
    near_screen = scene_from_text(edit(BODY)).with_seat("front", [0.0, gap + 0.3, 1.1])
    assert near_screen.room.objects[-1].min_m[1] == pytest.approx(gap + 0.05)


def test_a_body_without_room_is_refused() -> None:
    seat = REST.replace("eye_m = [0.0, 3.6, 1.1]", "eye_m = [2.6, 3.1, 1.1]\nbody = 0.1")
    lines = refused(PLAN + seat)
    assert (
        'seat[1].body: "lap of viewer middle" reaches through a wall (got 0.1; allowed a seat farther from it, or no body)'
        in lines[0]
    )
    low = edit(BODY, ('name = "rear"\neye_m = [1.2, 5.5, 1.2]', 'name = "rear"\neye_m = [0.0, 3.4, 0.88]'))
    with pytest.raises(Exception, match=r'seat\[1\]\.body: the eye of "rear" is inside "viewer front"'):
        scene_from_text(low)
