"""What is taken where a finish states no absorption: the two ends of what may stand there, from published tables, never a value between."""

from __future__ import annotations

import numpy as np

from ...materials.dataclass import dataclass
from .bands import Array, by_band


def _bands(*values: float) -> dict[int, float]:
    return dict(zip((125, 250, 500, 1000, 2000, 4000), values, strict=True))


@dataclass(frozen=True)
class Ends:
    """The least and the greatest absorption that may stand somewhere: two tables by band [1], and what they are, in words."""

    low: dict[int, float]
    high: dict[int, float]
    words: str

    @property
    def both(self) -> tuple[Array, Array]:
        """The lesser and the greater of both tables in every band, (8,) each [1]: plaster takes more than board at 4 kHz."""
        one, other = by_band(self.low), by_band(self.high)
        return np.minimum(one, other), np.maximum(one, other)


TABLES = (
    "published tables: Barron, Industrial Noise Control and Acoustics (2003), appendix D; Vorländer, Auralization (2008), annex"
)
PLASTER = _bands(0.013, 0.015, 0.02, 0.03, 0.04, 0.05)
BOARD = _bands(0.29, 0.10, 0.06, 0.05, 0.04, 0.04)
CONCRETE = _bands(0.01, 0.01, 0.02, 0.02, 0.02, 0.02)
CARPET_ON_FELT = _bands(0.08, 0.24, 0.57, 0.69, 0.71, 0.73)
SOLID_WOOD = _bands(0.10, 0.07, 0.05, 0.04, 0.04, 0.04)
SEATING = _bands(0.49, 0.66, 0.80, 0.88, 0.82, 0.70)  # per square metre of floor, not of face
CLOTH_FLAT = _bands(0.03, 0.04, 0.11, 0.17, 0.24, 0.35)

WALL = Ends(PLASTER, BOARD, "what is under the paint: smooth plaster on brick, or 12 mm gypsum board on studs")
FLOOR = Ends(CONCRETE, CARPET_ON_FELT, "bare concrete, or heavy carpet on felt")
OBJECT = Ends(SOLID_WOOD, SEATING, "solid wood on all free faces, or upholstered seats counted by the floor they stand on")
BORDER = Ends(SOLID_WOOD, CLOTH_FLAT, "a bare frame, or light velour flat on it")
SHEET_DAMPING = Ends(_bands(*[0.0] * 6), _bands(*[0.1] * 6), "the cloth's own damping: none, or 0.1 (common practice, no source)")

# Per person [m2]: an audience of 2 and of 1 per square metre, each divided by its density. Chairs are in these figures, so on a
# sofa that is counted already the lower end is the nearer one. Source: Vorländer, Auralization (2008), annex.
PERSON = Ends(
    _bands(0.13, 0.23, 0.435, 0.495, 0.495, 0.495),
    _bands(0.16, 0.29, 0.55, 0.80, 0.92, 0.90),
    "a person among two, or alone, on a square metre of audience",
)


def of_wall(name: str) -> Ends:
    """Ends for a wall, by its name among the six. Source: TABLES."""
    return FLOOR if name == "floor" else WALL


def of_object(free_m2: float, floor_m2: float) -> tuple[Array, Array]:
    """Ends for a box, coefficients [1] of its free faces, (8,) each.

    free_m2   area of the free faces [m2];  floor_m2  of floor it stands on [m2], to which tables of seating refer
    Source: TABLES.
    """
    low, seating = OBJECT.both
    if free_m2 <= 0.0:
        return low, low
    return low, np.maximum(low, seating * min(1.0, floor_m2 / free_m2))
