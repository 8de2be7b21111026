"""Cloth that cannot be: through the wall behind it, through itself, into the lens or a box; in the user's words."""

from __future__ import annotations

import math

from .cloth import Cloth

STEEPEST = 1.0  # a slope of 45 degrees; steeper cloth overhangs or lies over itself in fact, and a height cannot say how
CLEAR_M = 0.0005


def trouble(cloth: Cloth, *, gap_to_wall_m: float, lens_out_m: float) -> tuple[str, str] | None:
    """The first thing that is wrong with a cloth and what would be right, in words; None where nothing is.

    gap_to_wall_m  wall to nominal cloth;  lens_out_m  nominal cloth to lens [m]
    Heights must be numbers, stay CLEAR_M off wall and lens, and be no steeper than STEEPEST [1].
    Source: a height field cannot overhang; the limit of 45 degrees is our own choice.
    """
    if not math.isfinite(cloth.steepest + cloth.highest_m - cloth.lowest_m):
        return "has heights that are no numbers", ""
    if cloth.lowest_m <= -gap_to_wall_m + CLEAR_M:
        return (
            f"pushes the cloth through the wall: it reaches {-1e3 * cloth.lowest_m:.1f} mm back",
            f"less than the gap to the wall, {1e3 * gap_to_wall_m:.1f} mm",
        )
    if cloth.highest_m >= lens_out_m - CLEAR_M:
        return (
            f"brings the cloth to the lens: it reaches {1e3 * cloth.highest_m:.1f} mm out",
            f"less than {1e3 * lens_out_m:.1f} mm",
        )
    if cloth.steepest > STEEPEST:
        return (
            f"folds the cloth through itself: it would stand at {math.degrees(math.atan(cloth.steepest)):.0f} degrees",
            "slopes up to 45 degrees: a smaller amplitude or a longer wave",
        )
    return None
