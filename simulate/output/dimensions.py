"""Chains of dimensions beside a drawing: a line with a mark at every place, the lengths between them in metres."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from .drawing import GREY, INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SAME_M = 0.005  # places nearer together share a mark
STEP_PT = 17.0  # from one chain to the next
_SIZE_PT, _LETTER_PT = 8.5, 5.2
_AWAY = {"left": (-1, 0), "right": (1, 0), "below": (0, -1), "above": (0, 1)}


def chain(axes: Axes, places: Iterable[float], *, side: str, wall: float, row: float = 0) -> None:
    """A chain along a side of the drawing.

    places  where the marks stand along that side [m]; the lengths between them are written, in metres
    side    "left", "right", "below" or "above";  wall  the drawing's edge there, in its own coordinate [m];  row  0 is the nearest
    Source: drawing practice as in ISO 129-1 (oblique strokes as terminators; from memory).
    """
    from matplotlib.figure import Figure
    from matplotlib.transforms import offset_copy

    marks = distinct(places)
    if len(marks) < 2:
        return
    away, drawing = _AWAY[side], axes.get_figure()
    assert isinstance(drawing, Figure)
    upright = away[1] == 0

    def moved(by_pt: float) -> Any:
        return offset_copy(axes.transData, drawing, x=away[0] * by_pt, y=away[1] * by_pt, units="points")

    def at(places: list[float]) -> tuple[list[float], list[float]]:
        return ([wall] * len(places), places) if upright else (places, [wall] * len(places))

    off = 10.0 + STEP_PT * row
    line: dict[str, Any] = dict(transform=moved(off), color=INK, clip_on=False, zorder=4)
    axes.plot(*at([marks[0], marks[-1]]), lw=0.7, **line)
    axes.plot(*at(marks), marker=[(-1, -1), (1, 1)], ms=6, mew=1.1, ls="none", **line)
    last_far = False
    for low, high in itertools.pairwise(marks):
        text = f"{high - low:.2f}"
        ends = axes.transData.transform(list(zip(*at([low, high]), strict=True)))
        long_pt = float(abs(ends[1] - ends[0]).max()) * 72.0 / drawing.dpi
        narrow = long_pt < _LETTER_PT * len(text) + 2.0
        last_far = narrow and not last_far  # a narrow gap's figure stands further off; of two in a row the second does not
        x, y = at([0.5 * (low + high)])
        axes.text(
            x[0],
            y[0],
            text,
            transform=moved(off + (2.0 if not last_far else 2.0 + _SIZE_PT)),
            fontsize=_SIZE_PT,
            color=INK,
            rotation=90 if upright else 0,
            ha={-1: "right", 0: "center", 1: "left"}[away[0]],
            va={-1: "top", 0: "center", 1: "bottom"}[away[1]],
            zorder=4,
        )


def between(axes: Axes, start: tuple[float, float], end: tuple[float, float], words: str) -> None:
    """A dimension inside the drawing: an arrow both ways from start to end [m], and what it is in words."""
    axes.annotate("", end, start, arrowprops=dict(arrowstyle="<|-|>", color=GREY, lw=0.9, shrinkA=0, shrinkB=0), zorder=4)
    upright = abs(end[0] - start[0]) < abs(end[1] - start[1])
    axes.annotate(
        words,
        (0.5 * (start[0] + end[0]), 0.5 * (start[1] + end[1])),
        (4, 0) if upright else (0, 3),
        textcoords="offset points",
        fontsize=_SIZE_PT,
        color=INK,
        rotation=90 if upright else 0,
        ha="left" if upright else "center",
        va="center" if upright else "bottom",
        zorder=4,
        bbox=dict(boxstyle="round,pad=0.1", fc="white", ec="none", alpha=0.8),
    )


def distinct(places: Iterable[float]) -> list[float]:
    """Places in rising order, of those nearer together than SAME_M [m] the first."""
    found: list[float] = []
    for place in sorted(places):
        if not found or place - found[-1] >= SAME_M:
            found.append(float(place))
    return found
