"""The very first run compiles for most of its time: a second process compiles the walk and what is read of light while the first does the rest.

numba compiles under one lock a process, so threads do not help. Both processes write into the same folder of kernels;
whoever comes first to a kernel stores it, and what is stored is the same. If the second process fails, the first compiles all, and
says so in one line: it is a fault of ours or of the machine that only costs time.

Run: python -m halfgain.simulate.measuring.first_run SCENE
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import BinaryIO

import numpy as np

from ...materials.kernels.jit import can_be_kept
from ...materials.kernels.numbas import when_compiling
from ...scenes.load import load_scene
from ..folds.readings import fold_readings
from ..light.direct import hidden_shares
from ..light.ledger import Ledger, Starts, trace
from ..light.mapgrid import make_grid
from ..light.screen_samples import blank_samples
from ..light.spill import spilt_light
from ..light.walk import Lighting, walk
from ..light.walk_cells import walk_replications
from .flatten import flatten
from .solver import colour_channels, measuring_points, traced_pictures

LONGEST_WAIT_S = 120.0
_TOLD_BYTES = 4096  # of what the second process says


@contextmanager
def compiling_beside(scene: str, *, threads: int, tell: Callable[[str], None] = lambda _: None) -> Iterator[Callable[[], None]]:
    """Starts the second process where this one begins to compile; gives a function that waits for it.

    scene    as the command got it
    threads  that may be used: with one, nothing is started
    tell     hears in words when the second process was of no use; the run goes on without it
    """
    if threads < 2 or not sys.executable:
        yield lambda: None
        return
    other = _Other([sys.executable, "-m", "halfgain.simulate.measuring.first_run", scene], tell)
    try:
        with when_compiling(other.start):
            yield other.wait
    finally:
        other.end()


class _Other:
    """The second process."""

    def __init__(self, command: list[str], tell: Callable[[str], None]) -> None:
        self._command, self._tell = command, tell
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        if not can_be_kept(walk_replications):
            return
        try:
            self._said = tempfile.TemporaryFile()  # noqa: SIM115
            self._process = subprocess.Popen(
                self._command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=self._said
            )
        except OSError as fault:
            self._tell(f"no second process to compile beside this one: {fault}")

    def wait(self) -> None:
        """Compile what is left for this process, then wait until the other has compiled its share, if it was started."""
        if self._process is None:
            return
        with suppress(Exception):  # what is wrong with the scene the run itself will tell
            compile_trace(self._command[-1])
        try:
            self._process.wait(LONGEST_WAIT_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        if self._process.returncode:
            left = f"left with status {self._process.returncode}{_last(self._said)}"
            self._tell(f"the process that compiles beside this one {left}; all is compiled here")

    def end(self) -> None:
        """Leave nothing of it behind."""
        if self._process is not None:
            self._process.kill()  # no effect on one that has ended
            self._process.wait()
            self._said.close()


def _last(said: BinaryIO) -> str:
    """The last line of what a process said, in brackets."""
    said.seek(max(0, said.seek(0, os.SEEK_END) - _TOLD_BYTES))
    lines = said.read().decode(errors="replace").split("\n")
    last = next((line.strip() for line in reversed(lines) if line.strip()), "")
    return f" ({last})" if last else ""


def compile_walk(scene: str) -> None:
    """Compile for a scene the walk, which takes longest, and what comes after the paths: one path that meets nothing.

    The kernels see arrays of the kinds that the true run has.

    Source: types alone decide what numba compiles; a test holds that the true run finds the very kernels.
    """
    loaded = load_scene(scene)
    arrays = flatten(loaded)
    geometry, seats = arrays.geometry, len(arrays.eyes)
    grid = make_grid(geometry, arrays.projector, cells=4, shell=True)
    lighting = Lighting(
        node_lx=np.zeros((len(grid.place), 2)), zone=traced_pictures(), beam=arrays.projector if geometry.relief else ()
    )
    ledger = Ledger(
        paths=np.array([1]),
        survival=np.array([0.6]),
        first=np.zeros(1, np.int64),
        hits=np.zeros(1, np.uint8),
        patch=np.zeros(0, np.int32),
        u=np.zeros(0, np.uint16),
        v=np.zeros(0, np.uint16),
    )
    walk(
        geometry,
        _one_start(),
        np.zeros((1, seats, 3)),
        grid,
        lighting,
        colour_channels(arrays),
        arrays.fabric,
        ledger,
        (np.zeros(0, np.float32), np.zeros(0, np.uint8)),
    )
    spilt_light(geometry, arrays.projector, ledger)
    points = measuring_points(arrays)
    hidden_shares(geometry, points.cloth, arrays.eyes, arrays.projector.heads)
    fold_readings(loaded, points.ambient.shape[1] * [1.0])


def compile_trace(scene: str) -> None:
    """Compile the tracing of paths for a scene, as `compile_walk` does the walk."""
    trace(flatten(load_scene(scene)).geometry, _one_start(), seed=0, replications=1, low_path=0, paths=1, survival=0.5)


def _one_start() -> Starts:
    """A place without directions, so that paths from it meet nothing."""
    none = np.zeros(0, np.int64)
    start = blank_samples(1, first=none, side=none, zone_place=np.zeros((0, 3)), zone_size=np.zeros(1))
    return Starts(start.place, start.right, start.up, start.normal, start.patch)


if __name__ == "__main__":
    compile_walk(sys.argv[1])
