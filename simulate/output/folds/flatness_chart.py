"""flatness.png and fold-multiples.png: how flat the screen must be, and the same wave in many set-ups."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...eye.verdict import HIGH, LOW
from ...folds.flatness import DIRECTIONS, Flatness
from ...folds.multiples import AMPLITUDES_M, THROWS, WAVE_M, Multiple
from ..drawing import FAINT, GREY, INK, figure_of, label, plain_ticks, png

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_INKS = {"vertical": "#00457c", "diagonal": "#c9a227", "horizontal": "#b0413e"}
_STROKES = ("-", (0, (6, 2)), (0, (1.5, 1.5)), (0, (8, 2, 1.5, 2)))  # by seat; the fifth seat starts anew
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
    for axis in (axes.xaxis, axes.yaxis):
        plain_ticks(axis)
    axes.grid(color=FAINT, lw=0.8)
    axes.set_xlabel("wavelength, crest to crest [mm]", fontsize=11, color=INK)
    axes.set_ylabel("largest amplitude, half of crest to trough [mm]", fontsize=11, color=INK)
    axes.legend(fontsize=10, loc="upper left", frameon=True, edgecolor=FAINT)
    figure.text(0.03, 0.95, f"{label(title)}: how flat the screen must be", fontsize=14, color=INK, weight="bold", va="center")
    words = "below the lines no seat sees even waves, in an even bright field; above a line the first seat does"
    figure.text(0.03, 0.89, words, fontsize=10, color=GREY, va="center")
    return png(figure)


def multiples_chart(title: str, seats: list[str], found: list[Multiple]) -> bytes:
    """Ratio to the threshold against amplitude: rows throws, columns fabrics, colours directions, strokes seats. PNG bytes."""
    fabrics = list(dict.fromkeys(each.fabric for each in found))
    figure = figure_of(10.0, 9.9)
    amplitude = 1e3 * np.array(AMPLITUDES_M)
    top = 1.3 * max(float(each.ratio.max()) for each in found)
    low = max(0.02, 0.8 * min(float(each.ratio.min()) for each in found))
    for row, throw in enumerate(THROWS):
        for column, fabric in enumerate(fabrics):
            axes = figure.add_axes((0.085 + 0.305 * column, 0.652 - 0.272 * row, 0.275, 0.225))
            axes.axhspan(LOW, HIGH, color=FAINT, lw=0)
            for each in found:
                if (each.throw, each.fabric) == (throw, fabric):
                    for seat in range(each.ratio.shape[1]):
                        axes.plot(
                            amplitude,
                            np.maximum(each.ratio[:, seat], 1e-3),
                            color=_INKS[each.direction],
                            ls=_STROKES[seat % len(_STROKES)],
                            lw=1.3,
                            alpha=0.85,
                        )
            axes.set_xscale("log")
            axes.set_yscale("log")
            axes.set_xlim(amplitude[0], 1.02 * amplitude[-1])
            axes.set_ylim(low, top)
            plain_ticks(axes.yaxis)
            axes.set_xticks(amplitude, [f"{a:g}" for a in amplitude])
            axes.minorticks_off()
            axes.grid(color=FAINT, lw=0.6)
            axes.tick_params(labelsize=9, labelleft=column == 0, labelbottom=row == 2)
            axes.set_title(f"{throw}, {fabric}", fontsize=10, color=INK)
            if column == 0:
                axes.set_ylabel("times the threshold", fontsize=10, color=INK)
            if row == 2:
                axes.set_xlabel("amplitude, half of crest to trough [mm]", fontsize=9.5, color=INK)
    _multiples_words(figure, title, seats)
    return png(figure)


def _multiples_words(figure: Figure, title: str, seats: list[str]) -> None:
    from matplotlib.lines import Line2D

    figure.text(
        0.03, 0.977, f"{label(title)}: the same waves in other set-ups", fontsize=14, color=INK, weight="bold", va="center"
    )
    words = f"waves of {1e3 * WAVE_M:.0f} mm as brightness; below the grey band not visible, above it visible; flat cloth: nought"
    figure.text(0.03, 0.95, words, fontsize=10, color=GREY, va="center")
    for x, name in ((0.03, "vertical"), (0.2, "horizontal")):
        figure.text(x, 0.922, f"{name} folds", fontsize=10, color=_INKS[name], va="center", weight="bold")
    shown = seats[: 2 * len(_STROKES)]
    strokes = [Line2D([], [], color=INK, ls=_STROKES[i % len(_STROKES)], lw=1.3, label=label(s)) for i, s in enumerate(shown)]
    figure.legend(
        handles=strokes,
        loc="lower center",
        ncols=min(len(strokes), len(_STROKES)),
        frameon=False,
        fontsize=9.5,
        bbox_to_anchor=(0.5, 0.002),
    )
