"""Scenes that cannot be: each with its place in the file, what is wrong in words, and what would do."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..materials.text.nearest import nearest
from .lamps.checks import impossible_lighting
from .model import SURFACES, Box, Mount, Place, Room, Screen, Thing
from .normalise import Path, RawProblem
from .parts import Parts
from .rooms.spots import NotFlat, spots
from .rooms.standing import free_box, in_room, inside_thing, stands_in, thing_in_box
from .viewers import impossible_bodies

CLEAR_M = 0.001  # lens and eyes stay this far from the room's surfaces, so that no ray starts on one
EXACT_M = 1e-9  # rounding of sums of lengths: a screen may fill its wall exactly; what is thinner has no area in floats
_SINGLE_M = 1e-4  # meshes in single precision may touch a wall
RESERVED = (*SURFACES, "screen", "border", "back of the screen")
AXES = ("right", "out", "up")
_BEHIND_CLOTH = (
    "a loudspeaker behind the cloth is none of the objects: halfgain sound --speaker-gap M tells what the cloth takes from it"
)


def impossible(parts: Parts) -> list[RawProblem]:
    """Everything about the scene's parts that cannot be, in the file's order of tables."""
    found = [*_objects(parts), *_projector(parts), *_screen(parts), *_lights(parts), *impossible_lighting(parts), *_seats(parts)]
    return [*found, *impossible_bodies(parts)]


def _names(table: Path, names: Iterable[tuple[int, str]], reserved: dict[str, str]) -> Iterator[RawProblem]:
    """Names must differ, also where a file system minds no capitals, and from the reserved (name -> what it is)."""
    seen: dict[str, int] = {}
    for index, name in names:
        path = (*table, index, "name")
        if name.casefold() in reserved:
            yield RawProblem(path, f"is the name of {reserved[name.casefold()]}: take another")
        elif name.casefold() in seen:
            yield RawProblem(
                path, f"is taken by {table[-1]} {seen[name.casefold()] + 1}: names must differ in more than capitals"
            )
        seen.setdefault(name.casefold(), index)


def _objects(parts: Parts) -> Iterator[RawProblem]:
    table: Path = ("room", "object")
    reserved = {name: "a surface" for name in RESERVED}
    if parts.room:
        reserved |= {name.casefold(): "a surface" for name in parts.room.surfaces}
    yield from _names(table, ((i, box.name) for i, box in parts.objects.items()), reserved)
    yield from _parts(parts, reserved | {box.name.casefold(): "an object" for box in parts.objects.values()})
    for index, box in parts.objects.items():
        if not isinstance(box, Box):
            yield from _mesh_in_room(parts, box, (*table, index, "mesh"))
            continue
        place = (*table, index, "box")
        flat = [axis for axis, low, high in zip(AXES, box.min_m, box.max_m, strict=True) if high - low < EXACT_M]
        if flat:
            yield RawProblem((*place, "max_m"), f'"{box.name}" is no box: max must be larger than min in {" and ".join(flat)}')
            continue
        if parts.room:
            yield from _box_in_room(parts, parts.room, box, place)
        if parts.screen and parts.has_plane and box_through_screen(box, parts.screen):
            yield RawProblem(
                (*place, "min_m"),
                f'"{box.name}" stands in the screen or its border',
                f"out more than {parts.length((*place, 'min_m'), parts.screen.gap_to_wall_m)}, or beside the screen; {_BEHIND_CLOTH}",
            )


def _parts(parts: Parts, reserved: dict[str, str]) -> Iterator[RawProblem]:
    """Parts of surfaces: on a surface that there is, from a smaller to a larger place, and with some of the surface between."""
    table: Path = ("room", "part")
    yield from _names(table, ((i, part.name) for i, part in parts.parts.items()), reserved)
    for index, part in parts.parts.items():
        turned = [axis for axis, (low, high) in zip(AXES, part.span_m, strict=True) if not high - low >= CLEAR_M]
        for axis in turned:
            yield RawProblem((*table, index, f"{axis}_m"), "should be [from, to]", f"the second larger by at least {CLEAR_M:g} m")
        if parts.room is None or turned:
            continue
        if not parts.room.named(part.on):
            near = nearest(part.on, parts.room.surfaces)
            hint = f': did you mean "{near[0]}"?' if near else ""
            yield RawProblem((*table, index, "on"), f"is no surface of the room{hint}", ", ".join(parts.room.surfaces))
            continue
        try:
            lies = spots(parts.room, part)
        except NotFlat as fault:
            yield RawProblem((*table, index, "on"), str(fault), "a part between level and upright lines")
            continue
        if not lies:
            yield RawProblem((*table, index, "on"), f'no part of "{part.on}" lies there', _spans(parts.room), False)


def _spans(room: Room) -> str:
    return ", ".join(f"{axis} {low:g} to {high:g} m" for axis, (low, high) in zip(AXES, room.limits, strict=True))


def _mesh_in_room(parts: Parts, thing: Thing, path: Path) -> Iterator[RawProblem]:
    """A mesh within the room and clear of the screen."""
    if parts.room:
        out = [
            i
            for i, (low, high) in enumerate(parts.room.limits)
            if thing.min_m[i] < low - _SINGLE_M or thing.max_m[i] > high + _SINGLE_M
        ]
        if out or not stands_in(parts.room, thing):
            spans = ", ".join(f"{AXES[i]} {thing.min_m[i]:.3g} to {thing.max_m[i]:.3g} m" for i in out or range(3))
            allowed = ", ".join(f"{AXES[i]} {parts.room.limits[i][0]:g} to {parts.room.limits[i][1]:g} m" for i in out)
            yield RawProblem(
                path, f'"{thing.name}" reaches outside the room: {spans}', allowed or "within the walls; at_m moves it"
            )
    if parts.screen and parts.has_plane:
        screen, b = parts.screen, parts.screen.border_m
        low = (screen.right_m - screen.width_m / 2 - b, 0.0, screen.bottom_m - b)
        high = (low[0] + screen.width_m + 2 * b, screen.gap_to_wall_m, low[2] + screen.height_m + 2 * b)
        if thing_in_box(thing, low, high):
            allowed = f"before the screen, or beside it; at_m moves it; {_BEHIND_CLOTH}"
            yield RawProblem(path, f'"{thing.name}" stands in the screen or its border', allowed)


def _box_in_room(parts: Parts, room: Room, box: Box, place: Path) -> Iterator[RawProblem]:
    inside = True
    for key, corner in (("min_m", box.min_m), ("max_m", box.max_m)):
        out = [i for i, (low, high) in enumerate(room.limits) if not low - EXACT_M <= corner[i] <= high + EXACT_M]
        if out:
            allowed = ", ".join(f"{AXES[i]} {parts.length((*place, key), *room.limits[i])}" for i in out)
            yield RawProblem((*place, key), f'"{box.name}" reaches outside the room', allowed)
            inside = False
    if inside and not stands_in(room, box):
        yield RawProblem((*place, "max_m"), f'"{box.name}" reaches through a wall or the ceiling', "a box within the room")


def box_through_screen(box: Box, screen: Screen) -> bool:
    """True for a box that reaches back to the fabric or behind it, in front of or behind the screen and its border; units [m]."""
    left = screen.right_m - screen.width_m / 2 - screen.border_m
    bottom = screen.bottom_m - screen.border_m
    beside = (
        box.max_m[0] <= left + EXACT_M
        or box.min_m[0] >= left + screen.width_m + 2 * screen.border_m - EXACT_M
        or box.max_m[2] <= bottom + EXACT_M
        or box.min_m[2] >= bottom + screen.height_m + 2 * screen.border_m - EXACT_M
    )
    return not beside and box.min_m[1] <= screen.gap_to_wall_m + EXACT_M


def _place(parts: Parts, what: str, place_m: Place, path: Path) -> Iterator[RawProblem]:
    """A lens or an eye: in the room, in front of the screen's plane, in no object."""
    room = parts.room
    if room:
        limits = room.limits
        out = [i for i, (low, high) in enumerate(limits) if not low + CLEAR_M <= place_m[i] <= high - CLEAR_M]
        if out:
            allowed = ", ".join(f"{AXES[i]} {parts.length(path, limits[i][0] + CLEAR_M, limits[i][1] - CLEAR_M)}" for i in out)
            where = "above the ceiling" if out == [2] and place_m[2] > limits[2][1] else "outside the room"
            yield RawProblem(path, f"{what} is {where}", allowed)
            return
        if not in_room(room, place_m, CLEAR_M):
            yield RawProblem(
                path, f"{what} is outside the room, or within {1000 * CLEAR_M:g} mm of a wall", "a place within the walls"
            )
            return
    if parts.screen and parts.has_plane and place_m[1] < parts.screen.gap_to_wall_m + CLEAR_M:
        yield RawProblem(
            path,
            f"{what} is not in front of the screen plane",
            f"out at least {parts.length(path, parts.screen.gap_to_wall_m + CLEAR_M)}",
        )
    for box in parts.objects.values():
        if inside_thing(place_m, box):
            yield RawProblem(path, f'{what} is inside "{box.name}"')


def _projector(parts: Parts) -> Iterator[RawProblem]:
    projector = parts.projector
    if projector is None:
        return
    own = projector.checkerboard_contrast
    if own is not None and own > projector.native_contrast:
        yield RawProblem(
            ("projector", "checkerboard_contrast"),
            "is above native_contrast: light in the lens only lowers contrast",
            f"at most {projector.native_contrast:g}",
        )
    if projector.throw_ratio and projector.throw_ratio[0] > projector.throw_ratio[1]:
        yield RawProblem(("projector", "throw_ratio"), "should be [least, most]")
    yield from _place(parts, "the lens", projector.lens_m, ("projector", "lens_m"))
    film = projector.film
    if film is not None and film.transmission != 1.0 and film.shown != "anamorphic":
        yield RawProblem(("projector", "film", "transmission"), "is for an anamorphic lens only", '1, or shown = "anamorphic"')
    casing = projector.casing
    if casing is not None:
        path: Path = ("projector", "casing", "lens_m")
        out = [i for i, (at, size) in enumerate(zip(casing.lens_m, casing.size_m, strict=True)) if at > size + EXACT_M]
        if out:
            allowed = ", ".join(f"{AXES[i]} {parts.length(path, 0.0, casing.size_m[i])}" for i in out)
            yield RawProblem(path, "the lens is outside its casing", allowed)


def _screen(parts: Parts) -> Iterator[RawProblem]:
    screen, room = parts.screen, parts.room
    if screen is None or room is None:
        return
    size: Path = ("screen", "width_m" if ("screen", "width_m") in parts.units else "diagonal_m")
    whole_width, whole_height = screen.width_m + 2 * screen.border_m, screen.height_m + 2 * screen.border_m
    if 0 < screen.border_m < EXACT_M:
        path: Path = ("screen", "border_m")
        yield RawProblem(path, "is a border without width", f"0, or at least {parts.length(path, EXACT_M)}")
    if room.shell is not None:
        yield from _screen_in_shell(parts, screen, room)
        return
    if whole_width > room.width_m + EXACT_M:
        yield RawProblem(
            size,
            f"screen and border are {parts.length(size, whole_width)} wide, wider than their wall",
            f"at most {parts.length(size, room.width_m)} in all",
        )
    else:
        free = room.width_m / 2 - whole_width / 2
        if abs(screen.right_m) > free + EXACT_M:
            path = ("screen", "right_m")
            side = "right" if screen.right_m > 0 else "left"
            yield RawProblem(path, f"screen and border reach through the {side} wall", parts.length(path, -free, free))
    if screen.mount is not None:
        yield from _mount(parts, screen.mount, screen, room)
    case = screen.mount.below_ceiling_m if screen.mount is not None else 0.0
    path = ("screen", "bottom_m")
    low, high = screen.border_m, room.height_m - screen.height_m - screen.border_m - case
    if whole_height > room.height_m + EXACT_M:
        yield RawProblem(
            size,
            f"screen and border are {parts.length(size, whole_height)} high, higher than their wall",
            f"at most {parts.length(size, room.height_m)} in all",
        )
    elif whole_height + case > room.height_m + EXACT_M:
        yield RawProblem(
            size, f"screen, border and case are {parts.length(size, whole_height + case)} high, higher than their wall"
        )
    elif screen.bottom_m > high + EXACT_M:
        what = "screen, border and case" if case else "screen and border"
        yield RawProblem(path, f"{what} reach through the ceiling", parts.length(path, low, high))
    elif screen.bottom_m < low - EXACT_M:
        yield RawProblem(path, "the border reaches below the floor", parts.length(path, low, high))
    if screen.gap_to_wall_m >= room.depth_m:
        yield RawProblem(
            ("screen", "gap_to_wall_m"),
            "the screen hangs outside the room",
            f"less than {parts.length(('screen', 'gap_to_wall_m'), room.depth_m)}",
        )


def _mount(parts: Parts, mount: Mount, screen: Screen, room: Room) -> Iterator[RawProblem]:
    """A case no higher than what is let into the ceiling, and one that finds room on its wall."""
    table: Path = ("screen", "mount")
    if mount.recess_m > (mount.case_height_m or 0.0) + EXACT_M:
        path: Path = (*table, "recess_m")
        yield RawProblem(path, "is more than the case is high", f"at most {parts.length(path, mount.case_height_m or 0.0)}")
    if mount.case_width_m is not None:
        path = (*table, "case_width_m")
        free = 2 * (room.width_m / 2 - abs(screen.right_m))
        if mount.case_width_m > free + EXACT_M:
            yield RawProblem(path, "the case is wider than its wall has room for", f"at most {parts.length(path, free)}")


def _screen_in_shell(parts: Parts, screen: Screen, room: Room) -> Iterator[RawProblem]:
    """Screen and border, with the way back to the wall, within a room that is no box."""
    b = screen.border_m
    low = (screen.right_m - screen.width_m / 2 - b, 0.0, screen.bottom_m - b)
    high = (low[0] + screen.width_m + 2 * b, screen.gap_to_wall_m, low[2] + screen.height_m + 2 * b)
    if not free_box(room, low, high):
        yield RawProblem(
            ("screen", "right_m" if ("screen", "right_m") in parts.units else "bottom_m"),
            f"screen and border, {low[0]:.2f} to {high[0]:.2f} m right and {low[2]:.2f} to {high[2]:.2f} m up, do not fit their wall: "
            "a wall or the ceiling cuts them, or the wall is not at out = 0",
            "a place on the screen wall, within the room",
        )


def _lights(parts: Parts) -> Iterator[RawProblem]:
    yield from _names(
        ("light",),
        ((i, light.name) for i, light in parts.lights.items()),
        {"dark": "the state without any light, which is always there"},
    )


def _seats(parts: Parts) -> Iterator[RawProblem]:
    yield from _names(("seat",), ((i, seat.name) for i, seat in parts.seats.items()), {})
    for index, seat in parts.seats.items():
        yield from _place(parts, f'the eye of "{seat.name}"', seat.eye_m, ("seat", index, "eye_m"))
