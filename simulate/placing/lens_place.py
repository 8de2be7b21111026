"""Where a lens may stand: the box that zoom, shift, walls and casing leave, and what may not stand in the beam."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

from ...scenes.casing import Base, casing_in_looks, casing_meets, casing_reach_m
from ...scenes.checks import CLEAR_M, EXACT_M
from ...scenes.geometry import corners, picture, raster
from ...scenes.model import Place, Room, Scene, Seat
from ...scenes.parts import Optics
from ...scenes.remedy import AXES
from ...scenes.rooms.standing import in_pyramid, in_room, inside_thing, wall_in_pyramid
from ...scenes.solids import Pyramid
from ...scenes.throw import shift_limits_m, zoom_limits_m
from .bounds import By
from .looks import heads_met

_WALLS = ((By.SIDE, By.SIDE), (By.PLANE, By.BACK), (By.FLOOR, By.CEILING))


class Limit(NamedTuple):
    """One cause that holds the lens between two places of one axis [m]; infinite where it has no such end."""

    axis: int
    low_by: By
    high_by: By
    low_m: float
    high_m: float


@dataclass(frozen=True)
class LensPlaces:
    """Judges places of the lens in one scene, all else as it is."""

    optics: Optics
    room: Room
    seats: tuple[Seat, ...]

    @classmethod
    def of(cls, scene: Scene) -> LensPlaces:
        """Of a scene."""
        return cls(Optics(scene.screen, scene.projector), scene.room, scene.seats)

    @cached_property
    def limits(self) -> list[Limit]:
        """What holds the lens along each axis, whatever stands in the room; units [m]. Source: `throw`, `impossible`, the casing's size."""
        found = []
        zoom = zoom_limits_m(self.optics)
        if zoom is not None:
            found.append(Limit(1, By.ZOOM, By.ZOOM, *zoom))
        for i in (0, 2):
            reach = shift_limits_m(self.optics, i)
            if reach is not None:
                found.append(Limit(i, By.SHIFT, By.SHIFT, *reach))
        room, gap = self.room, self.optics.screen.gap_to_wall_m
        ends = room.limits
        for i, ((low, high), by) in enumerate(zip(ends, _WALLS, strict=True)):
            found.append(Limit(i, *by, (gap if i == 1 else low) + CLEAR_M, high - CLEAR_M))
        casing = self.optics.projector.casing
        if casing is not None:
            for i, (low, high) in enumerate(ends):
                before, behind = casing_reach_m(casing, i)
                found.append(Limit(i, By.CASING, By.CASING, low + before, high - behind))
        return found

    def box(self) -> tuple[Place, Place] | None:
        """Least and greatest corner [m] of the box that `limits` leave; None where they leave none."""
        low, high = [-math.inf] * 3, [math.inf] * 3
        for limit in self.limits:
            low[limit.axis], high[limit.axis] = max(low[limit.axis], limit.low_m), min(high[limit.axis], limit.high_m)
        if any(a > b for a, b in zip(low, high, strict=True)):
            return None
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])

    @cached_property
    def _raster(self) -> Base:
        """Corners of the raster [m]; the lens's place does not move them."""
        return corners(self.optics, raster(self.optics))

    @cached_property
    def _picture(self) -> Base:
        """Corners of the picture [m], likewise."""
        return corners(self.optics, picture(self.optics))

    def at(self, lens: Place) -> Optics:
        """Screen and projector with the lens there."""
        return Optics(self.optics.screen, replace(self.optics.projector, lens_m=lens))

    def in_the_way(self, lens: Place) -> Iterator[tuple[By, str]]:
        """Objects and heads that a lens at a place [m] may not have where they are: around it, in its beam, in or behind its casing.

        Source: the loader's own tests of solids, with the places as they would be.
        """
        base = self._raster
        beam: Pyramid = (lens, *base)
        if not in_room(self.room, lens, CLEAR_M):
            yield By.SHELL, ""
        for thing in self.room.objects:
            if inside_thing(lens, thing):
                yield By.IN_OBJECT, thing.name
            elif in_pyramid(beam, thing):
                yield By.BEAM, thing.name
        for name in wall_in_pyramid(self.room, beam):
            yield By.BEAM, name
        for _, seat in heads_met([lens], base, self.seats):
            yield By.BEAM, seat.name
        if self.optics.projector.casing is None:
            return
        there = self.at(lens).projector
        for name in casing_meets(there, self.room, self.seats):
            yield By.CASING, name
        for name in casing_in_looks(there, self.seats, self._picture):
            yield By.CASING_IN_SIGHT, name

    def faults(self, lens: Place) -> Iterator[tuple[By, str]]:
        """All that speaks against a place of the lens [m]: (cause, what or who). Source: `limits`, `in_the_way`."""
        for limit in self.limits:
            if lens[limit.axis] < limit.low_m - EXACT_M:
                yield limit.low_by, ""
            elif lens[limit.axis] > limit.high_m + EXACT_M:
                yield limit.high_by, ""
        yield from self.in_the_way(lens)

    def fits(self, lens: Place) -> bool:
        """True where nothing speaks against the place [m]."""
        return next(self.faults(lens), None) is None


def moved(lens: Place, axis: int | str, to_m: float) -> Place:
    """A place with one of its three measures changed [m]."""
    place = list(lens)
    place[AXES.index(axis) if isinstance(axis, str) else axis] = to_m
    return (place[0], place[1], place[2])
