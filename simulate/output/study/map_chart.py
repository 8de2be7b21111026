"""map.png: a figure over two factors, mean over all others, as a field of colours with its numbers."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...measuring.unit import in_unit
from ...studies.effects import groups
from ...studies.factors import Shown
from ...studies.figures import StudyFigure
from ..drawing import COLOURS, GREY, INK, figure_of, ink_on, label, plain, png
from ..units import figure as number
from .words import figure_title

_MOST_WRITTEN = 14  # levels a side up to which numbers stand in the cells


def map_chart(
    title: str,
    figure: StudyFigure,
    names: tuple[str, str],
    columns: tuple[Sequence[Shown], Sequence[Shown]],
    drawn: tuple[bool, bool],
    draws: tuple[np.ndarray, np.ndarray],
) -> bytes:
    """The chart as PNG bytes; drawn factors in bins of as many variants each; a cell without variants stays white.

    draws  of both factors, (variants,) as `effects.groups` has them
    """
    there = np.isfinite(figure.stack[:, 0])
    sides = [
        groups([value for value, has in zip(column, there, strict=True) if has], spread, share[there])
        for column, spread, share in zip(columns, drawn, draws, strict=True)
    ]
    (across, x_names), (upward, y_names) = sides
    values = in_unit(1.0, figure.unit) * figure.stack[there, 0]
    total, count = np.zeros((len(y_names), len(x_names))), np.zeros((len(y_names), len(x_names)))
    np.add.at(total, (upward, across), values)
    np.add.at(count, (upward, across), 1)
    with np.errstate(invalid="ignore"):
        mean = np.where(count > 0, total / count, np.nan)
    x_texts, y_texts = ([plain(_text(each)) for each in shown] for shown in (x_names, y_names))
    slanted = max(map(len, x_texts)) * len(x_texts) > 60
    left, bottom = 0.75 + 0.075 * max(map(len, y_texts)), 0.65 + (0.045 * max(map(len, x_texts)) if slanted else 0.0)
    width, height = left + max(3.5, 0.66 * len(x_texts)) + 1.4, 0.95 + max(2.0, 0.45 * len(y_texts)) + bottom
    drawing = figure_of(width, height)
    axes = drawing.add_axes((left / width, bottom / height, 1 - (left + 1.4) / width, 1 - (bottom + 0.95) / height))
    image = axes.imshow(mean, origin="lower", aspect="auto", cmap=COLOURS)
    axes.set_xticks(range(len(x_texts)), x_texts, rotation=35 if slanted else 0, ha="right" if slanted else "center")
    axes.set_yticks(range(len(y_texts)), y_texts)
    axes.tick_params(labelsize=9, colors=INK, length=0)
    axes.set_xlabel(label(names[0]), fontsize=10, color=INK)
    axes.set_ylabel(label(names[1]), fontsize=10, color=INK)
    if max(len(x_names), len(y_names)) <= _MOST_WRITTEN:
        for (row, column), value in np.ndenumerate(mean):
            if np.isfinite(value):
                axes.text(
                    column,
                    row,
                    number(value),
                    ha="center",
                    va="center",
                    fontsize=8.5,
                    color=ink_on(image.cmap(image.norm(value))),
                )
    bar = drawing.add_axes((1 - 1.2 / width, bottom / height, 0.18 / width, 1 - (bottom + 0.95) / height))
    drawing.colorbar(image, cax=bar).ax.tick_params(labelsize=9)
    drawing.text(0.2 / width, 1 - 0.3 / height, label(title), fontsize=14, weight="bold", color=INK, va="center")
    drawing.text(
        0.2 / width, 1 - 0.6 / height, f"{figure_title(figure)}; mean over all else", fontsize=9.5, color=GREY, va="center"
    )
    return png(drawing)


def _text(shown: Shown) -> str:
    return f"{shown:.4g}" if isinstance(shown, float) else (shown if len(shown) <= 22 else shown[:21] + "…")
