"""Seat pictures against path tracing by blocks of 20 x 20 pixels of a whole view, 960 x 540: share beyond 2 % + 3 errors, mean.

Run: python -m benchmarks.picture_blocks [--paths N] [ROOM ...]; rooms of tests/views/light_rooms.py or scene names. Every block
is traced, edges included, from places drawn in 80 x 80 parts, N paths from each, 12 by default.
"""

from __future__ import annotations

import sys

import numpy as np
from halfgain.scenes.load import load_scene
from halfgain.simulate.views.content import load_content
from halfgain.simulate.views.render import seat_camera, seat_picture, set_the_stage

from tests.views.blocks import BLOCK, blocks_of, trace_block
from tests.views.light_rooms import LIGHT_ROOMS


def main() -> None:
    """Print share, mean and the worst blocks of each room."""
    names, paths = sys.argv[1:], 12
    if names[:1] == ["--paths"]:
        names, paths = names[2:], int(names[1])
    for name in names or list(LIGHT_ROOMS):
        scene = LIGHT_ROOMS[name]() if name in LIGHT_ROOMS else load_scene(name)
        stage = set_the_stage(scene, load_content("white", 16 / 9))
        camera = seat_camera(scene, 0)
        ours = blocks_of(seat_picture(stage, camera).cd_m2)
        traced = [trace_block(stage, camera, i, j, paths=paths) for i in range(ours.shape[0]) for j in range(ours.shape[1])]
        theirs, error = (np.array(part).reshape(ours.shape) for part in zip(*traced, strict=True))
        bright = theirs > 0.02 * np.median(theirs)
        off, sigma = (ours / theirs - 1.0)[bright], (error / theirs)[bright]
        beyond = np.abs(off) > 0.02 + 3.0 * sigma
        mean, its_error = 100 * off.mean(), 100 * np.sqrt((sigma**2).sum()) / len(off)
        print(f"{name}: {beyond.sum()} of {len(off)} blocks beyond 2 % + 3 standard errors ({100 * beyond.mean():.2f} %),")
        print(f"    mean difference {mean:+.2f} +- {its_error:.2f} %, standard error of a block {100 * np.median(sigma):.2f} %")
        at = np.argwhere(bright)
        for k in np.argsort(3.0 * sigma - np.abs(off))[:4]:
            print(
                f"    row {BLOCK * at[k][0]}, column {BLOCK * at[k][1]}: {100 * off[k]:+.1f} +- {100 * sigma[k]:.1f} %",
                flush=True,
            )


if __name__ == "__main__":
    main()
