"""Seat pictures against path tracing by blocks of 24 x 24 pixels: mean and worst block of a whole view, 960 x 540.

Run: python -m benchmarks.picture_blocks [SCENE ...]. Two rounds: all blocks with few paths; then the worst, and as many drawn
evenly, with many. The second round alone is told, so that the worst is not merely the noisiest.
"""

from __future__ import annotations

import sys
from typing import NamedTuple

import numpy as np
from halfgain.scenes.load import load_scene
from halfgain.simulate.light.geometry import SCREEN
from halfgain.simulate.views.brute import brute_force
from halfgain.simulate.views.content import load_content
from halfgain.simulate.views.gather import Points
from halfgain.simulate.views.look import look
from halfgain.simulate.views.render import SeatPicture, Stage, seat_camera, seat_picture, set_the_stage, zone_levels

BLOCK, ACROSS = 24, 4
SCENES = ("long-lounge", "light-lounge", "published-figures")


class Blocks(NamedTuple):
    """Relative differences of blocks (B,), their standard errors (B,), and row and column of each (B, 2)."""

    difference: np.ndarray
    error: np.ndarray
    at: np.ndarray


def sample_pixels(at: np.ndarray, across: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Row, column and block number of across x across pixels spread over each block of `at` (B, 2)."""
    step = (np.arange(across) + 0.5) * BLOCK / across
    i, j = (x.ravel().astype(int) for x in np.meshgrid(step, step, indexing="ij"))
    rows, columns = BLOCK * at[:, :1] + i, BLOCK * at[:, 1:] + j
    return rows.ravel(), columns.ravel(), np.repeat(np.arange(len(at)), len(i))


def same_surface(stage: Stage, picture: SeatPicture, row: np.ndarray, column: np.ndarray) -> np.ndarray:
    """True for pixels (n,) whose eight neighbours lie on the same patch: others are means over an edge."""
    arrays, camera = stage.arrays, picture.camera
    found = [
        look(arrays.geometry, arrays.projector, arrays.fabric, camera.eye, camera.rays(column + j, row + i)).patch
        for i in (-1, 0, 1)
        for j in (-1, 0, 1)
    ]
    return np.ptp(np.array(found), axis=0) == 0


def compare(stage: Stage, picture: SeatPicture, at: np.ndarray, *, paths: int, seed: int, across: int = ACROSS) -> Blocks:
    """Mean luminance of blocks `at` (B, 2) against path tracing at the same pixels, `paths` paths a pixel; green channel.

    Pixels beside an edge or black are left out, and blocks of fewer than a quarter of their pixels.
    """
    arrays, camera = stage.arrays, picture.camera
    row, column, block = sample_pixels(at, across)
    rays = camera.rays(column, row)
    hit = look(arrays.geometry, arrays.projector, arrays.fabric, camera.eye, rays)
    patch = np.maximum(hit.patch, 0)
    cloth = arrays.geometry.role[patch] == SCREEN
    rho = np.where(cloth, arrays.fabric.tint[1], arrays.reflectance[arrays.geometry.surface[patch], 1])
    use = np.flatnonzero((hit.patch >= 0) & (rho > 0.0) & same_surface(stage, picture, row, column))
    points = Points(hit.place[use], hit.normal[use], hit.patch[use], -rays[use])
    light, error = brute_force(arrays, zone_levels(stage.scene, stage.content), points, paths=paths, seed=seed)
    factor = np.where(cloth[use], 1.0, rho[use])
    own = (hit.gain * hit.lux / np.pi)[use] * rho[use]
    count = len(at)
    theirs = np.bincount(block[use], light[:, 1] * factor + own, count)
    ours = np.bincount(block[use], picture.cd_m2[row[use], column[use], 1], count)
    noise = np.sqrt(np.bincount(block[use], (error[:, 1] * factor) ** 2, count))
    good = np.flatnonzero(np.bincount(block[use], minlength=count) * 4 >= across * across)
    return Blocks(ours[good] / theirs[good] - 1.0, noise[good] / theirs[good], at[good])


def judge(stage: Stage, picture: SeatPicture, *, paths: int = 200, worst: int = 12) -> tuple[Blocks, Blocks]:
    """The worst blocks of a picture and as many drawn evenly, each traced again with 150 times the paths a pixel."""
    rows, columns = (n // BLOCK for n in picture.luminance.shape)
    at = np.stack([a.ravel() for a in np.indices((rows, columns))], axis=1)
    first = compare(stage, picture, at, paths=paths, seed=1)
    suspect = np.argsort(np.abs(first.difference) - 1.5 * first.error)[-worst:]
    drawn = np.random.default_rng(1).choice(len(first.at), worst, replace=False)
    again = [compare(stage, picture, first.at[some], paths=150 * paths, seed=2, across=2) for some in (suspect, drawn)]
    return again[0], again[1]


def main() -> None:
    """Print mean and worst block of each scene."""
    for name in sys.argv[1:] or SCENES:
        scene = load_scene(name)
        stage = set_the_stage(scene, load_content("white", 16 / 9))
        for seat in (0, len(scene.seats) - 1):
            picture = seat_picture(stage, seat_camera(scene, seat))
            suspect, drawn = judge(stage, picture)
            k = int(np.argmax(np.abs(suspect.difference)))
            mean, scatter = drawn.difference.mean(), np.abs(drawn.difference).mean()
            print(
                f"{name}, {scene.seats[seat].name}: mean difference {100 * mean:+.2f} %, mean size {100 * scatter:.2f} %"
                f" (noise {100 * drawn.error.mean():.2f} %); worst block {100 * suspect.difference[k]:+.1f}"
                f" +- {100 * suspect.error[k]:.1f} % at row {BLOCK * suspect.at[k][0]}, column {BLOCK * suspect.at[k][1]}",
                flush=True,
            )


if __name__ == "__main__":
    main()
