"""Lamps and windows behind the screen: a closed or backed cloth hides them, through holes and translucent cloth their light comes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from .model import Lamp, Window

if TYPE_CHECKING:
    from ..model import Screen
    from ..parts import Parts


def follows_light_through(screen: Screen, lamps: Iterable[Lamp], windows: Iterable[Window]) -> bool:
    """True where light is followed through the cloth: it has a transmittance, or holes and a lamp or window behind it, and no black cloth.

    Source: definition; of holes alone with no light behind them what comes back is `behind_reflectance`.
    """
    fabric = screen.fabric
    if screen.backed or fabric is None:
        return False
    return bool(fabric.transmittance) or (fabric.open_area > 0.0 and bool(behind(screen, lamps, windows)))


def through_notes(parts: Parts) -> list[str]:
    """What is taken of a cloth with light behind it, or of one that lets light through; nothing where black cloth hangs between."""
    screen = parts.screen
    if screen is None or screen.backed or screen.fabric is None:
        return []
    fabric, lamps, windows = screen.fabric, list(parts.lamps.values()), list(parts.windows.values())
    found, notes = behind(screen, lamps, windows), []
    names = ", ".join(each.name for each in found)
    if not follows_light_through(screen, lamps, windows):
        return [f"{names} behind the screen: its cloth is taken to let no light through"] if found else []
    if found:
        notes.append(f"{names} behind the screen: what comes through its cloth is counted")
    bare = [each.name for each in found if isinstance(each, Lamp)] if fabric.open_area > 0.0 else []
    if bare:
        notes.append(
            f"{', '.join(bare)}: through the holes the lamp itself is seen as a point of glare, which no luminance tells"
        )
    if fabric.transmittance is None:
        notes.append("transmittance is left out: light behind the screen comes through the holes alone")
    return notes


def behind(screen: Screen, lamps: Iterable[Lamp], windows: Iterable[Window]) -> list[Lamp | Window]:
    """Every lamp behind the screen's plane and every window in the wall behind it."""
    return [lamp for lamp in lamps if _lamp_behind(lamp, screen)] + [each for each in windows if _window_behind(each, screen)]


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
