"""What lamps and windows cost: light traced anew with none, one and several, and dim levels from a kept ledger, as ratios.

Run: python -m benchmarks.lamp_cost [PATHS]   CPU seconds of one thread, the best of ROUNDS in turn; the room of tests/lamps/lit_scene.py.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace

from halfgain.scenes.lamps.model import Lamp, Light, Window
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Scene
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.solver import measuring_points, prepare, traced_sums

from tests.lamps.lit_scene import lit

ROUNDS = 5


def of_kinds(scene: Scene, kinds: tuple[str, ...]) -> Scene:
    """The scene with these of its lamps and windows alone, all in one state."""
    lamps = tuple(each for each in scene.lamps if each.name in kinds)
    windows = tuple(each for each in scene.windows if each.name in kinds)
    lights = (
        (Light("on", lamps={each.name: 1.0 for each in lamps}, windows={each.name: 1.0 for each in windows}),) if kinds else ()
    )
    return replace(scene, lamps=lamps, windows=windows, lights=lights)


def copies(scene: Scene, count: int) -> Scene:
    """The scene with so many bulbs at the table lamp's place."""
    one = next(each for each in scene.lamps if each.name == "table lamp")
    lamps: tuple[Lamp, ...] = tuple(replace(one, name=f"bulb {i}") for i in range(count))
    windows: tuple[Window, ...] = ()
    return replace(scene, lamps=lamps, windows=windows, lights=(Light("on", lamps={each.name: 1.0 for each in lamps}),))


def fresh(scene: Scene, paths: int) -> Callable[[], object]:
    """All of a trace: points, map, paths and lamps."""

    def run() -> object:
        arrays = flatten(scene)
        return traced_sums(prepare(arrays, measuring_points(arrays)), seed=1, low_path=0, paths=paths)

    return run


def dimmed(kept: Answers) -> Callable[[], object]:
    """Another level on a kept ledger: the readings of all seats and states."""
    level = iter(0.1 + 0.0001 * i for i in range(10_000))

    def run() -> object:
        lights = tuple(replace(each, lamps=dict.fromkeys(each.lamps, next(level))) for each in kept.scene.lights)
        return kept.with_scene(replace(kept.scene, lights=lights)).readings()

    return run


def main(paths: int) -> None:
    """Time all in turn and print milliseconds and ratios to a trace without lamps."""
    scene = scene_from_text(lit())
    kept = Answers.of(of_kinds(scene, ("table lamp", "spot", "cornice", "garden")), paths=paths)
    jobs: dict[str, Callable[[], object]] = {
        "no lamp": fresh(of_kinds(scene, ()), paths),
        "a bulb": fresh(of_kinds(scene, ("table lamp",)), paths),
        "a downlight": fresh(of_kinds(scene, ("spot",)), paths),
        "a strip": fresh(of_kinds(scene, ("cornice",)), paths),
        "a window": fresh(of_kinds(scene, ("garden",)), paths),
        "all four": fresh(of_kinds(scene, ("table lamp", "spot", "cornice", "garden")), paths),
        "sixteen bulbs": fresh(copies(scene, 16), paths),
        "other dim levels, four lamps, kept ledger": dimmed(kept),
    }
    best = dict.fromkeys(jobs, float("inf"))
    for number in range(ROUNDS + 1):
        for job, run in jobs.items():
            began = time.process_time()
            run()
            if number:  # the first round compiles and fills what is kept
                best[job] = min(best[job], time.process_time() - began)
    print(f"{paths} paths a replication and start, {len(scene.seats)} seats")
    for job, seconds in best.items():
        print(f"{job:44s} {1e3 * seconds:8.1f} ms  {seconds / best['no lamp']:6.2f} of a trace without lamps")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 64)
