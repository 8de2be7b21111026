"""Path segments a second of tracing and walking, and two threads against one, in one process.

Run: python -m benchmarks.rays [SCENE]
"""

from __future__ import annotations

import sys
import time

from halfgain.scenes.load import load_scene
from halfgain.simulate.light.ledger import trace
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.solver import measuring_points, prepare, traced_sums

PATHS, ROUNDS, SCRAMBLES = 256, 3, 16


def main(name: str) -> None:
    """Print millions of hits a second for one and two threads, best of ROUNDS in turn, and the ratio."""
    arrays = flatten(load_scene(name))
    prepared = prepare(arrays, measuring_points(arrays))

    def traced(threads: int) -> int:
        found = trace(
            arrays.geometry,
            prepared.starts,
            seed=1,
            scrambles=SCRAMBLES,
            low_path=0,
            paths=PATHS,
            survival=prepared.survival,
            threads=threads,
        )
        return len(found.patch)

    jobs = {
        "trace": traced,
        "trace and walk": lambda threads: traced_sums(prepared, seed=1, low_path=0, paths=PATHS, threads=threads),
    }
    hits = traced(1)
    jobs["trace and walk"](1)  # compiled
    best = {(job, threads): float("inf") for job in jobs for threads in (1, 2)}
    for _ in range(ROUNDS):
        for job, threads in best:
            began = time.perf_counter()
            jobs[job](threads)
            best[job, threads] = min(best[job, threads], time.perf_counter() - began)
    print(f"{name}: {hits:,} hits\n{'job':16s} {'1 thread':>10s} {'2 threads':>10s} {'ratio':>6s}   million hits a second")
    for job in jobs:
        one, two = (hits / best[job, threads] / 1e6 for threads in (1, 2))
        print(f"{job:16s} {one:10.2f} {two:10.2f} {two / one:6.2f}")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "long-lounge")
