"""Pictures of light, furnished rooms block by block against path tracing: walls, contacts, slots, edges."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.views.content import load_content
from halfgain.simulate.views.render import seat_camera, seat_picture, set_the_stage

from tests.views.blocks import blocks_of, trace_block
from tests.views.light_rooms import LIGHT_ROOMS

# rows and columns of blocks: front wall by the ceiling, slots by the border, tops and fronts of furniture, corners of the room
BLOCKS = {
    "near furniture": ((1, 19), (21, 21), (22, 15), (22, 36), (13, 38), (3, 35), (12, 4)),
    "living room": ((1, 19), (22, 20), (24, 24), (12, 44), (16, 5), (2, 3)),
    "slots": ((1, 24), (23, 20), (22, 12), (15, 41), (12, 3), (18, 45)),
    "warm, angular": ((1, 19), (22, 12), (22, 30), (12, 2), (5, 44), (24, 40)),
}


@pytest.mark.long
def test_every_block_is_within_two_percent_and_their_mean_within_three_thousandths() -> None:
    # Expected: brute.py, nothing interpolated, edges included; each bound widened by three standard errors of its own
    differences, errors = [], []
    for name, at in BLOCKS.items():
        scene = LIGHT_ROOMS[name]()
        stage = set_the_stage(scene, load_content("white", 16 / 9), threads=2)
        camera = seat_camera(scene, 0)
        ours = blocks_of(seat_picture(stage, camera, threads=2).cd_m2)
        for row, column in at:
            traced = trace_block(stage, camera, row, column, paths=16, seed=3, threads=2)
            off, error = ours[row, column] / traced.value - 1.0, traced.error / traced.value
            assert error < 0.015, (name, row, column)
            assert abs(off) < 0.02 + 3.0 * error, (name, row, column, off, error)
            differences.append(off)
            errors.append(error)
    count = len(differences)
    assert abs(np.mean(differences)) < 0.003 + 3.0 * np.sqrt(np.sum(np.square(errors))) / count
