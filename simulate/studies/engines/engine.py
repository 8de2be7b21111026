"""What every engine does: jobs in, outcomes out in any order, and a job whose worker is lost again and again is told as such."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple, Protocol

from ..job import Job
from ..part import StudyPart

MOST_LOST = 2  # workers that one job may take with it
LOST = "its worker was lost {count} times while it ran (killed, or out of memory): it is tried again by the next run"


class Outcome(NamedTuple):
    """A job with its part, or None and why there is none."""

    job: Job
    part: StudyPart | None
    lost: str = ""


class Engine(Protocol):
    """Runs jobs, as many at a time as it has workers."""

    @property
    def workers(self) -> int:
        """How many run at a time."""
        ...

    def run(self, jobs: Iterator[Job]) -> Iterator[Outcome]:
        """Outcomes as they come; takes no more jobs than it has in hand, so that memory stays bounded.

        raises  StudyError where no worker can go on
        """
        ...

    def close(self) -> None:
        """Let go of whatever the engine holds; nothing of it runs on for this study."""
        ...


def after_loss(job: Job, lost: int) -> list[Job] | Outcome:
    """What to do with a job that took `lost` workers: the same again, its variants one by one, or nothing more."""
    if lost < MOST_LOST:
        return [job]
    if len(job.tasks) > 1:
        return [replace(job, tasks=(task,)) for task in job.tasks]
    return Outcome(job, None, LOST.format(count=lost))
