"""front.png: two figures against each other, and the variants that none beats in both."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from ...measuring.unit import in_unit
from ...studies.factors import Shown
from ...studies.figures import StudyFigure
from ...studies.ranking import Front, half_interval
from ..drawing import FAINT, GREY, INK, figure_of, label, plain, png
from .words import figure_title, variant_words

_FRONT, _NEAR = "#D55E00", "#56B4E9"
_MOST_NAMED, _APART = 14, 0.045  # the second in sides of the picture


def front_chart(
    title: str, one: StudyFigure, other: StudyFigure, front: Front, names: Sequence[str], shown: Sequence[Sequence[Shown]]
) -> bytes:
    """The chart as PNG bytes: each variant a dot, the front in steps, its variants numbered and named beside it."""
    x, y = (np.array([in_unit(float(v), each.unit) for v in each.stack[:, 0]]) for each in (one, other))
    named = _apart(x, y, front.front)
    texts = [f"{place + 1}: {variant_words(names, shown[place])}" for place in named]
    legend = min(5.4, 0.4 + 0.075 * max(len(text) for text in texts))
    width, height = 6.6 + legend, 5.4
    drawing = figure_of(width, height)
    axes = drawing.add_axes((0.85 / width, 0.7 / height, 5.5 / width, 1 - 1.75 / height))
    axes.scatter(x, y, s=14, color=FAINT, lw=0, zorder=1)
    axes.scatter(x[front.near], y[front.near], s=16, color=_NEAR, lw=0, zorder=2)
    for i in named:
        half = [in_unit(float(half_interval(each.stack[i : i + 1])[0]), each.unit) for each in (one, other)]
        axes.errorbar(x[i], y[i], xerr=half[0], yerr=half[1], color=_FRONT, lw=1.0, zorder=3)
    for a, b in pairwise(front.front):  # what is reached between two of them is the corner that both reach
        axes.plot([x[a], x[b]], [y[a], y[b]], color=_FRONT, lw=1.0, alpha=0.5, zorder=2)
    axes.scatter(x[front.front], y[front.front], s=30, color=_FRONT, edgecolors="white", linewidths=0.6, zorder=4)
    for i in named:
        axes.annotate(str(i + 1), (x[i], y[i]), xytext=(5, 5), textcoords="offset points", fontsize=9, color=INK, zorder=5)
    axes.set_xlabel(figure_title(one), fontsize=10, color=INK)
    axes.set_ylabel(figure_title(other), fontsize=10, color=INK)
    axes.tick_params(labelsize=9, colors=INK)
    axes.grid(color="#eeeeee", lw=0.8)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    drawing.text(0.2 / width, 1 - 0.3 / height, label(title), fontsize=14, weight="bold", color=INK, va="center")
    note = f"orange: none beats these {len(front.front)} in both"
    note += f"; blue: {len(front.near):,} that may be as good, within the errors" if len(front.near) else ""
    drawing.text(0.2 / width, 1 - 0.6 / height, note, fontsize=9.5, color=GREY, va="center")
    for i, text in enumerate(texts):
        drawing.text(6.6 / width, 1 - (1.1 + 0.26 * i) / height, plain(text), fontsize=9, color=INK, va="center")
    return png(drawing)


def _apart(x: np.ndarray, y: np.ndarray, front: np.ndarray) -> list[int]:
    """Variants of the front that are far enough from one another to be numbered, its ends among them."""
    sides = np.ptp(x[np.isfinite(x)]) or 1.0, np.ptp(y[np.isfinite(y)]) or 1.0

    def gap(i: int, j: int) -> float:
        return float(np.hypot((x[i] - x[j]) / sides[0], (y[i] - y[j]) / sides[1]))

    kept = [int(front[0])]
    for i in front[1:-1]:
        if gap(i, kept[-1]) > _APART and gap(i, front[-1]) > _APART:
            kept.append(int(i))
    kept += [int(front[-1])] if len(front) > 1 else []
    if len(kept) <= _MOST_NAMED:
        return kept
    return [kept[i] for i in np.unique(np.linspace(0, len(kept) - 1, _MOST_NAMED).round().astype(int))]
