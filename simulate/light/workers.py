"""Threads for kernels: disjoint index ranges of one kernel, so that every cell is written once and no sum depends on the threads.

The thread that asks works too, beside helpers that wait for work: starting threads for each call took longer than many a kernel runs.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable
from queue import SimpleQueue
from typing import TypeVar, cast

Made = TypeVar("Made")


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
    raises    whatever run raises; of several faults that of the first cells
    Source: derived; kernels release the lock, so Python threads serve and no numba threading layer is needed.
    """
    if threads <= 1 or count <= 1:
        run(0, count)
        return
    pieces = pieces_of(count, threads, pieces_a_thread)
    job = _RangeJob(run, pieces)
    _HELPERS.ask(job, min(threads, len(pieces)) - 1)
    job.finish()


def one_a_thread(make: Callable[[], Made]) -> Callable[[], Made]:
    """A function that gives each thread what `make` makes when that thread first asks: scratch for all pieces that it takes."""
    mine = threading.local()

    def own() -> Made:
        if not hasattr(mine, "made"):
            mine.made = make()
        return cast(Made, mine.made)

    return own


def pieces_of(count: int, threads: int, pieces_a_thread: int) -> list[tuple[int, int]]:
    """Contiguous pieces of 0 .. count in the order in which threads take them: large ones first, since each costs a start.

    Source: guided self-scheduling, each piece what is left over the threads (Polychronopoulos and Kuck, IEEE Trans. Computers 36,
    1425, 1987; from memory), none smaller than the even share of `pieces_a_thread` pieces a thread.
    """
    least, pieces, low = max(1, count // (threads * pieces_a_thread)), [], 0
    while low < count:
        high = min(count, low + max(least, -(-(count - low) // threads)))
        pieces.append((low, high))
        low = high
    return pieces


class _RangeJob:
    """Pieces of one range, each done by whichever thread comes."""

    def __init__(self, run: Callable[[int, int], None], pieces: list[tuple[int, int]]) -> None:
        self._run, self._pieces, self._next = run, pieces, 0
        self._changed, self._helping = threading.Condition(), 0
        self._faults: dict[int, BaseException] = {}

    def help(self) -> None:
        """Do pieces beside the thread that asked; faults are left to it."""
        with self._changed:
            self._helping += 1
        self._work()
        with self._changed:
            self._helping -= 1
            self._changed.notify()

    def finish(self) -> None:
        """Do what nobody has taken and wait for the rest; raises what the first piece with a fault raised."""
        try:
            self._work()
        finally:  # Ctrl-C as well: once this has left nobody may go on writing
            with self._changed:
                self._pieces = []
                self._changed.wait_for(lambda: self._helping == 0)
            del self._run  # a helper may come to this late, and would hold all that it writes to
        if self._faults:
            raise self._faults[min(self._faults)]

    def _work(self) -> None:
        while True:
            with self._changed:
                if self._next >= len(self._pieces):
                    return
                number, piece = self._next, self._pieces[self._next]
                self._next += 1
            try:
                self._run(*piece)
            except BaseException as fault:  # every kind: `finish` raises it where the work was asked for
                with self._changed:
                    self._faults[number], self._pieces = fault, []  # pieces before this one are taken already


class _Helpers:
    """Threads of this process that wait for jobs; as many as were ever asked for at once."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._forget()
        if hasattr(os, "register_at_fork"):
            os.register_at_fork(after_in_child=self._forget)  # threads stay behind in the parent

    def _forget(self) -> None:
        self._lock, self._jobs, self._started = threading.Lock(), SimpleQueue[_RangeJob](), 0

    def ask(self, job: _RangeJob, helpers: int) -> None:
        """Let so many threads help with a job as soon as they come to it."""
        with self._lock:
            for _ in range(self._started, helpers):
                threading.Thread(target=_wait_for_jobs, args=(self._jobs,), daemon=True).start()
                self._started += 1
        for _ in range(helpers):
            self._jobs.put(job)


def _wait_for_jobs(jobs: SimpleQueue[_RangeJob]) -> None:
    while True:
        jobs.get().help()


_HELPERS = _Helpers()
