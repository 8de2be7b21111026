"""Work beside other work: on another thread where there is one, when it is asked for where there is none."""

from __future__ import annotations

import threading

import pytest
from halfgain.simulate.page.beside import Beside


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
