"""A plan run by an engine into a store: what is kept is not done again, what fails is named, and time left is told."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np

from .engines.engine import Engine, Outcome
from .job import Job
from .outcome import StudyResult
from .plan import StudyPlan
from .store import Store


class StudyStep(NamedTuple):
    """How far a study is.

    done, whole  variants that are settled, and all;  failed  of them;  left_s  time left [s], NaN where not known yet
    """

    done: int
    whole: int
    failed: int
    left_s: float


Progress = Callable[[StudyStep], None]


class _Ledger:
    """What has come out so far, by variant."""

    def __init__(self, count: int) -> None:
        self.keys = np.zeros(count, "S64")
        self.failed: dict[int, str] = {}
        self.lost: dict[int, str] = {}
        self.same: dict[int, int] = {}
        self.known = self.fresh = 0

    @property
    def settled(self) -> int:
        """Variants of which it is known how they ended."""
        return self.known + self.fresh + len(self.failed) + len(self.lost) + len(self.same)


def run_study(plan: StudyPlan, engine: Engine, store: Store, *, progress: Progress | None = None) -> StudyResult:
    """Every variant of a plan that the store does not hold, run by an engine.

    raises  StudyError where no worker can go on; what was done until then is in the store
    The result does not depend on the engine, the number of workers, or on what was in the store before.
    """
    began = time.perf_counter()
    found = _Ledger(plan.study.count)

    def jobs() -> Iterator[Job]:
        for piece in plan.pieces(store):
            if piece.job is not None:
                yield piece.job
            elif piece.known is not None:
                found.keys[piece.known[0] - 1] = piece.known[1]
                found.known += 1
            elif piece.same is not None:
                found.same[piece.same[0]] = piece.same[1]
            elif piece.failed is not None:
                found.failed[piece.failed.number] = piece.failed.failed

    for outcome in engine.run(jobs()):
        _settle(outcome, found, store)
        if progress is not None:
            spent, fresh = time.perf_counter() - began, found.fresh
            left = (plan.study.count - found.settled) * spent / fresh if fresh else float("nan")
            progress(StudyStep(found.settled, plan.study.count, len(found.failed) + len(found.lost), left))
    for number, first in found.same.items():  # a variant that equals another ended as that did
        found.keys[number - 1] = found.keys[first - 1]
        for where in (found.failed, found.lost):
            if first in where:
                where[number] = where[first]
    return StudyResult(
        plan=plan,
        store=store,
        keys=found.keys,
        failed=dict(sorted({**found.failed, **found.lost}.items())),
        known=found.known,
        same=len(found.same),
        elapsed_s=time.perf_counter() - began,
    )


def _settle(outcome: Outcome, found: _Ledger, store: Store) -> None:
    if outcome.part is None:
        for task in outcome.job.tasks:
            found.lost[task.number] = outcome.lost
        return
    store.add(outcome.part)
    numbers = {task.key: task.number for task in outcome.job.tasks}
    for place, key in enumerate(outcome.part.keys):
        number = numbers[key]
        if place in outcome.part.failed:
            found.failed[number] = outcome.part.failed[place]
        else:
            found.keys[number - 1] = key
            found.fresh += 1
