"""What lets a screen's width or its lower edge go no further: wall, projector, objects, sight lines, and what is asked of the picture."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import cache, cached_property, partial

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.checks import CLEAR_M, EXACT_M, box_through_screen
from ...scenes.geometry import Raster, corners, picture, raster
from ...scenes.head import HEAD_RADIUS_M
from ...scenes.model import Room, Scene, Screen, Seat
from ...scenes.parts import Optics
from ...scenes.rooms.standing import ceiling_over, free_box, in_pyramids, walls_in_pyramids
from ...scenes.solids import meet_balls, pyramids_of
from ...scenes.throw import shift_limits_m, zoom_limits_m
from .bounds import BoundRole, By, Cause, first_named, one_by_one
from .lens_place import LensPlaces, in_the_way
from .published import BETTER_TOP, LEAST_WIDTH, MOST_TOP, PIXEL, Published
from .seen import direct_whites_cd_m2, picture_tops_deg, picture_widths_deg, pixels_arcmin

Judged = Callable[[Optics], str | None]
Figures = Callable[[Sequence[Optics], Sequence[Seat]], np.ndarray]


@dataclass(frozen=True)
class ScreenCauses:
    """Causes for a length of the screen; `sized` makes the screen of a value [m], all else as it is.

    whites   white luminances that are asked for, then those that are aims [cd/m2]
    """

    scene: Scene
    sized: Callable[[Screen, float], Screen]
    whites: tuple[tuple[BoundRole, Published], ...] = ()

    @cached_property
    def _optics(self) -> Callable[[float], Optics]:
        """Screen and projector at a value [m]: made once for all causes."""
        screen, projector = self.scene.screen, self.scene.projector
        return cache(lambda value: Optics(self.sized(screen, value), projector))

    def _judged(self, by: By, role: BoundRole, judge: Judged, published: Published | None = None) -> Cause:
        return Cause(by, role, one_by_one(cache(lambda value: judge(self._optics(value)))), published)

    @cached_property
    def _corners(self) -> Callable[[tuple[float, ...], Callable[[Optics], Raster]], np.ndarray]:
        """Corners (n, 4, 3) [m] of raster or picture at values (n,) [m]."""
        return cache(lambda values, area: np.array([corners(each, area(each)) for each in map(self._optics, values)]))

    def of_the_wall(self) -> Iterator[Cause]:
        """Screen, border and case between floor, ceiling and side walls, and in no object."""
        room = self.scene.room
        by = By.WALL if room.shell is None else By.SHELL
        yield self._judged(by, BoundRole.MUST, lambda optics: _beyond_sides(optics.screen, room))
        yield self._judged(
            By.CEILING,
            BoundRole.MUST,
            lambda optics: "" if top_m(optics.screen) > ceiling_over(room, optics.screen) + EXACT_M else None,
        )
        yield self._judged(
            By.FLOOR, BoundRole.MUST, lambda optics: "" if optics.screen.bottom_m < optics.screen.border_m - EXACT_M else None
        )
        if room.boxes:
            yield self._judged(
                By.OBJECT,
                BoundRole.MUST,
                lambda optics: next((b.name for b in room.boxes if box_through_screen(b, optics.screen)), None),
            )

    def of_the_lens(self) -> Iterator[Cause]:
        """Zoom, shift and beam with the lens where it stands."""
        projector, scene = self.scene.projector, self.scene
        if projector.throw_ratio is not None:
            yield self._judged(By.ZOOM, BoundRole.MUST, lambda optics: _outside(zoom_limits_m(optics), projector.lens_m[1]))
        if projector.lens_shift is not None:
            yield self._judged(By.SHIFT, BoundRole.MUST, _beyond_shift)

        @cache
        def found(values: tuple[float, ...]) -> list[tuple[By, str, np.ndarray]]:
            areas = (self._corners(values, area) for area in (raster, picture))
            return list(in_the_way(scene.room, scene.seats, projector.casing, np.array([projector.lens_m]), *areas))

        def met(values: tuple[float, ...], by: By) -> list[str | None]:
            return first_named(((thing, where) for cause, thing, where in found(values) if cause is by), len(values))

        for by in (By.BEAM, *((By.CASING_IN_SIGHT,) if projector.casing else ())):
            yield Cause(by, BoundRole.MUST, partial(met, by=by))

    def of_the_room_for_a_lens(self) -> Iterator[Cause]:
        """A lens anywhere in the room: its least throw must end before the back wall, its greatest before the screen's plane."""
        if self.scene.projector.throw_ratio is not None:
            every = LensPlaces.of(self.scene).limits  # those of the zoom alone hang on the screen's size
            limits = [limit for limit in every if limit.axis == 1 and limit.low_by is not By.ZOOM]
            low, high = max(limit.low_m for limit in limits), min(limit.high_m for limit in limits)
            yield self._judged(By.BACK, BoundRole.MUST, lambda optics: _no_place(optics, low, high))

    def of_the_picture(self) -> Iterator[Cause]:
        """How wide, high, fine and bright the picture is from every seat."""
        asked = (BoundRole.ASKED, MOST_TOP), (BoundRole.AIM, BETTER_TOP)
        yield from self._figures(By.ANGLE, _each(picture_widths_deg), ((BoundRole.ASKED, LEAST_WIDTH),), least=True)
        yield from self._figures(By.TOP, _each(picture_tops_deg), asked, least=False)
        if self.scene.projector.pixels is not None:
            yield from self._figures(By.PIXEL, _each(pixels_arcmin), ((BoundRole.AIM, PIXEL),), least=False)
        yield from self._figures(By.WHITE, direct_whites_cd_m2, self.whites, least=True)

    def _figures(self, by: By, figures: Figures, asked: Iterable[tuple[BoundRole, Published]], *, least: bool) -> Iterator[Cause]:
        """Causes of a figure that every seat has: at least, or at most, what is asked; the seat that decides is the same for all."""
        seats = sorted(self.scene.seats, key=lambda seat: seat.name, reverse=not least)

        @cache
        def worst(values: tuple[float, ...]) -> list[tuple[float, str]]:
            found = np.asarray(figures([self._optics(value) for value in values], seats))
            deciding = found.argmin(axis=1) if least else found.argmax(axis=1)
            return [(float(found[i, j]), seats[j].name) for i, j in enumerate(deciding)]

        def judge(values: tuple[float, ...], limit: float) -> list[str | None]:
            return [name if (figure < limit if least else figure > limit) else None for figure, name in worst(values)]

        for role, published in asked:
            yield Cause(by, role, partial(judge, limit=published.value), published)

    def of_sight(self, role: BoundRole) -> Iterator[Cause]:
        """Nobody's head and no object before the picture."""
        seats, room = self.scene.seats, self.scene.room
        looks = [(seat, np.array([seat.eye_m])) for seat in seats]
        yield Cause(
            By.SIGHT, role, lambda values: first_named(hidden(room, looks, seats, self._corners(values, picture)), len(values))
        )


def _each(figure: Callable[[Optics, Sequence[Seat]], list[float]]) -> Figures:
    """Figures (n, seats) of many screens by what gives those of one."""
    return lambda many, seats: np.array([figure(each, seats) for each in many])


def top_m(screen: Screen) -> float:
    """Height [m] that screen, border and case reach; of a case only what is not let into the ceiling. Source: sums of the scene's lengths."""
    case = 0.0 if screen.mount is None else screen.mount.below_ceiling_m
    return screen.bottom_m + screen.height_m + screen.border_m + case


def wide(screen: Screen, width_m: float) -> Screen:
    """The screen with another width [m], its lower edge and its aspect kept."""
    return replace(screen, width_m=width_m, height_m=width_m / screen.aspect)


def hung(screen: Screen, bottom_m: float) -> Screen:
    """The screen with its lower edge at another height [m]."""
    return replace(screen, bottom_m=bottom_m)


def hidden(
    room: Room, viewers: Sequence[tuple[Seat, np.ndarray]], heads: Sequence[Seat], bases: np.ndarray
) -> Iterator[tuple[str, np.ndarray]]:
    """Names of what may stand between viewers and picture, heads first, then objects, and where (n,) it does.

    viewers  seats and where their eyes are (n or 1, 3), corners of the picture `bases` (n or 1, 4, 3) [m]; either is one
    Source: the loader's own tests of solids.
    """
    looks = [(viewer, pyramids_of(eyes, bases)) for viewer, eyes in viewers]
    for viewer, look in looks:
        met = meet_balls(look, [head.eye_m for head in heads], HEAD_RADIUS_M)
        yield from ((head.name, met[:, i]) for i, head in enumerate(heads) if head.name != viewer.name)
    for _, look in looks:
        yield from zip([thing.name for thing in room.objects], in_pyramids(look, room.objects).T, strict=True)
        yield from walls_in_pyramids(room, look).items()


def _beyond_sides(screen: Screen, room: Room) -> str | None:
    if room.shell is not None:
        b, half = screen.border_m, screen.width_m / 2 + screen.border_m
        low = (screen.right_m - half, 0.0, screen.bottom_m - b)
        return (
            None
            if free_box(room, low, (screen.right_m + half, screen.gap_to_wall_m, screen.bottom_m + screen.height_m + b))
            else ""
        )
    free = room.width_m / 2 - screen.width_m / 2 - screen.border_m
    if abs(screen.right_m) <= free + EXACT_M:
        return None
    return "" if screen.right_m == 0.0 else "right" if screen.right_m > 0.0 else "left"


def _outside(limits: tuple[float, float] | None, at: float) -> str | None:
    return None if limits is None or limits[0] - EXACT_M <= at <= limits[1] + EXACT_M else ""


def _beyond_shift(optics: Optics) -> str | None:
    lens = optics.projector.lens_m
    return "" if any(_outside(shift_limits_m(optics, i), lens[i]) is not None for i in (0, 2)) else None


def _no_place(optics: Optics, low: float, high: float) -> str | None:
    """Of the zoom's limits against the outermost places [m] that the room leaves a lens."""
    zoom, before = zoom_limits_m(optics), max(low, optics.screen.gap_to_wall_m + CLEAR_M)
    return "" if zoom is not None and (zoom[0] > high or zoom[1] < before) else None
