"""The screen on its wall as the seats see it, to scale, with dimension chains."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ....scenes.rooms.standing import ceiling_over
from ...ordering.order import Order
from ..dimensions import chain
from ..drawing import GREY, INK, figure_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDEST_IN, _TALLEST_IN = 3.0, 2.1
_SIDE_IN, _LOW_IN, _TOP_IN = 0.95, 0.55, 0.8


def front_figure(found: Order) -> Figure:
    """The screen wall from the seats: white area, border, case, cable, chains all round. Source: `screen_sizes`."""
    room = found.scene.room
    scale = min(_WIDEST_IN / room.width_m, _TALLEST_IN / room.height_m)
    wide, high = room.width_m * scale, room.height_m * scale
    width, height = wide + 2 * _SIDE_IN, high + _LOW_IN + _TOP_IN
    figure = figure_of(width, height)
    axes = figure.add_axes((_SIDE_IN / width, _LOW_IN / height, wide / width, high / height))
    axes.set_xlim(*room.limits[0])
    axes.set_ylim(0.0, room.height_m)
    axes.set_axis_off()
    _screen(axes, found)
    _chains(axes, found)
    return figure


def _screen(axes: Axes, found: Order) -> None:
    from matplotlib.patches import Rectangle

    room, screen, sizes = found.scene.room, found.scene.screen, found.sizes
    (start, end), ceiling = room.limits[0], ceiling_over(room, screen)
    # of other rooms the extent alone is drawn
    line: dict[str, Any] = {"lw": 2.4, "ec": INK} if room.shell is None else {"lw": 1.0, "ec": GREY, "ls": "--"}
    axes.add_patch(Rectangle((start, 0), end - start, room.height_m, fill=False, clip_on=False, zorder=3, **line))
    left, low = screen.right_m - sizes.overall_width / 2, sizes.lower_edge - screen.border_m
    top = ceiling - (screen.mount.below_ceiling_m if screen.mount else 0.0)
    if not screen.hang.is_frame:
        axes.add_patch(Rectangle((left, low), sizes.overall_width, top - low, fc="#4a4a4a", ec="none", zorder=1))
    axes.add_patch(Rectangle((left, low), sizes.overall_width, sizes.overall_height, fc="#222222", ec="none", zorder=2))
    white = (screen.right_m - sizes.white_width / 2, sizes.lower_edge)
    axes.add_patch(Rectangle(white, sizes.white_width, sizes.white_height, fc="white", ec=INK, lw=0.8, zorder=3))
    _case(axes, found)


def _case(axes: Axes, found: Order) -> None:
    from matplotlib.patches import Rectangle

    room, screen, sizes = found.scene.room, found.scene.screen, found.sizes
    mount = screen.mount
    if mount is None or mount.case_height_m is None:
        return
    left, low = screen.right_m - sizes.case_width / 2, ceiling_over(room, screen) - mount.below_ceiling_m
    axes.add_patch(
        Rectangle((left, low), sizes.case_width, mount.case_height_m, fc="#cfcbc0", ec=INK, lw=1.2, clip_on=False, zorder=4)
    )
    if mount.cable_side is not None:
        at = left if mount.cable_side == "left" else left + sizes.case_width
        shift, ha = (-16, "right") if mount.cable_side == "left" else (16, "left")
        axes.annotate(
            "cable",
            (at, low + mount.case_height_m / 2),
            (shift, -14),
            textcoords="offset points",
            fontsize=8.5,
            color=GREY,
            ha=ha,
            va="top",
            arrowprops={"arrowstyle": "-", "color": GREY, "lw": 1.0},
            zorder=5,
        )


def _chains(axes: Axes, found: Order) -> None:
    room, screen, sizes = found.scene.room, found.scene.screen, found.sizes
    (start, end), ceiling = room.limits[0], ceiling_over(room, screen)
    edges = (screen.right_m - sizes.white_width / 2, screen.right_m + sizes.white_width / 2)
    outer = (screen.right_m - sizes.case_width / 2, screen.right_m + sizes.case_width / 2)
    below = screen.mount.below_ceiling_m if screen.mount else 0.0
    chain(axes, (start, *outer, end), side="above", wall=room.height_m)
    chain(axes, (start, end), side="above", wall=room.height_m)
    chain(axes, (start, *edges, end), side="below", wall=0.0)
    chain(axes, (0.0, sizes.lower_edge, sizes.upper_edge, ceiling), side="left", wall=start)
    chain(axes, (0.0, room.height_m), side="left", wall=start)
    frame = (sizes.lower_edge - screen.border_m, sizes.upper_edge + screen.border_m)
    chain(axes, (0.0, *frame, ceiling - below, ceiling), side="right", wall=end)
