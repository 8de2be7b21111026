"""Scenes that can be but that the user should think about: what stands in the light, what the picture misses."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from ..materials.hangs import OPPOSITE
from .casing import casing_warnings
from .cloth.notes import drape_warnings
from .fits import clear_lens, misfits
from .geometry import Raster, corners, film_area, open_area, picture, raster, white_area
from .head import HEAD_RADIUS_M
from .light_side import LEVEL_DEG, light_from_deg
from .model import Box, Projector, Room, Screen, Seat, Thing
from .parts import Optics
from .remedy import length_text
from .rooms.standing import in_pyramids, share_space, walls_in_pyramids
from .solids import meet_balls, pyramids_of
from .warning import SceneWarning, WarningCode

_Met = dict[str, np.ndarray]  # by name, which pyramids (n,) it reaches into
_SHARE = 0.0005  # shares below this are rounding of an aspect such as 1.78:1
_HEAD_OF = "the head of "
_PAPER_M = 0.0001  # a sheet of paper of 80 g/m2; thinner things are slips of the pen


def warnings(room: Room, projector: Projector, screen: Screen, seats: tuple[Seat, ...]) -> tuple[SceneWarning, ...]:
    """All warnings of a scene that can be, what does not fit first; heads are spheres of HEAD_RADIUS_M [m] about the eyes."""
    optics = Optics(screen, projector)
    things, walls = _in_the_light(optics, room, seats)
    return (
        *misfits(optics, room),
        *casing_warnings(optics, room, seats),
        *_beam(optics, room, seats, things, walls),
        *_left_out(projector),
        *_fit(optics, room),
        *_sight(seats, things, walls),
        *_overlaps(room.objects),
        *_thin(room.objects),
        *_seats_in_one(seats),
        *drape_warnings(screen),
        *(SceneWarning(WarningCode.FABRIC_IN_DOUBT, f'fabric "{screen.fabric.name}": {doubt}') for doubt in screen.fabric.doubts),
        *_fabric_use(optics),
    )


def _left_out(projector: Projector) -> Iterator[SceneWarning]:
    if projector.in_use is None:
        yield SceneWarning(WarningCode.IN_USE_LEFT_OUT, "in_use is left out: luminances are for the rated output, not in-use")
    if projector.checkerboard_contrast is None:
        yield SceneWarning(
            WarningCode.CONTRAST_LEFT_OUT,
            "checkerboard_contrast is left out: checkerboard contrast is the room's limit, an upper bound",
        )


def _fabric_use(optics: Optics) -> Iterator[SceneWarning]:
    """A fabric on a hang that it is not made for, and a louvred one that is lit from the side its dark facets look to."""
    fabric, hang = optics.screen.fabric, optics.screen.hang
    if hang not in fabric.hangs:
        yield SceneWarning(
            WarningCode.FABRIC_ON_HANG,
            f'fabric "{fabric.name}" is made for {listed(fabric.hangs)} only, not for hang = "{hang}" '
            "(stiff sheets: common practice, no source)",
        )
    side = fabric.wants_light_from
    if side is None:
        return
    away = light_from_deg(optics, side)
    if away < -LEVEL_DEG:
        yield SceneWarning(
            WarningCode.LIGHT_SIDE,
            f'fabric "{fabric.name}" wants its light from {side}: the projector lights the picture\'s middle from {-away:.0f} degrees '
            f"{OPPOSITE[side]}, where the dark facets look",
        )


def _fit(optics: Optics, room: Room) -> Iterator[SceneWarning]:
    light, white, seen = film_area(optics), open_area(optics), picture(optics)
    spilt = 1 - seen.area_m2 / light.area_m2
    if spilt > _SHARE:
        yield SceneWarning(
            WarningCode.LIGHT_BESIDE,
            f"the raster is larger than the white area: {100 * spilt:.1f} % of it falls on border and wall "
            f"(raster {_size(light)}, white area {_size(white)})",
        )
    dark = 1 - seen.area_m2 / white.area_m2
    if optics.projector.film is not None:
        yield from _bars(optics)
    elif dark > _SHARE:
        where = "left and right of" if white.width_m - seen.width_m > white.height_m - seen.height_m else "above and below"
        yield SceneWarning(
            WarningCode.UNLIT,
            f"the raster leaves {100 * dark:.1f} % of the white area unlit, {where} the picture (picture {_size(seen)})",
        )
    low, _, high, _ = corners(optics, light)
    (left, right), _, (floor, ceiling) = room.limits
    if low[0] < left or high[0] > right or low[2] < floor or high[2] > ceiling:
        yield SceneWarning(
            WarningCode.BEYOND_WALL,
            "the raster is larger than the screen wall: part of the light falls on side walls, floor or ceiling",
        )


def _bars(optics: Optics) -> Iterator[SceneWarning]:
    """Where a film leaves bars: on the white area, or beside it on border and wall."""
    light, film, white, seen = raster(optics), film_area(optics), white_area(optics), picture(optics)
    left = 1 - seen.area_m2 / white.area_m2
    if left > _SHARE and not (optics.projector.film and optics.projector.film.masked):
        text = f"the film leaves {100 * left:.0f} % of the white area (film {_size(seen)}): it shows the lens's black there, masked = true covers it"
        yield SceneWarning(WarningCode.BARS, text)
    beside = (light.width_m - max(white.width_m, film.width_m), light.height_m - max(white.height_m, film.height_m))
    if max(beside) > _SHARE * light.width_m:
        text = f"black bars of the raster ({_size(light)}) fall beside the white area, on border and wall, with the lens's black"
        yield SceneWarning(WarningCode.BARS, text)


def _size(area: Raster) -> str:
    return f"{area.width_m:.2f} x {area.height_m:.2f} m"


def _in_the_light(optics: Optics, room: Room, seats: tuple[Seat, ...]) -> tuple[_Met, _Met]:
    """Things (objects, heads) and walls in the projector's beam, the first place of each array, and in each seat's look at the picture."""
    apexes = [optics.projector.lens_m, *(seat.eye_m for seat in seats)]
    bases = [corners(optics, raster(optics)), *([corners(optics, picture(optics))] * len(seats))]
    pyramids = pyramids_of(apexes, bases)
    met = np.hstack([in_pyramids(pyramids, room.objects), meet_balls(pyramids, [seat.eye_m for seat in seats], HEAD_RADIUS_M)])
    things = dict(zip([*(f'"{box.name}"' for box in room.objects), *map(_head_of, seats)], met.T, strict=True))
    return things, {f'"{name}"': met for name, met in walls_in_pyramids(room, pyramids).items()}


def _head_of(seat: Seat) -> str:
    return f'{_HEAD_OF}"{seat.name}"'


def _beam(optics: Optics, room: Room, seats: tuple[Seat, ...], things: _Met, walls: _Met) -> Iterator[SceneWarning]:
    names = [name for name, met in things.items() if met[0]]
    clear = clear_lens(optics, room, seats) if names else None
    for name in names:
        text = f"{name} stands in the projector's beam and throws a shadow"
        if clear is not None:
            text += f"; a lens {length_text(clear.to_m)} m up clears the beam"
        yield SceneWarning(WarningCode.IN_BEAM, text, things=(name,), remedies=() if clear is None else (clear,))
    for name in (name for name, met in walls.items() if met[0]):
        text = f"{name} reaches into the projector's beam and throws a shadow"
        yield SceneWarning(WarningCode.WALL_IN_BEAM, text, things=(name,))
    for seat in seats:
        if math.dist(optics.projector.lens_m, seat.eye_m) < HEAD_RADIUS_M:
            text = f'the lens is inside the head of "{seat.name}": a limiting case for study, no room has it'
            yield SceneWarning(WarningCode.LENS_IN_HEAD, text, seat.name)


def _sight(seats: tuple[Seat, ...], things: _Met, walls: _Met) -> Iterator[SceneWarning]:
    for i, seat in enumerate(seats, start=1):
        names = [name for name, met in (*things.items(), *walls.items()) if met[i] and name != _head_of(seat)]
        if names:
            text = f'{in_the_way(names)} may hide part of the picture from "{seat.name}"'
            yield SceneWarning(WarningCode.IN_SIGHT, text, seat.name, tuple(names))


def listed(names: Sequence[str]) -> str:
    """Names in a sentence: one, "one and two", "one, two and three"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def kind_of(thing: str) -> str:
    """What a thing in the way counts as: all heads as "heads"."""
    return "heads" if thing.startswith(_HEAD_OF) else thing


def in_the_way(things: Sequence[str]) -> str:
    """A warning's things in a sentence, their heads together: "sofa" and the heads of "a" and "b"."""
    heads = [thing.removeprefix(_HEAD_OF) for thing in things if thing.startswith(_HEAD_OF)]
    if len(heads) < 2:
        return listed(things)
    return listed([*(thing for thing in things if not thing.startswith(_HEAD_OF)), f"the heads of {listed(heads)}"])


def _overlaps(objects: tuple[Thing, ...]) -> Iterator[SceneWarning]:
    for i, first in enumerate(objects):
        for second in objects[i + 1 :]:
            if share_space(first, second):
                text = f'"{first.name}" and "{second.name}" share space: where faces coincide, either finish may count'
                yield SceneWarning(WarningCode.OVERLAP, text, things=(f'"{first.name}"', f'"{second.name}"'))


def _thin(objects: tuple[Thing, ...]) -> Iterator[SceneWarning]:
    for box in objects:
        if not isinstance(box, Box):
            continue
        thickness = min(high - low for low, high in zip(box.min_m, box.max_m, strict=True))
        if thickness < _PAPER_M:
            yield SceneWarning(
                WarningCode.THIN,
                f'"{box.name}" is {1e6 * thickness:.2g} micrometres thick, less than paper, and stops light all the same',
                things=(f'"{box.name}"',),
            )


def _seats_in_one(seats: tuple[Seat, ...]) -> Iterator[SceneWarning]:
    for i, first in enumerate(seats):
        for second in seats[i + 1 :]:
            apart = math.dist(first.eye_m, second.eye_m)
            if apart < 2 * HEAD_RADIUS_M:
                yield SceneWarning(
                    WarningCode.SEATS_IN_ONE,
                    f'the eyes of "{first.name}" and "{second.name}" are {1e3 * apart:.0f} mm apart: no two heads have room there',
                    things=(f'the head of "{first.name}"', f'the head of "{second.name}"'),
                )
