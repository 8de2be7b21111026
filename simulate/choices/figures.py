"""The figures of a seat that comparisons are made of, as replicates, so that any difference of them has its own error."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..colour import luminance
from ..estimate import least
from ..readings import CENTRE, NINE, Seats
from ..targets import DARK


class Figure(NamedTuple):
    """What is compared: a quantity in a light state.

    key    name in JSON and CSV, unit in it;  state  "dark" or a light state
    title  in tables and pictures, unit;  better  +1 where more is better, -1 where less is, 0 where neither
    """

    key: str
    state: str
    title: str
    unit: str
    better: int


_QUANTITIES = {
    "white_cd_m2": ("white", "cd/m2", 1),
    "uniformity_ratio": ("least of nine points / centre", "%", 1),
    "black_cd_m2": ("black", "cd/m2", -1),
    "checkerboard_ratio": ("checkerboard contrast", ":1", 1),
    "washout_cd_m2": ("wash-out", "cd/m2", -1),
    "full_on_off_ratio": ("full on : full off", ":1", 1),
}


def figure_of(key: str, state: str = DARK) -> Figure:
    """The figure of a key in a light state. raises KeyError for a key that is none"""
    title, unit, better = _QUANTITIES[key]
    return Figure(key, state, title, unit, better)


def seat_figures(seats: Seats, seat: int) -> dict[Figure, np.ndarray]:
    """Every figure of one seat as replicates (R + 2,): luminances [cd/m2], ratios as plain numbers [1].

    seat  its place in the scene, from 0

    The dark has no full on : full off, which is the projector's own there. Source: the same functions that `measure` reads.
    """
    white = luminance(seats.direct[None, :, seat] + seats.white[:, :, seat])
    centre = white[:, CENTRE]
    found = {
        figure_of("white_cd_m2"): centre,
        figure_of("uniformity_ratio"): least(white[:, NINE]) / centre,
        figure_of("black_cd_m2"): centre * seats.levels.black,
        figure_of("checkerboard_ratio"): seats.checkerboard(seat)[0],
        figure_of("washout_cd_m2"): luminance(seats.washout(seat).sum(axis=1)),
    }
    for light in seats.scene.lights:
        found.update(_in_state(seats, seat, light.name, light.screen_lx, centre))
    return found


def _in_state(seats: Seats, seat: int, name: str, screen_lx: float, centre: np.ndarray) -> dict[Figure, np.ndarray]:
    added = ambient(seats, seat, screen_lx)
    lit, dark = centre + added[CENTRE], centre * seats.levels.black + added[CENTRE]
    return {
        figure_of("white_cd_m2", name): lit,
        figure_of("black_cd_m2", name): dark,
        figure_of("full_on_off_ratio", name): lit / dark,
        figure_of("checkerboard_ratio", name): contrast_in(seats, seat, screen_lx),
    }


def ambient(seats: Seats, seat: int, screen_lx: float) -> np.ndarray:
    """Luminance (25,) [cd/m2] that even light of a screen illuminance [lx] adds towards a seat.

    Source: L = rho(w) E / pi with the fabric's reflectance for even light at the seat's angle.
    """
    return screen_lx * seats.points.ambient[:, seat] / np.pi * seats.tint_luminance


def contrast_in(seats: Seats, seat: int, screen_lx: float) -> np.ndarray:
    """Checkerboard contrast (R + 2,) [1] under even ambient light of `screen_lx` [lx] at the screen. Source: ISO/IEC 21118 pattern."""
    return seats.checkerboard(seat, ambient(seats, seat, screen_lx)[:16])[0]
