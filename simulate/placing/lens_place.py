"""Where a lens may stand: the box that zoom, shift, walls and casing leave, and what may not stand in the beam."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.casing import casing_in_looks, casing_meets, casing_reach_m
from ...scenes.checks import CLEAR_M, EXACT_M
from ...scenes.geometry import corners, picture, raster
from ...scenes.head import HEAD_RADIUS_M
from ...scenes.model import Casing, Place, Room, Scene, Seat
from ...scenes.parts import Optics
from ...scenes.remedy import AXES
from ...scenes.rooms.standing import in_pyramids, in_room, inside_thing, walls_in_pyramids
from ...scenes.solids import meet_balls, pyramids_of
from ...scenes.throw import shift_limits_m, zoom_limits_m
from .bounds import By

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

    def at(self, lens: Place) -> Optics:
        """Screen and projector with the lens there."""
        return Optics(self.optics.screen, replace(self.optics.projector, lens_m=lens))

    @cached_property
    def _screen(self) -> tuple[np.ndarray, np.ndarray]:
        """Corners (1, 4, 3) of raster and picture [m]; the lens's place does not move them."""
        rasters, pictures = (np.array([corners(self.optics, area(self.optics))]) for area in (raster, picture))
        return rasters, pictures

    def in_the_way(self, lenses: np.ndarray) -> Iterator[tuple[By, str, np.ndarray]]:
        """What a lens may not have where it is, and at which of the places (n, 3) [m] of the lens (n,). Source: `in_the_way`."""
        return in_the_way(self.room, self.seats, self.optics.projector.casing, lenses, *self._screen)

    def fit(self, lenses: np.ndarray) -> np.ndarray:
        """(n,) True where nothing speaks against a place (n, 3) [m] of the lens. Source: `limits`, `in_the_way`."""
        fits = np.ones(len(lenses), bool)
        for limit in self.limits:
            at = lenses[:, limit.axis]
            fits &= (at >= limit.low_m - EXACT_M) & (at <= limit.high_m + EXACT_M)
        if fits.any():
            fits[fits] = ~np.any([met for _, _, met in self.in_the_way(lenses[fits])], axis=0)
        return fits

    def fits(self, lens: Place) -> bool:
        """True where nothing speaks against the place [m]."""
        return bool(self.fit(np.array([lens]))[0])


def in_the_way(
    room: Room, seats: Sequence[Seat], casing: Casing | None, lenses: np.ndarray, rasters: np.ndarray, pictures: np.ndarray
) -> Iterator[tuple[By, str, np.ndarray]]:
    """Objects and heads that a lens may not have where they are: around it, in its beam, in or behind its casing; and where (n,) they are.

    lenses (n or 1, 3), corners of rasters and pictures (n or 1, 4, 3) [m]; either the one or the others are one
    Source: the loader's own tests of solids, with the places as they would be.
    """
    beams = pyramids_of(lenses, rasters)
    count = len(beams)
    yield By.SHELL, "", np.broadcast_to(~in_room(room, lenses, CLEAR_M), count)
    for thing, in_beam in zip(room.objects, in_pyramids(beams, room.objects).T, strict=True):
        around = inside_thing(lenses, thing)
        yield By.IN_OBJECT, thing.name, np.broadcast_to(around, count)
        yield By.BEAM, thing.name, in_beam & ~around
    for name, met in walls_in_pyramids(room, beams).items():
        yield By.BEAM, name, met
    heads = meet_balls(beams, [seat.eye_m for seat in seats], HEAD_RADIUS_M)
    for i, seat in enumerate(seats):
        yield By.BEAM, seat.name, heads[:, i]
    if casing is None:
        return
    for name, met in casing_meets(casing, lenses, room, seats):
        yield By.CASING, name, np.broadcast_to(met, count)
    for name, met in casing_in_looks(casing, lenses, seats, pictures):
        yield By.CASING_IN_SIGHT, name, met


def moved(lens: Place, axis: int | str, to_m: float) -> Place:
    """A place with one of its three measures changed [m]."""
    place = list(lens)
    place[AXES.index(axis) if isinstance(axis, str) else axis] = to_m
    return (place[0], place[1], place[2])
