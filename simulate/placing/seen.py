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


def picture_width_deg(scene: HasScreen, eye: Place) -> float:
    """Angle [deg] between the picture's left and right edge at half its height, from an eye [m]. Source: plane trigonometry."""
    area = picture(scene)
    up = 0.5 * (area.bottom_m + area.top_m)
    left, right = (sub(on_screen_plane(scene, x, up), eye) for x in (area.left_m, area.right_m))
    across = cross(left, right)
    return math.degrees(math.atan2(math.sqrt(dot(across, across)), dot(left, right)))


def picture_top_deg(scene: HasScreen, eye: Place) -> float:
    """Angle [deg] of the picture's top edge, at its middle, above the eye's level. Source: plane trigonometry."""
    top = sub(on_screen_plane(scene, 0.0, picture(scene).top_m), eye)
    return math.degrees(math.atan2(top[2], math.hypot(top[0], top[1])))


def pixel_arcmin(scene: HasScreen, eye: Place) -> float | None:
    """Angle [arcmin] of one pixel's width at the picture's middle, from an eye [m]; None where no pixels are stated.

    Source: plane trigonometry, the width foreshortened by the angle the screen is seen at.
    """
    pixels = scene.projector.pixels
    if pixels is None:
        return None
    half = 0.5 * raster(scene).width_m / pixels[0]
    ends = [sub(on_screen_plane(scene, x, 0.0), eye) for x in (-half, half)]
    across = cross(*ends)
    return 60.0 * math.degrees(math.atan2(math.sqrt(dot(across, across)), dot(*ends)))


def centre_lx(scene: HasScreen) -> float:
    """Illuminance [lx] of full white at the middle of the flat screen. Source: ISO/IEC 21118, lumens = nine-point mean x area."""
    projector = scene.projector
    lumens = projector.light_output_lm * (1.0 if projector.in_use is None else projector.in_use)
    return lumens / raster(scene).area_m2 / (1.0 - NINE_POINT_LOSS * (1.0 - projector.corner_to_centre))


def direct_white_cd_m2(scene: HasScreen, seats: Sequence[Seat]) -> list[float]:
    """White luminance [cd/m2] at the middle of the flat screen towards each seat, of the projector's own light, nothing in its way.

    What the room sends back comes on top, so it is the least there is. Source: L = gain E / pi with the fabric's own gain.
    """
    middle = on_screen_plane(scene, 0.0, 0.0)
    light = _in_cloth(sub(scene.projector.lens_m, middle))
    eyes = np.array([_in_cloth(sub(seat.eye_m, middle)) for seat in seats]).reshape(-1, 3)
    gains = fabric_gains(scene.screen.fabric.arrays(), np.tile(light, (len(eyes), 1)), eyes)
    return [float(gain) * centre_lx(scene) / math.pi for gain in gains]


def _in_cloth(way: Place) -> np.ndarray:
    """Unit vector of a way [right, out, up] in the cloth's frame: right, up, normal."""
    vector = np.array([way[0], way[2], way[1]], float)
    return vector / np.linalg.norm(vector)
