"""flatness.png and fold-multiples.png: how flat the screen must be, and the same wave in many set-ups."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..eye.verdict import HIGH, LOW
from ..folds.flatness import DIRECTIONS, Flatness
from ..folds.multiples import AMPLITUDES_M, THROWS, WAVE_M, Multiple
from .drawing import FAINT, GREY, INK, figure_of, label, png

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_INKS = {"vertical": "#00457c", "diagonal": "#c9a227", "horizontal": "#b0413e"}
_MARKS = {"vertical": "o", "diagonal": "s", "horizontal": "^"}


def flatness_chart(title: str, found: Flatness) -> bytes:
    """Largest invisible amplitude against wavelength, a line a direction; the warp limit dashed. PNG bytes."""
    figure = figure_of(9.0, 6.4)
    axes = figure.add_axes((0.1, 0.11, 0.87, 0.7))
    for name in DIRECTIONS:
        points = [p for p in found.points if p.crests == name and p.amplitude_m is not None]
        if points:
            x, y = [1e3 * p.wavelength_m for p in points], [1e3 * (p.amplitude_m or 0.0) for p in points]
            axes.plot(x, y, color=_INKS[name], marker=_MARKS[name], ms=7, lw=2.2, label=f"brightness, {name} folds")
    warps: dict[float, float] = {}
    for p in found.points:
        if p.warp_amplitude_m is not None:
            warps[p.wavelength_m] = min(warps.get(p.wavelength_m, np.inf), p.warp_amplitude_m)
    if warps:
        x = sorted(warps)
        axes.plot([1e3 * w for w in x], [1e3 * warps[w] for w in x], color=GREY, ls="--", lw=2, label="warp of 1 arc minute")
    axes.set_xscale("log")
    axes.set_yscale("log")
    _plain(axes)
    axes.grid(color=FAINT, lw=0.8)
    axes.set_xlabel("wavelength, crest to crest [mm]", fontsize=11, color=INK)
    axes.set_ylabel("largest amplitude, half of crest to trough [mm]", fontsize=11, color=INK)
    axes.legend(fontsize=10, loc="upper left", frameon=True, edgecolor=FAINT)
    figure.text(0.03, 0.95, f"{label(title)}: how flat the screen must be", fontsize=14, color=INK, weight="bold", va="center")
    words = "below the lines no seat sees even waves, in an even bright field; above a line the first seat does"
    figure.text(0.03, 0.89, words, fontsize=10, color=GREY, va="center")
    return png(figure)


def _plain(axes: Axes) -> None:
    """Plain numbers on both logarithmic axes."""
    from matplotlib.ticker import FixedLocator, NullLocator

    for axis in (axes.xaxis, axes.yaxis):
        ends = axis.get_view_interval()
        axis.set_major_locator(
            FixedLocator([t * 10.0**e for e in range(-4, 5) for t in (1, 2, 5) if ends[0] <= t * 10.0**e <= ends[1]])
        )
        axis.set_major_formatter(lambda x, _: f"{x:g}")
        axis.set_minor_locator(NullLocator())


def multiples_chart(title: str, seats: list[str], found: list[Multiple]) -> bytes:
    """Ratio to the threshold against amplitude: rows throws, columns fabrics, colours directions, lines seats. PNG bytes."""
    fabrics = list(dict.fromkeys(each.fabric for each in found))
    figure = figure_of(10.0, 9.6)
    amplitude = 1e3 * np.array(AMPLITUDES_M)
    top = 1.3 * max(float(each.ratio.max()) for each in found)
    low = max(0.02, 0.8 * min(float(each.ratio.min()) for each in found))
    for row, throw in enumerate(THROWS):
        for column, fabric in enumerate(fabrics):
            axes = figure.add_axes((0.085 + 0.305 * column, 0.665 - 0.29 * row, 0.275, 0.235))
            axes.axhspan(LOW, HIGH, color=FAINT, lw=0)
            for each in found:
                if (each.throw, each.fabric) == (throw, fabric):
                    name = each.direction.split()[0]
                    axes.plot(amplitude, np.maximum(each.ratio, 1e-3), color=_INKS[name], lw=1.2, alpha=0.75)
            axes.set_xscale("log")
            axes.set_yscale("log")
            axes.set_xlim(amplitude[0], amplitude[-1])
            axes.set_ylim(low, top)
            _plain(axes)
            axes.grid(color=FAINT, lw=0.6)
            axes.tick_params(labelsize=9, labelleft=column == 0, labelbottom=row == 2)
            axes.set_title(f"{throw}, {fabric}", fontsize=10, color=INK)
            if column == 0:
                axes.set_ylabel("times the threshold", fontsize=10, color=INK)
            if row == 2:
                axes.set_xlabel("amplitude [mm]", fontsize=10, color=INK)
    figure.text(0.03, 0.975, f"{label(title)}: the same waves in other set-ups", fontsize=14, color=INK, weight="bold", va="center")
    words = f"waves of {1e3 * WAVE_M:.0f} mm, brightness; a line a seat ({len(seats)} seats); grey band: borderline"
    figure.text(0.03, 0.945, words, fontsize=10, color=GREY, va="center")
    figure.text(0.665, 0.945, "vertical folds", fontsize=10, color=_INKS["vertical"], va="center", weight="bold")
    figure.text(0.8, 0.945, "horizontal folds", fontsize=10, color=_INKS["horizontal"], va="center", weight="bold")
    return png(figure)
