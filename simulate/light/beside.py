"""One piece of work in a thread of its own while this one goes on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from typing import TypeVar

Made = TypeVar("Made")


@contextmanager
def beside(work: Callable[[], Made], threads: int) -> Iterator[Callable[[], Made]]:
    """Do work() beside what the block does; gives a function that waits for its value and raises what it raised.

    threads  1: nothing runs beside, work() is done where its value is asked for
    """
    if threads <= 1:
        yield work
        return
    with ThreadPoolExecutor(1) as pool:
        yield pool.submit(work).result
