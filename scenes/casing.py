"""The projector's casing about its lens: a box that needs room, air, and a place out of sight."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from ..materials.finish import Finish
from .arrays import lengths
from .checks import EXACT_M
from .geometry import HasScreen, corners, picture
from .head import HEAD_RADIUS_M
from .model import Box, Casing, Projector, Room, Seat
from .parts import Optics
from .remedy import AXES, LENS, WALL, Remedy, length_text, rounded_within
from .rooms.standing import boxes_share_space
from .solids import meet_boxes, pyramids_of
from .warning import SceneWarning, WarningCode

NAME = "the projector's casing"
_SIDES = (("left wall", "right wall"), ("screen wall", "back wall"), ("floor", "ceiling"))
_ALONG = ("wide", "deep", "high")
_MEASURED = (("right of the wall's middle", "left of the wall's middle"), ("out from the wall", ""), ("up", ""))
_FINISH = Finish("casing", (0.0, 0.0, 0.0), source="stands for geometry alone")


def casing_box(projector: Projector, *, with_air: bool) -> Box | None:
    """The casing as a box [m], its air around it where wanted; None where no size is stated. Source: `casing_spans`."""
    if projector.casing is None:
        return None
    (low,), (high,) = (each.tolist() for each in casing_spans(projector.casing, np.array([projector.lens_m]), with_air=with_air))
    return Box(NAME, tuple(low), tuple(high), _FINISH)


def casing_spans(casing: Casing, lenses: np.ndarray, *, with_air: bool) -> tuple[np.ndarray, np.ndarray]:
    """Least and greatest corners (n, 3) [m] of the casing about places of its lens (n, 3), its air around it where wanted.

    Source: the casing's own measures, from its corner nearest to the left, to the screen wall and to the floor.
    """
    before, behind = np.array([casing_reach_m(casing, i, with_air=with_air) for i in range(3)]).T
    return lenses - before, lenses + behind


def casing_reach_m(casing: Casing, axis: int, *, with_air: bool = True) -> tuple[float, float]:
    """How far the casing reaches from the lens down and up one axis of the room, its air included where wanted [m].

    axis     0 right, 1 out, 2 up
    Source: the casing's own measures.
    """
    air = casing.air_m if with_air else 0.0
    return casing.lens_m[axis] + air, casing.size_m[axis] - casing.lens_m[axis] + air


def casing_meets(casing: Casing, lenses: np.ndarray, room: Room, seats: Iterable[Seat]) -> Iterator[tuple[str, np.ndarray]]:
    """Objects that share space with the casing and its air, and seats whose head does with the casing, and at which places of the lens (n,).

    lenses   (n, 3) [m]
    Source: boxes that overlap; a head as a sphere of HEAD_RADIUS_M about the eye.
    """
    low, high = casing_spans(casing, lenses, with_air=True)
    yield from ((thing.name, boxes_share_space(low, high, thing)) for thing in room.objects)
    low, high = casing_spans(casing, lenses, with_air=False)
    for seat in seats:
        yield seat.name, lengths(np.clip(seat.eye_m, low, high) - seat.eye_m) < HEAD_RADIUS_M


def casing_hides(optics: HasScreen, seats: Iterable[Seat]) -> Iterator[str]:
    """Names of the seats from which the casing may hide part of the picture. Source: `casing_in_looks`."""
    casing, base = optics.projector.casing, np.array([corners(optics, picture(optics))])
    if casing is not None:
        found = casing_in_looks(casing, np.array([optics.projector.lens_m]), seats, base)
        yield from (name for name, hidden in found if hidden.any())


def casing_in_looks(
    casing: Casing, lenses: np.ndarray, seats: Iterable[Seat], bases: np.ndarray
) -> Iterator[tuple[str, np.ndarray]]:
    """Seats whose look at a rectangle the casing may cut, and where (n,). Source: a look as a pyramid from the eye.

    lenses (n or 1, 3), corners of the rectangles (n or 1, 4, 3) [m]; one of the two is one
    """
    low, high = casing_spans(casing, lenses, with_air=False)
    yield from ((seat.name, meet_boxes(pyramids_of([seat.eye_m], bases), low, high).ravel()) for seat in seats)


def casing_warnings(optics: Optics, room: Room, seats: tuple[Seat, ...]) -> Iterator[SceneWarning]:
    """Where a casing of stated size has no room, with the place that would do, and from where it hides part of the picture."""
    casing = optics.projector.casing
    if casing is None:
        return
    ends = room.limits
    for axis, (low, high) in enumerate(ends):
        before, behind = casing_reach_m(casing, axis)
        at, names = optics.projector.lens_m[axis], _SIDES[axis]
        if low + before > high - behind:
            text = f"the projector's casing with its air is {length_text(before + behind)} m {_ALONG[axis]}, more than the room"
            yield SceneWarning(WarningCode.CASING, text)
        elif not low + before - EXACT_M <= at <= high - behind + EXACT_M:
            to = rounded_within(low + before, high - behind, at)
            text = (
                f"the projector's casing with its air reaches through the {names[at > low + before]}: "
                f"the lens has to stand {length_text(abs(to))} m {_MEASURED[axis][to < 0.0]}"
            )
            by_wall = casing.by_wall and AXES[axis] == "out"
            move = Remedy(WALL, "", round(to - casing.lens_m[1], 6)) if by_wall else Remedy(LENS, AXES[axis], to)
            yield SceneWarning(WarningCode.CASING, text, remedies=(move,))
    lens = np.array([optics.projector.lens_m])
    for name in (name for name, met in casing_meets(casing, lens, room, seats) if met.any()):
        yield SceneWarning(WarningCode.CASING, f'the projector\'s casing with its air shares space with "{name}"', things=(name,))
    for name in casing_hides(optics, seats):
        text = f'the projector\'s casing may hide part of the picture from "{name}"'
        yield SceneWarning(WarningCode.CASING, text, name, (NAME,))
