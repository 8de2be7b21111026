"""Time to a given error of the room's light on nine points of the screen: halfgain against a general-purpose renderer.

    python -m benchmarks.speed

One thread each, CPU seconds, same process, in turn; compiling and scene loading left out on both sides. Halfgain's time
holds the map of the lit screen, the trace and the walk. A specialised tracer for a lit screen in a box room is held against a
general renderer: read the ratios as that.
"""

from __future__ import annotations

import time

import numpy as np
from halfgain.simulate.measuring.flatten import SceneArrays, flatten
from halfgain.simulate.measuring.solver import MeasuringPoints, measuring_points, prepare, traced_sums

from tests.outside import mitsuba_room, mitsuba_speed
from tests.outside.box_room import Room, Screen, Solid
from tests.rooms import box_object, room

WALLS = {"front": 0.5, "back": 0.5, "left": 0.5, "right": 0.5, "ceiling": 0.7, "floor": 0.2}
BOXES = (
    Solid((-1.0, -4.1, 0.0), (1.0, -3.2, 0.85), 0.3),
    Solid((1.2, -1.6, 0.0), (1.5, -1.2, 2.2), 0.6),
    Solid((-1.9, -2.6, 0.0), (-1.5, -1.4, 0.5), 0.4),
    Solid((-1.9, -5.9, 0.0), (-1.0, -5.4, 2.0), 0.5),
    Solid((-0.5, -2.4, 0.0), (0.5, -1.9, 0.4), 0.2),
    Solid((1.4, -5.8, 0.0), (1.9, -5.0, 0.9), 0.1),
)
TARGETS = (0.01, 0.003)


def ours(boxes: tuple[Solid, ...], repeats: int = 16) -> dict[float, float]:
    """CPU seconds, map included, at which the rms error over nine points and repeats meets each target."""
    objects = "".join(
        box_object(f"box {i}", [b.low_m[0], -b.high_m[1], b.low_m[2]], [b.high_m[0], -b.low_m[1], b.high_m[2]], b.reflectance)
        for i, b in enumerate(boxes)
    )
    return ours_of(
        flatten(room(objects=objects, gap=0.1, seats='[[seat]]\nname = "a"\neye_m = [0.9, 3.1, 1.2]', **WALLS)), repeats
    )


def ours_of(arrays: SceneArrays, repeats: int = 16) -> dict[float, float]:
    """As `ours`, for a scene's arrays."""
    points = nine(measuring_points(arrays))
    truth = prepare(arrays, points, cells=48)
    exact = returned(traced_sums(truth, seed=77, low_path=0, paths=4096, replications=16), 4096)
    trials: list[tuple[int, float, float]] = []
    for paths in (64, 128, 256, 512, 1024, 2048, 4096, 8192, 16384):
        errors, seconds = [], []
        cells = 16 if paths < 1024 else 24 if paths < 4096 else 36
        for repeat in range(repeats):
            began = time.process_time()
            fresh = prepare(arrays, points, cells=cells)
            sums = traced_sums(fresh, seed=100 + repeat, low_path=0, paths=paths, replications=1)
            seconds.append(time.process_time() - began)
            errors.append(returned(sums, paths) / exact - 1)
        trials.append((paths, float(np.median(seconds)), float(np.sqrt(np.mean(np.square(errors))))))
        print(
            f"  {paths:5d} paths a point, {cells} map cells: error {trials[-1][2]:.4f}, {trials[-1][1] * 1e3:.2f} ms of CPU",
            flush=True,
        )
        if trials[-1][2] <= min(TARGETS):
            break
    return {target: at(trials, target) for target in TARGETS}


def at(trials: list[tuple[int, float, float]], target: float) -> float:
    """CPU seconds at the target error, log-log between the trials on either side of it."""
    later = next(i for i, trial in enumerate(trials) if trial[2] <= target)
    (_, s0, e0), (_, s1, e1) = trials[max(later, 1) - 1], trials[max(later, 1)]
    return float(s0 * (target / e0) ** (np.log(s1 / s0) / np.log(e1 / e0)))


def nine(points: MeasuringPoints) -> MeasuringPoints:
    """The nine ISO points only, of the 25."""
    cloth = points.cloth._replace(
        **{name: getattr(points.cloth, name)[16:] for name in ("place", "right", "up", "normal", "patch")}
    )
    rest = {name: getattr(points, name)[16:] for name in ("right", "up", "seats", "gain", "direct_lx", "ambient")}
    return points._replace(cloth=cloth, **rest)


def returned(sums: np.ndarray, paths: int) -> np.ndarray:
    """Returned luminance at the nine points for a white picture."""
    return sums[:, :, 0, :, 0, 0].sum(axis=2).mean(axis=0) / paths


def main() -> None:
    variants = ["scalar_rgb"] + (["llvm_ad_mono"] if mitsuba_room.find_llvm() else [])
    for title, boxes in (("empty room", ()), ("furnished room", BOXES)):
        print(title)
        mine = ours(boxes)
        screen = Screen(2.4, 1.35, 0.7, 0.9, radiance=1 / np.pi, gap_m=0.1)
        for variant in variants:
            theirs = mitsuba_speed.time_to_error(
                Room(4.0, 6.0, 2.7, WALLS, boxes), screen, screen.nine_points(), targets=TARGETS, variant=variant, threads=1
            )
            for target in TARGETS:
                ratio = theirs.cpu_seconds[target] / mine[target]
                print(
                    f"  {target:.1%}: {variant} {theirs.cpu_seconds[target] * 1e3:.1f} ms, halfgain {mine[target] * 1e3:.2f} ms: {ratio:.1f} times"
                )


if __name__ == "__main__":
    main()
