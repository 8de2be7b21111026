"""Everything that `place` answers about a scene."""

from __future__ import annotations

import math
from functools import cache, cached_property, partial

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.geometry import on_screen_plane, picture
from ...scenes.model import Place, Scene, Seat
from ...scenes.recheck import check_scene
from ...scenes.remedy import AXES
from ...scenes.throw import ULTRA_SHORT
from ..measuring.showing import Showing
from .bounds import CM, MM, BoundRole, By, Cause, Range, first_named, range_of
from .lens_place import LensPlaces, moved
from .published import WHITES, Published, asked_white
from .regions import Region, nearest_place, region, why_none
from .riser import SeatRow, rows_of
from .screen_causes import ScreenCauses, hung, wide

_NARROWEST_M, _WIDEST_M = 0.2, 40.0
_MANY, _WIDE_STEP = 24, 5  # seats from which on lengths are judged in steps five times as wide


@dataclass(frozen=True)
class LensAnswer:
    """Where the lens may stand.

    here, fits_here   where it stands [m], and whether it may;  nearest   the nearest place that was found [m], None where none was
    ranges            right, out and up through `nearest` (through `here` where there is none), the other two held
    conflict          the two causes and the axis that leave no place at all
    through           judges places of the lens; its own stands at `nearest`, or at `here`
    """

    here: Place
    fits_here: bool
    nearest: Place | None
    ranges: tuple[Range, ...]
    conflict: tuple[By, By, int] | None
    through: LensPlaces

    @cached_property
    def plan(self) -> Region | None:
        """The region at the height of the place; None where zoom, shift, walls and casing leave no place. Source: `region`."""
        return region(self.through, 0, 1, self.through.optics.projector.lens_m[2])

    @cached_property
    def section(self) -> Region | None:
        """The region in the upright plane through the place, out from the screen wall. Source: `region`."""
        return region(self.through, 1, 2, self.through.optics.projector.lens_m[0])


@dataclass(frozen=True, eq=False, repr=False)
class Placement(Showing):
    """Where projector, screen and rows of a scene may be; plot() draws plan and section to scale.

    lens           LensAnswer
    width, width_lens_free     the white area's width, its lower edge kept: lens where it stands, and anywhere in the room
    bottom, bottom_lens_free   the white area's lower edge, its width kept, likewise
    rows           rows of seats from the front
    """

    scene: Scene
    lens: LensAnswer
    width: Range
    width_lens_free: Range
    bottom: Range
    bottom_lens_free: Range
    rows: tuple[SeatRow, ...]

    @property
    def ranges(self) -> tuple[Range, ...]:
        """All ranges, in the order they are told."""
        return (
            *self.lens.ranges,
            self.width,
            self.width_lens_free,
            self.bottom,
            self.bottom_lens_free,
            *(row.lift for row in self.rows),
        )

    @property
    def heights_away(self) -> dict[str, float]:
        """Distance of each seat's eye from the middle of the white area, in heights of the picture [1]."""
        middle, area = on_screen_plane(self.scene, 0.0, 0.0), picture(self.scene)
        return {seat.name: math.dist(seat.eye_m, middle) / area.height_m for seat in self.scene.seats}

    def __repr__(self) -> str:
        fits = "fits" if self.lens.fits_here else f"has to stand at {self.lens.nearest}" if self.lens.nearest else "has no place"
        return f"<Placement of {self.scene.title!r}: the lens {fits}; width {self.width.low_m} to {self.width.high_m} m>"


def place(scene: Scene, *, white_cd_m2: float | None = None) -> Placement:
    """Where projector, screen and rows may be: each length judged with all else as the scene has it. Nothing is traced.

    white_cd_m2  white that every seat must have of the projector's own light [cd/m2]; None: the least that a standard asks of a theatre
    raises       SceneErrors for a scene that no file could have made, and for rooms and things that are no boxes
    Source: `LensPlaces`, `ScreenCauses`, `rows_of`; published demands in published.py.
    """
    check_scene(scene)
    width, width_lens_free = _widths(scene, _whites(white_cd_m2))
    bottom, bottom_lens_free = _bottoms(scene)
    rows = tuple(rows_of(scene))
    return Placement(scene, _lens(scene), width, width_lens_free, bottom, bottom_lens_free, rows)


def _whites(asked: float | None) -> tuple[tuple[BoundRole, Published], ...]:
    if asked is not None:
        return (BoundRole.ASKED, asked_white(asked)), *((BoundRole.AIM, each) for each in WHITES)
    first, *others = WHITES
    return (BoundRole.ASKED, first), *((BoundRole.AIM, each) for each in others)


def _lens(scene: Scene) -> LensAnswer:
    places = LensPlaces.of(scene)
    here = scene.projector.lens_m
    nearest = nearest_place(places)
    at = nearest or here
    through = LensPlaces(places.at(at), places.room, places.seats)
    return LensAnswer(
        here=here,
        fits_here=places.fits(here),
        nearest=nearest,
        ranges=tuple(_along(through, axis) for axis in range(3)),
        conflict=why_none(places),
        through=through,
    )


def _along(places: LensPlaces, axis: int) -> Range:
    """The range of one measure of the lens, the other two held."""
    lens = places.optics.projector.lens_m
    causes = []
    for limit in places.limits:
        if limit.axis == axis:
            ends = [(limit.low_by, limit.low_m, math.inf), (limit.high_by, -math.inf, limit.high_m)]
            if limit.low_by is limit.high_by:
                ends = [(limit.low_by, limit.low_m, limit.high_m)]
            causes += [Cause(by, BoundRole.MUST, partial(_beyond, low=low - 1e-9, high=high + 1e-9)) for by, low, high in ends]

    @cache
    def found(values: tuple[float, ...]) -> list[tuple[By, str, np.ndarray]]:
        return list(places.in_the_way(np.array([moved(lens, axis, value) for value in values])))

    def met(values: tuple[float, ...], by: By) -> list[str | None]:
        return first_named(((thing, where) for cause, thing, where in found(values) if cause is by), len(values))

    casing = (By.CASING, By.CASING_IN_SIGHT) if places.optics.projector.casing else ()
    inside = (By.IN_OBJECT,) if places.room.objects else ()
    shell = (By.SHELL,) if places.room.shell is not None else ()
    causes += [Cause(by, BoundRole.MUST, partial(met, by=by)) for by in (By.BEAM, *inside, *shell, *casing)]
    zoom = places.optics.projector.throw_ratio
    room = places.room
    search = room.limits[axis]
    step = (MM if zoom is not None and zoom[0] < ULTRA_SHORT else CM) * _steps(places.seats)
    return range_of("projector.lens_m", AXES[axis], lens[axis], causes, search, step)


def _beyond(values: tuple[float, ...], low: float, high: float) -> list[str | None]:
    return [None if low <= value <= high else "" for value in values]


def _widths(scene: Scene, whites: tuple[tuple[BoundRole, Published], ...]) -> tuple[Range, Range]:
    """The screen's width, the lens where it stands and anywhere."""
    causes = ScreenCauses(scene, wide, whites)
    wall, asked = [*causes.of_the_wall()], [*causes.of_the_picture(), *causes.of_sight(BoundRole.AIM)]
    search = (_NARROWEST_M, min(_WIDEST_M, scene.room.width_m))
    key, now = "screen.width_m", scene.screen.width_m
    held, free = ([*wall, *lens, *asked] for lens in (causes.of_the_lens(), causes.of_the_room_for_a_lens()))
    step = CM * _steps(scene.seats)
    return range_of(key, "", now, held, search, step), range_of(key, "", now, free, search, step)


def _bottoms(scene: Scene) -> tuple[Range, Range]:
    """The lower edge, likewise."""
    causes = ScreenCauses(scene, hung)
    fixed = (By.ANGLE, By.PIXEL, By.WALL, By.ZOOM)  # a lower edge changes nothing of them, or nearly nothing
    wall, asked = [*causes.of_the_wall()], [*causes.of_the_picture(), *causes.of_sight(BoundRole.ASKED)]
    key, now = "screen.bottom_m", scene.screen.bottom_m
    held, free = ([cause for cause in (*wall, *lens, *asked) if cause.by not in fixed] for lens in (causes.of_the_lens(), ()))
    search, step = (0.0, scene.room.height_m), CM * _steps(scene.seats)
    return range_of(key, "", now, held, search, step), range_of(key, "", now, free, search, step)


def _steps(seats: tuple[Seat, ...]) -> int:
    return 1 if len(seats) <= _MANY else _WIDE_STEP
