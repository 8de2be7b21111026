"""section.png: the room from the side, screen wall at the left, with heights, distances, throw and drop."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ....scenes.geometry import picture
from ....scenes.head import HEAD_RADIUS_M
from ....scenes.model import Room, Scene
from ....scenes.rooms.lines import hull, side_outline
from ....scenes.rooms.standing import ceiling_over
from ...measuring.measure import Measurement
from ..dimensions import between, chain
from ..drawing import GREY, INK, figure_of, label, png
from ..lamp_marks import draw_lamps

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_WIDEST_IN, _TALLEST_IN = 8.6, 5.4
_LEFT_IN, _RIGHT_IN, _LOW_IN, _TOP_IN = 1.2, 1.2, 1.75, 1.15


def section(measurement: Measurement) -> bytes:
    """The side elevation as PNG bytes, for those who build: every length in metres. Source: places of the scene."""
    scene = measurement.scene
    room = scene.room
    scale = min(_WIDEST_IN / room.depth_m, _TALLEST_IN / room.height_m)
    wide, high = room.depth_m * scale, room.height_m * scale
    width, height = max(wide + _LEFT_IN + _RIGHT_IN, 7.5), high + _LOW_IN + _TOP_IN
    figure = figure_of(width, height)
    axes = figure.add_axes((_LEFT_IN / width, _LOW_IN / height, wide / width, high / height))
    axes.set_xlim(0.0, room.depth_m)
    axes.set_ylim(0.0, room.height_m)
    axes.set_axis_off()
    room_from_the_side(axes, scene)
    heights_and_distances(axes, scene)
    _throw(axes, scene, measurement.throw.distance_m)
    figure.text(
        0.35 / width, 1 - 0.32 / height, f"{label(scene.title)}: section", fontsize=15, color=INK, va="center", weight="bold"
    )
    for i, line in enumerate(in_words(measurement)):
        figure.text(0.35 / width, (0.72 - 0.22 * i) / height, line, fontsize=10, color=INK, va="center")
    return png(figure)


def in_words(measurement: Measurement) -> tuple[str, str, str]:
    """The heights and distances that are asked for on site, in lines."""
    scene, found = measurement.scene, measurement.throw
    screen, lens = scene.screen, scene.projector.lens_m
    top = screen.bottom_m + screen.height_m
    seats = ", ".join(f"{i} {place.distance_m:.2f} m" for i, place in enumerate(measurement.geometry, start=1))
    return (
        f"White area {screen.width_m:.2f} x {screen.height_m:.2f} m, lower edge {screen.bottom_m:.2f} m, upper edge {top:.2f} m above the "
        f"floor; drop from the ceiling to it {ceiling_over(scene.room, screen) - top:.2f} m; cloth {screen.gap_to_wall_m:.2f} m off the wall.",
        f"Lens {lens[2]:.2f} m above the floor, throw {found.distance_m:.2f} m to the cloth (throw ratio {found.ratio:.2f}).",
        f"Eyes to the middle of the white area, by seat: {seats}.",
    )


def heights_and_distances(axes: Axes, scene: Scene) -> None:
    """Chains on all four sides of a side elevation: screen, lens and eyes."""
    room, screen = scene.room, scene.screen
    eyes = [seat.eye_m for seat in scene.seats]
    lens = scene.projector.lens_m
    top = screen.bottom_m + screen.height_m
    chain(axes, (0.0, screen.bottom_m, top, room.height_m), side="left", wall=0.0)
    chain(axes, (0.0, room.height_m), side="left", wall=0.0)
    chain(axes, (0.0, *(eye[2] for eye in eyes), room.height_m), side="right", wall=room.depth_m)
    chain(axes, (0.0, lens[2], room.height_m), side="right", wall=room.depth_m)
    chain(axes, (0.0, *(eye[1] for eye in eyes), room.depth_m), side="below", wall=0.0)
    chain(axes, (0.0, room.depth_m), side="below", wall=0.0)
    chain(axes, (0.0, screen.gap_to_wall_m, lens[1], room.depth_m), side="above", wall=room.height_m)


def _throw(axes: Axes, scene: Scene, distance_m: float) -> None:
    lens, cloth = scene.projector.lens_m, scene.screen.gap_to_wall_m
    between(axes, (cloth, lens[2]), (lens[1], lens[2]), f"throw {distance_m:.2f}")


def shell_from_the_side(axes: Axes, room: Room) -> None:
    """The room's outline: of a box a rectangle, of a shell where it is cut through the screen's middle, and its other edges.

    Source: `side_outline`.
    """
    from matplotlib.collections import LineCollection
    from matplotlib.patches import Rectangle

    if room.shell is None:
        axes.add_patch(Rectangle((0, 0), room.depth_m, room.height_m, fill=False, lw=2.4, ec=INK, clip_on=False, zorder=3))
        return
    walls, beyond = (list(segments) for segments in side_outline(room))
    lines: list[Any] = [
        LineCollection(beyond, lw=0.9, colors=GREY, clip_on=False, zorder=0.5),
        LineCollection(walls, lw=2.4, colors=INK, clip_on=False, zorder=3, capstyle="round"),
    ]
    for each in lines:
        axes.add_collection(each, autolim=False)


def room_from_the_side(axes: Axes, scene: Scene) -> None:
    """Shell, objects, screen, lens, light and heads; x metres out from the screen wall, y metres above the floor."""
    from matplotlib.patches import Ellipse, Polygon

    screen, lens = scene.screen, scene.projector.lens_m
    shell_from_the_side(axes, scene.room)
    for box in scene.room.objects:
        axes.add_patch(Polygon(hull(box, (1, 2)), fc="#ececec", ec="#9a9a9a", lw=1.0, alpha=0.9, zorder=1))
    draw_lamps(axes, scene, "out", "up")
    area, at = picture(scene), screen.gap_to_wall_m
    middle = screen.bottom_m + 0.5 * screen.height_m
    low, top = middle + area.bottom_m, middle + area.top_m
    axes.fill((lens[1], at, at), (lens[2], low, top), fc="#f5d76e", alpha=0.25, lw=0, zorder=0)
    axes.plot(
        (at, at),
        (screen.bottom_m - screen.border_m, screen.bottom_m + screen.height_m + screen.border_m),
        color=INK,
        lw=4.5,
        solid_capstyle="butt",
        zorder=4,
    )
    axes.plot(
        (at, at), (screen.bottom_m, screen.bottom_m + screen.height_m), color="white", lw=1.6, solid_capstyle="butt", zorder=5
    )
    axes.plot(lens[1], lens[2], marker="v", ms=11, mfc=INK, mec="white", mew=1.0, clip_on=False, zorder=6)
    groups: dict[tuple[float, float], list[int]] = {}
    for i, seat in enumerate(scene.seats):
        groups.setdefault((round(seat.eye_m[1], 2), round(seat.eye_m[2], 2)), []).append(i + 1)
    for (out, up), seats in groups.items():
        axes.add_patch(Ellipse((out, up), 2 * HEAD_RADIUS_M, 2 * HEAD_RADIUS_M, fc="white", ec=INK, lw=1.2, zorder=6))
        words: dict[str, Any] = dict(textcoords="offset points", ha="center", fontsize=10, color=INK, zorder=7)
        axes.annotate(", ".join(map(str, seats)), (out, up - HEAD_RADIUS_M), (0, -3), va="top", **words)
