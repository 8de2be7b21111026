"""Jobs in this process, one after the other: for studies that are done before a second process has started."""

from __future__ import annotations

from collections.abc import Iterator

from ..job import Job
from ..work import run_job
from .engine import Outcome


class Here:
    """This process; see `Engine`."""

    workers = 1

    def run(self, jobs: Iterator[Job]) -> Iterator[Outcome]:
        """Outcomes in the order of the jobs."""
        for job in jobs:
            yield Outcome(job, run_job(job))

    def close(self) -> None:
        """Nothing is held between runs."""
