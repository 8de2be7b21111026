"""Work beside other work: its value, its faults, and none of it where one thread is asked for."""

from __future__ import annotations

import threading

import pytest
from halfgain.simulate.light.beside import beside


@pytest.mark.parametrize("threads", [1, 2, 5])
def test_the_value_is_what_the_work_gives(threads: int) -> None:
    with beside(lambda: 7, threads) as value:
        assert value() == 7


def test_the_work_runs_while_the_block_does() -> None:
    met = threading.Barrier(2, timeout=20.0)
    with beside(met.wait, 2) as value:
        met.wait()  # would break after the time if the work only began where its value is asked for
        assert value() in (0, 1)


def test_with_one_thread_the_work_is_done_where_its_value_is_asked_for() -> None:
    by: list[threading.Thread] = []
    with beside(lambda: by.append(threading.current_thread()), 1) as value:
        assert by == []
        value()
    assert by == [threading.current_thread()]


@pytest.mark.parametrize("threads", [1, 2])
def test_a_fault_is_raised_where_the_value_is_asked_for_and_only_there(threads: int) -> None:
    def fail() -> None:
        raise ValueError("no folds")

    with beside(fail, threads):
        pass
    with pytest.raises(ValueError, match="no folds"), beside(fail, threads) as value:
        value()


def test_a_fault_of_the_block_waits_for_the_work_and_stays_its_own() -> None:
    go_on, done = threading.Event(), []

    def work() -> None:
        go_on.wait(20.0)
        done.append(True)

    def block() -> None:
        with beside(work, 2):
            go_on.set()
            raise KeyError("light")

    with pytest.raises(KeyError, match="light"):
        block()
    assert done == [True]
