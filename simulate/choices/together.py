"""Several scenes measured on the same light paths, so that their differences are far surer than the values themselves."""

from __future__ import annotations

import hashlib
import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any

import numpy as np

from ...scenes.model import Scene
from ..light.progress import Progress, light_paths
from ..measuring.estimate import REPLICATIONS
from ..measuring.field import Field, picture_field
from ..measuring.flatten import flatten
from ..measuring.measure import Measurement, assembled
from ..measuring.readings import SeatReading, Seats, precise_enough, worst_error
from ..measuring.solver import (
    FIRST_PATHS,
    MOST_PATHS,
    MeasuringPoints,
    Prepared,
    colour_channels,
    map_cells,
    measuring_points,
    prepare,
    stacked,
    survival_for,
    traced_sums,
)


@dataclass(frozen=True)
class Paired:
    """A measurement with the replicates it was read from: `seats` holds (R + 2, 25, T, surfaces, 2, C) of returned light [cd/m2].

    error_reached  the worst relative standard error [1];  met  whether it is as small as was asked
    read           reads all of the measurement, which takes longer than what is judged of it
    """

    seats: Seats
    error_reached: float
    met: bool
    read: Callable[[], Measurement]

    @cached_property
    def measurement(self) -> Measurement:
        """All that is read of the replicates, made when it is first asked for."""
        return self.read()


@dataclass
class _Work:
    """One scene on its way: what needs no tracing, and the sums so far."""

    scene: Scene
    points: MeasuringPoints
    field: Field
    prepared: Prepared
    sums: np.ndarray | None = None
    readings: list[SeatReading] | None = None
    seats: Seats | None = None

    def add(self, *, seed: int, done: int, paths: int, threads: int) -> None:
        """Trace paths done .. done + paths - 1 and read the seats anew, as far as it is judged whether they are enough."""
        new = traced_sums(self.prepared, seed=seed, low_path=done, paths=paths, threads=threads)
        self.sums = new if self.sums is None else self.sums + new
        self.seats = Seats(self.scene, self.prepared.arrays, self.points, self.field, stacked(self.sums, done + paths))
        self.readings = [self.seats.reading(i, judged_only=True) for i in range(len(self.scene.seats))]


def measure_together(
    scenes: Sequence[Scene],
    *,
    seed: int = 1,
    error: float = 0.01,
    threads: int = 1,
    most_paths: int = MOST_PATHS,
    progress: Progress | None = None,
    judge_folds: Sequence[bool] | None = None,
) -> list[Paired]:
    """Measurements of several scenes with the same random numbers, the same survival and the same number of paths.

    Paths are doubled until every scene meets the error asked, then once more. A difference of two scenes is a function of
    both replicate stacks, replication by replication; what the paths have in common then cancels.
    error    asked relative standard error of each scene [1], 0 < error < 1
    most_paths  cap on the paths a replication and start
    judge_folds  for each scene, whether its folds are read, the most costly part; None: all
    progress  called after each round with a Step: all paths so far and the worst error reached [1]
    raises   FloatingPointError when a sum is not finite (a fault of ours)
    Source: common random numbers (Glasserman and Yao 1992, Management Science 38(6)); stopping as in solver.py.
    """
    began = time.perf_counter()
    works = list(_prepared(scenes, error, threads))
    done, paths, passed = 0, FIRST_PATHS, False
    while True:
        for work in works:
            work.add(seed=seed, done=done, paths=paths, threads=threads)
        done += paths
        reached = max(worst_error(reading, error) for work in works for reading in work.readings or [])
        if progress is not None:
            progress(light_paths(done * REPLICATIONS * len(works[0].points.right) * len(works), reached))
        last, passed = passed, passed or all(precise_enough(work.readings or [], error) for work in works)
        if last or 2 * done > most_paths:
            break
        paths = done
    asked = [True] * len(works) if judge_folds is None else judge_folds
    spent = time.perf_counter() - began
    return [_paired(work, done, seed, error, spent, threads, judge) for work, judge in zip(works, asked, strict=True)]


def _paired(work: _Work, done: int, seed: int, error: float, spent_s: float, threads: int, judge_folds: bool) -> Paired:
    if work.seats is None or work.readings is None:
        raise AssertionError("no path was traced")
    reached = max((worst_error(reading, error) for reading in work.readings), default=math.inf)
    more: dict[str, Any] = {
        "paths": done * REPLICATIONS * len(work.points.right),
        "seed": seed,
        "error_asked": error,
        "error_reached": reached,
        "threads": threads,
        "judge_folds": judge_folds,
    }
    return Paired(work.seats, reached, reached <= error, partial(_measured, work.seats, spent_s, more))


def _measured(seats: Seats, spent_s: float, more: dict[str, Any]) -> Measurement:
    """The measurement of replicates that took `spent_s` [s]; its clock goes on from there. Source: `assembled`."""
    began = time.perf_counter() - spent_s
    return assembled(seats, readings=[seats.reading(i) for i in range(len(seats.scene.seats))], began_s=began, **more)


def _prepared(scenes: Sequence[Scene], error: float, threads: int) -> Iterator[_Work]:
    """Each scene with its map; scenes that differ in finishes, contrasts or light states alone share one map."""
    flat = [flatten(scene) for scene in scenes]
    survival = max(survival_for(arrays.reflectance) for arrays in flat)  # one for all: else paths differ in length
    maps: dict[str, tuple[MeasuringPoints, Field, Prepared]] = {}
    for scene, arrays in zip(scenes, flat, strict=True):
        key = fingerprint(arrays._replace(reflectance=np.zeros(0)))
        if key not in maps:
            points = measuring_points(arrays)
            prepared = prepare(arrays, points, threads=threads, cells=map_cells(error))
            maps[key] = points, picture_field(arrays, points), prepared
        points, field, prepared = maps[key]
        own = prepared._replace(arrays=arrays, finishes=colour_channels(arrays), survival=survival)
        yield _Work(scene, points, field, own)


def fingerprint(*parts: Any) -> str:
    """A hash [hex digits] of nested tuples of arrays, numbers and texts: equal where all their bits are. Source: SHA-256."""
    digest = hashlib.sha256()

    def take(part: Any) -> None:
        if isinstance(part, np.ndarray):
            digest.update(f"{part.dtype}{part.shape}".encode())
            digest.update(np.ascontiguousarray(part).tobytes())
        elif isinstance(part, tuple | list):
            digest.update(f"({len(part)}".encode())
            for item in part:
                take(item)
        else:
            digest.update(repr(part).encode())

    take(parts)
    return digest.hexdigest()
