"""Answers from one ledger against a fresh trace and against solving radiosity anew, in one process and one thread, as ratios.

Run: python -m benchmarks.repaint [SCENE]   (25 start points, all seats of the scene, the fewest paths that reach 1 %)
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from halfgain.materials.solving.solve import fabric_from_pair
from halfgain.scenes.load import load_scene
from halfgain.scenes.model import Scene
from halfgain.simulate.answers.answers import Answers, quick_figures
from halfgain.simulate.answers.picture_readings import frame_readings, picture_readings, zone_matrix
from halfgain.simulate.answers.pictures import even, window
from halfgain.simulate.answers.polynomial import contrast_polynomial
from halfgain.simulate.answers.slopes import slope_stack
from halfgain.simulate.measuring.estimate import jackknife_error
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.readings import Seats
from halfgain.simulate.measuring.solver import measuring_points, prepare, stacked, traced_sums

ERROR, ROUNDS = 0.01, 7


class Jobs(NamedTuple):
    """Answers to be timed: by name the question and the time it should take at most [ms], and the object they are asked of."""

    jobs: dict[str, tuple[Callable[[], object], float | None]]
    asked: Answers


def fresh(scene: Scene, paths: int) -> object:
    """Figures of a scene with nothing kept from before: map, trace, walk."""
    arrays = flatten(scene)
    points = measuring_points(arrays)
    stack = stacked(traced_sums(prepare(arrays, points), seed=1, low_path=0, paths=paths), paths)
    return quick_figures(Seats(scene, arrays, points, None, stack))  # type: ignore[arg-type]


def enough(scene: Scene) -> int:
    """Fewest paths (a power of 2) a replication and start that bring contrast, white and wash-out of all seats to ERROR."""
    paths = 8
    while True:
        quick = Answers.of(scene, paths=paths).quick()
        figures = (quick.checkerboard, quick.white, quick.washout)
        if max(float((jackknife_error(f) / f[0]).max()) for f in figures) <= ERROR:
            return paths
        paths *= 2


def radiosity_s() -> float:
    """Seconds to solve a bare room of a lounge's size anew by the tests' radiosity, refined to 0.5 %."""
    from tests.outside import radiosity
    from tests.outside.box_room import Room, Screen

    walls = dict.fromkeys(("front", "back", "left", "right", "ceiling", "floor"), 0.5)
    screen = Screen(2.4, 1.35, 0.75, 0.9, gap_m=0.001)
    place = np.concatenate([screen.zone_centres(), screen.nine_points()])
    began = time.perf_counter()
    radiosity.returned_irradiance(Room(4.2, 6.0, 2.5, walls), screen, place, tolerance=0.005)
    return time.perf_counter() - began


def jobs_of(scene: Scene, paths: int) -> Jobs:
    """All that is asked of a ledger of so many paths a replication and start; each time something new."""
    diffuse = Answers.of(scene, paths=paths)
    lobe = fabric_from_pair(name="lobe", gain=1.4, half_gain_deg=32, kind="angular-reflective", albedo=0.85)
    lobed = diffuse.with_fabric(lobe)
    polynomial = contrast_polynomial(lobed)
    zone_matrix(lobed)
    draw = np.random.default_rng(1)
    frames = [even(float(level)) for level in draw.random(2000)]
    paint = iter(draw.uniform(0.02, 0.7, 10_000))
    fabrics = iter(
        fabric_from_pair(name=f"lobe {i}", gain=1.4, half_gain_deg=32 + 0.01 * i, kind="angular-reflective", albedo=0.85)
        for i in range(1, 1000)
    )

    def table() -> np.ndarray:
        found = lobed.reflectance.copy()
        found[4] = next(paint)
        return found[None]

    jobs: dict[str, tuple[Callable[[], object], float | None]] = {
        "fresh trace, same paths": (lambda: fresh(scene, paths), None),
        "repaint, fabric of the scene": (lambda: diffuse.with_finish("ceiling", float(next(paint))).quick(), 10.0),
        "repaint, lobed fabric": (lambda: lobed.with_finish("ceiling", float(next(paint))).quick(), 10.0),
        "repaint, contrast alone (polynomial)": (lambda: polynomial.contrast(table()), 2.0),
        "all slopes (backward pass)": (lambda: slope_stack(lobed), None),
        "new fabric": (lambda: diffuse.with_fabric(next(fabrics)).quick(), 30.0),
        "new picture": (lambda: picture_readings(lobed.with_picture(window(float(0.01 + 0.9 * next(paint))))), 1.0),
        "2,000 frames": (lambda: frame_readings(lobed, frames), 2000.0),
    }
    return Jobs(jobs, diffuse)


def best_s(jobs: Jobs, rounds: int = ROUNDS) -> dict[str, float]:
    """Seconds of every job, the best of `rounds` in turn."""
    best = dict.fromkeys(jobs.jobs, float("inf"))
    for _ in range(rounds):  # in turn, so that a drifting machine hits all alike
        for job, (run, _) in jobs.jobs.items():
            for _ in range(3):  # a conversation asks again and again: the second and third find the processor's caches filled
                began = time.perf_counter()
                run()
                best[job] = min(best[job], time.perf_counter() - began)
    return best


def main(name: str) -> None:
    """Time all answers in turn, and print milliseconds and ratios."""
    scene = load_scene(name)
    jobs = jobs_of(scene, enough(scene))
    best = best_s(jobs)
    solve = radiosity_s()
    reference = best["fresh trace, same paths"]
    kept = jobs.asked.stage.kept
    print(f"{name}: {len(scene.seats)} seats, {kept.paths:,} paths, {kept.bytes_a_path:.0f} bytes a path")
    print(f"{'answer':38s} {'ms':>8s} {'goal':>6s} {'fresh/answer':>13s} {'radiosity/answer':>17s}")
    for job, (_, goal) in jobs.jobs.items():
        seconds = best[job]
        wanted = "" if goal is None else f"{goal:g}"
        print(f"{job:38s} {1e3 * seconds:8.2f} {wanted:>6s} {reference / seconds:13.1f} {solve / seconds:17.1f}")
    print(f"{'radiosity, bare room':38s} {1e3 * solve:8.1f}")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "long-lounge")
