"""How high each row must sit to see over the heads before it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.checks import CLEAR_M
from ...scenes.geometry import corners, picture, raster
from ...scenes.head import HEAD_RADIUS_M
from ...scenes.model import Scene, Seat
from ...scenes.parts import Optics
from ...scenes.solids import meet_balls, pyramids_of
from .bounds import BoundRole, By, Cause, Range, first_named, one_by_one, range_of
from .screen_causes import hidden

NEW_ROW_M = 0.5  # eyes further apart than this, out from the wall, are rows of their own (our own choice)
_LOWEST_EYE_M, _MOST_LIFT_M = 0.6, 1.5


@dataclass(frozen=True)
class SeatRow:
    """A row of seats and its range: by how much its eyes may go up or down [m]; 0 is where they are.

    seats   names, from left to right as seen from the seats;  out_m  mean distance from the screen wall [m];  eye_m  their mean height [m]
    lift    range of the lift; its `low_m` is the least at which nobody of the row has a head before the picture
    lifted_m  by how much rows behind take it to be lifted: what this row needs, none where it needs none [m]
    """

    seats: tuple[str, ...]
    out_m: float
    eye_m: float
    lift: Range
    lifted_m: float


def rows_of(scene: Scene) -> list[SeatRow]:
    """Rows from the front, each judged with those before it lifted by what they need.

    Source: a head is a sphere of HEAD_RADIUS_M about the eye, a look at the picture a pyramid from the eye; heads of rows before count.
    """
    before: list[Seat] = []
    found = []
    for group in _grouped(scene.seats):
        lift = _lift(scene, group, tuple(before))
        up = lift.nearest_m or 0.0
        before += _raised(group, up)
        names = tuple(seat.name for seat in sorted(group, key=lambda seat: seat.eye_m[0]))
        out, eye = (sum(seat.eye_m[i] for seat in group) / len(group) for i in (1, 2))
        found.append(SeatRow(names, out, eye, lift, up))
    return found


def _grouped(seats: Sequence[Seat]) -> list[list[Seat]]:
    """Seats by row, the front row first."""
    rows: list[list[Seat]] = []
    for seat in sorted(seats, key=lambda seat: seat.eye_m[1]):
        if rows and seat.eye_m[1] - rows[-1][-1].eye_m[1] <= NEW_ROW_M:
            rows[-1].append(seat)
        else:
            rows.append([seat])
    return rows


def _raised(seats: Sequence[Seat], by_m: float) -> list[Seat]:
    return [replace(seat, eye_m=(seat.eye_m[0], seat.eye_m[1], seat.eye_m[2] + by_m)) for seat in seats]


def _lift(scene: Scene, row: Sequence[Seat], before: tuple[Seat, ...]) -> Range:
    optics, room = Optics(scene.screen, scene.projector), scene.room
    beam = pyramids_of([optics.projector.lens_m], [corners(optics, raster(optics))])
    base = np.array([corners(optics, picture(optics))])

    def raised(values: tuple[float, ...]) -> list[tuple[Seat, np.ndarray]]:
        return [(seat, seat.eye_m + np.outer(values, (0.0, 0.0, 1.0))) for seat in row]

    def sight(values: tuple[float, ...]) -> list[str | None]:
        return first_named(hidden(room, raised(values), before, base), len(values))

    def in_beam(values: tuple[float, ...]) -> list[str | None]:
        return first_named(((seat.name, meet_balls(beam, eyes, HEAD_RADIUS_M)[0]) for seat, eyes in raised(values)), len(values))

    def under_ceiling(by_m: float) -> str | None:
        top = max(seat.eye_m[2] for seat in row) + by_m + HEAD_RADIUS_M
        return "" if top > room.height_m - CLEAR_M else None

    causes = [
        Cause(By.SIGHT, BoundRole.ASKED, sight),
        Cause(By.BEAM, BoundRole.MUST, in_beam),
        Cause(By.CEILING, BoundRole.MUST, one_by_one(under_ceiling)),
    ]
    lowest = min(seat.eye_m[2] for seat in row)
    return range_of("riser", "up", 0.0, causes, (min(0.0, _LOWEST_EYE_M - lowest), _MOST_LIFT_M))
