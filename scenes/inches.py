"""Inches beside metres, for scenes whose room is measured in feet or inches."""

from __future__ import annotations

import math
from typing import Any

from .model import Scene
from .remedy import length_text
from .units import from_metres, unit_of, variants

_INCHES = ("_in", "_ft")
_STEP = 10  # parts of an inch that a length is rounded to: 2.5 mm


def told_in_inches(scene: Scene) -> bool:
    """True where the scene file gives the room's own measures, or of a room by its mesh the lens, in feet or inches."""
    table: Any = scene.document.table if scene.document is not None else {}
    for part, names in (("room", ("width_m", "outline_m")), ("projector", ("lens_m",))):
        keys = table.get(part, {})
        found = next((key for name in names for key in variants(name) if key in keys), None)
        if found is not None:
            return found.endswith(_INCHES)
    return False


def inches(metres: float, side: int) -> str:
    """A length [m] as inches to a tenth, without unit: at least it (side 1), at most it (-1), or the nearest (0)."""
    parts = _STEP * from_metres(metres, unit_of("x_in"))
    whole = round(parts) if not side or abs(parts - round(parts)) < 1e-6 else math.ceil(parts) if side > 0 else math.floor(parts)
    return f"{whole / _STEP:.1f}"


def length_words(metres: float, scene: Scene, side: int = 0) -> str:
    """A length [m] with its unit, "2.13 m", and where the scene counts so with inches: "2.13 m (83.8 in)".

    side  of the length to which its inches are rounded, as `inches` has it: that which serves
    """
    return f"{length_text(metres)} m" + (f" ({inches(metres, side)} in)" if metres and told_in_inches(scene) else "")
