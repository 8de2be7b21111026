"""Chains of dimensions beside a drawing: a line with a mark at every place, the lengths between them in metres."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

from .drawing import GREY, INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SAME_M = 0.005  # places nearer together share a mark
_FIRST_PT, _GAP_PT = 10.0, 4.0  # from the wall to the nearest chain, and from one's figures to the next
_SIZE_PT, _LETTER_PT = 8.5, 5.2
_LEVEL_PT = 11.0  # from one line of figures to the next
_TAKEN: WeakKeyDictionary[Axes, dict[str, float]] = WeakKeyDictionary()  # what chains take up on each side of a drawing [pt]
_AWAY = {"left": (-1, 0), "right": (1, 0), "below": (0, -1), "above": (0, 1)}


def chain(axes: Axes, places: Iterable[float], *, side: str, wall: float) -> None:
    """A chain along a side of the drawing.

    places  where the marks stand along that side [m]; the lengths between them are written, in metres
    side    "left", "right", "below" or "above";  wall  the drawing's edge there, in its own coordinate [m]
    A chain stands outside those that the same side of the drawing has already, figures of narrow steps included.
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

    taken = _TAKEN.setdefault(axes, {})
    off = taken[side] + _GAP_PT if side in taken else _FIRST_PT
    line: dict[str, Any] = dict(transform=moved(off), color=INK, clip_on=False, zorder=4)
    axes.plot(*at([marks[0], marks[-1]]), lw=0.7, **line)
    axes.plot(*at(marks), marker=[(-1, -1), (1, 1)], ms=6, mew=1.1, ls="none", **line)
    steps = list(itertools.pairwise(marks))
    ends = axes.transData.transform(list(zip(*at(marks), strict=True)))[:, 1 if upright else 0] * 72.0 / drawing.dpi
    levels = _levels([tuple(sorted(pair)) for pair in itertools.pairwise(ends.tolist())], [f"{b - a:.2f}" for a, b in steps])
    for (low, high), level in zip(steps, levels, strict=True):
        x, y = at([0.5 * (low + high)])
        axes.text(
            x[0],
            y[0],
            f"{high - low:.2f}",
            transform=moved(off + 2.0 + _LEVEL_PT * level),
            fontsize=_SIZE_PT,
            color=INK,
            rotation=90 if upright else 0,
            ha={-1: "right", 0: "center", 1: "left"}[away[0]],
            va={-1: "top", 0: "center", 1: "bottom"}[away[1]],
            zorder=4,
        )
    taken[side] = off + 2.0 + _LEVEL_PT * (1 + max(levels))


def _levels(steps: Sequence[tuple[float, float]], words: Sequence[str]) -> list[int]:
    """For each step (low, high) [pt] along a chain how many lines of letters further off its figure stands, so that none meet.

    Steps too narrow for theirs give way to the strokes at their ends, too. Source: the first free line, wide steps first.
    """
    taken: list[list[tuple[float, float]]] = [[], []]
    found = [0] * len(steps)
    for k in sorted(range(len(steps)), key=lambda k: steps[k][0] - steps[k][1]):
        middle, half = 0.5 * sum(steps[k]), 0.5 * _LETTER_PT * len(words[k]) + 1.0
        low, high = middle - half, middle + half
        level = 0 if steps[k][0] <= low and high <= steps[k][1] else 1
        while any(low < b and a < high for a, b in taken[level]):
            level += 1
            taken += [[]] * (level == len(taken))
        taken[level] = [*taken[level], (low, high)]
        found[k] = level
    return found


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
