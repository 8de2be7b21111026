"""Cold start, warm start and peak memory of `halfgain measure`, each in a process of its own, as seconds and ratios.

Run: python -m benchmarks.start_up [SCENE]   (cold: an empty folder for compiled kernels; CPU seconds beside wall seconds)
     python -m benchmarks.start_up SCENE WHEEL   (a wheel with machine code: first answers with it and without it, in turn)
CPU seconds and peak memory are those of the process and of all that it waited for.
"""

from __future__ import annotations

import compileall
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from statistics import median
from typing import NamedTuple

PROGRAM = "import sys; from halfgain.simulate.command.app import main; sys.exit(main())"
# Run by a small process in between: a child's peak memory counts what its parent held when it was started
WATCH = """
import json, os, subprocess, sys, time
began = time.perf_counter()
process = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
_, status, used = os.wait4(process.pid, 0)
spent = time.perf_counter() - began
print(json.dumps([os.waitstatus_to_exitcode(status), spent, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024.0]))
"""
ROUNDS = 5
WITH_CODE = "first run, machine code"


class Used(NamedTuple):
    """What a process took: wall and CPU seconds, and the most memory that it or one of its children held [MiB]."""

    wall_s: float
    cpu_s: float
    peak_mib: float


def timed(
    arguments: Sequence[str], *, cache: str = "", python: str = sys.executable, environment: Mapping[str, str] = os.environ
) -> Used:
    """What one run of the command line takes, by the very entry point that users start.

    cache   folder of the compiled kernels, "": the user's own; Python's compiled files are kept, as on a user's machine
    python  interpreter that has the release which is asked
    raises  RuntimeError where the command fails
    """
    mine = {name: value for name, value in environment.items() if name != "PYTHONDONTWRITEBYTECODE"}
    mine |= {"HALFGAIN_CACHE": cache} if cache else {}
    command = [sys.executable, "-S", "-c", WATCH, python, "-c", PROGRAM, *arguments]
    done = subprocess.run(command, env=mine, stdout=subprocess.PIPE, check=True)
    status, *used = json.loads(done.stdout)
    if status:
        raise RuntimeError(f"halfgain {' '.join(arguments)} left with status {status}")
    return Used(*used)


def starts(scene: str, rounds: int = ROUNDS) -> dict[str, list[Used]]:
    """The first run ever, then `rounds` warm ones of each kind in turn, each in a process of its own."""
    kinds = {
        "warm measure": ["measure", scene],
        "warm measure, one thread": ["measure", scene, "--threads", "1"],
        "--help": ["--help"],
    }
    runs: dict[str, list[Used]] = {name: [] for name in kinds}
    with tempfile.TemporaryDirectory() as cache:
        first = timed(["measure", scene], cache=cache)
        for _ in range(rounds):
            for name, arguments in kinds.items():
                runs[name].append(timed(arguments, cache=cache))
    return {"first run ever": [first], **runs}


def first_answers(scene: str, wheel: str, rounds: int = 3) -> dict[str, list[Used]]:
    """First runs from a wheel as it is, and as it is without its machine code, each with an empty folder for compiled kernels."""
    runs: dict[str, list[Used]] = {WITH_CODE: [], "first run, without": []}
    with tempfile.TemporaryDirectory() as folder:
        sites = [Path(folder, "with"), Path(folder, "without")]
        for site in sites:
            shutil.unpack_archive(wheel, site, "zip")
        shutil.rmtree(sites[1] / "halfgain" / "materials" / "kernels" / "machine_code")
        for site in sites:
            compileall.compile_dir(site, quiet=1)  # as pip does when it installs
        for number in range(rounds):
            for name, site in zip(runs, sites, strict=True):
                place = {**os.environ, "PYTHONPATH": str(site)}
                runs[name].append(timed(["measure", scene], cache=str(Path(folder, f"{site.name}-{number}")), environment=place))
    return runs


def main(scene: str, wheel: str = "") -> None:
    """Print one line a kind of start, medians."""
    runs = first_answers(scene, wheel) if wheel else starts(scene)
    found = {name: Used(*(median(each) for each in zip(*some, strict=True))) for name, some in runs.items()}
    one, one_told = (found[WITH_CODE], "with") if wheel else (found["warm measure"], "warm")
    print(
        f"{scene}\n{'start':28s} {'wall s':>8s} {'CPU s':>8s} {'peak MiB':>8s} {'wall / ' + one_told:>12s} {'CPU / ' + one_told:>12s}"
    )
    for name, (wall, cpu, peak) in found.items():
        print(f"{name:28s} {wall:8.2f} {cpu:8.2f} {peak:8.0f} {wall / one.wall_s:12.2f} {cpu / one.cpu_s:12.2f}")


if __name__ == "__main__":
    main(*(sys.argv[1:] or ["long-lounge"]))
