"""Luminance in foot-lamberts, figures as people read them, and units as each output writes them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import field

from ...materials.dataclass import dataclass
from ..measuring.unit import CD_M2_PER_FOOT_LAMBERT, in_unit


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


def brief(value: float) -> str:
    """A number as a designer says it: two significant digits, three from 100 on."""
    if not math.isfinite(value):
        return "-"
    size = abs(value)
    if size >= 99.5:
        return f"{float(f'{value:.3g}'):.0f}"
    return f"{value:.0f}" if size >= 9.5 or value == 0.0 else f"{value:.2g}"


def between(values: Iterable[float]) -> str:
    """The range of some numbers, each as `brief` has it; one number where they read alike."""
    each = list(values)
    low, high = brief(min(each)), brief(max(each))
    return low if low == high else f"{low} to {high}"


def spread(standard_error: float) -> str:
    """A standard error with two significant digits; empty where the figure is exact."""
    if not standard_error > 0.0:
        return ""
    if standard_error >= 9.5:
        return f"{standard_error:.0f}"
    if standard_error < 0.0005:
        return f"{standard_error:.0e}"
    return f"{standard_error:.{1 - math.floor(math.log10(standard_error))}f}"


@dataclass(frozen=True)
class UnitStyle:
    """How an output writes units.

    gap      between number and unit;  ratio  what follows the number of a contrast
    symbols  signs of units that the style writes otherwise than the program names them
    """

    gap: str
    ratio: str
    symbols: Mapping[str, str] = field(default_factory=dict)

    def sign(self, unit: str) -> str:
        """The sign of a unit such as "cd/m2", "%" or "deg", on its own."""
        return self.symbols.get(unit, unit)

    def written(self, number: str, unit: str) -> str:
        """A number in words with its unit, which never parts from it at the end of a line where `gap` is a hard space."""
        if unit == ":1":
            return f"{number}{self.ratio}"
        sign = self.sign(unit)
        return f"{number}{sign}" if sign == "°" else f"{number}{self.gap}{sign}"

    def of(self, value: float, unit: str) -> str:
        """A figure in the program's unit, shares as plain numbers [1], as `figure` shortens it and with its unit."""
        return self.written(figure(in_unit(value, unit)), unit)


# Source: signs of the SI brochure, 9th edition, table 8 and section 5.4.
PLAIN = UnitStyle(" ", ":1")
TYPESET = UnitStyle("\u00a0", "\u00a0:\u00a01", {"cd/m2": "cd/m²", "m2": "m²", "deg": "°"})
