"""One solver for all pages: a single thread that takes their questions in turn, the newest of each page in place of older ones."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass

from .wire import Message

Deliver = Callable[[Message], None]
Work = Iterator[Message | None]  # None: a step of work without an answer of its own, at which newer questions may cut in


@dataclass
class _Job:
    """A question on the desk: what makes its answers, begun or not, and to whom they go."""

    make: Callable[[], Work]
    deliver: Deliver
    fault: Callable[[Exception], Message]
    work: Work | None = None


class Desk:
    """Answers are made step by step; after each step the next page has its turn, and a question that was replaced ends."""

    def __init__(self) -> None:
        self._jobs: OrderedDict[Hashable, _Job] = OrderedDict()
        self._change = threading.Condition()
        self._open = True
        self._thread = threading.Thread(target=self._run, name="solver", daemon=True)
        self._thread.start()

    def ask(self, key: Hashable, make: Callable[[], Work], deliver: Deliver, fault: Callable[[Exception], Message]) -> None:
        """Put a question on the desk; one of the same key is forgotten, begun or not.

        make   gives the answers' iterator, in the solver's thread;  deliver  is called there with each answer
        fault  the answer that tells of an exception
        """
        with self._change:
            waiting = self._jobs.get(key)
            self._jobs[key] = _Job(make, deliver, fault)  # in the place of the older one, so its turn comes no later
            if waiting is None:
                self._jobs.move_to_end(key)
            self._change.notify()

    def forget(self, owner: Hashable) -> None:
        """Drop all questions of an owner; keys are tuples that begin with it."""
        with self._change:
            for key in [key for key in self._jobs if isinstance(key, tuple) and key[0] == owner]:
                del self._jobs[key]

    def close(self) -> None:
        """End the solver's thread after the step it is in."""
        with self._change:
            self._open = False
            self._jobs.clear()
            self._change.notify()

    def __len__(self) -> int:
        with self._change:
            return len(self._jobs)

    def _run(self) -> None:
        while True:
            with self._change:
                while self._open and not self._jobs:
                    self._change.wait()
                if not self._open:
                    return
                key, job = next(iter(self._jobs.items()))
            found, ended = self._step(job)
            with self._change:
                if self._jobs.get(key) is not job:
                    continue  # replaced or dropped while it worked: its answer is of no use
                if ended:
                    del self._jobs[key]
                else:
                    self._jobs.move_to_end(key)
            if found is not None:
                job.deliver(found)

    @staticmethod
    def _step(job: _Job) -> tuple[Message | None, bool]:
        try:
            if job.work is None:
                job.work = job.make()
            return next(job.work), False
        except StopIteration:
            return None, True
        except Exception as fault:
            return job.fault(fault), True
