"""Linear algebra while a run of the front door goes on: one thread, given back at the end, unless the user has said otherwise."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator

import halfgain as hg
import pytest
import scipy.linalg
from halfgain.simulate.command.one_thread_blas import THREAD_COUNTS
from threadpoolctl import threadpool_info, threadpool_limits


def blas_threads() -> list[int]:
    """As the libraries themselves say."""
    return [each["num_threads"] for each in threadpool_info() if each["user_api"] == "blas"]


@pytest.fixture
def two(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[int]]:
    """Two threads, which nobody asked for in the environment."""
    for name in THREAD_COUNTS:
        monkeypatch.delenv(name, raising=False)
    assert scipy.linalg, "its library is asked too"
    with threadpool_limits(limits=2, user_api="blas"):
        found = blas_threads()
        assert found
        assert set(found) == {2}
        yield found


def test_a_run_has_one_thread_and_gives_the_others_back(two: list[int]) -> None:
    seen: list[int] = []
    hg.measure("black-box", error=0.2, progress=lambda step: seen.extend(blas_threads()))
    assert set(seen) == {1}
    assert blas_threads() == two


def test_a_run_that_fails_gives_them_back(two: list[int]) -> None:
    with pytest.raises(hg.Error):
        hg.measure("no such room")
    assert blas_threads() == two


def test_a_run_that_ends_within_another_takes_nothing_from_it(two: list[int]) -> None:
    seen: list[int] = []

    def another(_: object) -> None:
        if not seen:
            beside = threading.Thread(target=hg.measure, args=("black-box",), kwargs={"error": 0.2})
            beside.start()
            beside.join()
            seen.extend(blas_threads())

    hg.measure("black-box", error=0.2, progress=another)
    assert set(seen) == {1}
    assert blas_threads() == two


def test_what_the_user_has_set_stays(two: list[int], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(os.environ, THREAD_COUNTS[0], "2")
    seen: list[int] = []
    hg.measure("black-box", error=0.2, progress=lambda step: seen.extend(blas_threads()))
    assert set(seen) == {2}
    assert blas_threads() == two
