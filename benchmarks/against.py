"""This tree held against another commit: the same jobs in two processes in turn, so that a slower kernel is seen before it lands.

Each pair of processes does every job a few times in turn (this, other, other, this); its medians make one ratio. Several pairs are
started one after another, since where a process's memory lies changes its speed by a few per cent whatever the code.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from itertools import chain
from pathlib import Path
from statistics import median
from typing import Any, NamedTuple

from . import jobs
from .paired import Ratio, ratio_of
from .start_up import timed
from .state import ROOT
from .trees import BenchmarkFault, Tree

STARTS, QUICK_STARTS = 7, 6  # six are the fewest that tell a median's interval with 95 %
TURNS, LONG_S = 2, 0.3  # jobs that take longer have one turn
COLD = 3  # first runs, each some twenty seconds of compiling
LEAST = 0.02  # a difference that counts


class Compared(NamedTuple):
    """CPU times of this tree and the other [s], medians, and their ratio, this over the other; or why there is none."""

    what: str
    this_s: float
    other_s: float
    ratio: Ratio | None
    fault: str = ""

    @property
    def slower(self) -> bool:
        """True where this tree surely takes more than LEAST longer."""
        return self.ratio is not None and self.ratio.low > 1.0 + LEAST and self.ratio.sure >= 0.9

    def __str__(self) -> str:
        if self.ratio is None:
            return f"{self.what:36s} not compared: {self.fault}"
        mark = "  SLOWER" if self.slower else "  faster" if self.ratio.high < 1.0 - LEAST else ""
        return f"{self.what:36s} {_time(self.this_s):>10s} {_time(self.other_s):>10s}  {self.ratio}{mark}"


def _time(seconds: float) -> str:
    return f"{seconds:.2f} s" if seconds >= 1.0 else f"{1e3 * seconds:.2f} ms"


class Worker:
    """A process that does jobs of one tree."""

    def __init__(self, tree: Tree) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "benchmarks.worker"], cwd=ROOT, env=tree.environment(), text=True,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        came_from = Path(self._hear()["halfgain"]).resolve()
        if not came_from.is_relative_to(tree.root.resolve()):
            self.end()
            raise BenchmarkFault(f"{tree.name}: python took halfgain from {came_from.parent}, not from its own tree")

    def ask(self, question: dict[str, Any]) -> dict[str, Any]:
        """The answer to one question; raises BenchmarkFault where the process has ended."""
        assert self._process.stdin is not None
        try:
            self._process.stdin.write(json.dumps(question) + "\n")
            self._process.stdin.flush()
        except OSError:
            pass  # it has ended: the missing answer says so
        return self._hear()

    def _hear(self) -> dict[str, Any]:
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        if not line:
            raise BenchmarkFault(f"a benchmark's process left with status {self._process.wait()}")
        found: dict[str, Any] = json.loads(line)
        return found

    def end(self) -> None:
        """Let it go."""
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                pipe.close()
        self._process.wait()


@contextmanager
def workers_of(this: Tree, other: Tree) -> Iterator[tuple[Worker, Worker]]:
    """A process of either tree."""
    both: list[Worker] = []
    try:
        for tree in (this, other):
            both.append(Worker(tree))
        yield both[0], both[1]
    finally:
        for each in both:
            each.end()


def in_turn(ask_this: Callable[[], float], ask_other: Callable[[], float], turns: int = TURNS) -> tuple[float, float]:
    """Medians of times [s] asked for as this, other, other, this, so that a machine that drifts slows both alike."""
    here: list[float] = []
    there: list[float] = []
    for _ in range(turns):
        here.append(ask_this())
        there.extend((ask_other(), ask_other()))
        here.append(ask_this())
        if here[-1] > LONG_S:
            break
    return median(here), median(there)


def compared_jobs(this: Tree, other: Tree, groups: Sequence[str], starts: int) -> Iterator[Compared]:
    """Ratios of all jobs of some groups; what one of the two commits cannot do is told and left out."""
    for group in groups:
        times: dict[str, list[tuple[float, float]]] = {}
        for _ in range(starts):
            with workers_of(this, other) as (mine, theirs):
                made = [each.ask({"make": group}) for each in (mine, theirs)]
                faults = [
                    f"{tree.name}: {said['fault']}" for tree, said in zip((this, other), made, strict=True) if "fault" in said
                ]
                if faults:
                    yield Compared(group, 0.0, 0.0, None, "; ".join(faults))
                    break
                for name in made[0]["jobs"]:
                    ask = {"run": [group, name]}
                    pair = in_turn(lambda a=ask: mine.ask(a)["cpu_s"], lambda a=ask: theirs.ask(a)["cpu_s"])  # type: ignore[misc]
                    times.setdefault(name, []).append(pair)
        for name, pairs in times.items():
            yield compared(name, pairs)


def compared(what: str, pairs: Sequence[tuple[float, float]]) -> Compared:
    """The ratio of pairs of times, this tree's first [s]."""
    mine, theirs = zip(*pairs, strict=True)
    return Compared(what, median(mine), median(theirs), ratio_of(mine, theirs))


def compared_commands(this: Tree, other: Tree, scene: str, *, quick: bool) -> Iterator[Compared]:
    """Ratios of the command line's CPU time: the first run ever, from an empty folder of kernels, and warm ones."""
    warm = QUICK_STARTS if quick else STARTS
    for what, arguments, rounds, cold in (
        ("first run, empty cache", ["measure", scene], 1 if quick else COLD, True),
        ("warm measure", ["measure", scene], warm, False),
        ("--help", ["--help"], warm, False),
    ):
        pairs = []
        for k in range(rounds if cold else rounds + 1):
            found = {}
            for tree in (this, other) if k % 2 else (other, this):
                with tempfile.TemporaryDirectory() as empty:
                    used = timed(arguments, environment=tree.environment(Path(empty) if cold else None))
                found[tree.name] = used.cpu_s
            pairs.append((found[this.name], found[other.name]))
        yield compared(what, pairs if cold else pairs[1:])  # the first of the warm ones compiles what is not kept yet


def main(
    this: Tree,
    other: Tree,
    *,
    quick: bool = False,
    groups: Sequence[str] = tuple(jobs.GROUPS),
    commands: bool = True,
    scene: str = "light-lounge",
) -> int:
    """Print ratios of all jobs as they come; returns 1 where this tree is surely slower in any, else 0.

    groups  of jobs.GROUPS;  commands  whether the command line is timed too
    """
    print(f"CPU seconds, medians; this tree over {other.name} in turn; SLOWER or faster: surely by more than {100 * LEAST:.0f} %")
    print(f"{'':36s} {'this':>10s} {'other':>10s}  ratio")
    slower = 0
    starts = QUICK_STARTS if quick else STARTS
    for found in chain(
        compared_jobs(this, other, groups, starts), compared_commands(this, other, scene, quick=quick) if commands else ()
    ):
        print(found, flush=True)
        slower += found.slower
    return 1 if slower else 0
