"""The room from the side: eyes, heads, picture edges, sight lines, and what is hidden."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ...scenes.geometry import picture
from ...scenes.head import HEAD_RADIUS_M
from ...scenes.model import Scene
from ...scenes.rooms.lines import hull
from ..output.drawing import INK, figure_of
from ..output.measure.section import heights_and_distances, shell_from_the_side
from .sightlines import ROWS, SightLines

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FREE, HIDDEN, LIGHT = "#1d6f6a", "#b3372a", "#c98a12"
_WIDEST_IN, _TALLEST_IN = 5.0, 4.6
_LABEL_SHARE = 0.2  # of the depth: a label is about so wide
_SAME_M = 0.03  # eyes closer than this from the side are drawn as one


def elevation(scene: Scene, lines: Sequence[SightLines]) -> Figure:
    """The side elevation, screen wall at the left, seats numbered as in the plan.

    Green lines run from an eye to the lowest and highest row of the picture that is free from it, red ones to those hidden
    (more than a tenth of the row). Source: places of the scene; rows of `sight_lines`.
    """
    room = scene.room
    scale = min(_WIDEST_IN / room.depth_m, _TALLEST_IN / room.height_m)
    wide, high = room.depth_m * scale, room.height_m * scale
    width, height = wide + 1.6, high + 1.25
    figure = figure_of(width, height)
    axes = figure.add_axes((0.8 / width, 0.75 / height, wide / width, high / height))
    axes.set_xlim(0.0, room.depth_m)
    axes.set_ylim(0.0, room.height_m)
    axes.set_axis_off()
    _shell(axes, scene)
    _picture(axes, scene)
    _sights(axes, scene, lines)
    _heads(axes, scene)
    return figure


def _shell(axes: Axes, scene: Scene) -> None:
    from matplotlib.patches import Polygon

    shell_from_the_side(axes, scene.room)
    for box in scene.room.objects:
        axes.add_patch(Polygon(hull(box, (1, 2)), fc="#e6e4de", ec="#8f8c84", lw=1.0, alpha=0.9, zorder=1))
    heights_and_distances(axes, scene)


def _picture(axes: Axes, scene: Scene) -> None:
    """Screen, its border, lens and the edges of the light."""
    screen, area, lens = scene.screen, picture(scene), scene.projector.lens_m
    middle, at = screen.bottom_m + 0.5 * screen.height_m, screen.gap_to_wall_m
    edge = screen.border_m
    axes.plot(
        (at, at),
        (screen.bottom_m - edge, screen.bottom_m + screen.height_m + edge),
        color=INK,
        lw=3.2,
        solid_capstyle="butt",
        zorder=4,
    )
    low, top = middle + area.bottom_m, middle + area.top_m
    axes.fill((lens[1], at, at), (lens[2], low, top), fc="#f5d76e", alpha=0.22, lw=0, zorder=0)
    axes.plot((at, at), (low, top), color="#f2b134", lw=3.2, solid_capstyle="butt", zorder=5)
    axes.plot(lens[1], lens[2], marker="v", ms=10, mfc=INK, mec="white", mew=1.0, clip_on=False, zorder=6)
    side = -8 if lens[1] > 0.7 * scene.room.depth_m else 8
    axes.annotate(
        "lens",
        (lens[1], lens[2]),
        (side, 0),
        textcoords="offset points",
        ha="right" if side < 0 else "left",
        va="center",
        fontsize=10.5,
        color=INK,
        zorder=6,
    )


def _sights(axes: Axes, scene: Scene, lines: Sequence[SightLines]) -> None:
    """From each eye a fan to the free rows and one to the hidden rows of the picture."""
    screen = scene.screen
    step = screen.height_m / ROWS
    at = screen.gap_to_wall_m
    for seat, each in zip(scene.seats, lines, strict=True):
        eye = seat.eye_m
        hidden = [i for i, share in enumerate(each.rows) if share > 0.1]
        free = [i for i in range(ROWS) if i not in hidden]
        for rows, colour, shade in ((free, FREE, 0.05), (hidden, HIDDEN, 0.22)):
            if not rows:
                continue
            top = screen.bottom_m + screen.height_m - rows[0] * step
            low = screen.bottom_m + screen.height_m - (rows[-1] + 1) * step
            axes.fill((eye[1], at, at), (eye[2], low, top), fc=colour, alpha=shade, lw=0, zorder=1.5)
            for end in (low, top):
                axes.plot((eye[1], at), (eye[2], end), color=colour, lw=0.9, ls="-" if colour == FREE else "--", zorder=2)


def _heads(axes: Axes, scene: Scene) -> None:
    """A head and its number at each eye; eyes at one place from the side share a label."""
    from matplotlib.patches import Ellipse

    groups: list[list[int]] = []
    for i, seat in enumerate(scene.seats):
        for group in groups:
            other = scene.seats[group[0]].eye_m
            if abs(other[1] - seat.eye_m[1]) < _SAME_M and abs(other[2] - seat.eye_m[2]) < _SAME_M:
                group.append(i)
                break
        else:
            groups.append([i])
    groups.sort(key=lambda group: scene.seats[group[0]].eye_m[1])
    above, last = False, -9.0
    for group in groups:
        eye = scene.seats[group[0]].eye_m
        above = not above if eye[1] - last < _LABEL_SHARE * scene.room.depth_m else False  # neighbours: one above, one below
        last = eye[1]
        size = 2 * HEAD_RADIUS_M
        axes.add_patch(Ellipse((eye[1], eye[2]), size, size, fc="white", ec=INK, lw=1.2, zorder=6))
        axes.plot(eye[1], eye[2], marker="o", ms=3.2, color=INK, zorder=7)
        axes.annotate(
            f"{numbers(group)}: {eye[2]:.2f} m",
            (eye[1], eye[2] + (1 if above else -1) * HEAD_RADIUS_M),
            (0, 4 if above else -4),
            textcoords="offset points",
            ha="center",
            va="bottom" if above else "top",
            fontsize=10.5,
            color=INK,
            zorder=8,
            bbox=dict(boxstyle="round,pad=0.15", fc="white", ec="none", alpha=0.8),
        )


def numbers(places: Sequence[int]) -> str:
    """Seat numbers from 1, runs of three or more joined: "1-4, 6"."""
    found: list[str] = []
    run: list[int] = []
    for i in [*places, -9]:
        if run and i != run[-1] + 1:
            found += [f"{run[0] + 1}-{run[-1] + 1}"] if len(run) > 2 else [str(k + 1) for k in run]
            run = []
        run.append(i)
    return ", ".join(found)
