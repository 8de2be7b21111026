"""Jobs in processes beside this one. A process that is killed costs the job it held, which then runs again."""

from __future__ import annotations

import os
import queue
import subprocess
import sys
import threading
from collections import defaultdict
from collections.abc import Iterator

from ..job import Job, StudyError
from ..part import StudyPart
from .engine import Outcome, after_loss
from .worker import READY, receive, send

_ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
MOST_STARTS = 3  # of a process that ends before it is ready


class Local:
    """`workers` processes of this machine; see `Engine`."""

    def __init__(self, workers: int) -> None:
        self.workers = workers
        self.processes: list[subprocess.Popen[bytes]] = []  # those that run now
        self._lock = threading.Lock()
        self._again: list[Job] = []
        self._lost: dict[str, int] = defaultdict(int)
        self._held = 0  # jobs in hand: one may come back and be cut into many

    def run(self, jobs: Iterator[Job]) -> Iterator[Outcome]:
        """Outcomes as they come. raises StudyError"""
        found: queue.Queue[Outcome | BaseException | None] = queue.Queue(2 * self.workers)
        stop = threading.Event()
        source = _Source(jobs)
        threads = [threading.Thread(target=self._serve, args=(source, found, stop), daemon=True) for _ in range(self.workers)]
        for thread in threads:
            thread.start()
        left = len(threads)
        try:
            while left:
                outcome = found.get()
                if outcome is None:
                    left -= 1
                elif isinstance(outcome, BaseException):
                    raise outcome
                else:
                    yield outcome
        finally:
            stop.set()
            for process in list(self.processes):
                process.kill()
            while left:  # a thread may wait for room
                try:
                    left -= found.get(timeout=1.0) is None
                except queue.Empty:
                    break

    def close(self) -> None:
        """Nothing is held between runs."""

    def _next(self, source: _Source) -> Job | None:
        """A job that came back, or a new one; waits for nothing: who finds none may leave only when none is in hand."""
        with self._lock:
            if self._again:
                self._held += 1
                return self._again.pop(0)
            job = source.next()
            self._held += job is not None
            return job

    def _serve(self, source: _Source, found: queue.Queue, stop: threading.Event) -> None:
        process = None
        try:
            while not stop.is_set():
                job = self._next(source)
                if job is None:
                    if self._held == 0:
                        break
                    stop.wait(0.05)  # another's job may come back
                    continue
                process = process or self._ready()
                try:
                    part = _asked(process, job)
                except (OSError, EOFError):
                    if stop.is_set():
                        break
                    self._end(process)
                    process = None
                    self._came_back(job, found)
                    continue
                found.put(Outcome(job, part))
                with self._lock:
                    self._held -= 1
        except BaseException as fault:
            found.put(fault)
        finally:
            if process is not None:
                self._end(process)
            found.put(None)

    def _came_back(self, job: Job, found: queue.Queue) -> None:
        with self._lock:
            self._lost[job.key] += 1
            next_step = after_loss(job, self._lost[job.key])
            if isinstance(next_step, list):
                self._again += next_step
        if isinstance(next_step, Outcome):
            found.put(next_step)
        with self._lock:
            self._held -= 1

    def _ready(self) -> subprocess.Popen[bytes]:
        """A process that has said it can work. raises StudyError where none comes so far"""
        for _ in range(MOST_STARTS):
            process = self._start()
            try:
                if process.stdout is not None and receive(process.stdout) == READY:  # type: ignore[arg-type]
                    return process
            except (OSError, EOFError):
                pass
            self._end(process)
        raise StudyError("worker processes end before they can do anything; what they say of it stands above")

    def _start(self) -> subprocess.Popen[bytes]:
        environment = {
            **os.environ,
            **dict.fromkeys(_ONE_THREAD, "1"),
            "PYTHONPATH": os.pathsep.join(path for path in sys.path if path),
        }
        process = subprocess.Popen(
            [sys.executable, "-m", f"{__package__}.worker"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=environment
        )
        with self._lock:
            self.processes.append(process)
        return process

    def _end(self, process: subprocess.Popen[bytes]) -> None:
        for stream in (process.stdin, process.stdout):
            try:
                if stream is not None:
                    stream.close()
            except OSError:
                pass
        process.kill()
        process.wait()
        with self._lock:
            if process in self.processes:
                self.processes.remove(process)


class _Source:
    """An iterator that is used up once, however often it is asked."""

    def __init__(self, jobs: Iterator[Job]) -> None:
        self._jobs, self._over = jobs, False

    def next(self) -> Job | None:
        """The next job, None where there are no more; called under one lock."""
        if self._over:
            return None
        job = next(self._jobs, None)
        self._over = job is None
        return job


def _asked(process: subprocess.Popen[bytes], job: Job) -> StudyPart:
    """What a process makes of a job. raises OSError, EOFError where it is gone, or what the job raised there"""
    if process.stdin is None or process.stdout is None:
        raise AssertionError("a worker without pipes")
    send(process.stdin, job)  # type: ignore[arg-type]
    found = receive(process.stdout)  # type: ignore[arg-type]
    if isinstance(found, BaseException):
        raise found
    if not isinstance(found, StudyPart):
        raise AssertionError("a worker answered no part")
    return found
