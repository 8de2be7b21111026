"""What light costs against the room's triangles, the seats and the threads: python -m benchmarks --scale.

CPU seconds on one thread. Times with more threads are reckoned, not measured, beyond two: the share of the work that is not handed to
threads is measured on one thread, where no other job can bend it, and the rest is taken to be shared evenly (Amdahl 1967).
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from statistics import median
from typing import Any, NamedTuple

from halfgain.scenes.load import load_scene
from halfgain.simulate.light import workers
from halfgain.simulate.light.ledger import trace
from halfgain.simulate.measuring.flatten import SceneArrays, flatten
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.measuring.solver import measuring_points, prepare, traced_sums

from tests.rooms import room

from . import rays

SCENE = "long-lounge"
TRIANGLES = (0, 20, 80, 1280, 20480, 81920)  # of a rounded block in the room: those of an icosphere
SEATS = (1, 10, 100)
ON_PAPER = (4, 8, 16, 32, 64)
PATHS, ROUNDS, QUICK_ROUNDS = 128, 5, 2


class Cost(NamedTuple):
    """CPU seconds of the three steps, medians, and hits that were traced."""

    map_s: float
    trace_s: float
    walk_s: float
    hits: int


def cost_of(arrays: SceneArrays, rounds: int) -> Cost:
    """Map, trace and walk of a scene, warm."""
    points = measuring_points(arrays)
    ready = prepare(arrays, points)
    hits = 0

    def traced() -> None:
        nonlocal hits
        found = trace(arrays.geometry, ready.starts, seed=1, replications=4, low_path=0, paths=PATHS, survival=ready.survival)
        hits = len(found.patch)

    jobs: tuple[Callable[[], Any], ...] = (
        lambda: prepare(arrays, points),
        traced,
        lambda: traced_sums(ready, seed=1, low_path=0, paths=PATHS, replications=4),
    )
    times: list[list[float]] = [[], [], []]
    for k in range(rounds + 1):  # the first compiles
        for job, kept in zip(jobs, times, strict=True):
            began = time.process_time()
            job()
            if k:
                kept.append(time.process_time() - began)
    map_s, trace_s, both_s = (median(each) for each in times)
    return Cost(map_s, trace_s, max(both_s - trace_s, 0.0), hits)


def seats_room(count: int) -> SceneArrays:
    """The room of `speed` with so many seats in rows of ten."""
    eyes = ((-0.9 + 0.2 * (k % 10), 2.6 + 0.3 * (k // 10)) for k in range(count))
    return flatten(
        room(
            gap=0.1, seats="\n".join(f'[[seat]]\nname = "{k}"\neye_m = [{x:.2f}, {y:.2f}, 1.2]' for k, (x, y) in enumerate(eyes))
        )
    )


@contextmanager
def in_threads_s() -> Iterator[Callable[[], float]]:
    """Counts the CPU seconds of what is handed to `workers.in_ranges`, which threads could share; this thread alone."""
    plain, spent = workers.in_ranges, 0.0

    def counted(run: Callable[[int, int], None], count: int, threads: int, pieces_a_thread: int = 4) -> None:
        nonlocal spent
        began = time.thread_time()
        plain(run, count, 1)
        if count > 1:  # one piece cannot be shared
            spent += time.thread_time() - began

    workers.in_ranges = counted
    try:
        yield lambda: spent
    finally:
        workers.in_ranges = plain


def serial_share(job: Callable[[], Any]) -> float:
    """Share of a job's CPU time [1] that no thread can take over: all but what is handed to `workers.in_ranges`."""
    with in_threads_s() as shared_s:
        began = time.thread_time()
        job()
        whole = time.thread_time() - began
        return 1.0 - shared_s() / whole


def on_paper(serial: float, threads: int) -> float:
    """How many times faster than one thread a job with a serial share [1] can be. Source: Amdahl, AFIPS 30, 483 (1967; from memory)."""
    return 1.0 / (serial + (1.0 - serial) / threads)


def threads_of(rounds: int) -> Iterator[str]:
    """Lines on threads for three kinds of work: a short measurement, a long one, and light alone."""
    scene, arrays = load_scene(SCENE), flatten(load_scene(SCENE))
    ready = prepare(arrays, measuring_points(arrays))
    jobs: dict[str, Callable[[int], Any]] = {
        "measure, 1 %": lambda threads: measure(scene, threads=threads),
        "measure, 0.2 %": lambda threads: measure(scene, error=0.002, threads=threads),
        "light alone, 25 points": lambda threads: traced_sums(ready, seed=1, low_path=0, paths=1024, threads=threads),
    }
    yield f"  {'':24s} {'serial':>7s} {'2, measured':>12s} " + " ".join(f"{n:>6d}" for n in (2, *ON_PAPER)) + "  on paper"
    for name, job in jobs.items():
        job(1)
        serial = median(serial_share(lambda job=job: job(1)) for _ in range(rounds))  # type: ignore[misc]
        paper = " ".join(f"{on_paper(serial, n):6.2f}" for n in (2, *ON_PAPER))
        yield f"  {name:24s} {serial:7.1%} {median(gains_of_two(job, rounds)):12.2f} {paper}"


def gains_of_two(job: Callable[[int], Any], rounds: int) -> list[float]:
    """How many times faster a job is with two threads than with one [1], by wall time in turn: of idle processors alone."""
    gains = []
    for _ in range(rounds):
        walls = []
        for threads in (1, 2):
            began = time.perf_counter()
            job(threads)
            walls.append(time.perf_counter() - began)
        gains.append(walls[0] / walls[1])
    return gains


def light_jobs() -> dict[str, Callable[[int], Any]]:
    """Trace and walk for the 25 points of SCENE with a number of threads, by paths a point and replication."""
    arrays = flatten(load_scene(SCENE))
    ready = prepare(arrays, measuring_points(arrays))

    def job(paths: int) -> Callable[[int], Any]:
        return lambda threads: traced_sums(ready, seed=1, low_path=0, paths=paths, threads=threads)

    return {f"{paths} paths": job(paths) for paths in (64, 512)}


def main(*, quick: bool = False) -> None:
    """Print the three tables and the peak memory."""
    from .figures import Figure, lines_of
    from .start_up import timed

    rounds = QUICK_ROUNDS if quick else ROUNDS
    print(f"triangles in the {SCENE} (a rounded block; 0: the scene's boxes alone), CPU, one thread")
    print(f"  {'triangles':>10s} {'map ms':>9s} {'trace ns a hit':>15s} {'walk ns a hit':>15s}")
    for count in TRIANGLES[:-1] if quick else TRIANGLES:
        arrays = flatten(load_scene(SCENE))
        found = cost_of(rays.with_block(arrays, count) if count else arrays, rounds)
        each = 1e9 / found.hits
        print(f"  {count:10,d} {1e3 * found.map_s:9.1f} {each * found.trace_s:15.0f} {each * found.walk_s:15.0f}", flush=True)
    print("seats in an empty room, CPU, one thread")
    print(f"  {'seats':>10s} {'map ms':>9s} {'trace ns a hit':>15s} {'walk ns a hit':>15s}")
    for count in SEATS:
        found = cost_of(seats_room(count), rounds)
        each = 1e9 / found.hits
        print(f"  {count:10,d} {1e3 * found.map_s:9.1f} {each * found.trace_s:15.0f} {each * found.walk_s:15.0f}", flush=True)
    print(
        "threads: times one thread's speed, measured by wall time, so on idle processors alone; serial: share of CPU time not handed to threads"
    )
    for line in threads_of(rounds):
        print(line, flush=True)
    print("memory")
    for scene in (SCENE, "light-lounge"):
        timed(["measure", scene])  # compiles what is not kept yet
        peak = timed(["measure", scene]).peak_mib
        print(*lines_of([Figure(f"warm measure {scene}, peak", peak, "MiB", aim=250.0)]), sep="\n", flush=True)
