"""What a user should know of how the cloth of a scene is taken: defaults in notes, doubts in warnings."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..warning import SceneWarning, WarningCode
from .checks import CLEAR_M
from .cloth import Cloth
from .estimate import GROOVE_DIAGONAL_M, folds_at
from .hanging import Hang
from .surface import hang_effects

if TYPE_CHECKING:
    from ..model import Screen


def drape_notes(screen: Screen) -> list[str]:
    """How the cloth is taken, where that is not simply flat."""
    drape = screen.drape
    if drape.folds:
        rest = "" if screen.hang.is_frame else f', in place of what hang = "{screen.hang}" would make of it'
        return [f"the cloth has the folds that the scene states{rest}"]
    if screen.hang.is_frame or drape.hanging is None:
        return []
    if drape.hanging.flat:
        return [f'hang = "{screen.hang}": the cloth is declared flat']
    if screen.hang is Hang.TAB_TENSIONED:
        return ['hang = "tab-tensioned": the cloth is taken as free of upright folds (common practice, no source)']
    left_out = [key for key in drape.hanging.assumed if key in _TOLD]
    said = f"; taken from common practice: {', '.join(_TOLD[key] for key in left_out)}" if left_out else ""
    estimated = "a low, a typical and a high shape of the cloth are estimated from mechanics, figures are for the typical one"
    return [f'hang = "{screen.hang}": {estimated}{said}']


_TOLD = {
    "areal_weight_kg_m2": "weight of the cloth",
    "modulus_mpa": "its stiffness",
    "tube_diameter_m": "roller tube",
    "bar_kg": "bottom bar",
    "lead_m": "cloth above the picture",
}


def drape_warnings(screen: Screen) -> Iterator[SceneWarning]:
    """Folds that large pulled screens get, and estimates that would touch the wall.

    Source: V-grooves above 100 inches (GROOVE_DIAGONAL_M): common practice, no source.
    """
    size = math.hypot(screen.width_m, screen.height_m)
    hanging = screen.drape.hanging
    declared = hanging is not None and hanging.flat
    if screen.hang is Hang.PULL_DOWN and size > GROOVE_DIAGONAL_M and not declared:
        yield SceneWarning(
            WarningCode.GROOVES,
            f"a pull-down of {size / 0.0254:.0f} inches diagonal tends to V-grooves from the pull at its middle "
            "(above 100 inches; common practice, no source)",
        )
    high = Cloth(screen.width_m, screen.height_m, folds_at(hang_effects(screen), "high"))
    if -high.lowest_m > screen.gap_to_wall_m - 2.0 * CLEAR_M:
        yield SceneWarning(
            WarningCode.TOUCHES_WALL,
            f"the high estimate of the cloth's folds would touch the wall, {1e3 * screen.gap_to_wall_m:.0f} mm behind it: "
            "it is scaled down to stay off it",
        )
