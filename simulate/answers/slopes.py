"""How every figure of merit leans on every reflectance: d ln figure / d ln reflectance, from one backward pass."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..measuring.colour import luminance
from ..measuring.estimate import Estimate, estimate, replicates
from ..measuring.readings import CENTRE, Seats
from .answers import Answers

Figure = Callable[[Seats, int], np.ndarray]
_STEP = 1e-4  # of ln reflectance; the replicates are straight lines in it, a central difference errs by its square


def _white(seats: Seats, seat: int) -> np.ndarray:
    return luminance(seats.direct[None, CENTRE, seat] + seats.white[:, CENTRE, seat])


def _uniformity(seats: Seats, seat: int) -> np.ndarray:
    nine = luminance(seats.direct[None, 16:25, seat] + seats.white[:, 16:25, seat])
    return nine.min(axis=1) / nine[:, CENTRE - 16]


FIGURES: dict[str, Figure] = {
    "white": _white,
    "black": lambda seats, seat: _white(seats, seat) * seats.levels.black,
    "checkerboard": lambda seats, seat: seats.checkerboard(seat)[0],
    "checkerboard_one_pattern": lambda seats, seat: seats.checkerboard(seat)[1],
    "washout": lambda seats, seat: luminance(seats.washout(seat).sum(axis=1)),
    "uniformity": _uniformity,
}


def slope_stack(answers: Answers) -> np.ndarray:
    """d returned light / d ln reflectance as replicates (R + 2, 25, T, surfaces, 2, C) [cd/m2].

    The fourth axis names the surface whose reflectance moves (all its channels by the same factor); the screen's row is its tint.
    The replicate without map extrapolation is the mean here. Source: passes.slope_cells, exact for the ledger's paths.
    """
    facts = answers.facts
    sums = answers.stage.slope_sums(facts, answers.reflectance)
    return answers.spread_out(replicates(sums, np.zeros(sums.shape[1:])))


def log_slopes(answers: Answers, figures: tuple[str, ...] = tuple(FIGURES)) -> dict[str, list[list[Estimate]]]:
    """d ln figure / d ln reflectance of each surface at each seat: figure name to [seat][surface] Estimates [1].

    Surfaces in the order of `answers.arrays.surfaces` without the screen. A figure that is 0 has slope 0.
    Source: chain rule; the path derivative is exact, the figure's own derivative a central difference along it.
    """
    stack = answers.stack(pooling=False)[..., :2, :]  # the picture's own: no figure here reads lamps
    slope = slope_stack(answers)
    surfaces = len(answers.arrays.surfaces) - 1
    found: dict[str, list[list[Estimate]]] = {name: [[] for _ in answers.scene.seats] for name in figures}
    for surface in range(surfaces):
        # the first axis of surfaces is summed by every figure here, so the change may stand in any one row
        change = np.zeros_like(stack)
        change[:, :, :, 0] = _STEP * slope[:, :, :, surface]
        up, down = (answers.seats(stack + sign * change, whole=False) for sign in (1.0, -1.0))
        for name in figures:
            for seat in range(len(answers.scene.seats)):
                high, low = FIGURES[name](up, seat), FIGURES[name](down, seat)
                with np.errstate(divide="ignore", invalid="ignore"):
                    value = np.log(high / low) / (2.0 * _STEP)
                found[name][seat].append(estimate(np.nan_to_num(value, nan=0.0, posinf=0.0, neginf=0.0)))
    return found
