"""Work beside other work: on another thread where there is one, when it is asked for where there is none."""

from __future__ import annotations

import threading

import pytest
from halfgain.simulate.page.beside import Beside, each_beside


def test_with_two_threads_work_is_done_on_the_other_in_turn() -> None:
    seen: list[tuple[str, int]] = []
    with Beside(2) as beside:
        first, second = (beside.submit(lambda name=name: seen.append((name, threading.get_ident()))) for name in "ab")  # type: ignore[misc]
        second()
        first()
    assert [name for name, _ in seen] == ["a", "b"]
    assert {ident for _, ident in seen} != {threading.get_ident()}


def test_with_one_thread_work_is_done_once_and_only_when_asked_for() -> None:
    seen: list[int] = []
    with Beside(1) as beside:
        work = beside.submit(lambda: seen.append(1) or len(seen))
        beside.submit(lambda: seen.append(2))
        assert seen == []
        assert (work(), work()) == (1, 1)
    assert seen == [1]


@pytest.mark.parametrize("threads", [1, 2])
def test_what_goes_wrong_is_raised_where_the_result_is_asked_for(threads: int) -> None:
    with Beside(threads) as beside:
        work = beside.submit(lambda: 1 // 0)
        with pytest.raises(ZeroDivisionError):
            work()


def test_works_of_their_own_run_at_once_on_two_threads() -> None:
    # Expected: both wait for each other at a barrier, which one thread alone could never pass
    meet = threading.Barrier(2, timeout=60.0)
    with each_beside(2) as beside:
        works = [beside(lambda: meet.wait()) for _ in range(2)]
        assert sorted(work() for work in works) == [0, 1]


def test_works_of_their_own_are_done_once_and_when_asked_for_on_one_thread() -> None:
    seen: list[int] = []
    with each_beside(1) as beside:
        works = [beside(lambda k=k: seen.append(k) or k) for k in range(3)]  # type: ignore[misc]
        assert seen == []
        assert (works[2](), works[0](), works[2]()) == (2, 0, 2)
    assert seen == [2, 0]


@pytest.mark.parametrize("threads", [1, 2])
def test_what_goes_wrong_among_several_is_raised_to_who_asks_for_it(threads: int) -> None:
    with each_beside(threads) as beside:
        bad, good = beside(lambda: 1 // 0), beside(lambda: 5)
        assert good() == 5
        with pytest.raises(ZeroDivisionError):
            bad()
