"""Time that mitsuba needs to a given error of the returned light; scene loading and kernel compiling left out."""

import time
from collections.abc import Callable
from typing import Any, NamedTuple

import drjit
import numpy as np
from numpy.typing import NDArray

from . import mitsuba_room
from .box_room import Room, Screen
from .mitsuba_room import Sampler

SAMPLE_COUNTS = (289, 1369, 4489, 18769, 66049, 273529)  # squares of 17, 37, 67, 137, 257, 523
Floats = NDArray[np.float64]


class Trial(NamedTuple):
    """One sample count: samples a point, median wall seconds of a reading, its CPU seconds, relative rms error."""

    spp: int
    seconds: float
    cpu_seconds: float
    error: float


class TimeToError(NamedTuple):
    """Wall and CPU seconds to each target error, and the trials they are interpolated from (log-log).

    On a busy machine the CPU seconds of one thread are the fairer figure.
    """

    seconds: dict[float, float]
    cpu_seconds: dict[float, float]
    trials: tuple[Trial, ...]
    variant: str
    sampler: str
    threads: int


def time_to_error(
    room: Room,
    screen: Screen,
    points: Floats,
    *,
    targets: tuple[float, ...] = (0.01, 0.003),
    variant: str = "scalar_rgb",
    sampler: Sampler = "orthogonal",
    rr_depth: int = 5,
    repeats: int = 16,
    threads: int = 1,
    seed: int = 1,
    load: Callable[..., Any] = mitsuba_room.load,
) -> TimeToError:
    """Seconds of one reading of all points at which its relative rms error reaches each target.

    points    (n, 3) [m] on the screen; error: rms over points and independent repeats, relative to the points' means
    load      makes the scene, as mitsuba_room.load does
    threads   1 pins drjit's pool, which the scalar variants use too, to one thread: CPU seconds show it
    raises    ValueError where the largest of SAMPLE_COUNTS does not reach the smallest target
    """
    trials: list[Trial] = []
    with mitsuba_room.renderer(variant, threads=threads):
        for spp in SAMPLE_COUNTS:
            # one pixel a point: long strata serve mitsuba's samplers best
            scene = load(room, screen, points, spp=spp, sampler=sampler, rr_depth=rr_depth, pixel_samples=spp)
            mitsuba_room.render(scene, seed=seed * 1000 + 999)  # compiles
            trials.append(_trial(scene, spp=spp, repeats=repeats, seed=seed * 1000))
            if trials[-1].error < min(targets) and len(trials) > 1:
                wall, cpu = ({t: _at(trials, t, cost=cost) for t in targets} for cost in ("seconds", "cpu_seconds"))
                return TimeToError(wall, cpu, tuple(trials), variant, sampler, threads)
    raise ValueError(f"{SAMPLE_COUNTS[-1]} samples a point left an error of {trials[-1].error:.3g}")


def _trial(scene: object, *, spp: int, repeats: int, seed: int) -> Trial:
    readings, walls, cpus = [], [], []
    for k in range(repeats):
        drjit.sync_thread()
        wall, cpu = time.perf_counter(), time.process_time()
        readings.append(mitsuba_room.render(scene, seed=seed + k)[:, 0])
        walls.append(time.perf_counter() - wall)
        cpus.append(time.process_time() - cpu)
    values = np.array(readings)
    error = float(np.sqrt(np.mean(values.var(axis=0, ddof=1) / values.mean(axis=0) ** 2)))
    return Trial(spp, float(np.median(walls)), float(np.median(cpus)), error)


def _at(trials: list[Trial], target: float, *, cost: str) -> float:
    """Log-log interpolation of the cost between the trials around the target, or along the nearest two."""
    later = next((i for i, trial in enumerate(trials) if trial.error < target), len(trials) - 1)
    a, b = trials[max(later, 1) - 1], trials[max(later, 1)]
    first, second = getattr(a, cost), getattr(b, cost)
    slope = np.log(second / first) / np.log(b.error / a.error)
    return float(first * (target / a.error) ** slope)
