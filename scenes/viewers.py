"""People on the seats as bodies in the room's light: a trunk and a lap, as boxes under and behind each eye."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from ..materials.finish import Finish
from .model import Box, Room, Screen, Seat, Thing
from .normalise import RawProblem

if TYPE_CHECKING:
    from .parts import Parts

# [m]: of a sitting adult, from memory of ISO 7250 (eye 0.75 over the seat, shoulders 0.45 wide, 0.5 from back to knee)
EYE_OVER_SEAT_M, SHOULDERS_BELOW_EYE_M = 0.75, 0.20
_TRUNK, _LAP = (0.225, 0.00, 0.25), (0.20, -0.45, 0.00)  # half width, from and to behind the eye
_LAP_M = 0.15
_THIN_M = 0.02  # what a wall or the screen leaves thinner is left out
_CLEAR_M = 0.05  # off the screen


def names_of(seat: Seat) -> tuple[str, str]:
    """What trunk and lap of who sits on a seat are called in tables and pictures."""
    return f"viewer {seat.name}", f"lap of viewer {seat.name}"


def bodies(seat: Seat, room: Room, screen: Screen) -> tuple[Box, ...]:
    """Trunk and lap of who sits on a seat [m], cut by the room's limits and kept off the screen; none where no body is asked for.

    Source: see the head of the file. The head is a sphere of its own (head.py), which the room's light does not see.
    """
    if seat.body is None:
        return ()
    right, out, up = seat.eye_m
    hips = up - EYE_OVER_SEAT_M
    finish = Finish(f"clothes of {seat.body:g}", (seat.body,) * 3)
    found = []
    parts = ((_TRUNK, hips, up - SHOULDERS_BELOW_EYE_M), (_LAP, hips, hips + _LAP_M))
    for name, ((half, front, back), bottom, top) in zip(names_of(seat), parts, strict=True):
        low, high = [right - half, out + front, bottom], [right + half, out + back, top]
        for axis, (least, most) in enumerate(room.limits):
            low[axis], high[axis] = max(low[axis], least), min(high[axis], most)
        low[1] = max(low[1], screen.gap_to_wall_m + _CLEAR_M)
        if all(b - a > _THIN_M for a, b in zip(low, high, strict=True)):
            found.append(Box(name, (low[0], low[1], low[2]), (high[0], high[1], high[2]), finish))
    return tuple(found)


def furniture(room: Room, seats: Sequence[Seat]) -> tuple[Thing, ...]:
    """What stands in a room, those who sit in it left out."""
    people = {name for seat in seats if seat.body is not None for name in names_of(seat)}
    return tuple(each for each in room.objects if each.name not in people)


def with_bodies(room: Room, screen: Screen, seats: Sequence[Seat]) -> Room:
    """The room with who sits in it among its objects, after all others; the same room where no seat has a body."""
    found = [box for seat in seats for box in bodies(seat, room, screen)]
    return replace(room, objects=(*room.objects, *found)) if found else room


def impossible_bodies(parts: Parts) -> Iterator[RawProblem]:
    """Bodies that reach through a wall of a room that is no box, hold another's eye or the lens, or whose names are taken."""
    from .rooms.standing import free_box, inside_thing

    if parts.room is None or parts.screen is None:
        return
    taken = {
        name.casefold() for name in (*parts.room.surfaces, *(each.name for each in (*parts.room.objects, *parts.room.parts)))
    }
    for index, seat in parts.seats.items():
        for box in bodies(seat, parts.room, parts.screen):
            if box.name in [each.name for each in parts.room.objects]:
                continue  # a scene changed in code, whose room has them already
            path = ("seat", index, "body")
            if box.name.casefold() in taken:
                yield RawProblem(path, f'"{box.name}" is the name of something else', "another name of the seat, or no body")
            if not free_box(parts.room, box.min_m, box.max_m):
                yield RawProblem(path, f'"{box.name}" reaches through a wall', "a seat farther from it, or no body")
            for other in parts.seats.values():
                if inside_thing(other.eye_m, box):
                    yield RawProblem(path, f'the eye of "{other.name}" is inside "{box.name}"', "seats farther apart, or no body")
            if parts.projector is not None and inside_thing(parts.projector.lens_m, box):
                yield RawProblem(path, f'the lens is inside "{box.name}"', "a seat farther from it, or no body")
