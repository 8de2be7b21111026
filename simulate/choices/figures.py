"""The figures of a seat that comparisons are made of, as replicates, so that any difference of them has its own error."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..measuring.quantities import BY_KEY, QUANTITIES
from ..measuring.readings import Seats
from ..measuring.seat_light import SeatLight
from ..measuring.solver import BOARD_POINTS
from ..measuring.targets import DARK


class Figure(NamedTuple):
    """What is compared: a quantity of the registry in a light state.

    key    name in JSON and CSV, unit in it;  state  "dark" or a light state
    title  in tables and pictures, unit;  better  +1 where more is better, -1 where less is, 0 where neither
    """

    key: str
    state: str
    title: str
    unit: str
    better: int


def figure_of(key: str, state: str = DARK) -> Figure:
    """The figure of a key in a light state. raises KeyError for a key that is none"""
    quantity = BY_KEY[key]
    return Figure(key, state, quantity.title, quantity.unit, quantity.better)


def seat_figures(seats: Seats, seat: int) -> dict[Figure, np.ndarray]:
    """Every figure of one seat as replicates (R + 2,): luminances [cd/m2], ratios as plain numbers [1].

    seat  its place in the scene, from 0

    The dark has no full on : full off, which is the projector's own there. Source: the formulas of the registry, as `measure` reads.
    """
    dark, found = SeatLight(seats, seat), {}
    for quantity in QUANTITIES:
        if quantity.compared and quantity.compared_in_the_dark:
            found[figure_of(quantity.key)] = np.asarray(dark.of(quantity))
    for each in seats.scene.lights:
        lit = SeatLight(seats, seat, each)
        for quantity in QUANTITIES:
            if quantity.compared and quantity.lit is not None:
                found[figure_of(quantity.key, each.name)] = _replicates(lit.of(quantity), lit)
    return found


def _replicates(found: object, light: SeatLight) -> np.ndarray:
    """Replicates (R + 2,) also of what is exact: a light state of no light has the projector's own full on : full off."""
    return found if isinstance(found, np.ndarray) else np.full(len(light.centre), found[0])  # type: ignore[index]


def contrast_in(seats: Seats, seat: int, screen_lx: float) -> np.ndarray:
    """Checkerboard contrast (R + 2,) [1] under even ambient light of `screen_lx` [lx] at the screen. Source: ISO/IEC 21118 pattern."""
    return seats.board_contrast(seat, seats.ambient(seat, screen_lx)[BOARD_POINTS])
