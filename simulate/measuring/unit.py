"""Figures in the unit that they are shown in: the one place where a share becomes per cent."""

from __future__ import annotations

import math

# Source: definition, 1 fL = 1 / pi cd/ft2 with 1 ft = 0.3048 m exactly; 3.4262591 cd/m2.
CD_M2_PER_FOOT_LAMBERT = 1.0 / (math.pi * 0.3048**2)


def in_unit(value: float, unit: str) -> float:
    """A figure in the unit it is shown in: a share [1] becomes per cent where `unit` is "%"; all else stays."""
    return 100.0 * value if unit == "%" else value
