"""Pictures of light, furnished rooms block by block against path tracing: walls, contacts, slots, edges.

light_rooms_traced.csv holds one block in nine of each room with its standard error, made once by `brute.py`, which interpolates
nothing (seed 1): python -m benchmarks.traced_blocks 18 FILE slots "near furniture", and 12 for the two other rooms; 24 and seed 2
for "under slopes".
"""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from halfgain.simulate.views.content import load_content
from halfgain.simulate.views.render import PictureSetup, seat_camera, seat_picture, set_the_stage

from tests.views.blocks import Traced, blocks_of, every_ninth, trace_block
from tests.views.light_rooms import LIGHT_ROOMS

MEAN = 0.0012  # largest difference of the mean of all blocks, beside three standard errors of the traced mean


def traced(room: str) -> dict[tuple[int, int], Traced]:
    """The kept blocks of a room by row and column [cd/m2]."""
    with Path(__file__).with_name("light_rooms_traced.csv").open(encoding="utf-8") as file:
        return {
            (int(line["row"]), int(line["column"])): Traced(float(line["luminance_cd_m2"]), float(line["standard_error_cd_m2"]))
            for line in csv.DictReader(file)
            if line["room"] == room
        }


@cache
def stage_of(name: str) -> PictureSetup:
    """A room under the white picture, its light solved once for all tests."""
    return set_the_stage(LIGHT_ROOMS[name](), load_content("white", 16 / 9), threads=2)


def _differences(name: str, *, noise: float = 0.015) -> tuple[np.ndarray, np.ndarray]:
    """Relative differences of a room's blocks and their standard errors, without the border; none beyond 2 % + 3 errors."""
    stage, kept = stage_of(name), traced(name)
    camera = seat_camera(stage.scene, 0)
    assert list(kept) == every_ninth(camera)
    ours = blocks_of(seat_picture(stage, camera, threads=2).cd_m2)
    theirs, error = (np.array(part) for part in zip(*kept.values(), strict=True))
    bright = theirs > 0.02 * np.median(theirs)
    off = np.array([ours[at] for at in kept])[bright] / theirs[bright] - 1.0
    sigma = error[bright] / theirs[bright]
    assert (sigma < noise).all(), "the kept blocks are too noisy to tell"
    beyond = np.abs(off) > 0.02 + 3.0 * sigma
    assert not beyond.any(), [(at, d) for at, d in zip(np.array(list(kept))[bright][beyond], off[beyond], strict=True)]
    return off, sigma


@pytest.mark.parametrize(
    "names",
    [("slots", "near furniture"), pytest.param(("living room", "warm, angular"), marks=pytest.mark.long)],
    ids=" and ".join,
)
def test_every_block_is_within_two_percent_and_their_mean_within_an_eighth(names: tuple[str, str]) -> None:
    # Expected: the kept blocks; each bound widened by three standard errors of the path tracer's own
    off, sigma = (np.concatenate(part) for part in zip(*map(_differences, names), strict=True))
    error = np.sqrt((sigma**2).sum()) / len(off)
    assert MEAN + 3.0 * error < 0.003, "told from a mean of 0.4 %"
    assert abs(off.mean()) < MEAN + 3.0 * error, (off.mean(), error)


@pytest.mark.long
def test_a_wall_between_slopes_is_within_an_eighth_of_a_percent() -> None:
    """Told from 0.4 %: a room of cut faces, whose cells reach past the slopes, is no darker than boxes are."""
    off, sigma = _differences("under slopes", noise=0.03)
    error = np.sqrt((sigma**2).sum()) / len(off)
    assert MEAN + 3.0 * error < 0.004
    assert abs(off.mean()) < MEAN + 3.0 * error, (off.mean(), error)


@pytest.mark.long
@pytest.mark.parametrize("name", list(LIGHT_ROOMS))
def test_kept_blocks_are_those_of_the_rooms(name: str) -> None:
    # Expected: the same blocks traced again with another seed and fewer paths, within four standard errors of both
    stage, kept = stage_of(name), traced(name)
    camera = seat_camera(stage.scene, 0)
    for at in list(kept)[5:144:40]:
        again = trace_block(stage, camera, *at, paths=2, seed=2, threads=2)
        assert abs(again.value - kept[at].value) < 4.0 * np.hypot(again.error, kept[at].error), at
