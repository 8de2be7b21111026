"""NAME-luminance.png: what a seat sees in false colour, with its scale in cd/m2."""

from __future__ import annotations

import numpy as np

from ..drawing import COLOURS, GREY, INK, figure_of, label, png
from ..units import figure as digits
from ..units import foot_lamberts

_WIDTH_IN, _IMAGE_IN, _HEAD_IN = 10.0, 8.4, 0.95
_DECADES = 4.0


def scale_ends(luminance: np.ndarray) -> tuple[float, float]:
    """Ends of the scale [cd/m2]: up to the brightest 0.1 %, down to the darkest 1 %, a factor 3 to four decades; 0.1 to 1 if all is dark."""
    y = luminance[luminance > 0.0]
    if not y.size:
        return 0.1, 1.0
    high = float(np.quantile(y, 0.999))
    low = max(float(np.quantile(y, 0.01)), high / 10.0**_DECADES)
    return min(low, high / 3.0), high


def colour_of(luminance: np.ndarray, low: float, high: float) -> np.ndarray:
    """Colours (..., 4) 0 .. 1 of luminances on the logarithmic scale between its ends [cd/m2].

    Source: cividis, perceptually even (Nunez et al. 2018); logarithmic, since equal ratios look like equal steps (Fechner).
    """
    from matplotlib import colormaps
    from matplotlib.colors import LogNorm

    return np.asarray(colormaps[COLOURS](LogNorm(low, high, clip=True)(np.maximum(luminance, 1e-12))))


def false_colour(luminance: np.ndarray, title: str, line: str) -> bytes:
    """PNG of luminances (H, W) [cd/m2], a title and a line above it, the scale beside it."""
    from matplotlib.cm import ScalarMappable
    from matplotlib.colors import LogNorm

    low, high = scale_ends(luminance)
    tall = _IMAGE_IN * luminance.shape[0] / luminance.shape[1]
    height = tall + _HEAD_IN + 0.15
    figure = figure_of(_WIDTH_IN, height)
    axes = figure.add_axes((0.1 / _WIDTH_IN, 0.15 / height, _IMAGE_IN / _WIDTH_IN, tall / height))
    axes.imshow(colour_of(luminance, low, high), interpolation="nearest", aspect="auto")
    axes.set_axis_off()
    figure.text(0.1 / _WIDTH_IN, 1 - 0.32 / height, label(title), fontsize=14, color=INK, weight="bold", va="center")
    figure.text(0.1 / _WIDTH_IN, 1 - 0.68 / height, line, fontsize=11, color=GREY, va="center")
    bar = figure.add_axes(((0.25 + _IMAGE_IN) / _WIDTH_IN, 0.3 / height, 0.22 / _WIDTH_IN, (tall - 0.35) / height))
    mappable = ScalarMappable(norm=LogNorm(low, high), cmap=COLOURS)
    figure.colorbar(mappable, cax=bar)
    ticks = _ticks(low, high)
    bar.set_yticks(ticks, [f"{tick:g}" for tick in ticks], fontsize=11)
    bar.set_yticks([], minor=True)
    where = (0.25 + _IMAGE_IN) / _WIDTH_IN
    figure.text(where, (tall + 0.1) / height, "cd/m²", fontsize=11, color=INK, va="bottom")
    figure.text(where, 1 - 0.68 / height, f"top {digits(foot_lamberts(high))} fL", fontsize=10, color=GREY, va="center")
    return png(figure)


def _ticks(low: float, high: float) -> list[float]:
    """1, 2, 5 of each decade inside the scale; fewer where there are many."""
    first, last = int(np.floor(np.log10(low))), int(np.ceil(np.log10(high)))
    steps = (1.0, 2.0, 5.0) if last - first <= 4 else (1.0,)
    return [m * 10.0**k for k in range(first, last + 1) for m in steps if low <= m * 10.0**k <= high]
