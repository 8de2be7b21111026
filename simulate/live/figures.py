"""The numbers of the page: what its tables and charts show, from kept answers, without the fine grid of a whole measurement."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from ..answers.answers import Answers
from ..answers.picture_readings import contrast_by_level
from ..measuring.colour import luminance
from ..measuring.estimate import Estimate
from ..measuring.quantities import BY_KEY, LIT
from ..measuring.readings import Seats, as_estimate, shares
from ..measuring.seat_light import SeatLight

SHOWN = (
    "white_cd_m2", "black_cd_m2", "checkerboard_ratio", "washout_cd_m2", "uniformity_ratio", "side_to_centre_ratio", "full_on_off_ratio",
)  # fmt: skip
_JUDGED = ("white_cd_m2", "checkerboard_ratio", "washout_cd_m2")
LEVELS = np.geomspace(0.005, 1.0, 25)  # average picture levels of the curve [1]


class LiveFigures(NamedTuple):
    """Numbers of all seats.

    seats    one table a seat, as `seat_table` makes it;  levels, contrast  the curve: (n,) [1] and (n, T) [1]
    paths    light paths they rest on;  error  the worst relative standard error of what is shown [1]
    settled  True where no more paths are to come
    """

    seats: list[dict[str, Any]]
    levels: np.ndarray
    contrast: np.ndarray
    paths: int
    error: float
    settled: bool = False

    def document(self) -> dict[str, Any]:
        """For JSON: numbers that are none (no light, so no contrast) are null."""
        return {
            "seats": self.seats, "levels": _plain(self.levels), "contrast": [_plain(row) for row in self.contrast.T],
            "paths": self.paths, "error": _number(self.error), "settled": self.settled,
        }  # fmt: skip


@np.errstate(divide="ignore", invalid="ignore")  # where no light falls a ratio is not a number, and is told as such
def figures_of(answers: Answers) -> LiveFigures:
    """The figures of a scene [cd/m2 and 1]; raises FloatingPointError when a sum is not finite. Source: the registry of quantities."""
    stack = answers.stack()
    if not np.isfinite(stack).all():
        raise FloatingPointError("the ledger's sums are not finite")
    seats = answers.seats(stack, whole=False)
    tables, worst = [], 0.0
    for index in range(len(answers.scene.seats)):
        table, error = seat_table(seats, index)
        tables.append(table)
        worst = max(worst, error)
    contrast, _ = contrast_by_level(answers, LEVELS, seats)
    return LiveFigures(tables, LEVELS, contrast, answers.stage.kept.paths, worst)


def seat_table(seats: Seats, index: int) -> tuple[dict[str, Any], float]:
    """A seat's values with their errors, shares of its wash-out by surface, light states; and its worst relative error [1]."""
    scene, light = seats.scene, SeatLight(seats, index)
    values = {key: as_estimate(BY_KEY[key], light) for key in SHOWN}
    parts = shares(luminance(light.washout_parts))
    washes = values["washout_cd_m2"].value > 1e-6 * values["white_cd_m2"].value
    judged = [values[key] for key in _JUDGED if washes or key != "washout_cd_m2"]
    states = []
    for state in scene.lights:
        lit = SeatLight(seats, index, state)
        shown = [each for each in LIT if not each.needs_field]
        states.append({"name": state.name, "values": {each.key: pair(as_estimate(each, lit)) for each in shown}})
    table = {
        "name": scene.seats[index].name,
        "values": {key: pair(value) for key, value in values.items()},
        "share": {name: pair(part) for name, part in zip(seats.arrays.surfaces, parts, strict=True)},
        "states": states,
    }
    return table, max(relative(each) for each in judged)


def relative(value: Estimate) -> float:
    """Standard error over the value [1], 0 where there is none."""
    return value.standard_error / abs(value.value) if value.value and math.isfinite(value.value) else 0.0


def pair(value: Estimate) -> list[float | None]:
    """Value and standard error for JSON."""
    return [_number(value.value), _number(value.standard_error)]


def _number(value: float) -> float | None:
    return float(f"{value:.6g}") if math.isfinite(value) else None


def _plain(values: np.ndarray) -> list[float | None]:
    return [_number(float(value)) for value in values]
