"""finishes.png: the contrast each surface would give back if it were black, and the contrast it alone would leave."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...answers.repaint import Plan, RoomCosts
from ..drawing import GREY, INK, figure_of, label, png
from ..units import figure as digits

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_GAIN, _ALONE = "#00457c", "#c9a227"


def finishes_chart(costs: RoomCosts, plan: Plan) -> bytes:
    """Bars of contrast at the seat with the least, surfaces in order of what they cost, as PNG bytes."""
    return png(finishes_figure(costs, plan))


def finishes_figure(costs: RoomCosts, plan: Plan, *, small: bool = False) -> Figure:
    """The chart as a figure; small: a narrow one without title, for a page that says it in its own words."""
    count = len(costs.surfaces)
    height = (0.9 if small else 2.2) + (0.38 if small else 0.5) * count
    figure = figure_of(5.4 if small else 10.0, height)
    axes = figure.add_axes(
        (0.27, 0.62 / height, 0.67, (height - 0.7) / height) if small else (0.19, 0.75 / height, 0.74, (height - 2.1) / height)
    )
    _bars(axes, costs)
    axes.axvline(costs.contrast_now[costs.worst].value, color=INK, lw=1.2)
    axes.axvline(plan.target, color=GREY, lw=1.2, ls="--", zorder=1)
    _contrast_scale(axes, *_ends(costs, plan))
    axes.set_yticks(range(count), [label(f"{s.name} ({s.finish.luminous:.2f})") for s in costs.surfaces], fontsize=11, color=INK)
    axes.set_ylim(count - 0.4, -0.6)
    axes.set_xlabel("checkerboard contrast", fontsize=11, color=INK)
    axes.tick_params(axis="x", labelsize=10)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.grid(axis="x", color="#e4e4e4", lw=0.8)
    axes.set_axisbelow(True)
    if not small:
        _words(figure, costs, plan, height)
    return figure


def _bars(axes: Axes, costs: RoomCosts) -> None:
    """A row a surface: a bar from the contrast now to that with the surface black, a diamond where it alone would leave it."""
    seat = costs.worst
    now = costs.contrast_now[seat].value
    for row, surface in enumerate(costs.surfaces):
        black, alone = surface.contrast_black[seat].value, surface.contrast_alone[seat].value
        axes.plot([now, black], [row, row], color=_GAIN, lw=9, solid_capstyle="butt")
        axes.plot(alone, row, marker="D", ms=8, color=_ALONE, mec=INK, mew=0.7, ls="none")
        axes.annotate(
            digits(black),
            (max(black, now), row),
            xytext=(7, 0),
            textcoords="offset points",
            va="center",
            fontsize=11,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8},
            color=INK,
        )


def _ends(costs: RoomCosts, plan: Plan) -> tuple[float, float]:
    """Least and greatest contrast [1] that the chart has to hold."""
    seat = costs.worst
    alone = [s.contrast_alone[seat].value for s in costs.surfaces]
    black = [s.contrast_black[seat].value for s in costs.surfaces]
    return min([costs.contrast_now[seat].value, plan.target, *alone]), max([plan.target, *alone, *black])


def _contrast_scale(axes: Axes, low: float, high: float) -> None:
    """A logarithmic axis across with plain numbers, closer together where the range is short."""
    from matplotlib.ticker import FixedLocator, NullFormatter, NullLocator

    axes.set_xscale("log")
    axes.set_xlim(low / 1.15, high * 1.35)
    steps = (1, 2, 5) if high / low > 5 else (1, 1.5, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 9)
    ticks = [t * 10**e for e in range(0, 7) for t in steps if low / 1.15 <= t * 10**e <= high * 1.35]
    axes.xaxis.set_major_locator(FixedLocator(ticks))
    axes.xaxis.set_major_formatter(lambda x, _: f"{x:g}")
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_minor_formatter(NullFormatter())


def _words(figure: Figure, costs: RoomCosts, plan: Plan, height: float) -> None:
    """Title, key and foot above the chart."""
    title = f"What each surface costs at {label(costs.seats[costs.worst])}, the seat with the least contrast"
    figure.text(0.03, 1 - 0.36 / height, title, fontsize=14, color=INK, weight="bold", va="center")
    now = digits(costs.contrast_now[costs.worst].value)
    key = f"bar: from now ({now}) to the contrast with that surface black; diamond: that surface as it is, all others black"
    figure.text(0.03, 1 - 0.72 / height, key, fontsize=11, color=INK, va="center")
    foot = f"dashed: the target, {plan.target:g}; in brackets: reflectance now"
    figure.text(0.03, 1 - 1.03 / height, foot, fontsize=10, color=GREY, va="center")
