"""The very first run: a second process compiles half of the kernels, the very ones that the first one asks for."""

from __future__ import annotations

import atexit
import gc
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from halfgain.materials.kernels import bundles, numbas
from halfgain.materials.kernels.cache import Versions
from halfgain.materials.kernels.kernel import Kernel
from halfgain.scenes.load import load_scene
from halfgain.simulate.command import app, background, lean_numba, lean_scipy
from halfgain.simulate.light import direct, ledger, spill, walk
from halfgain.simulate.light.direct import cloth_points, hidden_shares
from halfgain.simulate.measuring import first_run
from halfgain.simulate.measuring.first_run import compile_trace, compile_walk, compiling_beside
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.solver import measuring_points, prepare, traced_sums
from numba import typeof


@pytest.mark.parametrize("scene", ["black-box", "light-lounge"])
def test_the_second_process_compiles_what_the_true_run_calls(scene: str, monkeypatch: pytest.MonkeyPatch) -> None:
    # Expected: the same numba types of all arguments, which alone decide what is compiled. One scene is grey, flat and plain; the
    # other has colours, folds and spilt light
    assert bundles.Bundle, "numba knows the named tuples from the first call on"
    seen: dict[str, list[tuple[Any, ...]]] = {}
    watching = ((walk, "walk_replications"), (ledger, "draw_lengths"), (ledger, "trace_cells"), (spill, "spill_hits"))
    for module, name in (*watching, (direct, "count_hidden")):
        kernel, kinds = getattr(module, name), seen.setdefault(name, [])

        def watched(*arguments: Any, kernel: Any = kernel, kinds: list[Any] = kinds) -> Any:
            kinds.append(tuple(typeof(a) for a in arguments))
            return kernel(*arguments)

        monkeypatch.setattr(module, name, watched)
    compile_walk(scene)
    compile_trace(scene)
    arrays = flatten(load_scene(scene))
    points = measuring_points(arrays)
    traced_sums(prepare(arrays, points), seed=1, low_path=0, paths=1)
    hidden_shares(
        arrays.geometry,
        cloth_points(arrays.geometry, arrays.projector, points.right, points.up),
        arrays.eyes,
        arrays.projector.heads,
    )
    for name, kinds in seen.items():
        if (name, scene) != ("spill_hits", "black-box"):  # where all light falls on the cloth nothing asks for it
            assert len(kinds) >= 2, name
            assert len(set(kinds)) == 1, name


class Other:
    """Stands for the second process."""

    def __init__(self, command: list[str], **_: object) -> None:
        self.command, self.done = command, [""]
        self.returncode = 0

    def wait(self, seconds: float | None = None) -> None:
        self.done.append("waited")

    def kill(self) -> None:
        self.done.append("killed")


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Folder in which what is compiled can be kept."""
    kernel = first_run.walk_replications
    monkeypatch.setattr(kernel, "kept", Versions(kernel.py_func, tmp_path, "source"))
    return tmp_path


def test_a_second_process_starts_only_where_something_is_compiled(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    started: list[Other] = []
    monkeypatch.setattr(subprocess, "Popen", lambda *a, **k: started.append(Other(*a, **k)) or started[-1])
    with compiling_beside("black-box", threads=1) as ready:
        numbas.tell_of_compiling()
        ready()
    assert not started, "one thread was asked for"
    with compiling_beside("black-box", threads=2) as ready:
        ready()
    assert not started, "all was found"
    new = Kernel(lambda x: x + 1.0, {"error_model": "numpy", "_nrt": False})
    with compiling_beside("black-box", threads=2) as ready:
        assert (new(1.0), len(started)) == (2.0, 1)
        assert (new(2), len(started)) == (3.0, 1), "once"
        ready()
        assert started[0].done[-1] == "waited"
    assert started[0].command[-1] == "black-box"
    assert "killed" in started[0].done, "none is left behind"
    assert (new(np.float32(1.0)), len(started)) == (2.0, 1), "afterwards nobody watches"
    monkeypatch.setattr(first_run.walk_replications, "kept", None)
    with compiling_beside("black-box", threads=2) as ready:
        numbas.tell_of_compiling()
        ready()
    assert len(started) == 1, "without a cache another process is of no use"


def test_where_no_process_can_start_all_is_compiled_here(kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError("no room")

    told: list[str] = []
    monkeypatch.setattr(subprocess, "Popen", refuse)
    with compiling_beside("black-box", threads=2, tell=told.append) as ready:
        numbas.tell_of_compiling()
        ready()
    assert told == ["no second process to compile beside this one: no room"]


def test_a_second_process_that_fails_is_told_with_its_last_line(kept: Path) -> None:
    # A true process: there is no such scene, so it leaves with an error
    told: list[str] = []
    with compiling_beside("no-such-scene", threads=2, tell=told.append) as ready:
        numbas.tell_of_compiling()
        ready()
    (line,) = told
    assert line.startswith("the process that compiles beside this one left with status 1 (")
    assert "no-such-scene" in line
    assert line.endswith("); all is compiled here")
    assert "\n" not in line


def test_only_the_console_command_takes_parts_of_numba_away(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # Expected: whoever calls run() in a process of their own can still use all of numba, as in `np.dot` within a kernel
    called: list[str] = []
    monkeypatch.setattr(lean_numba, "lean_numba", lambda: called.append("lean"))
    monkeypatch.setattr(lean_scipy, "lean_scipy", lambda: None)
    monkeypatch.setattr(gc, "set_threshold", lambda *_: None)
    monkeypatch.setattr(atexit, "register", lambda *_: None)
    monkeypatch.setattr(os, "environ", dict(os.environ))
    monkeypatch.setattr(numbas, "_first", [])
    assert app.run(["schema"]) == 0
    assert background.interruptible(lambda: 1) == 1
    assert called == []
    monkeypatch.setattr(sys, "argv", ["halfgain", "--version"])
    with pytest.raises(SystemExit):
        app.main()
    assert background.interruptible(lambda: list(called)) == [], "what is found on disk does not wait for numba"
    numbas.ready()
    assert called == ["lean"]
    numbas.ready()
    assert called == ["lean"], "once"
