"""A process of one source tree that does jobs when it is told to: lines of JSON in and out.

Run by `against`, never by hand: python -m benchmarks.worker
Asked {"make": group} it answers with the names of the group's jobs, or with a fault where this commit cannot do them; asked
{"run": [group, name]} with the CPU seconds of one of them.
"""

from __future__ import annotations

import json
import math
import sys
import time
from typing import Any

from halfgain.simulate.command.one_thread_blas import one_thread_blas

LEAST_S = 0.05  # of CPU that one timing takes: short jobs are done again and again


def answer(asked: dict[str, Any], made: dict[str, Any]) -> dict[str, Any]:
    """What is said to one line; made holds by group and name the jobs and how often each is done at once."""
    if "make" in asked:
        from . import jobs

        group = asked["make"]
        try:
            found = jobs.GROUPS[group]()
            made[group] = {name: (job, _often(job)) for name, job in found.items()}
        except Exception as fault:  # whatever an older commit lacks
            return {"fault": f"{type(fault).__name__}: {fault}".splitlines()[0]}
        return {"jobs": list(found)}
    group, name = asked["run"]
    job, often = made[group][name]
    return {"cpu_s": _cpu_s(job, often)}


def _often(job: Any) -> int:
    """How often a job is done in LEAST_S; the first time, which compiles, is left out."""
    job()
    return max(1, math.ceil(LEAST_S / max(_cpu_s(job, 1), 1e-6)))


def _cpu_s(job: Any, often: int) -> float:
    """CPU seconds of a job, the mean of `often` in a row."""
    began = time.process_time()
    for _ in range(often):
        job()
    return (time.process_time() - began) / often


def main() -> None:
    """Says where its halfgain comes from, then answers until the input ends."""
    one_thread_blas()
    import halfgain

    made: dict[str, Any] = {}
    say, sys.stdout = sys.stdout, sys.stderr  # what jobs print is no answer
    print(json.dumps({"halfgain": halfgain.__file__}), file=say, flush=True)
    for line in sys.stdin:
        print(json.dumps(answer(json.loads(line), made)), file=say, flush=True)


if __name__ == "__main__":
    main()
