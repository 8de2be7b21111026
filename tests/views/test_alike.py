"""Seat pictures that share their rays are those that are made alone."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.views.alike import alike, seat_pictures_alike
from halfgain.simulate.views.content import load_content
from halfgain.simulate.views.render import seat_camera, seat_picture, set_the_stage
from halfgain.simulate.views.roomlight import RoomCells, room_cells

from ..rooms import ANGULAR, box_object, room

pytestmark = pytest.mark.usefixtures("coarse")  # bits are compared
CRATE = box_object("crate", [-0.5, 0.6, 0.0], [0.4, 1.2, 0.9], 0.3)


@pytest.mark.parametrize("objects", ["", CRATE])
def test_pictures_made_together_are_those_made_alone(objects: str) -> None:
    # Expected: one picture, paint and fabric apart; the fabric's rays are its own; sums of other widths may round the last digits
    scenes = [
        room(objects=objects),
        room(objects=objects, ceiling=0.1),
        room(objects=objects, fabric='hang = "fixed frame"\n' + ANGULAR),
    ]
    contents = [load_content(name, 16 / 9) for name in ("gradient", "checkerboard", "checkerboard")]
    stages = [set_the_stage(scene, content) for scene, content in zip(scenes, contents, strict=True)]
    assert alike(stages) == [[0, 1], [2]]
    camera = seat_camera(scenes[0], 0, width=96, height=54)
    together = seat_pictures_alike(stages[:2], camera)
    for stage, found in zip(stages[:2], together, strict=True):
        alone = seat_picture(stage, camera)
        assert np.allclose(found.cd_m2, alone.cd_m2, rtol=1e-9, atol=0.0)
        assert found.asked == alone.asked
    assert np.abs(together[0].cd_m2 - together[1].cd_m2).max() > 1.0, "they are not one picture"


@cache
def crate_cells() -> RoomCells:
    """Cells of the room as it is painted, to be shared with rooms that are painted otherwise."""
    return room_cells(flatten(room(objects=CRATE)), seed=3)


@pytest.mark.parametrize("paint", ["ceiling = 0.1", "ceiling = [0.2, 0.1, 0.05]", "ceiling = 0.0"])
def test_a_stage_on_shared_cells_is_the_one_made_alone(paint: str) -> None:
    # Expected: the same bits; a painted, a coloured and a black ceiling, the last of which needs no rays
    name, _, value = paint.partition(" = ")
    scene, content = room(objects=CRATE, **{name: f"{{ reflectance = {value} }}"}), load_content("checkerboard", 16 / 9)
    cells = crate_cells()
    alone, shared = (set_the_stage(scene, content, seed=3, cells=each) for each in (None, cells))
    assert np.array_equal(alone.room.values.radiance.value, shared.room.values.radiance.value)
    assert alone.room.change == shared.room.change


def test_a_stage_on_the_cells_of_a_black_room_traces_its_own_rays() -> None:
    scene, content = room(objects=CRATE), load_content("white", 16 / 9)
    cells = room_cells(flatten(room(objects=CRATE, ceiling=0.0)))
    alone, shared = (set_the_stage(scene, content, cells=each) for each in (None, cells))
    assert np.array_equal(alone.room.values.radiance.value, shared.room.values.radiance.value)


def test_a_folded_cloth_shares_no_rays() -> None:
    # Expected: the same bits; where the cloth lights itself rays hold the picture's own light
    fold = '[[screen.fold]]\nkind = "wave"\namplitude_mm = 2\nwavelength_mm = 200\n'
    scene, content = room(lights=fold, gap=0.08), load_content("checkerboard", 16 / 9)
    cells = room_cells(flatten(scene))
    assert cells.kept is None
    alone, shared = (set_the_stage(scene, content, cells=each) for each in (None, cells))
    assert np.array_equal(alone.room.values.radiance.value, shared.room.values.radiance.value)
