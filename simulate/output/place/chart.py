"""place.png: plan and section to one scale, where the lens may stand, and what stands against it elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ....scenes.casing import casing_box
from ....scenes.geometry import raster
from ....scenes.head import HEAD_RADIUS_M
from ....scenes.model import Place, Scene
from ....scenes.remedy import length_text
from ...placing.bounds import By, Range
from ...placing.placement import Placement
from ...placing.regions import FREE, Region
from ..dimensions import chain
from ..drawing import GREY, INK, figure_of, label, plain, png
from ..lettering import wrapped
from ..measure.plan import room_from_above
from ..measure.section import shell_from_the_side
from .words import lens_words, range_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MAY, REFUSED = "#3a9a78", "#b3372a"
REASONS = {
    str(By.BEAM): ("#e3a04b", "something would stand in the beam"),
    str(By.IN_OBJECT): ("#8f8c84", "an object stands there"),
    str(By.SHELL): ("#d0d0d0", "outside the walls"),
    str(By.CASING): ("#7b6fb0", "no room for the casing"),
    str(By.CASING_IN_SIGHT): ("#c77fa8", "the casing would stand in somebody's sight"),
}
_WIDTH_IN, _DRAWN_IN, _TALLEST_IN = 13.0, 9.6, 6.4
_LEFT_IN, _GAP_IN, _RIGHT_IN, _TOP_IN = 1.0, 1.7, 1.0, 1.35
_LINE_IN, _TEXT_PT, _BELOW_IN = 0.225, 10.5, 0.85
_MOST_OVER_IN = 1.8  # by how much words in the free corner may be longer than it is high


def place_chart(found: Placement) -> bytes:
    """Plan and section as PNG bytes. Source: `place_figure`."""
    return png(place_figure(found))


def place_figure(found: Placement) -> Figure:
    """Plan, screen wall at the top, beside the section, screen wall at the left, one scale; answers in words below. Source: places of the scene."""
    room = found.scene.room
    scale = min(_DRAWN_IN / (room.width_m + room.depth_m), _TALLEST_IN / max(room.depth_m, room.height_m))
    plan_wide, plan_high = room.width_m * scale, room.depth_m * scale
    side_wide, side_high = room.depth_m * scale, room.height_m * scale
    drawn = max(plan_high, side_high)
    width = max(_WIDTH_IN, _LEFT_IN + plan_wide + _GAP_IN + side_wide + _RIGHT_IN)
    start = (width - (_LEFT_IN + plan_wide + _GAP_IN + side_wide + _RIGHT_IN)) / 2 + _LEFT_IN
    left = start + plan_wide + _GAP_IN
    beside = _lines(found, width - left - 0.7)  # in the corner that the section leaves free, where they have room there
    over = len(beside) * _LINE_IN - (drawn - side_high - _BELOW_IN)
    in_corner = over <= _MOST_OVER_IN
    lines = beside if in_corner else _lines(found, width - 1.2)
    below = max(_BELOW_IN, over + 0.2) if in_corner else _BELOW_IN + _LINE_IN * len(lines)
    height = _TOP_IN + drawn + below
    figure = figure_of(width, height)
    plan = figure.add_axes((start / width, (below + drawn - plan_high) / height, plan_wide / width, plan_high / height))
    side = figure.add_axes((left / width, (below + drawn - side_high) / height, side_wide / width, side_high / height))
    _plan(plan, found)
    _section(side, found)
    title = f"{label(found.scene.title)}: what may stand where"
    figure.text(0.35 / width, 1 - 0.32 / height, title, fontsize=15, color=INK, va="center", weight="bold")
    first = (below + drawn - side_high if in_corner else below) - _BELOW_IN + 0.1
    for i, (text, colour) in enumerate(lines):
        at, up = (left if in_corner else 0.72) / width, (first - _LINE_IN * i) / height
        figure.text(at, up, plain(text), fontsize=_TEXT_PT, va="center", color=INK)
        if colour:
            _swatch(figure, at - 0.32 / width, up - 0.07 / height, 0.22 / width, 0.14 / height, colour)
    return figure


def _swatch(figure: Figure, left: float, low: float, wide: float, high: float, colour: str) -> None:
    from matplotlib.patches import Rectangle

    figure.add_artist(Rectangle((left, low), wide, high, transform=figure.transFigure, fc=colour, ec="none", alpha=0.55))


def _lines(found: Placement, wide_in: float) -> list[tuple[str, str]]:
    """Lines no wider than stated [in]: text, and the colour it explains or "" ."""
    scene, lens = found.scene, found.lens
    entries = [(f"Lens: {lens_words(lens, scene)}.", "")]
    if lens.plan is not None and lens.section is not None:
        at = lens.nearest or lens.here
        entries.append((f"the lens may stand here (plan at {length_text(at[2])} m up, section {_sideways(at[0])})", MAY))
        seen = {each for region in (lens.plan, lens.section) for each in region.reason.ravel().tolist()}
        entries += [(words, colour) for reason, (colour, words) in REASONS.items() if reason in seen]
        entries += [
            (f"{name}: {range_words(each, scene)}", "") for name, each in zip(("Right", "Out", "Up"), lens.ranges, strict=True)
        ]
    entries.append((f"Width of the white area: {range_words(found.width, scene)}", ""))
    entries.append((f"Its lower edge: {range_words(found.bottom, scene)}", ""))
    for row in found.rows:
        if row.lifted_m:
            entries.append((f"Lift of {', '.join(row.seats)}: {range_words(row.lift, scene)}", ""))
    entries.append(
        ("Section, outer chain at the left: where the lower edge may lie; inner chain at the right: where the lens may.", "")
    )
    entries.append(("All lengths in metres. A model's estimate: check on site, and follow local code.", ""))
    lines = []
    for text, colour in entries:
        first, *more = wrapped(text, _TEXT_PT, wide_in)
        lines += [(first, colour), *((each, "") for each in more)]
    return lines


def _sideways(right_m: float) -> str:
    if right_m == 0.0:
        return "through the wall's middle"
    return f"{length_text(abs(right_m))} m {'right' if right_m > 0 else 'left'} of the wall's middle"


def _plan(axes: Axes, found: Placement) -> None:
    from matplotlib.patches import Circle

    scene, room, screen = found.scene, found.scene.room, found.scene.screen
    (left, right_end), at = room.limits[0], found.lens.nearest or found.lens.here
    axes.set_xlim(left, right_end)
    axes.set_ylim(room.depth_m, 0.0)
    axes.set_axis_off()
    room_from_above(axes, room)
    for box in room.objects:
        _box(axes, (box.min_m[0], box.min_m[1]), (box.max_m[0], box.max_m[1]))
    area, gap = raster(scene), screen.gap_to_wall_m
    edges = (screen.right_m + area.left_m, screen.right_m + area.right_m)
    axes.fill((at[0], *edges), (at[1], gap, gap), fc="#f5d76e", alpha=0.25, lw=0, zorder=0)
    ends = (screen.right_m - screen.width_m / 2, screen.right_m + screen.width_m / 2)
    axes.plot(ends, (gap, gap), color=INK, lw=4.5, solid_capstyle="butt", zorder=4)
    _region(axes, found.lens.plan)
    _lens(axes, found, 0, 1)
    for seat in scene.seats:
        axes.add_patch(Circle(seat.eye_m[:2], HEAD_RADIUS_M, fc="white", ec=INK, lw=1.1, zorder=5, clip_on=False))
    right, out, _ = found.lens.ranges
    chain(axes, (left, *ends, right_end), side="above", wall=0.0)
    chain(axes, (left, right_end), side="above", wall=0.0)
    chain(axes, (left, *_ends(right), right_end), side="below", wall=room.depth_m)
    chain(axes, (0.0, *_ends(out), room.depth_m), side="left", wall=left)
    chain(axes, (0.0, room.depth_m), side="left", wall=left)
    axes.annotate("plan", (left, room.depth_m), (0, -34), textcoords="offset points", fontsize=11, color=GREY, style="italic")


def _section(axes: Axes, found: Placement) -> None:

    scene, room, screen = found.scene, found.scene.room, found.scene.screen
    at, gap = found.lens.nearest or found.lens.here, screen.gap_to_wall_m
    axes.set_xlim(0.0, room.depth_m)
    axes.set_ylim(0.0, room.height_m)
    axes.set_axis_off()
    shell_from_the_side(axes, room)
    for box in room.objects:
        _box(axes, (box.min_m[1], box.min_m[2]), (box.max_m[1], box.max_m[2]))
    area, middle = raster(scene), screen.bottom_m + 0.5 * screen.height_m
    axes.fill((at[1], gap, gap), (at[2], middle + area.bottom_m, middle + area.top_m), fc="#f5d76e", alpha=0.25, lw=0, zorder=0)
    top = screen.bottom_m + screen.height_m
    axes.plot(
        (gap, gap), (screen.bottom_m - screen.border_m, top + screen.border_m), color=INK, lw=4.5, solid_capstyle="butt", zorder=4
    )
    axes.plot((gap, gap), (screen.bottom_m, top), color="white", lw=1.6, solid_capstyle="butt", zorder=5)
    _region(axes, found.lens.section)
    _lens(axes, found, 1, 2)
    for row in found.rows:
        for seat in scene.seats:
            if seat.name in row.seats:
                _head(axes, (seat.eye_m[1], seat.eye_m[2]), row.lifted_m)
    _, out, up = found.lens.ranges
    chain(axes, (0.0, screen.bottom_m, top, room.height_m), side="left", wall=0.0)
    chain(axes, (0.0, *_ends(found.bottom), room.height_m), side="left", wall=0.0)
    chain(axes, (0.0, *_ends(up), room.height_m), side="right", wall=room.depth_m)
    chain(axes, (0.0, room.height_m), side="right", wall=room.depth_m)
    chain(axes, (0.0, *_ends(out), room.depth_m), side="above", wall=room.height_m)
    chain(axes, (0.0, *(row.out_m for row in found.rows), room.depth_m), side="below", wall=0.0)
    axes.annotate("section", (0.0, 0.0), (0, -34), textcoords="offset points", fontsize=11, color=GREY, style="italic")


def _ends(found: Range) -> Sequence[float]:
    return [each for each in (found.low_m, found.high_m) if each is not None]


def _box(axes: Axes, low: tuple[float, float], high: tuple[float, float]) -> None:
    from matplotlib.patches import Rectangle

    size = (high[0] - low[0], high[1] - low[1])
    axes.add_patch(Rectangle(low, *size, fc="#ececec", ec="#9a9a9a", lw=1.0, alpha=0.9, zorder=1))


def _head(axes: Axes, eye: tuple[float, float], lift_m: float) -> None:
    """A head, and where it has to go."""
    from matplotlib.patches import Circle

    axes.add_patch(Circle(eye, HEAD_RADIUS_M, fc="white", ec=INK, lw=1.1, zorder=6, clip_on=False))
    if lift_m:
        to = (eye[0], eye[1] + lift_m)
        axes.add_patch(Circle(to, HEAD_RADIUS_M, fc="none", ec=MAY, lw=1.4, ls="--", zorder=6, clip_on=False))
        axes.annotate(f"{lift_m:+.2f}", to, (9, 0), textcoords="offset points", fontsize=9, color=MAY, va="center", zorder=7)


def _region(axes: Axes, region: Region | None) -> None:
    """The free part and, in colours of their own, the cells that something stands against."""
    from matplotlib.colors import to_rgba
    from matplotlib.patches import Rectangle

    if region is None:
        return
    image = np.zeros((*region.reason.shape, 4))
    image[region.reason == FREE] = to_rgba(MAY, 0.45)
    for reason, (colour, _) in REASONS.items():
        image[region.reason == reason] = to_rgba(colour, 0.45)
    (left, low), (right, high) = region.low, region.high
    limits = axes.get_xlim(), axes.get_ylim()
    axes.imshow(image, extent=(left, right, low, high), origin="lower", aspect="auto", interpolation="nearest", zorder=2)
    axes.set_xlim(*limits[0])
    axes.set_ylim(*limits[1])
    axes.add_patch(Rectangle((left, low), right - left, high - low, fill=False, ec=MAY, lw=1.2, zorder=3))


def _lens(axes: Axes, found: Placement, across: int, up: int) -> None:
    """The lens where it is, crossed out where it may not be, and the nearest place that does; its casing where it is known."""
    lens = found.lens
    marks: list[tuple[Place, str]] = [(lens.here, INK if lens.fits_here else REFUSED)]
    if not lens.fits_here and lens.nearest is not None:
        marks.append((lens.nearest, MAY))
    for place, colour in marks:
        _casing(axes, found.scene, place, across, up, colour)
        axes.plot(place[across], place[up], marker="x" if colour == REFUSED else "v", ms=11, mfc=colour, mec=colour if colour == REFUSED else "white",
                  mew=2.2 if colour == REFUSED else 1.0, clip_on=False, zorder=8)  # fmt: skip


def _casing(axes: Axes, scene: Scene, lens: Place, across: int, up: int, colour: str) -> None:
    from dataclasses import replace

    from matplotlib.patches import Rectangle

    casing = casing_box(replace(scene.projector, lens_m=lens), with_air=False)
    if casing is not None:
        size = (casing.max_m[across] - casing.min_m[across], casing.max_m[up] - casing.min_m[up])
        axes.add_patch(
            Rectangle((casing.min_m[across], casing.min_m[up]), *size, fc="none", ec=colour, lw=1.2, zorder=7, clip_on=False)
        )
