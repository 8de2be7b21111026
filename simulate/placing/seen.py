"""What a seat sees of a picture of any size without any light traced: angles, pixels, white of the projector's own light."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ...materials.lobes.brdf import fabric_gains
from ...scenes.geometry import HasScreen, on_screen_plane, picture, raster
from ...scenes.model import Place, Seat
from ...scenes.solids import cross, dot, sub

NINE_POINT_LOSS = (
    8.0 / 27.0
)  # of the fall-off: mean of r^2 over the middles of a 3 x 3 grid, r = 1 at the corner, whatever the shape (derived)


def picture_widths_deg(scene: HasScreen, seats: Sequence[Seat]) -> list[float]:
    """Angle [deg] between the picture's left and right edge at half its height, from each seat. Source: plane trigonometry."""
    area = picture(scene)
    up = 0.5 * (area.bottom_m + area.top_m)
    return _angles_deg(on_screen_plane(scene, area.left_m, up), on_screen_plane(scene, area.right_m, up), seats)


def picture_tops_deg(scene: HasScreen, seats: Sequence[Seat]) -> list[float]:
    """Angle [deg] of the picture's top edge, at its middle, above each eye's level. Source: plane trigonometry."""
    top = on_screen_plane(scene, 0.0, picture(scene).top_m)
    ways = [sub(top, seat.eye_m) for seat in seats]
    return [math.degrees(math.atan2(way[2], math.hypot(way[0], way[1]))) for way in ways]


def pixels_arcmin(scene: HasScreen, seats: Sequence[Seat]) -> list[float]:
    """Angle [arcmin] of one pixel's width at the picture's middle, from each seat.

    raises  ValueError where no pixels are stated
    Source: plane trigonometry, the width foreshortened by the angle the screen is seen at.
    """
    pixels = scene.projector.pixels
    if pixels is None:
        raise ValueError("no pixels are stated; allowed a projector with pixels")
    half = 0.5 * raster(scene).width_m / pixels[0]
    return [60.0 * angle for angle in _angles_deg(on_screen_plane(scene, -half, 0.0), on_screen_plane(scene, half, 0.0), seats)]


def _angles_deg(start: Place, end: Place, seats: Sequence[Seat]) -> list[float]:
    """Angle between two places from each seat; atan2 keeps the digits of small ones."""
    found = []
    for seat in seats:
        a, b = sub(start, seat.eye_m), sub(end, seat.eye_m)
        across = cross(a, b)
        found.append(math.degrees(math.atan2(math.sqrt(dot(across, across)), dot(a, b))))
    return found


def centre_lx(scene: HasScreen) -> float:
    """Illuminance [lx] of full white at the middle of the flat screen. Source: ISO/IEC 21118, lumens = nine-point mean x area."""
    projector = scene.projector
    lumens = projector.light_output_lm * (1.0 if projector.in_use is None else projector.in_use)
    lumens *= 1.0 if projector.film is None else projector.film.transmission
    return lumens / raster(scene).area_m2 / (1.0 - NINE_POINT_LOSS * (1.0 - projector.corner_to_centre))


def direct_white_cd_m2(scene: HasScreen, seats: Sequence[Seat]) -> list[float]:
    """White luminance [cd/m2] at the middle of the flat screen towards each seat, of the projector's own light, nothing in its way.

    What the room sends back comes on top, so it is the least there is. Source: `direct_whites_cd_m2`.
    """
    return [float(white) for white in direct_whites_cd_m2([scene], seats)[0]]


def direct_whites_cd_m2(scenes: Sequence[HasScreen], seats: Sequence[Seat]) -> np.ndarray:
    """`direct_white_cd_m2` (n, seats) of scenes that differ in the place and size of their screens alone.

    Source: L = gain E / pi with the fabric's own gain.
    """
    middles, lux = np.array([on_screen_plane(each, 0.0, 0.0) for each in scenes]), np.array([centre_lx(each) for each in scenes])
    light = _in_cloth(np.array([each.projector.lens_m for each in scenes])[:, None] - middles[:, None])
    eyes = _in_cloth(np.array([seat.eye_m for seat in seats]) - middles[:, None])
    gains = fabric_gains(scenes[0].screen.fabric.arrays(), np.repeat(light, len(seats), axis=0), eyes)
    return np.asarray(gains.reshape(len(scenes), -1) * lux[:, None] / math.pi)


def _in_cloth(ways: np.ndarray) -> np.ndarray:
    """Unit vectors (n m, 3) of ways (n, m, 3) [m] from the picture's middle, in the cloth's frame: right, up, normal."""
    ways = ways.reshape(-1, 3)[:, [0, 2, 1]]
    return np.ascontiguousarray(ways / np.linalg.norm(ways, axis=1, keepdims=True))
