"""folds.png: how visible the folds of each variant are from each seat, as brightness and as geometry, by low, typical and high folds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ....scenes.cloth.surface import LEVELS
from ...choices.comparison import Comparison
from ...eye.verdict import HIGH, LOW
from ..drawing import GREY, INK, figure_of, label, plain_ticks, png
from .chart import MARKS, SERIES

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LEAST = 0.05  # flat cloth, and what is less than this, is drawn here
_LINE_IN, _PANEL_IN = 0.26, 2.3
_ROWS = (("brightness", "times the eye's threshold"), ("geometry", "warp [arc minutes]"))


def folds_chart(comparison: Comparison) -> bytes:
    """Threshold ratios [1] and warp [arcmin] on logarithmic scales, the band between "not visible" and "visible" shaded; PNG bytes.

    Source: verdict limits of eye/verdict.py, the same for both: warp is judged against one arc minute.
    """
    seats = [seat.name for seat in comparison.variants[0].scene.seats]
    width = max(9.0, 1.4 + 3 * max(2.4, 0.5 * len(seats)))
    top = 1.05 + _LINE_IN * len(comparison.variants)
    bottom = 0.35 + 0.062 * min(40, max(len(name) for name in seats))
    height = top + 0.4 + 2 * _PANEL_IN + 0.3 + bottom
    figure = figure_of(width, height)
    grid = figure.add_gridspec(
        2,
        3,
        left=0.9 / width,
        right=1 - 0.2 / width,
        top=1 - (top + 0.3) / height,
        bottom=bottom / height,
        wspace=0.08,
        hspace=0.12,
    )
    for row, (respect, unit) in enumerate(_ROWS):
        shown = [fold.by_seat if row == 0 else fold.warp_by_seat for fold in comparison.folds]
        most = max(2.0, *(value for each in shown for level in LEVELS for value in each[level].values()))
        for column, level in enumerate(LEVELS):
            axes = figure.add_subplot(grid[row, column])
            _panel(axes, [each[level] for each in shown], seats, most)
            axes.set_xticks(range(len(seats)), [label(s) for s in seats] if row else [], rotation=40, ha="right")
            axes.tick_params(labelsize=9, labelleft=column == 0)
            if row == 0:
                axes.set_title(f"{level} folds", fontsize=11.5, color=INK)
            if column == 0:
                axes.set_ylabel(f"{respect}:\n{unit}", fontsize=10, color=INK)
    title = f"{label(comparison.variants[0].scene.title)}: what each seat sees of the folds"
    figure.text(0.2 / width, 1 - 0.3 / height, title, fontsize=14, weight="bold", color=INK, va="center")
    note = f"below the grey band not visible, above it visible; a flat cloth, and whatever is less, is drawn at {_LEAST:g}"
    figure.text(0.2 / width, 1 - 0.6 / height, note, fontsize=9.5, color=GREY, va="center")
    _legend(figure, comparison, width, height)
    return png(figure)


def _panel(axes: Axes, found: list[dict[str, float]], seats: list[str], most: float) -> None:
    axes.axhspan(LOW, HIGH, color="#dddddd", lw=0)
    axes.axhline(1.0, color=GREY, lw=1, ls="--")
    for k, by_seat in enumerate(found):
        values = [max(by_seat.get(name, float("nan")), _LEAST) for name in seats]
        shift = 0.4 * (k - (len(found) - 1) / 2) / max(2, len(found))
        axes.plot(
            [i + shift for i in range(len(seats))],
            values,
            ls="none",
            marker=MARKS[k % len(MARKS)],
            ms=7,
            color=SERIES[k % len(SERIES)],
            mec="white",
            mew=0.5,
        )
    axes.set_yscale("log")
    axes.set_ylim(0.7 * _LEAST, 2.0 * most)
    axes.set_xlim(-0.6, len(seats) - 0.4)
    plain_ticks(axes.yaxis)
    axes.grid(axis="y", color="#e6e6e6", lw=0.8)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _legend(figure: Figure, comparison: Comparison, width: float, height: float) -> None:
    from matplotlib.lines import Line2D

    for k, variant in enumerate(comparison.variants):
        y = 1 - (0.95 + _LINE_IN * k) / height
        mark = Line2D([0.35 / width], [y], marker=MARKS[k % len(MARKS)], color=SERIES[k % len(SERIES)], ms=7, ls="none")
        figure.add_artist(mark)
        figure.text(0.55 / width, y, variant.label.replace("$", r"\$"), fontsize=10, color=INK, va="center")
