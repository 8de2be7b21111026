"""A study on one, two and more workers: seconds, efficiency, seconds a variant, bytes that move; and that the bits are the same.

Run: python -m benchmarks.study [VARIANTS] [--dask]     (10,000 variants of the long lounge: two fabrics, two depths, the rest repaints)
Efficiency is the time of one worker over that of n workers times n; more workers than cores can gain nothing, nor can any on a machine
that is busy. Work is the CPU of one worker's run over that of n workers: what more workers cost in light traced twice, starts, talk.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import resource
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

from halfgain.simulate.studies.engines.engine import Engine
from halfgain.simulate.studies.engines.local import Local
from halfgain.simulate.studies.outcome import StudyResult
from halfgain.simulate.studies.plan import StudyPlan, plan_of
from halfgain.simulate.studies.read import study_of
from halfgain.simulate.studies.run import run_study
from halfgain.simulate.studies.store import Memory
from halfgain.simulate.studies.work import run_job

WORKERS = (1, 2, 4)


def study(variants: int) -> dict[str, object]:
    """Two fabrics x two depths x samples of four repaints and the lumens."""
    walls = [["room.finish.ceiling"], ["room.finish.left", "room.finish.right"], ["room.finish.back"], ["room.finish.floor"]]
    factors: list[dict[str, object]] = [{"keys": keys, "low": 0.05, "high": 0.8} for keys in walls]
    factors.append({"key": "projector.light_output_lm", "minus": "30 %"})
    factors.append({"key": "screen.fabric", "values": ["matt white", "pearl"]})
    factors.append({"key": "room.depth_m", "values": [6.0, 6.4]})
    outputs = ["white_cd_m2", "uniformity_ratio", "checkerboard_ratio", "washout_cd_m2"]
    return {"scene": "long-lounge", "outputs": outputs, "factor": factors, "design": {"samples": max(1, variants // 4)}}


def digest(result: StudyResult) -> str:
    """Hash of all figures."""
    text = hashlib.sha256()
    for row in result.rows():
        text.update(repr(row).encode())
    return text.hexdigest()[:12]


def spent() -> float:
    """CPU seconds of this process and of those that it started and that have ended."""
    return sum(sum(resource.getrusage(who)[:2]) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))


@contextmanager
def local(workers: int) -> Iterator[Engine]:
    """Processes of our own."""
    yield Local(workers)


@contextmanager
def dask(workers: int) -> Iterator[Engine]:
    """A scheduler and workers of this machine."""
    from distributed import LocalCluster
    from halfgain.simulate.studies.engines.cluster import Cluster

    with LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None) as cluster:  # type: ignore[no-untyped-call]
        engine = Cluster(cluster.scheduler_address)
        yield engine
        engine.close()


def moved(plan: StudyPlan) -> tuple[float, float, float]:
    """Bytes of a job and of its part a variant, pickled, and CPU seconds a variant of a job whose ledger is there."""
    jobs = [piece.job for piece in plan.pieces({}) if piece.job is not None]
    job = max(jobs, key=lambda each: len(each.tasks))
    run_job(job)
    began = time.process_time()
    part = run_job(job)
    each = len(job.tasks)
    return len(pickle.dumps(job)) / each, len(pickle.dumps(part)) / each, (time.process_time() - began) / each


def main(variants: int, engines: str) -> None:
    """Print the table."""
    plan = plan_of(study_of(study(variants)))
    count = plan.study.count
    sent, back, cpu = moved(plan)
    print(f"{count:,} variants, {plan.counts.paths} geometries, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    print(f"a variant: {1e3 * cpu:.1f} ms of CPU, {sent:,.0f} bytes there, {back:,.0f} bytes back")
    first = first_cpu = 0.0
    for workers in WORKERS:
        with (dask if engines == "dask" else local)(workers) as engine:
            before, began = spent(), time.perf_counter()
            result = run_study(plan, engine, Memory())
            took = time.perf_counter() - began
        cpu = spent() - before  # once the workers have ended
        first, first_cpu = first or took, first_cpu or cpu
        efficiency, work = 100.0 * first / (workers * took), 100.0 * first_cpu / cpu
        words = f"{took:7.1f} s, {cpu:6.1f} s of CPU, efficiency {efficiency:3.0f} %, work {work:3.0f} %, bits {digest(result)}"
        print(f"{engines}, {workers} workers: {words}, failed {len(result.failed)}, load {os.getloadavg()[0]:.1f}", flush=True)


if __name__ == "__main__":
    counts = [int(each) for each in sys.argv[1:] if each.isdigit()]
    main(counts[0] if counts else 10_000, "dask" if "--dask" in sys.argv else "local")
