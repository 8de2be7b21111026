"""Threads for kernels: disjoint index ranges of one kernel, so that every cell is written once and no sum depends on the threads."""

from __future__ import annotations

import itertools
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor


def default_threads() -> int:
    """Threads that this process may use: those of the affinity mask where the operating system has one, else all processors."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:
        return os.cpu_count() or 1


def in_ranges(run: Callable[[int, int], None], count: int, threads: int, pieces_a_thread: int = 4) -> None:
    """Call run(low, high) over 0 .. count in contiguous pieces, several at once.

    run       releases the interpreter lock and writes only the cells low .. high - 1
    threads   1 calls run once, in this thread
    raises    whatever run raises
    Source: derived; kernels release the lock, so Python threads serve and no numba threading layer is needed.
    """
    if threads <= 1 or count <= 1:
        run(0, count)
        return
    pieces = min(count, threads * pieces_a_thread)
    bounds = [count * i // pieces for i in range(pieces + 1)]
    with ThreadPoolExecutor(threads) as pool:
        for job in [pool.submit(run, low, high) for low, high in itertools.pairwise(bounds)]:
            job.result()
