"""finishes.png: the contrast each surface would give back if it were black, and the contrast it alone would leave."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..answers.repaint import Plan, RoomCosts
from .drawing import GREY, INK, figure_of, label, png
from .units import figure as digits

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_GAIN, _ALONE = "#00457c", "#c9a227"


def finishes_chart(costs: RoomCosts, plan: Plan) -> bytes:
    """Bars of contrast at the seat with the least, surfaces in order of what they cost, as PNG bytes."""
    return png(finishes_figure(costs, plan))


def finishes_figure(costs: RoomCosts, plan: Plan, *, small: bool = False) -> Figure:
    """The chart as a figure; small: a narrow one without title, for a page that says it in its own words."""
    seat, count = costs.worst, len(costs.surfaces)
    height = (0.9 if small else 2.2) + (0.38 if small else 0.5) * count
    figure = figure_of(5.4 if small else 10.0, height)
    axes = figure.add_axes(
        (0.27, 0.62 / height, 0.67, (height - 0.7) / height) if small else (0.19, 0.75 / height, 0.74, (height - 2.1) / height)
    )
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
    axes.axvline(now, color=INK, lw=1.2)
    axes.axvline(plan.target, color=GREY, lw=1.2, ls="--", zorder=1)
    axes.set_xscale("log")
    low = min([now, plan.target, *(s.contrast_alone[seat].value for s in costs.surfaces)])
    high = max(
        [
            plan.target,
            *(s.contrast_alone[seat].value for s in costs.surfaces),
            *(s.contrast_black[seat].value for s in costs.surfaces),
        ]
    )
    axes.set_xlim(low / 1.15, high * 1.35)
    from matplotlib.ticker import FixedLocator, NullFormatter, NullLocator

    steps = (1, 2, 5) if high / low > 5 else (1, 1.5, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 9)
    ticks = [t * 10**e for e in range(0, 7) for t in steps if low / 1.15 <= t * 10**e <= high * 1.35]
    axes.xaxis.set_major_locator(FixedLocator(ticks))
    axes.xaxis.set_major_formatter(lambda x, _: f"{x:g}")
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_minor_formatter(NullFormatter())
    axes.set_yticks(range(count), [label(f"{s.name} ({s.finish.luminous:.2f})") for s in costs.surfaces], fontsize=11, color=INK)
    axes.set_ylim(count - 0.4, -0.6)
    axes.set_xlabel("checkerboard contrast", fontsize=11, color=INK)
    axes.tick_params(axis="x", labelsize=10)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.grid(axis="x", color="#e4e4e4", lw=0.8)
    axes.set_axisbelow(True)
    if small:
        return figure
    title = f"What each surface costs at {label(costs.seats[seat])}, the seat with the least contrast"
    figure.text(0.03, 1 - 0.36 / height, title, fontsize=14, color=INK, weight="bold", va="center")
    key = (
        f"bar: from now ({digits(now)}) to the contrast with that surface black; diamond: that surface as it is, all others black"
    )
    figure.text(0.03, 1 - 0.72 / height, key, fontsize=11, color=INK, va="center")
    foot = f"dashed: the target, {plan.target:g}; in brackets: reflectance now"
    figure.text(0.03, 1 - 1.03 / height, foot, fontsize=10, color=GREY, va="center")
    return figure
