"""finishes-sound.png: contrast against reverberation for the sets of finishes that none beats."""

from __future__ import annotations

import numpy as np

from ...sound.trade import FinishTrade
from ..drawing import COLOURS, FAINT, GREY, INK, figure_of, png


def trade_chart(found: FinishTrade) -> bytes:
    """A point a set at the middle of its reverberation, a bar to its ends, coloured by cost; what is asked dashed. PNG bytes."""
    figure = figure_of(9.0, 6.0)
    axes = figure.add_axes((0.09, 0.115, 0.76, 0.7))
    ends = np.array([one.mid_s for one in found.sets])
    contrast = np.array([one.contrast for one in found.sets])
    cost = np.array([one.cost for one in found.sets])
    axes.hlines(contrast, ends[:, 0], ends[:, 1], color=FAINT, lw=2.0, zorder=1)
    points = axes.scatter(ends.mean(axis=1), contrast, c=cost, cmap=COLOURS, s=70, edgecolors=INK, linewidths=0.6, zorder=3)
    axes.axvline(found.asked_s, color=GREY, ls="--", lw=1.4)
    axes.set_xlim(0.0, 1.05 * float(ends.max()))
    axes.set_ylim(0.0, 1.08 * float(contrast.max()))
    axes.set_xlabel("reverberation time at 500 and 1000 Hz [s]", fontsize=11, color=INK)
    axes.set_ylabel("checkerboard contrast at the seat with the least", fontsize=11, color=INK)
    axes.grid(color=FAINT, lw=0.8)
    axes.set_axisbelow(True)
    bar = figure.colorbar(points, cax=figure.add_axes((0.88, 0.115, 0.025, 0.7)))
    bar.set_label("price" if found.priced else "repainted [m²]", fontsize=11, color=INK)
    figure.text(0.03, 0.95, "Finishes for light and sound", fontsize=14, color=INK, weight="bold", va="center")
    words = f"sets that no other beats in contrast, time and cost; dashed: the time asked, {found.asked_s:.2f} s; bars: what is not stated"
    figure.text(0.03, 0.89, words, fontsize=10, color=GREY, va="center")
    return png(figure)
