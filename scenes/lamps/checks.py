"""Lamps, windows and light states that cannot be in their room: each with its place in the file, and what would do."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from ...materials.text.nearest import nearest
from ..normalise import Path, RawProblem
from .find import EVERY_SPAN
from .model import Lamp, Light, Place, Window

if TYPE_CHECKING:
    from ..model import Room
    from ..parts import Parts

CLEAR_M = 0.005  # a point of light nearer to a surface than its lamp is thick would be no lamp
EXACT_M = 1e-9
AXES = ("right", "out", "up")


def impossible_lighting(parts: Parts) -> Iterator[RawProblem]:
    """Everything about the lamps, windows and light states of a scene that cannot be."""
    yield from _names(parts)
    for index, lamp in parts.lamps.items():
        yield from _lamp(parts, lamp, ("lamp", index))
    for index, window in parts.windows.items():
        yield from _window(parts, window, index)
    for index, light in parts.lights.items():
        yield from _state(parts, light, ("light", index))


def _names(parts: Parts) -> Iterator[RawProblem]:
    """Names of lamps and windows differ, also from each other's, in more than capitals."""
    seen: dict[str, str] = {}
    every = [("lamp", i, lamp.name) for i, lamp in parts.lamps.items()] + [
        ("window", i, each.name) for i, each in parts.windows.items()
    ]
    for kind, index, name in every:
        if name.casefold() in seen:
            yield RawProblem(
                (kind, index, "name"), f"is taken by {seen[name.casefold()]}: names must differ in more than capitals"
            )
        seen.setdefault(name.casefold(), f"{kind} {index + 1}")


def limits(room: Room) -> tuple[tuple[float, float], ...]:
    """Least and greatest right, out, up of a room [m]."""
    return room.limits


def _lamp(parts: Parts, lamp: Lamp, path: Path) -> Iterator[RawProblem]:
    from ..rooms.standing import in_room

    ends = {"place_m": lamp.place_m} | ({"end_m": lamp.end_m} if lamp.end_m is not None else {})
    for key, place in ends.items():
        if parts.room:
            within = limits(parts.room)
            out = [i for i, (low, high) in enumerate(within) if not low + CLEAR_M <= place[i] <= high - CLEAR_M]
            if out:
                allowed = ", ".join(
                    f"{AXES[i]} {parts.length((*path, key), within[i][0] + CLEAR_M, within[i][1] - CLEAR_M)}" for i in out
                )
                yield RawProblem((*path, key), f'the light of "{lamp.name}" is outside the room or in its wall', allowed)
            elif not in_room(parts.room, place, CLEAR_M):
                text = f'the light of "{lamp.name}" is outside the room or in its wall'
                yield RawProblem((*path, key), text, "a place within the walls")
    from ..model import Box  # model imports lamps
    from ..rooms.standing import inside_thing

    end = lamp.end_m or lamp.place_m
    for box in parts.objects.values():
        if meets_box(lamp.place_m, end, box) if isinstance(box, Box) else inside_thing(lamp.place_m, box):
            yield RawProblem((*path, "place_m"), f'the light of "{lamp.name}" is inside "{box.name}"', "a place outside of it")
    screen = parts.screen
    if screen is None or not parts.has_plane:
        return
    low, high = sorted((lamp.place_m[1], end[1]))
    if low - 0.001 < screen.gap_to_wall_m < high + 0.001 and _before_screen(parts, lamp.place_m, end):
        gap = parts.length((*path, "place_m"), screen.gap_to_wall_m)
        yield RawProblem(
            (*path, "place_m"), f'the light of "{lamp.name}" is in the screen', f"out other than {gap}, or beside the screen"
        )


def _before_screen(parts: Parts, a: Place, b: Place) -> bool:
    """True where the box around a line reaches over the screen or its border, seen along the screen's normal."""
    screen = parts.screen
    assert screen is not None
    left, bottom = screen.right_m - screen.width_m / 2 - screen.border_m, screen.bottom_m - screen.border_m
    across, upward = sorted((a[0], b[0])), sorted((a[2], b[2]))
    return not (
        across[1] < left
        or across[0] > left + screen.width_m + 2 * screen.border_m
        or upward[1] < bottom
        or upward[0] > bottom + screen.height_m + 2 * screen.border_m
    )


def meets_box(a: Place, b: Place, box: Any) -> bool:
    """True where a line from a to b has a point in a box or on it. Source: slab method (Kay and Kajiya 1986)."""
    enter, leave = 0.0, 1.0
    for low, high, start, end in zip(box.min_m, box.max_m, a, b, strict=True):
        way = end - start
        if abs(way) < 1e-12:
            if not low <= start <= high:
                return False
            continue
        near, far = sorted(((low - start) / way, (high - start) / way))
        enter, leave = max(enter, near), min(leave, far)
    return enter <= leave


def _window(parts: Parts, window: Window, index: int) -> Iterator[RawProblem]:
    if parts.room is None:
        return
    if not parts.room.named(window.surface):
        near = nearest(window.surface, parts.room.surfaces)
        hint = f': did you mean "{near[0]}"?' if near else ""
        yield RawProblem(("window", index, "surface"), f"is no surface of the room{hint}", ", ".join(parts.room.surfaces))
        return
    if parts.room.shell is not None:
        yield from _window_in_shell(parts.room, window, ("window", index, "surface"))
    within = dict(zip(("right_m", "out_m", "up_m"), limits(parts.room), strict=True))
    for key in _spans(window):
        span = getattr(window, key)
        low, high = within[key]
        if span[0] < low - EXACT_M or span[1] > high + EXACT_M:
            path: Path = ("window", index, key)
            yield RawProblem(path, f'"{window.name}" reaches beyond {window.surface}', parts.length(path, low, high))
    for other_index, other in parts.windows.items():
        if other_index < index and other.surface == window.surface and _overlap(window, other):
            yield RawProblem(
                ("window", index, _spans(window)[0]), f'"{window.name}" lies over "{other.name}"', "windows side by side"
            )


def _window_in_shell(room: Room, window: Window, path: Path) -> Iterator[RawProblem]:
    """A window in a room that is no box lies whole on one upright or level face."""
    from ..rooms.spots import NotFlat, share_on_face, window_spots

    try:
        found = window_spots(room, window)
    except NotFlat as fault:
        yield RawProblem(path, str(fault), "a window between level and upright lines")
        return
    if len(found) != 1 or share_on_face(room, found[0]) < 0.999:
        yield RawProblem(path, f'"{window.name}" does not lie whole on one face of {window.surface}', "spans within one wall")


def _spans(window: Window) -> list[str]:
    """The keys that say where a window is."""
    return [key for key in EVERY_SPAN if getattr(window, key) is not None]


def _overlap(a: Window, b: Window) -> bool:
    """True where two windows in one surface share a place; of those told by other keys nothing is known."""
    keys = _spans(a)
    return keys == _spans(b) and all(
        min(getattr(a, key)[1], getattr(b, key)[1]) - max(getattr(a, key)[0], getattr(b, key)[0]) > EXACT_M for key in keys
    )


def _state(parts: Parts, light: Light, path: Path) -> Iterator[RawProblem]:
    lamps, known = parts.light_names.get("lamp", []), parts.light_names.get("window", [])
    windows = {each.name: each for each in parts.windows.values()}
    yield from _unknown("lamp", light.lamps, lamps, (*path, "lamps"))
    yield from _unknown("window", light.windows, known, (*path, "windows"))
    for i, name in enumerate(light.blinds_down):
        place: Path = (*path, "blinds_down", i)
        if name not in known:
            yield from _unknown("window", {name: 1.0}, known, place, at_key=False)
        elif name in windows and windows[name].blind_transmission is None:
            yield RawProblem(place, f'window "{name}" has no blind', "a window with blind_transmission")
        elif name not in light.windows:
            yield RawProblem(place, f'the light of window "{name}" is not in this state', "a window that stands under windows")


def _unknown(what: str, names: Mapping[str, float], known: list[str], path: Path, *, at_key: bool = True) -> Iterator[RawProblem]:
    for name in names:
        if name not in known:
            near = nearest(name, known)
            hint = f": did you mean {' or '.join(near[:2])}?" if near else ""
            said = f"is no {what} of the scene{hint}" if not at_key else f'names "{name}", which is no {what} of the scene{hint}'
            yield RawProblem(
                (*path, name) if at_key else path, said, ", ".join(known) or f"a [[{what}]] of the scene", not at_key
            )
