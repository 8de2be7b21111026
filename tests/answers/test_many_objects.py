"""A room with as many objects as a scene may have, answered from a ledger; and that no narrow number can wrap before that."""

from __future__ import annotations

import numpy as np
import pytest
from annotated_types import MaxLen
from halfgain.scenes.tables import RoomTable
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.answers.throughputs import blank_facts
from halfgain.simulate.light.ledger import MOST_HITS, Ledger
from halfgain.simulate.light.projector import ZONES_RIGHT, ZONES_UP
from halfgain.simulate.measuring.solver import stacked, traced_sums

from tests.rooms import box_object, lowered, room

SEAT = '[[seat]]\nname = "a"\neye_m = [0.9, 3.5, 1.2]'


def most_objects() -> int:
    """What the schema allows."""
    return next(part.max_length for part in RoomTable.model_fields["object"].metadata if isinstance(part, MaxLen))


def crumbs(many: int) -> str:
    """Boxes of 2 mm in rows on the floor behind the seat; the last ones as light as the first."""
    at = [(-1.0 + 0.05 * (i % 40), 5.0 + 0.05 * (i // 40)) for i in range(many)]
    return "".join(
        box_object(f"c{i}", [round(x, 3), round(y, 3), 0.0], [round(x + 0.002, 3), round(y + 0.002, 3), 0.002], 0.5)
        for i, (x, y) in enumerate(at)
    )


def test_a_room_with_all_the_objects_a_scene_may_have_is_answered_as_it_is_measured() -> None:
    # Expected: the production walk on the very same paths; the ledger's factors are kept in single precision
    scene = room(seats=SEAT, objects=crumbs(most_objects()))
    _, _, prepared = lowered(scene)
    expected = stacked(traced_sums(prepared, seed=4, low_path=0, paths=8, pooling=False), 8)
    found = Answers.of(scene, seed=4, paths=8).stack(pooling=False)
    np.testing.assert_allclose(found.sum(axis=3), expected.sum(axis=3), rtol=1e-5)
    np.testing.assert_allclose(found, expected, rtol=1e-5, atol=1e-9 * expected.max())


@pytest.mark.parametrize(
    ("name", "most"),
    [("surface", 6 + most_objects() + 2 - 1), ("stray_zone", ZONES_RIGHT * ZONES_UP - 1), ("hits", MOST_HITS), ("at", 65535)],
)
def test_every_narrow_number_of_a_ledger_holds_the_largest_that_can_come(name: str, most: int) -> None:
    ledger = Ledger(*(np.ones(1, kind) for kind in (np.int64, np.float64, np.int64, np.uint8, np.int32, np.uint16, np.uint16)))
    places = {"onto": np.zeros(1, np.int32), "at": np.zeros((1, 2), np.uint16)}
    facts = blank_facts(ledger, channels=1, columns=1, stray=True, places=places)
    assert np.iinfo(getattr(facts, name).dtype).max >= most
