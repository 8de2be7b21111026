"""Work beside other work: a stage of the page that needs nothing of what is done meanwhile, on a thread of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from types import TracebackType
from typing import Protocol, TypeVar

Result = TypeVar("Result")


class Submit(Protocol):
    """Hands over work; gives a function that waits for it and gives its result, or raises what it raised."""

    def __call__(self, work: Callable[[], Result], /) -> Callable[[], Result]: ...


@contextmanager
def each_beside(threads: int) -> Iterator[Submit]:
    """Works that need nothing of each other on so many threads; with a single one each is done when its result is asked for.

    What was handed over when the block is left is done, or dropped if it has not begun.
    """
    if threads <= 1:
        yield _when_asked
        return
    pool = ThreadPoolExecutor(threads)
    try:
        yield lambda work: pool.submit(work).result
    finally:
        pool.shutdown(cancel_futures=True)


def _when_asked(work: Callable[[], Result]) -> Callable[[], Result]:
    done: list[Result] = []

    def result() -> Result:
        if not done:
            done.append(work())
        return done[0]

    return result


class Beside:
    """One thread, which takes what it is given in turn; with a single thread to use all is done when its result is asked for.

    Kernels let go of the interpreter, so work of kernels and work in Python run at once. Nothing that is done depends on when.
    """

    def __init__(self, threads: int) -> None:
        self._pool = ThreadPoolExecutor(1) if threads > 1 else None

    def __enter__(self) -> Beside:
        return self

    def __exit__(self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None) -> None:
        if self._pool is not None:
            self._pool.shutdown(cancel_futures=True)

    def submit(self, work: Callable[[], Result]) -> Callable[[], Result]:
        """A function that waits for the work and gives its result, or raises what it raised."""
        if self._pool is not None:
            return self._pool.submit(work).result
        return _when_asked(work)
