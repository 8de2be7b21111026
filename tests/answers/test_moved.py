"""Seats and lens moved on a kept ledger: the bits of a fresh trace, without one; refused where the lens moves the paths."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.answers.ledger_file import LedgerError

from tests.rooms import ANGULAR, box_object, room

WAVE = '[[screen.fold]]\nkind = "wave"\namplitude_mm = 2\nwavelength_mm = 300\ncrests = "vertical"\n'
SEATS = {
    "other places": '[[seat]]\nname = "middle"\neye_m = [0.4, 3.1, 1.3]\n[[seat]]\nname = "side"\neye_m = [-1.2, 2.6, 1.1]',
    "a head in the beam": '[[seat]]\nname = "tall"\neye_m = [0.0, 3.0, 1.75]',
    "one more": '[[seat]]\nname = "a"\neye_m = [0.5, 3.5, 1.2]\n[[seat]]\nname = "b"\neye_m = [-0.5, 3.5, 1.2]\n'
    '[[seat]]\nname = "c"\neye_m = [0.0, 4.2, 1.2]',
}
CASE = box_object("case", [0.9, 0.8, 0.0], [1.5, 1.6, 1.8], 0.5)


@pytest.mark.parametrize("seats", SEATS)
@pytest.mark.parametrize("folds", ["", WAVE], ids=["flat", "folded"])
def test_moved_seats_are_answered_with_the_bits_of_a_fresh_trace(seats: str, folds: str) -> None:
    # Expected: a ledger traced for the moved scene; paths start at the screen, so they are the same ones
    before = Answers.of(room(fabric=folds + ANGULAR, gap=0.1, objects=CASE), seed=4, paths=8)
    after = room(fabric=folds + ANGULAR, gap=0.1, objects=CASE, seats=SEATS[seats])
    moved, fresh = before.with_scene(after), Answers.of(after, seed=4, paths=8)
    assert moved.stage.kept is before.stage.kept
    np.testing.assert_array_equal(moved.stack(), fresh.stack())
    np.testing.assert_array_equal(moved.points.gain, fresh.points.gain)
    assert [reading.white for reading in moved.readings()] == [reading.white for reading in fresh.readings()]
    assert before.with_scene(before.scene).stage is before.stage


def test_a_moved_lens_is_answered_from_a_flat_cloths_ledger() -> None:
    # Expected: a fresh trace; the points of the picture, found from another lens, may differ in their last bits
    before = Answers.of(room(fabric=ANGULAR, objects=CASE), seed=4, paths=8)
    after = room(fabric=ANGULAR, objects=CASE, lens="[0.3, 4.0, 2.4]")
    moved, fresh = before.with_scene(after), Answers.of(after, seed=4, paths=8)
    assert moved.stage.kept is before.stage.kept
    np.testing.assert_allclose(moved.stack(), fresh.stack(), rtol=1e-6, atol=1e-9 * fresh.stack().max())
    np.testing.assert_array_equal(moved.points.gain, fresh.points.gain)


def test_a_moved_lens_is_refused_by_name_where_folds_move_the_points_with_it() -> None:
    before = Answers.of(room(fabric=WAVE + ANGULAR, gap=0.1), paths=8)
    with pytest.raises(LedgerError, match=r"projector\.lens_m differs"):
        before.with_scene(room(fabric=WAVE + ANGULAR, gap=0.1, lens="[0.3, 4.0, 2.4]"))
