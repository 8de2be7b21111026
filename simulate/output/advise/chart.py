"""advice.png: what each fabric wins and gives up: luminance at the dimmest seat against contrast, in the dark and in light."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ...choices.advice import Advice
from ...choices.aims import Aim
from ...measuring.targets import DARK
from ..drawing import COLOURS, GREY, INK, figure_of, label, png

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDTH_IN, _HEIGHT_IN = 14.5, 7.4
_LINE_IN, _MOST_NAMES = 0.25, 24
_POINT_PT, _LABEL_PT = 7.0, 13.0  # diameter of a good fabric's point; height of its number


def advise_chart(advice: Advice) -> bytes:
    """Fabrics as points, their evenness as colour, the good ones numbered beside their points as in the list at the right; PNG bytes.

    Source: Pareto front drawn as points, since fabrics cannot be mixed.
    """
    contrasts = [advice.aims[2], *([advice.aims[-1]] if len(advice.aims) > 3 else [])]
    figure = figure_of(_WIDTH_IN, _HEIGHT_IN)
    grid = figure.add_gridspec(1, len(contrasts), left=0.055, right=0.72, top=0.82, bottom=0.1, wspace=0.14)
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
    bar = figure.colorbar(drawn, cax=figure.add_axes((0.735, 0.1, 0.013, 0.72)))
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
            0.805, 0.82 - _LINE_IN * i / _HEIGHT_IN, f"{i + 1}  {label(name)}", fontsize=10.5, color=INK, va="top", weight=weight
        )
    below = 0.82 - _LINE_IN * (min(len(order), _MOST_NAMES) + 0.5) / _HEIGHT_IN
    figure.text(0.805, below, "bold: gives up least in\nits weakest aim", fontsize=9.5, color=GREY, va="top")


def _points(axes: Axes, advice: Advice, contrast: Aim, order: list[str]) -> Any:
    white, even = advice.aims[0], advice.aims[1]
    at = {e.name: (e.value(white).value, e.value(contrast).value, 100.0 * e.value(even).value) for e in advice.evidence}
    names = [name for name in at if name not in advice.good] + order[::-1]
    xs, ys = [at[name][0] for name in names], [at[name][1] for name in names]
    drawn = axes.scatter(
        xs,
        ys,
        c=[at[name][2] for name in names],
        cmap=COLOURS,
        vmin=0.0,
        vmax=100.0,
        s=[_POINT_PT**2 if name in advice.good else 20 for name in names],
        edgecolors=INK,
        linewidths=0.8,
        zorder=3,
        alpha=0.93,
    )
    axes.set_xlim(0.0, 1.1 * max(xs))
    axes.set_ylim(0.0, 1.1 * max(ys))
    _numbers(axes, [at[name][:2] for name in order])
    axes.grid(color="#e6e6e6", lw=0.8)
    axes.set_axisbelow(True)
    axes.tick_params(labelsize=10)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return drawn


def _numbers(axes: Axes, places: Sequence[tuple[float, float]]) -> None:
    """A number beside every point; where points crowd it stands further off, with a line to its point."""
    from matplotlib.figure import Figure

    drawing = axes.get_figure()
    assert isinstance(drawing, Figure)
    scale = 72.0 / drawing.dpi
    points = axes.transData.transform(places) * scale
    (left, low), (right, top) = axes.transAxes.transform([(0, 0), (1, 1)]) * scale
    for i, (x, y) in enumerate(apart(points, (left, low, right, top))):
        dx, dy = x - points[i, 0], y - points[i, 1]
        line = dict(arrowstyle="-", color=GREY, lw=0.6, shrinkA=0, shrinkB=2) if np.hypot(dx, dy) > 1.6 * _LABEL_PT else None
        axes.annotate(
            str(i + 1),
            places[i],
            (dx, dy),
            textcoords="offset points",
            fontsize=9.5,
            color=INK,
            ha="center",
            va="center",
            zorder=5,
            arrowprops=line,
            bbox=dict(boxstyle="round,pad=0.08", fc="white", ec="none", alpha=0.7),
        )


def apart(points: np.ndarray, frame: tuple[float, float, float, float]) -> np.ndarray:
    """Middles (n, 2) [pt] of labels beside points (n, 2) [pt]: within the frame, on no point and on no other label.

    frame  left, low, right, top [pt]
    Source: each label in turn takes the first free place on rings about its point; crowded points first.
    """
    gaps = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1)) + np.where(np.eye(len(points)), np.inf, 0.0)
    placed: list[np.ndarray] = []
    out = np.array(points, float)
    turns = np.radians(np.arange(0, 360, 15))
    for i in np.argsort(gaps.min(axis=1), kind="stable"):
        for ring in np.arange(0.95, 9.0, 0.35) * _LABEL_PT:
            tries = points[i] + ring * np.stack([np.cos(turns), np.sin(turns)], axis=1)
            free = [place for place in tries if _free(place, points, placed, frame)]
            if free:
                out[i] = free[0]
                break
        placed.append(out[i])
    return out


def _free(place: np.ndarray, points: np.ndarray, placed: Sequence[np.ndarray], frame: tuple[float, float, float, float]) -> bool:
    half = 0.5 * _LABEL_PT
    inside = frame[0] + half < place[0] < frame[2] - half and frame[1] + half < place[1] < frame[3] - half
    clear = (np.abs(points - place).max(axis=1) > half + 0.5 * _POINT_PT).all()
    return bool(inside and clear and all(np.abs(other - place).max() > _LABEL_PT for other in placed))
