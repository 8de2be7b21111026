"""folds.png: how visible the folds of each variant are from each seat, a panel each for low, typical and high folds."""
from __future__ import annotations

from ..choices.comparison import Comparison
from ..eye.verdict import HIGH, LOW
from .compare_chart import MARKS, SERIES
from .drawing import GREY, INK, figure_of, label, png

_LEAST = 0.03  # flat cloth is drawn here
_LINE_IN = 0.26


def folds_chart(comparison: Comparison) -> bytes:
    """Threshold ratios on a logarithmic scale, the band between "not visible" and "visible" shaded; PNG bytes.

    Source: verdict limits of eye/verdict.py.
    """
    seats = [seat.name for seat in comparison.variants[0].scene.seats]
    width = max(8.0, 1.4 + 3 * max(2.4, 0.5 * len(seats)))
    top = 0.95 + _LINE_IN * len(comparison.variants)
    height = top + 3.2 + 1.2
    figure = figure_of(width, height)
    grid = figure.add_gridspec(
        1, 3, left=0.9 / width, right=1 - 0.2 / width, top=1 - (top + 0.35) / height, bottom=1.1 / height, wspace=0.08
    )
    most = max(2.0, *(value for fold in comparison.folds for value in fold.ratio.values()))
    for column, level in enumerate(("low", "typical", "high")):
        axes = figure.add_subplot(grid[0, column])
        axes.axhspan(LOW, HIGH, color="#dddddd", lw=0)
        axes.axhline(1.0, color=GREY, lw=1, ls="--")
        for k, fold in enumerate(comparison.folds):
            values = [max(fold.by_seat[level].get(name, float("nan")), _LEAST) for name in seats]
            shift = 0.4 * (k - (len(comparison.folds) - 1) / 2) / max(2, len(comparison.folds))
            axes.plot(
                [i + shift for i in range(len(seats))], values, ls="none", marker=MARKS[k % len(MARKS)], ms=7,
                color=SERIES[k % len(SERIES)], mec="white", mew=0.5,
            )  # fmt: skip
        axes.set_yscale("log")
        axes.set_ylim(0.7 * _LEAST, 2.0 * most)
        axes.set_xlim(-0.6, len(seats) - 0.4)
        axes.set_xticks(range(len(seats)), [label(name) for name in seats], rotation=40, ha="right")
        axes.set_title(f"{level} folds", fontsize=11.5, color=INK)
        axes.tick_params(labelsize=9, labelleft=column == 0)
        if column == 0:
            axes.set_ylabel("times the eye's threshold", fontsize=10.5, color=INK)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
    title = f"{label(comparison.variants[0].scene.title)}: folds as brightness"
    figure.text(0.2 / width, 1 - 0.3 / height, title, fontsize=14, weight="bold", color=INK, va="center")
    note = f"below the band not visible, above it visible; a flat cloth is drawn at {_LEAST:g}"
    figure.text(0.2 / width, 1 - 0.6 / height, note, fontsize=9.5, color=GREY, va="center")
    _legend(figure, comparison, width, height)
    return png(figure)


def _legend(figure, comparison: Comparison, width: float, height: float) -> None:
    from matplotlib.lines import Line2D

    for k, variant in enumerate(comparison.variants):
        y = 1 - (0.95 + _LINE_IN * k) / height
        mark = Line2D([0.35 / width], [y], marker=MARKS[k % len(MARKS)], color=SERIES[k % len(SERIES)], ms=7, ls="none")
        figure.add_artist(mark)
        figure.text(0.55 / width, y, variant.label.replace("$", r"\$"), fontsize=10, color=INK, va="center")
