"""advice.png: what each fabric wins and gives up: luminance at the dimmest seat against contrast, in the dark and in light."""
from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ..choices.advice import Advice
from ..choices.aims import Aim
from ..targets import DARK
from .drawing import COLOURS, GREY, INK, figure_of, ink_on, label, png

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDTH_IN, _HEIGHT_IN = 13.0, 6.6
_LINE_IN, _MOST_NAMES = 0.25, 20


def advise_chart(advice: Advice) -> bytes:
    """Fabrics as points, their evenness as colour, the good ones numbered as in the list at the right; PNG bytes.

    Source: Pareto front drawn as points, since fabrics cannot be mixed.
    """
    contrasts = [advice.aims[2], *([advice.aims[-1]] if len(advice.aims) > 3 else [])]
    figure = figure_of(_WIDTH_IN, _HEIGHT_IN)
    grid = figure.add_gridspec(1, len(contrasts), left=0.065, right=0.7, top=0.8, bottom=0.11, wspace=0.18)
    order = sorted(advice.good, key=lambda name: -advice.of(name).value(advice.aims[2]).value)
    drawn: Any = None
    for column, aim in enumerate(contrasts):
        axes = figure.add_subplot(grid[0, column])
        drawn = _points(axes, advice, aim, order)
        state = "in the dark" if aim.figure.state == DARK else f"with {label(aim.figure.state)}"
        axes.set_title(f"contrast {state}", fontsize=12, color=INK)
        axes.set_xlabel("full white at the dimmest seat [cd/m²]", fontsize=10.5, color=INK)
        if column == 0:
            axes.set_ylabel("checkerboard at the worst seat [:1]", fontsize=10.5, color=INK)
    bar = figure.colorbar(drawn, cax=figure.add_axes((0.72, 0.11, 0.014, 0.69)))
    bar.set_label("least of nine points / centre, worst seat [%]", fontsize=10, color=INK)
    _words(figure, advice, order)
    return png(figure)


def _words(figure: Figure, advice: Advice, order: list[str]) -> None:
    figure.text(0.03, 0.955, label(advice.scene.title), fontsize=15, weight="bold", color=INK, va="center")
    note = "numbered: no other fabric beats it in every aim; small: beaten by another. Cloth flat."
    figure.text(0.03, 0.905, note, fontsize=10.5, color=GREY, va="center")
    for i, name in enumerate(order[:_MOST_NAMES]):
        weight = "bold" if name == advice.balanced else "normal"
        figure.text(
            0.795, 0.8 - _LINE_IN * i / _HEIGHT_IN, f"{i + 1}  {label(name)}", fontsize=10.5, color=INK, va="top", weight=weight
        )
    below = 0.8 - _LINE_IN * (min(len(order), _MOST_NAMES) + 0.5) / _HEIGHT_IN
    figure.text(0.795, below, "bold: gives up least in\nits weakest aim", fontsize=9.5, color=GREY, va="top")


def _points(axes: Axes, advice: Advice, contrast: Aim, order: list[str]) -> Any:
    white, even = advice.aims[0], advice.aims[1]
    at = {e.name: (e.value(white).value, e.value(contrast).value, 100.0 * e.value(even).value) for e in advice.evidence}
    names = [name for name in at if name not in advice.good] + order[::-1]
    xs, ys = [at[name][0] for name in names], [at[name][1] for name in names]
    drawn = axes.scatter(
        xs, ys, c=[at[name][2] for name in names], cmap=COLOURS, vmin=0.0, vmax=100.0,
        s=[260 if name in advice.good else 30 for name in names], edgecolors=INK, linewidths=0.9, zorder=3, alpha=0.93,
    )  # fmt: skip
    for i, name in enumerate(order):
        colour = ink_on(drawn.to_rgba(np.array([at[name][2]]))[0])
        axes.text(*at[name][:2], str(i + 1), fontsize=9.5, color=colour, ha="center", va="center", zorder=4)
    axes.set_xlim(0.0, 1.12 * max(xs))
    axes.set_ylim(0.0, 1.12 * max(ys))
    axes.grid(color="#e6e6e6", lw=0.8)
    axes.set_axisbelow(True)
    axes.tick_params(labelsize=10)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return drawn
