"""Luminance of a linear RGB triple."""

from __future__ import annotations

from collections.abc import Sequence

LUMINANCE_WEIGHTS = (0.2126, 0.7152, 0.0722)
"""Share of red, green and blue in luminance, BT.709 primaries and D65 white. Source: ITU-R BT.709-6, item 3.2."""


def luminance(rgb: Sequence[float]) -> float:
    """Luminance of linear red, green, blue on BT.709 primaries, white = 1 [1]. Source: ITU-R BT.709-6, item 3.2."""
    return sum(weight * value for weight, value in zip(LUMINANCE_WEIGHTS, rgb, strict=True))
