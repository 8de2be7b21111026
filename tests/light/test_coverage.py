"""Are the standard errors honest? 95 % intervals by Student's t must hold the truth in about 95 of 100 runs.

1,200 runs with fixed seeds; the truth is the mean of all of them, known 35 times better than one run.
"""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.measuring.estimate import REPLICATIONS, T_95, jackknife_error
from halfgain.simulate.measuring.field import picture_field
from halfgain.simulate.measuring.readings import SeatReading, Seats, worst_error
from halfgain.simulate.measuring.solver import Prepared, returned_light, stacked, traced_sums
from scipy.stats import t as student

from tests.rooms import ANGULAR, lowered, room

RUNS, STOPPED_RUNS = 1200, 600
AT_ONCE = 50  # runs that are traced in one call: replications are independent, whoever asks for how many
SEAT = '[[seat]]\nname = "a"\neye_m = [0.9, 3.5, 1.2]'
FIGURES = ("white", "checkerboard", "washout", "share")


def figures(reading: SeatReading) -> list[tuple[float, float]]:
    """Value and standard error of the four figures."""
    chosen = (reading.white["centre"], reading.checkerboard, reading.washout, reading.share["ceiling"])
    return [(e.value, e.standard_error) for e in chosen]


def test_t_quantile() -> None:
    # Expected: scipy's Student distribution
    assert student.ppf(0.975, REPLICATIONS - 1) == pytest.approx(T_95, abs=1e-12)


def shares_that_hold(values: np.ndarray) -> dict[str, float]:
    """Share of the 95 % intervals of runs (runs, FIGURES, value and standard error) that hold the mean of all runs."""
    truth = values[:, :, 0].mean(axis=0)
    own_error = values[:, :, 0].std(axis=0, ddof=1) / np.sqrt(len(values))
    held = np.abs(values[:, :, 0] - truth) <= np.hypot(T_95 * values[:, :, 1], own_error)
    return dict(zip(FIGURES, (float(share) for share in held.mean(axis=0)), strict=True))


def coverage(paths: int = 4) -> dict[str, float]:
    """Share of RUNS 95 % intervals that hold the truth, for each of FIGURES; the fewer paths, the less normal are their errors."""
    scene = room(seats=SEAT, fabric=ANGULAR)  # a lobe makes the paths' weights less even than a diffuse fabric does
    arrays, points, prepared = lowered(scene)
    field = picture_field(arrays, points)
    values = np.empty((RUNS, len(FIGURES), 2))
    for first in range(0, RUNS, AT_ONCE):
        sums = traced_sums(prepared, seed=1000 + first, low_path=0, paths=paths, replications=REPLICATIONS * AT_ONCE)
        for run, own in enumerate(np.split(sums, AT_ONCE), first):
            values[run] = figures(Seats(scene, arrays, points, field, stacked(own, paths)).reading(0, judged_only=True))
    return shares_that_hold(values)


@pytest.mark.long
def test_ninety_five_per_cent_intervals_hold_the_truth() -> None:
    for name, share in coverage().items():
        assert 0.93 <= share <= 0.97, f"{name}: {share:.4f} of {RUNS} intervals hold the truth"


def stopped(prepared: Prepared, scene: object, field: object, seed: int, error: float) -> SeatReading:
    """Reading of a run that stops by the rule of `measure`."""
    arrays, points = prepared.arrays, prepared.points
    readings: list[SeatReading] = []

    def enough(stack: np.ndarray) -> bool:
        readings.append(Seats(scene, arrays, points, field, stack).reading(0, judged_only=True))
        return worst_error(readings[-1], error) <= error

    last = returned_light(prepared, seed=seed, enough=enough, first_paths=4)
    return Seats(scene, arrays, points, field, last.replicates).reading(0, judged_only=True)


def coverage_of_stopped_runs() -> dict[str, float]:
    """The same for STOPPED_RUNS runs that stop by the rule of `measure` at 2 %."""
    scene = room(seats=SEAT)
    arrays, points, prepared = lowered(scene)
    field = picture_field(arrays, points)
    values = np.array([figures(stopped(prepared, scene, field, 9000 + run, 0.02)) for run in range(STOPPED_RUNS)])
    return shares_that_hold(values)


@pytest.mark.long
def test_stopping_at_the_asked_error_keeps_the_coverage() -> None:
    for name, share in coverage_of_stopped_runs().items():
        assert 0.92 <= share <= 0.98, f"{name}: {share:.4f} of {STOPPED_RUNS} intervals hold the truth"


def test_jackknife_of_a_mean_is_the_usual_standard_error() -> None:
    # Expected: s / sqrt(n) (textbook)
    x = np.random.default_rng(1).normal(size=16)
    left_out = (x.sum() - x) / 15
    stack = np.concatenate([[x.mean()], left_out, [x.mean()]])
    assert jackknife_error(stack) == pytest.approx(x.std(ddof=1) / 4, rel=1e-12)
