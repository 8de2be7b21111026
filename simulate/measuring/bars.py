"""Where a film's black bars lie, how much of the lens's black falls there, and how much of it the room sees against the film's light."""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple

import numpy as np

from ...scenes.geometry import film_area, picture, raster, white_area
from ...scenes.model import Scene
from ..light.projector import ProjectorArrays
from .colour import luminance

LEAST_M = 1e-6  # narrower bars are rounding of an aspect


class Onto(StrEnum):
    """What a bar's middle lies on."""

    SCREEN = "screen"
    MASKING = "masking"
    BORDER = "border"
    WALL = "wall"


class BarSpot(NamedTuple):
    """A bar: its side, what its middle lies on, how wide it is, and where that middle is on the screen's plane, from its centre [m]."""

    side: str
    onto: Onto
    width_m: float
    right_m: float
    up_m: float


def bar_spots(scene: Scene) -> list[BarSpot]:
    """Middles of the bars of a scene's film [m]: on what it leaves of the white area, else on what the raster has beyond it.

    Source: `raster`, `picture`.
    """
    light = raster(scene)
    white, seen, border = white_area(scene), picture(scene), scene.screen.border_m
    masked = scene.projector.film is not None and scene.projector.film.masked
    found = []
    ends = (
        ("top", 1, seen.top_m, white.top_m, light.top_m),
        ("bottom", -1, -seen.bottom_m, -white.bottom_m, -light.bottom_m),
        ("left", -1, -seen.left_m, -white.left_m, -light.left_m),
        ("right", 1, seen.right_m, white.right_m, light.right_m),
    )
    for side, sign, inner, edge, lit in ends:
        on_white = edge - inner > LEAST_M
        lens = lit - inner > LEAST_M  # the lens's black reaches there
        outer = (min(edge, lit) if lens else edge) if on_white else lit
        if outer - inner <= LEAST_M:
            continue
        middle = 0.5 * (inner + outer)
        onto = (Onto.MASKING if masked else Onto.SCREEN) if on_white else Onto.BORDER if middle - edge <= border else Onto.WALL
        upright = side in ("top", "bottom")
        found.append(BarSpot(side, onto, outer - inner, 0.0 if upright else sign * middle, sign * middle if upright else 0.0))
    return found


def white_lx(scene: Scene, projector: ProjectorArrays, spot: BarSpot) -> float:
    """Illuminance of a white raster at a bar's middle, on the nominal plane [lx]; 0 beyond the raster. Source: the projector's own fall-off."""
    light = raster(scene)
    inside = light.left_m < spot.right_m < light.right_m and light.bottom_m < spot.up_m < light.top_m
    centre, fall, corner = projector.light
    return float(centre * (1.0 - fall * (spot.right_m**2 + spot.up_m**2) / corner)) if inside else 0.0


def finish_under(scene: Scene, onto: Onto) -> tuple[float, ...]:
    """Reflectance [1] of what a bar lies on; of the cloth its albedo. Source: the scene's finishes."""
    if onto is Onto.SCREEN:
        return (float(scene.screen.fabric.albedo),)
    return tuple(
        (
            scene.room.finish.get("front", scene.screen.border_finish) if onto is Onto.WALL else scene.screen.border_finish
        ).reflectance
    )


def bars_over_film(scene: Scene, projector: ProjectorArrays) -> float:
    """Light that a white raster would send out from the bars over that from the film [1]; 0 without a film.

    In a black frame bars and film are black alike, so the room sends back this much more than the film's part of it.
    An estimate: the places differ, so what comes back to the middle is taken as the same by lumen.
    Source: derived; flux = illuminance x area, what leaves = reflectance x flux.
    """
    albedo = float(scene.screen.fabric.albedo)
    film, seen, white, light = film_area(scene), picture(scene), white_area(scene), raster(scene)
    centre = float(projector.light[0])
    if scene.projector.film is None or albedo <= 0.0 or centre <= 0.0:
        return 0.0
    on_white = min(light.width_m, white.width_m) * min(light.height_m, white.height_m)
    parts = {True: max(0.0, on_white - seen.area_m2), False: max(0.0, light.area_m2 - on_white - (film.area_m2 - seen.area_m2))}
    found = 0.0
    for spot in bar_spots(scene)[:1]:  # bars are alike on both sides
        on_cloth = spot.onto in (Onto.SCREEN, Onto.MASKING)
        own = float(luminance(np.array(finish_under(scene, spot.onto)))) if spot.onto is not Onto.SCREEN else albedo
        found += parts[on_cloth] / seen.area_m2 * own / albedo * white_lx(scene, projector, spot) / centre
    return found
