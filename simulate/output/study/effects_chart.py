"""effects.png: a panel a factor, the most telling first: the figure's mean over the variants at each of its levels."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ...measuring.estimate import T_95
from ...measuring.unit import in_unit
from ...studies.effects import MainEffect
from ...studies.figures import StudyFigure
from ..drawing import GREY, INK, figure_of, label, png
from .words import figure_title, share_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_COLOUR, _BAND = "#0072B2", "#dbe9f4"
_MOST_PANELS, _A_ROW = 12, 4
_PANEL_IN, _TALL_IN, _MOST_TICKS, _MOST_LETTERS = 2.75, 2.6, 12, 14


def effects_chart(title: str, figure: StudyFigure, effects: Sequence[MainEffect], *, note: str) -> bytes:
    """The chart as PNG bytes; all panels share their scale, so that steepness compares. Source: main-effects plot (Box, Hunter, Hunter)."""
    effects = effects[:_MOST_PANELS]
    across = min(_A_ROW, len(effects))
    rows = -(-len(effects) // across)
    names = max(
        (len(_text(level.shown)) for effect in effects for level in effect.levels if isinstance(level.shown, str)), default=0
    )
    below = 0.4 + 0.05 * min(names, _MOST_LETTERS) * (names > 4)
    width, top, left = max(7.0, 1.0 + _PANEL_IN * across), 0.8, 0.95
    height = top + rows * (_TALL_IN + below) + 0.1
    drawing = figure_of(width, height)
    low, high = _limits(effects, figure.unit)
    for i, effect in enumerate(effects):
        row, column = divmod(i, across)
        bottom = height - top - (row + 1) * _TALL_IN - row * below
        place = (left + column * (width - left - 0.2) / across) / width, bottom / height
        axes = drawing.add_axes((*place, ((width - left - 0.2) / across - 0.18) / width, (_TALL_IN - 0.5) / height))
        _panel(axes, effect, figure.unit)
        axes.set_ylim(low, high)
        axes.set_title(f"{label(effect.factor)}\n{share_words(effect)}", fontsize=10, color=INK, loc="left")
        if column:
            axes.tick_params(labelleft=False)
        else:
            axes.set_ylabel(figure_title(figure, short=True), fontsize=10, color=INK)
    drawing.text(0.2 / width, 1 - 0.3 / height, label(title), fontsize=14, weight="bold", color=INK, va="center")
    drawing.text(0.2 / width, 1 - 0.58 / height, note, fontsize=9.5, color=GREY, va="center")
    return png(drawing)


def _limits(effects: Sequence[MainEffect], unit: str) -> tuple[float, float]:
    ends = [
        in_unit(level.mean.value + sign * T_95 * level.mean.standard_error, unit)
        for effect in effects
        for level in effect.levels
        for sign in (-1.0, 1.0)
    ]
    span = max(ends) - min(ends) or abs(ends[0]) or 1.0
    return min(ends) - 0.08 * span, max(ends) + 0.08 * span


def _panel(axes: Axes, effect: MainEffect, unit: str) -> None:
    """Means with 95 % intervals; along numbers where the levels are numbers, side by side where they are names."""
    numbers = all(isinstance(level.shown, float) for level in effect.levels)
    places = [float(level.shown) if numbers else i for i, level in enumerate(effect.levels)]
    values = [in_unit(level.mean.value, unit) for level in effect.levels]
    errors = [in_unit(T_95 * level.mean.standard_error + level.mean.bias_bound, unit) for level in effect.levels]
    axes.errorbar(
        places, values, yerr=errors, fmt="o-" if numbers else "o", color=_COLOUR, ms=5, lw=1.4, elinewidth=1.2, capsize=2
    )
    axes.grid(axis="y", color="#e6e6e6", lw=0.8)
    axes.set_axisbelow(True)
    axes.tick_params(labelsize=9, colors=INK)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    if numbers:
        from matplotlib.ticker import MaxNLocator

        axes.xaxis.set_major_locator(MaxNLocator(4))
        return
    step = -(-len(places) // _MOST_TICKS)
    texts = [label(_text(level.shown)) for level in effect.levels]
    slanted = max(map(len, texts)) > 4
    axes.set_xticks(places[::step], texts[::step], rotation=35 if slanted else 0, ha="right" if slanted else "center")
    axes.set_xlim(-0.6, len(places) - 0.4)


def _text(shown: float | str) -> str:
    text = f"{shown:g}" if isinstance(shown, float) else shown
    return text if len(text) <= _MOST_LETTERS else text[: _MOST_LETTERS - 1] + "…"
