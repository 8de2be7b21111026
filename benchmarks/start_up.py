"""Cold start, warm start and peak memory of `halfgain measure`, each in a process of its own, as seconds and ratios.

Run: python -m benchmarks.start_up [SCENE]   (cold: an empty folder for compiled kernels; CPU seconds beside wall seconds)
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time

PROGRAM = "import sys; from halfgain.simulate.command.app import main; sys.exit(main())"
ROUNDS = 3


def timed(arguments: list[str], cache: str) -> tuple[float, float, float]:
    """Wall seconds, CPU seconds with those of child processes, and peak memory [MB] of one run.

    cache  folder of the compiled kernels; Python's own compiled files are kept, as on a user's machine
    """
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    began = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, *arguments], env={**environment, "HALFGAIN_CACHE": cache}, stdout=subprocess.DEVNULL
    )
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise RuntimeError(f"halfgain {' '.join(arguments)} left with status {process.returncode}")
    return time.perf_counter() - began, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024.0


def main(scene: str) -> None:
    """Print one line a kind of start; warm ones are the best of ROUNDS."""
    with tempfile.TemporaryDirectory() as cache:
        found = {"first run ever": timed(["measure", scene], cache)}
        for name, arguments in {
            "warm measure": ["measure", scene],
            "warm measure, one thread": ["measure", scene, "--threads", "1"],
            "help": ["--help"],
        }.items():
            found[name] = min(timed(arguments, cache) for _ in range(ROUNDS))
    warm = found["warm measure"][0]
    print(f"{scene}\n{'start':28s} {'wall s':>8s} {'CPU s':>8s} {'peak MB':>8s} {'wall / warm':>12s}")
    for name, (wall, cpu, peak) in found.items():
        print(f"{name:28s} {wall:8.2f} {cpu:8.2f} {peak:8.0f} {wall / warm:12.2f}")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "long-lounge")
