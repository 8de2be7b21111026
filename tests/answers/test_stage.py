"""What many answers share: never changed by asking, bounded in bytes, the same bits from any number of threads."""

from __future__ import annotations

import threading
import time
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from halfgain.materials.solving.solve import fabric_from_pair
from halfgain.simulate.answers.answers import Answers, Quick
from halfgain.simulate.answers.shelf import Shelf, held_bytes

from tests.rooms import ANGULAR, room


@pytest.fixture(scope="module")
def answers() -> Answers:
    return Answers.of(room(fabric=ANGULAR), paths=8)


def same(one: Quick, two: Quick) -> bool:
    return all(np.array_equal(a, b) for a, b in zip(one, two, strict=True))


def test_many_light_outputs_leave_the_light_as_it_is(answers: Answers) -> None:
    # Expected: luminance is in proportion to light output (definition), whatever was asked before
    before = answers.readings()[0].washout.value
    for k in range(60):
        dimmed = answers.with_light_output(500.0 + 10.0 * k)
        assert len(dimmed.points.gain) == 25
        assert dimmed.field is not None
    assert answers.with_light_output(2000.0).readings()[0].washout.value == pytest.approx(2.0 * before, rel=1e-12)
    assert answers.readings()[0].washout.value == before


def test_what_is_kept_does_not_depend_on_who_asked_first() -> None:
    # Expected: the same bits in either order; the other fall-off has a light of its own
    scene = room(fabric=ANGULAR)
    darker = room(fabric=ANGULAR, lumens=600.0, projector="corner_to_centre = 0.7")
    lighter = room(fabric=ANGULAR, lumens=1700.0, projector="corner_to_centre = 0.7")
    found = []
    for order in ((darker, lighter), (lighter, darker)):
        fresh = Answers.of(scene, paths=8)
        by_title = {id(other): fresh.with_scene(other).quick() for other in order}
        found.append((by_title[id(darker)], by_title[id(lighter)]))
    assert same(found[0][0], found[1][0])
    assert same(found[0][1], found[1][1])


def test_more_paths_come_with_a_new_object_and_siblings_keep_their_bits(answers: Answers) -> None:
    sibling = answers.with_finish("ceiling", 0.3)
    before, paths = sibling.quick(), sibling.stage.kept.paths
    found = answers.precise(0.004)
    assert found.answers.stage.kept.paths > paths
    assert answers.stage.kept.paths == sibling.stage.kept.paths == paths
    assert same(sibling.quick(), before)
    moved = sibling.on(found.answers.stage)
    assert moved.stage.kept.paths > paths
    assert same(moved.quick(), found.answers.with_finish("ceiling", 0.3).quick())
    assert found.readings[0].washout == found.answers.readings()[0].washout


def jobs(answers: Answers) -> list[Answers]:
    fabrics = [
        fabric_from_pair(name=f"f{i}", kind="angular-reflective", gain=1.2 + 0.1 * i, half_gain_deg=32.0 + i) for i in range(5)
    ]
    painted = [answers.with_finish("floor", 0.05 + 0.1 * i) for i in range(4)]
    return [a.with_fabric(f).with_light_output(900.0 + 7.0 * k) for k, f in enumerate(fabrics) for a in painted]


def test_threads_that_ask_one_object_at_once_get_the_bits_of_one_thread() -> None:
    scene = room(fabric=ANGULAR)
    expected = [a.quick() for a in jobs(Answers.of(scene, paths=8))]
    shared = jobs(Answers.of(scene, paths=8))
    with ThreadPoolExecutor(8) as pool:
        for found in pool.map(lambda a: a.quick(), shared * 3):
            assert any(same(found, one) for one in expected)
        again = list(pool.map(lambda a: a.quick(), shared))
    assert all(same(a, b) for a, b in zip(again, expected, strict=True))


def test_memory_of_forty_fabrics_stays_bounded() -> None:
    answers = Answers.of(room(), paths=128)
    one = held_bytes(answers.facts)
    for i in range(40):
        fabric = fabric_from_pair(name=f"f{i}", kind="angular-reflective", gain=1.2 + 0.01 * i, half_gain_deg=35.0)
        assert answers.with_fabric(fabric).quick().white.shape == (18, 2)
    facts = answers.stage._of_ledger._shelves["facts"]
    assert facts.bytes <= max(96 << 20, one)
    assert 1 < len(facts) < 40
    assert answers.stage.bytes < 600 << 20


def test_a_key_is_made_once_while_other_keys_are_made_beside_it() -> None:
    shelf, made, both = Shelf[int](1000), [], threading.Barrier(2, timeout=20)

    def make(key: int) -> int:
        made.append(key)
        both.wait()  # passes only when two keys are being made at one time
        time.sleep(0.02)
        return key

    with ThreadPoolExecutor(8) as pool:
        found = list(pool.map(lambda i: shelf.get(i % 2, lambda: make(i % 2)), range(8)))
    assert found == [i % 2 for i in range(8)]
    assert sorted(made) == [0, 1]


def test_a_shelf_drops_the_oldest_first_and_tries_again_after_a_fault() -> None:
    shelf = Shelf[np.ndarray](100)
    for key in "abc":
        shelf.get(key, lambda: np.zeros(5))  # 40 bytes each
    assert len(shelf) == 2
    assert shelf.bytes == 80
    count = []
    shelf.get("b", lambda: count.append(1) or np.zeros(5))  # type: ignore[func-returns-value]
    shelf.get("a", lambda: count.append(2) or np.zeros(5))  # type: ignore[func-returns-value]
    assert count == [2]
    shelf.get("large", lambda: np.zeros(500))
    assert len(shelf) == 1
    with pytest.raises(ZeroDivisionError):
        shelf.get("d", lambda: np.zeros(1 // 0))
    assert shelf.get("d", lambda: np.ones(1))[0] == 1.0
