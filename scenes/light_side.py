"""From which side the projector lights the screen, as louvred fabrics ask."""

from __future__ import annotations

import math

from .geometry import HasScreen, on_screen_plane

LEVEL_DEG = 1.0  # light that falls this close to the normal comes from no side; our own choice


def light_from_deg(scene: HasScreen, side: str) -> float:
    """How far [deg] the light at the picture's middle comes from a side (above, below, left, right); negative: from the other one.

    Source: plane geometry. raises KeyError for a side that is none
    """
    middle, lens = on_screen_plane(scene, 0.0, 0.0), scene.projector.lens_m
    offset = {
        "above": lens[2] - middle[2],
        "below": middle[2] - lens[2],
        "left": middle[0] - lens[0],
        "right": lens[0] - middle[0],
    }
    return math.degrees(math.atan2(offset[side], lens[1] - middle[1]))
