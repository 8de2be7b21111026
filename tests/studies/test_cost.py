"""The cost of a study is that of its work: what a process loads or compiles once is no part of it."""

from __future__ import annotations

import pytest
from halfgain.simulate.studies import cost
from halfgain.simulate.studies.cost import Cost, measured_cost
from halfgain.simulate.studies.job import Job
from halfgain.simulate.studies.part import StudyPart, part_of
from halfgain.simulate.studies.plan import plan_of
from halfgain.simulate.studies.read import study_of

from .studies import CEILING, DEPTH, table

LOADING_S, PATHS_S, READING_S = 40.0, 3.0, 0.25


class Worker:
    """Stands in for the clock and the work: the first job loads kernels, the first of a ledger traces it."""

    def __init__(self) -> None:
        self.now, self.ledgers, self.errors = 0.0, set[str](), list[float]()

    def clock(self) -> float:
        return self.now

    def run(self, job: Job) -> StudyPart:
        self.now += 0.0 if self.errors else LOADING_S
        self.now += 0.0 if job.ledger_key in self.ledgers else PATHS_S
        self.now += READING_S
        self.ledgers.add(job.ledger_key)
        self.errors.append(job.ask.error)
        return part_of([], 0.0)


def test_loading_is_no_part_of_the_cost(monkeypatch: pytest.MonkeyPatch) -> None:
    worker = Worker()
    monkeypatch.setattr(cost.time, "perf_counter", worker.clock)
    monkeypatch.setattr(cost, "run_job", worker.run)
    plan = plan_of(study_of(table(CEILING, DEPTH)))
    assert measured_cost(plan) == pytest.approx(Cost(PATHS_S, 0.0, 0.0, READING_S))
    assert worker.errors[0] > plan.ask.error
    assert set(worker.errors[1:]) == {plan.ask.error}
