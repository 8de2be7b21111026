"""What would make something fit, as a number that works when it is followed: rounded to the side that fits."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

from .model import Place

AXES = ("right", "out", "up")
LENS, WALL = "projector.lens_m", "projector.casing.wall_m"  # keys by which a projector moves
_STEPS_M = (0.01, 0.001, 0.0001)  # a tape measure's cm, mm, and a tenth where nothing coarser lies within the limits


class Remedy(NamedTuple):
    """One key of the scene and the value that would do.

    key   dotted key of the scene;  axis  which of a place's three numbers: right, out or up; "" for a single length
    to_m  its new value [m]
    """

    key: str
    axis: str
    to_m: float

    def of_lens(self, lens_m: Place) -> Place:
        """The lens's place [m] after the remedy. raises ValueError where it moves no lens"""
        if self.key != LENS:
            raise ValueError(f"{self.key} is no place of the lens; allowed {LENS}")
        moved = list(lens_m)
        moved[AXES.index(self.axis)] = self.to_m
        return (moved[0], moved[1], moved[2])


def outward(remedies: Iterable[Remedy]) -> Remedy | None:
    """The one that moves the lens towards or away from the screen wall, by its own place or by its casing's."""
    return next((each for each in remedies if each.axis == "out" or each.key == WALL), None)


def outward_words(move: Remedy, has: str, most: str) -> str:
    """An outward remedy in words: "it has to stand at least 0.63 m out from the wall", or how far off it its casing has to be."""
    if move.key == WALL and move.to_m < 0.0:
        return f"its casing {has} to reach {length_text(-move.to_m)} m into the wall"
    if move.key == WALL:
        return f"its casing {has} to be at {most} {length_text(move.to_m)} m off the wall"
    return f"it {has} to stand at {most} {length_text(move.to_m)} m out from the wall"


def rounded_within(low_m: float, high_m: float, near_m: float, *, fine: bool = False) -> float:
    """The place between two limits nearest to a given one, in whole cm, else mm, else tenths of mm, else to the limit itself; all [m].

    fine  True: in mm at once, as short throws want it
    Source: rounding towards the inside, so that what is printed does when it is followed.
    """
    end = min(max(near_m, low_m), high_m)
    for step in _STEPS_M[1:] if fine else _STEPS_M:
        for count in sorted((math.floor(end / step), math.ceil(end / step)), key=lambda n: abs(n * step - near_m)):
            place = round(count * step, 6)
            if low_m - 1e-9 <= place <= high_m + 1e-9:
                return place
    return end


def length_text(metres: float) -> str:
    """A length [m] as it was rounded: two decimals, or as many as it has up to four."""
    text = f"{metres:.4f}".rstrip("0")
    whole, _, parts = text.partition(".")
    return f"{whole}.{parts.ljust(2, '0')}"
