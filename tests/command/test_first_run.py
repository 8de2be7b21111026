"""The very first run: a second process compiles the walk, and it is the very kernel that the first one asks for."""

from __future__ import annotations

from typing import Any

import pytest
from halfgain.scenes.load import load_scene
from halfgain.simulate.first_run import compile_walk
from halfgain.simulate.flatten import flatten
from halfgain.simulate.light import walk as module
from halfgain.simulate.solver import measuring_points, prepare, traced_sums
from numba import typeof


@pytest.mark.parametrize("scene", ["black-box", "light-lounge"])
def test_the_second_process_compiles_the_walk_that_the_true_run_calls(scene: str, monkeypatch: pytest.MonkeyPatch) -> None:
    # Expected: the same numba types of all arguments, which alone decide what is compiled. One scene is grey, flat and plain; the
    # other has colours, folds and spilt light
    seen: list[tuple[Any, ...]] = []
    monkeypatch.setattr(module, "walk_scrambles", lambda *arguments: seen.append(tuple(typeof(a) for a in arguments)))
    compile_walk(scene)
    arrays = flatten(load_scene(scene))
    traced_sums(prepare(arrays, measuring_points(arrays)), seed=1, low_path=0, paths=1)
    assert seen[0] == seen[1]
