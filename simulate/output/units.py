"""Luminance in foot-lamberts, and figures as people read them."""
from __future__ import annotations

import math

# Source: definition, 1 fL = 1 / pi cd/ft2 with 1 ft = 0.3048 m exactly; 3.4262591 cd/m2.
CD_M2_PER_FOOT_LAMBERT = 1.0 / (math.pi * 0.3048**2)


def foot_lamberts(luminance_cd_m2: float) -> float:
    """Luminance [fL] of a luminance [cd/m2]. Source: definition of the foot-lambert."""
    return luminance_cd_m2 / CD_M2_PER_FOOT_LAMBERT


def figure(value: float) -> str:
    """A positive or negative number with three or four significant digits, without an exponent where it can be."""
    size = abs(value)
    if value == 0.0:
        return "0"
    if not math.isfinite(value):
        return "-"
    if size >= 99_950.0 or size < 0.0005:
        return f"{value:.1e}"
    decimals = 0 if size >= 999.5 else 1 if size >= 9.995 else 2 if size >= 0.9995 else 3 if size >= 0.09995 else 4
    return f"{value:.{decimals}f}"


def spread(standard_error: float) -> str:
    """A standard error with two significant digits; empty where the figure is exact."""
    if not standard_error > 0.0:
        return ""
    if standard_error >= 9.5:
        return f"{standard_error:.0f}"
    if standard_error < 0.0005:
        return f"{standard_error:.0e}"
    return f"{standard_error:.{1 - math.floor(math.log10(standard_error))}f}"
