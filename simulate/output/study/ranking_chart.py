"""ranking.png: the best variants with their intervals, those surely behind the best one pale."""

from __future__ import annotations

from collections.abc import Sequence

from ...measuring.unit import in_unit
from ...studies.factors import Shown
from ...studies.figures import StudyFigure
from ...studies.ranking import Ranking
from ..drawing import GREY, INK, figure_of, label, plain, png
from .words import figure_title, variant_words

BEST, WORST = 20, 3  # shown
_AHEAD, _BEHIND = "#0072B2", "#9a9a9a"
_ROW_IN = 0.27


def ranking_chart(
    title: str, figure: StudyFigure, ranking: Ranking, names: Sequence[str], shown: Sequence[Sequence[Shown]]
) -> bytes:
    """The chart as PNG bytes. Source: dot chart (Cleveland 1984); differences paired, see studies/ranking.py."""
    count = len(ranking.order)
    places = list(range(min(count, BEST)))
    if count > BEST + WORST:
        places += [None, *range(count - WORST, count)]  # type: ignore[list-item]
    elif count > BEST:
        places = list(range(count))
    texts = ["" if i is None else _words(int(ranking.order[i]), names, shown) for i in places]
    left = min(5.2, 0.35 + 0.078 * max(len(text) for text in texts))
    width, top, bottom = left + 5.0, 1.0, 0.65
    height = top + _ROW_IN * len(places) + bottom
    drawing = figure_of(width, height)
    axes = drawing.add_axes((left / width, bottom / height, 1 - (left + 0.25) / width, 1 - (top + bottom) / height))
    for y, i in enumerate(places):
        if i is None:
            axes.text(0.0, y, " ...", transform=axes.get_yaxis_transform(), color=GREY, va="center", fontsize=10)
            continue
        colour = _BEHIND if ranking.behind[i] else _AHEAD
        low, high = (in_unit(float(ends[i]), figure.unit) for ends in (ranking.low, ranking.high))
        axes.plot([low, high], [y, y], color=colour, lw=1.6)
        axes.plot(
            in_unit(float(figure.stack[ranking.order[i], 0]), figure.unit), y, "o", color=colour, ms=5.5, mec="white", mew=0.6
        )
    axes.set_ylim(len(places) - 0.4, -0.6)
    axes.set_yticks(range(len(places)), texts, fontsize=9, color=INK)
    axes.tick_params(axis="y", length=0)
    axes.tick_params(axis="x", labelsize=9, colors=INK)
    axes.grid(axis="x", color="#e6e6e6", lw=0.8)
    axes.set_axisbelow(True)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.set_xlabel(figure_title(figure), fontsize=10, color=INK)
    level = int((~ranking.behind).sum())
    said = "the best one" if level == 1 else f"the {level:,} that are not surely behind the best"
    order = "least first" if figure.better < 0 else "most first"
    drawing.text(0.2 / width, 1 - 0.3 / height, label(title), fontsize=14, weight="bold", color=INK, va="center")
    note = f"{count:,} variants, {order}; blue: {said}; bars: 95 % interval with bias bound"
    drawing.text(0.2 / width, 1 - 0.6 / height, note, fontsize=9.5, color=GREY, va="center")
    return png(drawing)


def _words(place: int, names: Sequence[str], shown: Sequence[Sequence[Shown]]) -> str:
    return plain(f"{place + 1}: {variant_words(names, shown[place])}")
