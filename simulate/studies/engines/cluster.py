"""Jobs on a running Dask scheduler: the one door to dask. Its workers do what local ones do, so the figures are the same bits."""

from __future__ import annotations

import logging
from collections import defaultdict
from collections.abc import Iterator
from concurrent.futures import CancelledError
from typing import Any

from ..job import Job, StudyError
from ..work import run_job
from .engine import Outcome, after_loss

INSTALL = "pip install 'halfgain[cluster]'"
CONNECT_S, FIRST_WORKER_S = 10, 60
AHEAD = 3  # jobs a thread of the cluster that are sent before it has done the one in hand


class Cluster:
    """The workers of a scheduler; see `Engine`.

    address  such as tcp://host:8786
    raises   StudyError where no scheduler answers there, or none of its workers comes; ImportError without dask
    """

    def __init__(self, address: str) -> None:
        distributed = _distributed()
        logging.getLogger("distributed").setLevel(logging.CRITICAL)  # a lost worker is told by us, once it matters
        try:
            self._client = distributed.Client(address, timeout=CONNECT_S, set_as_default=False)
            self._client.wait_for_workers(1, timeout=FIRST_WORKER_S)
        except (OSError, ValueError, TimeoutError) as fault:
            raise StudyError(f"no Dask scheduler with a worker answers at {address} ({type(fault).__name__})") from None

    @property
    def workers(self) -> int:
        """Threads that the cluster has now; it may grow and shrink."""
        return max(1, sum(self._client.nthreads().values()))

    def run(self, jobs: Iterator[Job]) -> Iterator[Outcome]:
        """Outcomes as they come. raises StudyError"""
        distributed = _distributed()
        waiting = distributed.as_completed(loop=self._client.loop, with_results=False)
        held: dict[Any, Job] = {}
        lost: dict[str, int] = defaultdict(int)
        again: list[Job] = []

        def fill() -> None:
            most = AHEAD * self.workers
            while len(held) < most:
                job = again.pop(0) if again else next(jobs, None)
                if job is None:
                    return
                future = self._client.submit(run_job, job, pure=False, retries=0)
                held[future] = job
                waiting.add(future)

        fill()
        try:
            while held:
                future = next(waiting)
                job = held.pop(future)
                outcome = self._outcome(future, job)
                future.release()
                if outcome is None:
                    lost[job.key] += 1
                    step = after_loss(job, 1 + lost[job.key])  # the scheduler has tried it on several workers already
                    if isinstance(step, Outcome):
                        yield step
                    else:
                        again += step
                else:
                    yield outcome
                fill()
        finally:
            self._client.cancel(list(held))

    def _outcome(self, future: Any, job: Job) -> Outcome | None:
        """What came of a job; None where it took its workers with it. raises what it raised, StudyError"""
        distributed = _distributed()
        try:
            return Outcome(job, future.result())
        except distributed.KilledWorker:
            return None
        except (ModuleNotFoundError, AttributeError) as fault:
            raise StudyError(f"a worker of the cluster lacks this halfgain: {fault}") from None
        except CancelledError:
            raise StudyError("the scheduler went away; the same command goes on once it is back") from None

    def close(self) -> None:
        """Let go of the scheduler; it and its workers go on."""
        self._client.close()


def _distributed() -> Any:
    try:
        import distributed
    except ImportError:
        raise ImportError(f"--cluster needs dask and distributed: {INSTALL}") from None
    return distributed
