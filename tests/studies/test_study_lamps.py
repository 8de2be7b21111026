"""Light states of lamps and windows in studies: read from the same paths, figures that only a light state has, slopes with lamps."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.scenes.load import scene_from_text
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.studies.moves import Moves
from halfgain.simulate.studies.tolerances.derivatives import derivatives
from halfgain.simulate.studies.tolerances.uncertain import limits_given, uncertain_of

from ..lamps.lit_scene import LIT
from .studies import run, table

SCENE = scene_from_text(LIT)
LAMP = {"name": "lamp", "key": 'lamp."table lamp".light_output_lm', "values": [470.0, 940.0]}
CEILING = {"key": "room.finish.ceiling", "values": [0.8, 0.3]}


def test_lamps_and_paint_together_are_read_as_measure_reads_them() -> None:
    outputs = ["checkerboard_ratio", "ambient_lx", "white_cd_m2"]
    result = run(table(LAMP, CEILING, scene=SCENE, outputs=outputs, error=0.03))
    assert not result.failed
    assert result.plan.moves == (Moves.PAINT, Moves.PAINT)
    variant = SCENE.change({'lamp."table lamp".light_output_lm': 940.0, "room.finish.ceiling": 0.3})
    fresh = measure(variant, seed=5, error=0.02)
    rows = [row for row in result.rows() if row.variant == 4]
    assert len(rows) == 2 * (2 + 3 * 3)  # two seats; two figures in the dark, three in each of three states
    for row in rows:
        reading = next(seat for seat in fresh.seats if seat.name == row.seat)
        values = reading.values if row.state == "dark" else next(s for s in reading.states if s.name == row.state).values
        other = values[row.figure]
        error = np.hypot(row.value.standard_error, other.standard_error) + row.value.bias_bound + other.bias_bound
        assert abs(row.value.value - other.value) <= 4.5 * error + 1e-9, row


def test_slopes_by_paint_hold_lamps_light_too() -> None:
    """Against repaints of the same paths by the whole tolerance, which is what a band is made for."""
    answers = Answers.of(SCENE, paths=32)
    things = [each for each in uncertain_of(SCENE, limits_given(["room=0"])) if each.target in ("ceiling", "back")]
    found = derivatives(answers, things)
    key = next(key for key in found.slopes if key[0] == 0 and key[1].key == "checkerboard_ratio" and key[1].state == "film")
    for i, each in enumerate(things):
        ends = [answers.with_finish(each.target, each.value + step) for step in (-0.05, 0.05)]
        only = [derivatives(end, [], [key]).logs[key][0] for end in ends]
        assert found.slopes[key][i, 0] == pytest.approx((only[1] - only[0]) / 0.1, rel=0.02)
