"""The projector's casing about its lens: a box that needs room, air, and a place out of sight."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from ..materials.finish import Finish
from .checks import EXACT_M
from .geometry import HasScreen, corners, picture
from .head import HEAD_RADIUS_M
from .model import Box, Casing, Place, Projector, Room, Seat
from .parts import Optics
from .remedy import AXES, LENS, WALL, Remedy, length_text, rounded_within
from .rooms.standing import share_space
from .solids import pyramid_meets_box
from .warning import SceneWarning, WarningCode

NAME = "the projector's casing"
_SIDES = (("left wall", "right wall"), ("screen wall", "back wall"), ("floor", "ceiling"))
Base = tuple[Place, Place, Place, Place]
_ALONG = ("wide", "deep", "high")
_MEASURED = (("right of the wall's middle", "left of the wall's middle"), ("out from the wall", ""), ("up", ""))
_FINISH = Finish("casing", (0.0, 0.0, 0.0), source="stands for geometry alone")


def casing_box(projector: Projector, *, with_air: bool) -> Box | None:
    """The casing as a box [m], its air around it where wanted; None where no size is stated.

    Source: the casing's own measures, from its corner nearest to the left, to the screen wall and to the floor.
    """
    casing = projector.casing
    if casing is None:
        return None
    low, high = [], []
    for i, at in enumerate(projector.lens_m):
        before, behind = casing_reach_m(casing, i, with_air=with_air)
        low.append(at - before)
        high.append(at + behind)
    return Box(NAME, (low[0], low[1], low[2]), (high[0], high[1], high[2]), _FINISH)


def casing_reach_m(casing: Casing, axis: int, *, with_air: bool = True) -> tuple[float, float]:
    """How far the casing reaches from the lens down and up one axis of the room, its air included where wanted [m].

    axis     0 right, 1 out, 2 up
    Source: the casing's own measures.
    """
    air = casing.air_m if with_air else 0.0
    return casing.lens_m[axis] + air, casing.size_m[axis] - casing.lens_m[axis] + air


def casing_meets(projector: Projector, room: Room, seats: Iterable[Seat]) -> Iterator[str]:
    """Names of the objects that share space with the casing and its air, and of the seats whose head does with the casing.

    Source: boxes that overlap; a head as a sphere of HEAD_RADIUS_M about the eye.
    """
    with_air, bare = casing_box(projector, with_air=True), casing_box(projector, with_air=False)
    if with_air is None or bare is None:
        return
    yield from (box.name for box in room.objects if share_space(with_air, box))
    for seat in seats:
        nearest = [min(max(x, low), high) for x, low, high in zip(seat.eye_m, bare.min_m, bare.max_m, strict=True)]
        if math.dist(nearest, seat.eye_m) < HEAD_RADIUS_M:
            yield seat.name


def casing_hides(optics: HasScreen, seats: Iterable[Seat]) -> Iterator[str]:
    """Names of the seats from which the casing may hide part of the picture. Source: `casing_in_looks`."""
    yield from casing_in_looks(optics.projector, seats, corners(optics, picture(optics)))


def casing_in_looks(projector: Projector, seats: Iterable[Seat], base: Base) -> Iterator[str]:
    """Names of the seats whose look at a rectangle with corners `base` [m] the casing may cut. Source: a look as a pyramid from the eye."""
    casing = casing_box(projector, with_air=False)
    if casing is None:
        return
    yield from (seat.name for seat in seats if pyramid_meets_box((seat.eye_m, *base), casing))


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
    for name in casing_meets(optics.projector, room, seats):
        yield SceneWarning(WarningCode.CASING, f'the projector\'s casing with its air shares space with "{name}"', things=(name,))
    for name in casing_hides(optics, seats):
        text = f'the projector\'s casing may hide part of the picture from "{name}"'
        yield SceneWarning(WarningCode.CASING, text, name, (NAME,))
