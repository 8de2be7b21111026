"""How a value is spread: quantile functions, so that one number between 0 and 1 a factor draws a variant, whatever the design."""

from __future__ import annotations

from typing import Literal

import numpy as np

SpreadKind = Literal["uniform", "triangular", "normal"]
KINDS: tuple[SpreadKind, ...] = ("uniform", "triangular", "normal")
_TAIL = 1e-6  # a normal value beyond 4.75 standard deviations is no tolerance but a mistake


def quantile(kind: SpreadKind, share: np.ndarray | float, low: float, middle: float, high: float) -> np.ndarray:
    """The value below which `share` of all values lie, in the unit of its arguments.

    share   0 to 1 [1], any shape
    uniform, triangular  from `low` to `high`, the second most often `middle`, low <= middle <= high
    normal  about `middle`; `high` is one standard deviation above it; cut at 4.75 of them, `low` is not used
    raises  ValueError for another kind
    Source: inverses of the distribution functions (any textbook of statistics; tested against scipy.stats).
    """
    u = np.asarray(share, float)
    if kind == "uniform":
        return low + (high - low) * u
    if kind == "triangular":
        whole = high - low
        if whole == 0.0:
            return np.full_like(u, middle)
        turn = (middle - low) / whole
        rising = low + np.sqrt(np.maximum(u, 0.0) * whole * (middle - low))
        falling = high - np.sqrt(np.maximum(1.0 - u, 0.0) * whole * (high - middle))
        return np.where(u < turn, rising, falling)
    if kind == "normal":
        from scipy.special import ndtri

        return middle + (high - middle) * ndtri(np.minimum(np.maximum(u, _TAIL), 1.0 - _TAIL))
    raise ValueError(f"no spread is called {kind}; allowed {', '.join(KINDS)}")


def moments(kind: SpreadKind, low: float, middle: float, high: float) -> tuple[float, float]:
    """Mean and standard deviation of such a spread, in the unit of its arguments; arguments as for `quantile`.

    Source: (b - a)^2 / 12; (a^2 + b^2 + c^2 - ab - ac - bc) / 18; definition (any textbook of statistics).
    """
    if kind == "uniform":
        return 0.5 * (low + high), (high - low) / np.sqrt(12.0)
    if kind == "triangular":
        square = low**2 + middle**2 + high**2 - low * middle - low * high - middle * high
        return (low + middle + high) / 3.0, float(np.sqrt(max(0.0, square) / 18.0))
    return middle, abs(high - middle)
