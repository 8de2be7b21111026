"""fabric-models.png: what is stated of the fabric leaves open at each seat."""

from __future__ import annotations

from ...choices.fabric_models import ModelSpread
from ...measuring.unit import in_unit
from ..drawing import GREY, INK, figure_of, label, png
from .chart import row_title

_SHOWN = ("white_cd_m2", "uniformity_ratio", "checkerboard_ratio", "washout_cd_m2")


def models_chart(spreads: tuple[ModelSpread, ...]) -> bytes:
    """A panel a figure: bars from least to greatest over the models, the scene's own model as a mark. PNG bytes.

    Source: range over the models, see choices/fabric_models.py.
    """
    figures = [figure for figure in dict.fromkeys(each.figure for each in spreads) if figure.key in _SHOWN]
    seats = list(dict.fromkeys(each.seat for each in spreads))
    width, height = max(7.5, 1.6 + 0.7 * len(seats)), 1.9 + 1.9 * len(figures)
    drawing = figure_of(width, height)
    grid = drawing.add_gridspec(
        len(figures), 1, left=1.0 / width, right=1 - 0.3 / width, top=1 - 0.85 / height, bottom=1.0 / height, hspace=0.2
    )
    for r, figure in enumerate(figures):
        axes = drawing.add_subplot(grid[r, 0])
        scale = in_unit(1.0, figure.unit)
        found = [each for each in spreads if each.figure == figure]
        low = [scale * each.least.value for each in found]
        high = [scale * each.greatest.value for each in found]
        places = [seats.index(each.seat) for each in found]
        axes.bar(places, [b - a for a, b in zip(low, high, strict=True)], 0.4, bottom=low, color="#9ecae1", ec="#2171b5")
        axes.plot(places, [scale * each.reference.value for each in found], ls="none", marker="D", color=INK, ms=6)
        for place, top, each in zip(places, high, found, strict=True):
            axes.annotate(
                f"{100 * each.relative:.1f} %",
                (place, top),
                (0, 3),
                textcoords="offset points",
                ha="center",
                fontsize=9,
                color=GREY,
            )
        axes.set_ylim(0.0, 1.22 * max(high))
        axes.set_xlim(-0.6, len(seats) - 0.4)
        names = [label(name) for name in seats] if r == len(figures) - 1 else []
        axes.set_xticks(range(len(seats)), names, rotation=30, ha="right")
        axes.set_ylabel(row_title(figure), fontsize=10, color=INK)
        axes.tick_params(labelsize=9)
        axes.grid(axis="y", color="#e6e6e6", lw=0.8)
        axes.set_axisbelow(True)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
    title = "What the figures stated of the fabric leave open"
    drawing.text(0.2 / width, 1 - 0.3 / height, title, fontsize=14, weight="bold", color=INK, va="center")
    note = "bars: least to greatest over the admissible models; mark: the scene's own; figure: spread / own"
    drawing.text(0.2 / width, 1 - 0.6 / height, note, fontsize=9.5, color=GREY, va="center")
    return png(drawing)
