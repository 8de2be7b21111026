"""Seat pictures that share their rays are those that are made alone."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.views.alike import alike, seat_pictures_alike
from halfgain.simulate.views.content import load_content
from halfgain.simulate.views.render import seat_camera, seat_picture, set_the_stage

from ..rooms import ANGULAR, box_object, room


@pytest.mark.parametrize("objects", ["", box_object("crate", [-0.5, 0.6, 0.0], [0.4, 1.2, 0.9], 0.3)])
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
