"""Lamps and windows in drawings of a room: a crossed circle for a lamp, a line for a strip, a pale band for a window."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from ...scenes.model import Scene, Window
from ..measuring.lamps import window_rectangle
from .drawing import GREY, INK
from .units import figure

if TYPE_CHECKING:
    from matplotlib.axes import Axes

LAMP, WINDOW = "#a8741a", "#4a87b0"
_FLAT_M = 1e-4
AXIS = {"right": 0, "out": 1, "up": 2}


class Marked(NamedTuple):
    """A lamp or a window in a legend: its mark, its name, what it is."""

    mark: str
    name: str
    words: str


def marked(scene: Scene) -> list[Marked]:
    """All lamps, L1 on, then all windows, W1 on."""
    lamps = [Marked(f"L{i}", lamp.name, lamp.words) for i, lamp in enumerate(scene.lamps, start=1)]
    return lamps + [
        Marked(f"W{i}", window.name, f"window, {figure(window.luminance_cd_m2)} cd/m2")
        for i, window in enumerate(scene.windows, start=1)
    ]


def draw_lamps(axes: Axes, scene: Scene, across: str, upward: str) -> None:
    """Lamps and windows as seen along the third axis; across, upward  which of right, out and up the drawing's x and y are [m]."""
    x, y = AXIS[across], AXIS[upward]
    for mark, lamp in zip(marked(scene), scene.lamps, strict=False):
        place = lamp.place_m
        if lamp.end_m is not None:
            axes.plot((place[x], lamp.end_m[x]), (place[y], lamp.end_m[y]), color=LAMP, lw=3.0, solid_capstyle="round", zorder=5)
        axes.plot(place[x], place[y], marker="o", ms=9, mfc="white", mec=LAMP, mew=1.4, zorder=6, clip_on=False)
        axes.plot(place[x], place[y], marker="x", ms=5, mec=LAMP, mew=1.2, zorder=7, clip_on=False)
        _name(axes, mark.mark, (place[x], place[y]))
    for mark, window in zip(marked(scene)[len(scene.lamps) :], scene.windows, strict=True):
        ends = _ends(window, scene, across), _ends(window, scene, upward)
        flat = ends[0][0] == ends[0][1] or ends[1][0] == ends[1][1]
        if flat:
            axes.plot(*ends, color=WINDOW, lw=5.0, solid_capstyle="butt", zorder=4, clip_on=False)
        else:
            axes.fill_between(ends[0], ends[1][0], ends[1][1], fc=WINDOW, alpha=0.18, ec=WINDOW, lw=1.0, zorder=2)
        inwards = 6 if window.surface in ("back", "floor") else -12
        _name(axes, mark.mark, (0.5 * sum(ends[0]), 0.5 * sum(ends[1])), inwards)


def _ends(window: Window, scene: Scene, axis: str) -> tuple[float, float]:
    """Where a window begins and ends along right, out or up [m]; its wall's place twice where it has no span there."""
    corner, u, v, _ = window_rectangle(window, scene.room)
    ends = [float((corner + a * u + b * v)[AXIS[axis]]) * (-1.0 if axis == "out" else 1.0) for a in (0, 1) for b in (0, 1)]
    low, high = min(ends), max(ends)
    return (low, high) if high - low > _FLAT_M else (low, low)


def _name(axes: Axes, mark: str, place: tuple[float, float], up: int = -12) -> None:
    axes.annotate(
        mark,
        place,
        (7, up),
        textcoords="offset points",
        fontsize=9,
        color=INK if mark[0] == "L" else GREY,
        zorder=8,
        bbox=dict(boxstyle="round,pad=0.1", fc="white", ec="none", alpha=0.7),
    )
