"""Time of a seat's picture, 960 x 540: set-up, first picture, further pictures, pixels asked; against path tracing by need.

Run: python -m benchmarks.seat_picture [SCENE] [SEAT] [THREADS]. Times of a shared machine: compare within one run only.
"""

from __future__ import annotations

import sys
import time
from statistics import median
from typing import NamedTuple

import numpy as np
from halfgain.scenes.load import load_scene
from halfgain.simulate.views.brute import brute_force
from halfgain.simulate.views.content import load_content
from halfgain.simulate.views.gather import GatherPoints
from halfgain.simulate.views.primary_rays import look
from halfgain.simulate.views.render import seat_camera, seat_picture, set_the_stage, zone_levels


class PictureTimes(NamedTuple):
    """CPU seconds of each round."""

    set_up_s: list[float]
    picture_s: list[float]


def times(name: str, seat: int, *, threads: int, rounds: int = 3) -> PictureTimes:
    """Set-up and picture of a seat, warm, white picture, 960 x 540."""
    scene, content = load_scene(name), load_content("white", 16 / 9)
    camera = seat_camera(scene, seat)
    set_up, drawn = [], []
    for _ in range(rounds + 1):
        began = time.process_time()
        stage = set_the_stage(scene, content, threads=threads)
        set_up.append(time.process_time() - began)
        began = time.process_time()
        seat_picture(stage, camera, threads=threads)
        drawn.append(time.process_time() - began)
    return PictureTimes(set_up[1:], drawn[1:])  # the first compiles


def main() -> None:
    """Print the figures."""
    name = sys.argv[1] if len(sys.argv) > 1 else "long-lounge"
    seat = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    threads = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    scene, content = load_scene(name), load_content("white", 16 / 9)
    found = times(name, seat, threads=threads)
    camera = seat_camera(scene, seat)
    stage = set_the_stage(scene, content, threads=threads)
    began = time.perf_counter()
    picture = seat_picture(stage, camera, threads=threads)
    wall = time.perf_counter() - began
    print(
        f"{name}, seat {seat}, {threads} threads, CPU: set-up {median(found.set_up_s):.2f} s, picture {median(found.picture_s):.2f} s, "
        f"{picture.asked} pixels asked; wall {wall:.2f} s"
    )
    _against_path_tracing(stage, camera, picture, threads, wall)


def _against_path_tracing(stage, camera, picture, threads: int, seconds: float, pixels: int = 60, paths: int = 20_000) -> None:  # type: ignore[no-untyped-def]
    """Difference at random pixels away from edges, and how long path tracing would need for 1 % everywhere."""
    arrays, rng = stage.arrays, np.random.default_rng(1)
    row, column = rng.integers(2, 538, 6 * pixels), rng.integers(2, 958, 6 * pixels)
    near = [
        look(arrays.geometry, arrays.projector, arrays.fabric, camera.eye, camera.rays(column + j, row + i))
        for i in (0, -1, 1)
        for j in (0, -1, 1)
    ]
    hit = near[0]
    lit = arrays.reflectance[arrays.geometry.surface[np.maximum(hit.patch, 0)]].max(axis=1) > 0.02
    same = np.all([other.patch == hit.patch for other in near], axis=0) & (hit.patch >= 0) & lit
    use = np.flatnonzero(same)[:pixels]
    rays = camera.rays(column[use], row[use])
    points = GatherPoints(hit.place[use], hit.normal[use], hit.patch[use], -rays)
    began = time.perf_counter()
    light, error = brute_force(arrays, zone_levels(stage.scene, stage.content), points, paths=paths, threads=threads)
    spent = time.perf_counter() - began
    rho = arrays.reflectance[arrays.geometry.surface[hit.patch[use]]]
    expected = light * rho + (hit.lux[use] / np.pi)[:, None] * rho
    ratio = (picture.cd_m2[row[use], column[use]] / expected - 1.0)[:, 1]
    sigma = (error * rho / expected)[:, 1]
    weights = 1.0 / sigma**2
    bias, its_error = float(np.average(ratio, weights=weights)), float(1.0 / np.sqrt(weights.sum()))
    scatter = float(np.sqrt(max(0.0, (ratio**2).mean() - (sigma**2).mean())))
    whole = spent / len(use) * 960 * 540 * float(np.median(sigma**2)) / 0.01**2
    print(f"walls and furniture: mean difference {100 * bias:+.2f} +- {100 * its_error:.2f} %, scatter {100 * scatter:.2f} %")
    print(
        f"path tracing to 1 % at the middling pixel, all pixels, would take {whole:.0f} s (extrapolated), {whole / seconds:.0f} times as long"
    )


if __name__ == "__main__":
    main()
