"""Lamps and windows behind the screen: a closed or backed cloth hides them, through holes their light would come."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..normalise import Path, RawProblem
from .model import Lamp, Window

if TYPE_CHECKING:
    from ..model import Screen
    from ..parts import Parts


def light_through(parts: Parts) -> Iterator[RawProblem]:
    """Lamps and windows whose light would come through the screen's holes, which is not computed."""
    screen = parts.screen
    fabric = None if screen is None else screen.fabric
    if screen is None or fabric is None or screen.backed or not fabric.open_area > 0.0:
        return
    for path, name in behind(parts, screen):
        holes = f"holes (open area {fabric.open_area:.3g})"
        said = f'"{name}" is behind the screen, whose cloth has {holes}: what comes through is not computed'
        yield RawProblem(path, said, "backed = true under [screen] where black cloth hangs behind it, or a closed fabric")


def opaque_note(parts: Parts) -> list[str]:
    """What is taken of a closed cloth with light behind it; nothing where there is none, or black cloth between."""
    screen = parts.screen
    if screen is None or screen.backed:
        return []
    names = [name for _, name in behind(parts, screen)]
    return [f"{', '.join(names)} behind the screen: its cloth is taken to let no light through"] if names else []


def behind(parts: Parts, screen: Screen) -> Iterator[tuple[Path, str]]:
    """Place in the file and name of every lamp behind the screen's plane and of every window in the wall behind it."""
    for index, lamp in parts.lamps.items():
        if _lamp_behind(lamp, screen):
            yield ("lamp", index, "place_m"), lamp.name
    for index, window in parts.windows.items():
        if _window_behind(window, screen):
            yield ("window", index, "surface"), window.name


def _lamp_behind(lamp: Lamp, screen: Screen) -> bool:
    ends = (lamp.place_m, lamp.end_m or lamp.place_m)
    return min(end[1] for end in ends) < screen.gap_to_wall_m


def _window_behind(window: Window, screen: Screen) -> bool:
    """A window in the screen wall that reaches behind the cloth, or so near to its edge that it looks in behind it at 45 degrees."""
    if window.surface != "front" or window.right_m is None or window.up_m is None:
        return False
    reach = screen.gap_to_wall_m
    left, bottom = screen.right_m - screen.width_m / 2 - reach, screen.bottom_m - reach
    return (
        window.right_m[1] > left
        and window.right_m[0] < left + screen.width_m + 2 * reach
        and window.up_m[1] > bottom
        and window.up_m[0] < bottom + screen.height_m + 2 * reach
    )
