"""The very first run: a second process compiles the walk, and the first one finds it compiled."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

TRUE_RUN = """
from halfgain.scenes.load import load_scene
from halfgain.simulate.flatten import flatten
from halfgain.simulate.light.walk import walk_scrambles
from halfgain.simulate.solver import measuring_points, prepare, traced_sums
arrays = flatten(load_scene("{scene}"))
traced_sums(prepare(arrays, measuring_points(arrays)), seed=1, low_path=0, paths=1)
stats = walk_scrambles.stats
print(sum(stats.cache_hits.values()), sum(stats.cache_misses.values()))
"""


@pytest.mark.long
@pytest.mark.parametrize("scene", ["light-lounge"])
def test_the_true_run_finds_the_walk_that_the_second_process_compiled(scene: str, tmp_path: object) -> None:
    # Expected: one kernel found, none compiled; numba counts both
    environment = {**os.environ, "HALFGAIN_CACHE": str(tmp_path)}
    subprocess.run([sys.executable, "-m", "halfgain.simulate.first_run", scene], env=environment, check=True, timeout=600)
    done = subprocess.run(
        [sys.executable, "-c", TRUE_RUN.format(scene=scene)], env=environment, check=True, timeout=600, capture_output=True, text=True
    )
    assert done.stdout.split() == ["1", "0"]
