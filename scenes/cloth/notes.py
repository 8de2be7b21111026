"""What a user should know of how the cloth of a scene is taken: defaults in notes, doubts in warnings."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..warning import SceneWarning, WarningCode
from .checks import CLEAR_M
from .estimate import GROOVE_DIAGONAL_M
from .hanging import Hang
from .surface import estimated_cloth

if TYPE_CHECKING:
    from ..model import Screen


def drape_notes(screen: Screen) -> list[str]:
    """How the cloth is taken. A fixed frame is taken as flat: nothing about its own flatness is judged."""
    drape = screen.drape
    if drape.hanging is None:
        return []
    scale = drape.hanging.amplitude_scale
    if drape.folds:
        rest = "" if screen.hang.is_frame else f', in place of what hang = "{screen.hang}" would make of it'
        kept = "" if scale == 1.0 else f"; amplitude_scale = {scale:g} has no part in them: it belongs to estimated folds"
        return [f"the cloth has the folds that the scene states{rest}{kept}"]
    if screen.hang.is_frame:
        return [f'hang = "fixed frame": the cloth {flat_words(screen)}']
    if drape.hanging.flat:
        return [f'hang = "{screen.hang}": the cloth {flat_words(screen)}']
    corded = screen.hang is Hang.TAB_TENSIONED
    left_out = [key for key in drape.hanging.assumed if key in _TOLD and (corded or key != "cord_tension_n")]
    said = f"; taken from common practice: {', '.join(_TOLD[key] for key in left_out)}" if left_out else ""
    estimated = "a low, a typical and a high shape of the cloth are estimated from mechanics, figures are for the typical one"
    scaled = "" if scale == 1.0 else f"; all are multiplied by amplitude_scale = {scale:g}"
    return [f'hang = "{screen.hang}": {estimated}{scaled}{said}']


def flat_words(screen: Screen) -> str:
    """How a cloth without folds at any level is told of, after "the cloth": as taken flat, never as seen to have no folds."""
    if screen.hang.is_frame:
        return "is taken as flat (common practice, no source); how flat it is was not judged"
    if screen.drape.hanging is not None and screen.drape.hanging.flat:
        return "is declared flat by the scene; how flat it is was not judged"
    return "comes out flat at low, typical and high by estimate"


_TOLD = {
    "areal_weight_kg_m2": "weight of the cloth",
    "modulus_mpa": "its stiffness",
    "tube_diameter_m": "roller tube",
    "bar_kg": "bottom bar",
    "cord_tension_n": "tension of the side cords",
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
    high = estimated_cloth(screen, "high")
    if -high.lowest_m > screen.gap_to_wall_m - 2.0 * CLEAR_M:
        yield SceneWarning(
            WarningCode.TOUCHES_WALL,
            f"the high estimate of the cloth's folds would touch the wall, {1e3 * screen.gap_to_wall_m:.0f} mm behind it: "
            "it is scaled down to stay off it",
        )
