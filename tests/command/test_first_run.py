"""The very first run: a second process compiles walk and tracing, the very kernels that the first one asks for."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import pytest
from halfgain.scenes.load import load_scene
from halfgain.simulate import first_run
from halfgain.simulate.first_run import WALK, compile_walk, compiling_beside
from halfgain.simulate.flatten import flatten
from halfgain.simulate.light import ledger, walk
from halfgain.simulate.solver import measuring_points, prepare, traced_sums
from numba import typeof


@pytest.mark.parametrize("scene", ["black-box", "light-lounge"])
def test_the_second_process_compiles_what_the_true_run_calls(scene: str, monkeypatch: pytest.MonkeyPatch) -> None:
    # Expected: the same numba types of all arguments, which alone decide what is compiled. One scene is grey, flat and plain; the
    # other has colours, folds and spilt light
    seen: dict[str, list[tuple[Any, ...]]] = {"walk_scrambles": [], "draw_lengths": [], "trace_cells": []}
    for module, name in ((walk, "walk_scrambles"), (ledger, "draw_lengths"), (ledger, "trace_cells")):
        kernel, kinds = getattr(module, name), seen[name]

        def watched(*arguments: Any, kernel: Any = kernel, kinds: list[Any] = kinds) -> Any:
            kinds.append(tuple(typeof(a) for a in arguments))
            return kernel(*arguments)

        monkeypatch.setattr(module, name, watched)
    compile_walk(scene)
    arrays = flatten(load_scene(scene))
    traced_sums(prepare(arrays, measuring_points(arrays)), seed=1, low_path=0, paths=1)
    for name, kinds in seen.items():
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


def test_a_second_process_starts_only_where_nothing_is_compiled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    started: list[Other] = []
    monkeypatch.setattr(first_run, "cache_folder", lambda: str(tmp_path))
    monkeypatch.setattr(subprocess, "Popen", lambda *a, **k: started.append(Other(*a, **k)) or started[-1])
    with compiling_beside("black-box", threads=1) as ready:
        ready()
    assert not started, "one thread was asked for"
    with compiling_beside("black-box", threads=2) as ready:
        ready()
        assert started[0].done[-1] == "waited"
    assert started[0].command[-1] == "black-box"
    assert "killed" in started[0].done, "none is left behind"
    (tmp_path / WALK.replace("*", "1")).touch()
    with compiling_beside("black-box", threads=2) as ready:
        ready()
    assert len(started) == 1, "the walk is compiled"


def test_where_no_process_can_start_all_is_compiled_here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError("no room")

    told: list[str] = []
    monkeypatch.setattr(first_run, "cache_folder", lambda: str(tmp_path))
    monkeypatch.setattr(subprocess, "Popen", refuse)
    with compiling_beside("black-box", threads=2, tell=told.append) as ready:
        ready()
    assert told == ["no second process to compile beside this one: no room"]


def test_a_second_process_that_fails_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # A true process: there is no such scene, so it leaves with an error
    told: list[str] = []
    monkeypatch.setattr(first_run, "cache_folder", lambda: str(tmp_path))
    with compiling_beside("no-such-scene", threads=2, tell=told.append) as ready:
        ready()
    assert told == ["the process that compiles beside this one left with status 1; all is compiled here"]
