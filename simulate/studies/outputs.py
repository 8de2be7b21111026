"""What a study reads of a variant: the asked figures at every seat and light state, each with its replicates, and no more."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ...scenes.model import Scene
from ..answers.answers import Answers
from ..measuring.estimate import REPLICATIONS, Estimate, estimate
from ..measuring.quantities import BY_KEY, LIT_ONLY, Precision
from ..measuring.seat_light import SeatLight
from ..measuring.targets import DARK

_UV = 0.0005  # standard error of u'v' that an asked error stands for, as in readings.py


class OutputRow(NamedTuple):
    """One figure: where, in which light, which key of the registry."""

    seat: str
    state: str
    key: str


class Read(NamedTuple):
    """Figures of one variant, in the order of its rows and in their units.

    values    (rows, 3) value, standard error, bias bound
    left_out  (rows, REPLICATIONS) means that leave one replication out; NaN where a figure has none
    """

    values: np.ndarray
    left_out: np.ndarray


def rows_of(scene: Scene, outputs: Sequence[str], states: Sequence[str] | None) -> tuple[OutputRow, ...]:
    """The figures of a scene: all seats, all asked states that it has; what other light does not change in the dark alone."""
    lit = [light.name for light in scene.lights]
    wanted = [DARK, *lit] if states is None else [state for state in [DARK, *lit] if state in states]
    return tuple(
        OutputRow(seat.name, state, key)
        for seat in scene.seats
        for state in wanted
        for key in outputs
        if (BY_KEY[key] not in LIT_ONLY if state == DARK else BY_KEY[key].lit is not None)
    )


@np.errstate(divide="ignore", invalid="ignore")  # where no light falls a ratio is not a number, and is told as such
def read(answers: Answers, rows: Sequence[OutputRow]) -> Read:
    """The figures of these rows. raises FloatingPointError when a sum is not finite

    Source: the formulas of the registry, on pooled paths, as `measure --ledger` reads.
    """
    stack = answers.stack()
    if not np.isfinite(stack).all():
        raise FloatingPointError("the ledger's sums are not finite")
    seats = answers.seats(stack, whole=any(BY_KEY[row.key].needs_field for row in rows))
    place = {seat.name: i for i, seat in enumerate(answers.scene.seats)}
    states = {DARK: None, **{light.name: light for light in answers.scene.lights}}
    lights: dict[tuple[str, str], SeatLight] = {}
    values, left_out = np.zeros((len(rows), 3)), np.full((len(rows), REPLICATIONS), np.nan)
    for i, row in enumerate(rows):
        light = lights.get(row[:2])
        if light is None:
            light = lights[row[:2]] = SeatLight(seats, place[row.seat], states[row.state])
        found = BY_KEY[row.key].read(light)
        if isinstance(found, Estimate):
            values[i] = found
        else:
            values[i], left_out[i] = estimate(found), found[1:-1]
    return Read(values, left_out)


def worst_error(found: Read, rows: Sequence[OutputRow], error: float) -> float:
    """The largest standard error of what was read [1], on the scale of the asked `error`.

    Source: readings.worst_error: relative; u'v' by error / 0.0005; figures that say nothing of their precision do not count,
    unless there are no others.
    """
    judged = [(i, BY_KEY[row.key].precision) for i, row in enumerate(rows)]
    counted = [(i, kind) for i, kind in judged if kind is not Precision.NONE] or judged
    worst = 0.0
    for i, kind in counted:
        value, spread = found.values[i, 0], found.values[i, 1]
        if kind is Precision.UV:
            worst = max(worst, spread / _UV * error)
        elif value and np.isfinite(value):
            worst = max(worst, spread / abs(value))
    return worst
