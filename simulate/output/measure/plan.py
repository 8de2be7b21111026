"""plan.png: the room from above, screen wall at the top, with dimensions; seats coloured by the luminance they see where it differs."""

from __future__ import annotations

import string
from typing import TYPE_CHECKING, Any

from ....scenes.geometry import raster
from ....scenes.model import Room, Scene
from ....scenes.rooms.lines import hull, plan_outline
from ....scenes.rooms.spots import spots
from ...measuring.measure import Measurement
from ..dimensions import chain
from ..drawing import COLOURS, FAINT, GREY, INK, figure_of, ink_on, label, luminance_bar, luminance_range, plain, png
from ..lamp_marks import draw_lamps, marked
from ..lettering import width_in, wrapped
from ..units import TYPESET, foot_lamberts
from ..units import figure as digits

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDTH_IN, _TALLEST_IN, _SHORTEST_IN = 11.0, 12.0, 6.0
_ROOM_IN, _LINE_IN = 4.6, 0.235
_ALIKE = 0.02  # seats whose luminance differs by less are not coloured: the eye sees no difference there
_LEGEND_IN, _LEGEND_PT = 6.71, 11  # from the left edge; font size
_HOLD = "\u00a0"  # a blank that no line breaks at


def plan(measurement: Measurement) -> bytes:
    """The plan as PNG bytes: room, objects, screen, lens, beam, seats with white luminance at the picture's centre.

    Source: plan view as drawings of rooms have it; x = metres right of the wall's middle, y = metres out from the wall.
    """
    scene = measurement.scene
    room = scene.room
    scale = min(_ROOM_IN / room.width_m, (_TALLEST_IN - 2.6) / room.depth_m)
    lines = _legend_lines(measurement)
    below = 3.3 if differ(measurement) else 0.9
    height = max(_SHORTEST_IN, room.depth_m * scale + 2.6, min(_TALLEST_IN, _LINE_IN * len(lines) + 0.8 + below))
    figure = figure_of(_WIDTH_IN, height)
    width, depth = room.width_m * scale / _WIDTH_IN, room.depth_m * scale / height
    axes = figure.add_axes((0.09 + (_ROOM_IN / _WIDTH_IN - width) / 2, (1 - depth) / 2 - 0.1 / height, width, depth))
    mappable = _room(axes, measurement)
    figure.text(0.03, 1 - 0.3 / height, label(scene.title), fontsize=15, color=INK, va="center", weight="bold")
    _legend(figure, lines, height, below)
    if differ(measurement):
        luminance_bar(figure, mappable, (0.665, 0.6 / height, 0.025, 2.0 / height), "full white")
    return png(figure)


def differ(measurement: Measurement) -> bool:
    """True where the seats' luminances are worth a colour scale: they differ by more than _ALIKE."""
    white = [reading.white["centre"].value for reading in measurement.seats]
    return max(white) - min(white) > _ALIKE * max(white)


def plan_figure(measurement: Measurement) -> Figure:
    """The plan alone, narrow, without title, legend and colour bar: for a page that names seats and objects in words."""
    room = measurement.scene.room
    scale = min(4.7 / room.width_m, 6.4 / room.depth_m)
    width, height = room.width_m * scale + 1.5, room.depth_m * scale + 1.7
    figure = figure_of(width, height)
    axes = figure.add_axes((0.75 / width, 0.85 / height, 1 - 1.5 / width, 1 - 1.7 / height))
    _room(axes, measurement)
    return figure


def object_letters(measurement: Measurement) -> list[tuple[str, str]]:
    """(letter in the plan, name) of every object."""
    return [(letter, box.name) for letter, box in zip(_letters(), measurement.scene.room.objects, strict=False)]


def _room(axes: Axes, measurement: Measurement) -> Any:
    """Everything inside the walls; returns what the seats' colour bar needs."""
    room = measurement.scene.room
    (left, right), (near, far), _ = room.limits
    axes.set_xlim(left, right)
    axes.set_ylim(far, near)
    axes.set_axis_off()
    _walls(axes, measurement.scene)
    _objects(axes, measurement)
    draw_lamps(axes, measurement.scene, "right", "out")
    _beam(axes, measurement)
    mappable = _seats(axes, measurement)
    return mappable


def _walls(axes: Axes, scene: Scene) -> None:
    """The walls, and chains of dimensions: screen above, seats at the left and below, lens at the right."""
    room, screen, lens = scene.room, scene.screen, scene.projector.lens_m
    (left, right), (_, depth), _ = room.limits
    room_from_above(axes, room)
    eyes = [seat.eye_m for seat in scene.seats]
    edges = (screen.right_m - screen.width_m / 2, screen.right_m + screen.width_m / 2)
    chain(axes, (left, *edges, right), side="above", wall=0.0)
    chain(axes, (left, right), side="above", wall=0.0)
    chain(axes, (0.0, *(eye[1] for eye in eyes), depth), side="left", wall=left)
    chain(axes, (0.0, depth), side="left", wall=left)
    chain(axes, (left, *(eye[0] for eye in eyes), right), side="below", wall=depth)
    chain(axes, (0.0, screen.gap_to_wall_m, lens[1], depth), side="right", wall=right)


def room_from_above(axes: Axes, room: Room) -> None:
    """The walls: of a box a rectangle, of a shell where it is cut at PLAN_M; parts on the floor hatched. Source: `plan_outline`."""
    from matplotlib.collections import LineCollection
    from matplotlib.patches import Polygon, Rectangle

    if room.shell is None:
        half = room.width_m / 2
        axes.add_patch(Rectangle((-half, 0), room.width_m, room.depth_m, fill=False, lw=3, ec=INK, clip_on=False, zorder=3))
    else:
        walls: Any = LineCollection(list(plan_outline(room)), lw=3, colors=INK, clip_on=False, zorder=3, capstyle="round")
        axes.add_collection(walls, autolim=False)
    for part in room.parts:
        for spot in spots(room, part):
            ring = [spot.corner, spot.corner + spot.edge_u, spot.corner + spot.edge_u + spot.edge_v, spot.corner + spot.edge_v]
            seen = [(float(place[0]), -float(place[1])) for place in ring]
            if abs(float(spot.edge_u[0] * spot.edge_v[1] - spot.edge_u[1] * spot.edge_v[0])) > 1e-9:
                axes.add_patch(Polygon(seen, fc="#efe9dc", ec="none", zorder=0.5))
            else:
                axes.plot(*zip(*seen, strict=True), color="#c9bfa6", lw=7, solid_capstyle="butt", zorder=2.5)


def _objects(axes: Axes, measurement: Measurement) -> None:
    from matplotlib.patches import Polygon

    boxes = list(zip(_letters(), measurement.scene.room.objects, strict=False))
    for letter, box in sorted(boxes, key=lambda pair: pair[1].max_m[2]):
        axes.add_patch(Polygon(hull(box, (0, 1)), fc="#ececec", ec="#9a9a9a", lw=1.2, alpha=0.85))
        axes.annotate(
            letter, (box.min_m[0], box.max_m[1]), (4, 4), textcoords="offset points", fontsize=11, color=GREY, style="italic"
        )


def _letters() -> list[str]:
    """a .. z, then aa .. zz: as many as objects need."""
    small = string.ascii_lowercase
    return [*small, *(first + second for first in small for second in small)]


def _beam(axes: Axes, measurement: Measurement) -> None:
    scene = measurement.scene
    screen, area, lens = scene.screen, raster(scene), scene.projector.lens_m
    edges = [(screen.right_m + side, screen.gap_to_wall_m) for side in (area.left_m, area.right_m)]
    axes.fill(*zip(lens[:2], *edges, strict=True), fc="#f5d76e", alpha=0.3, lw=0)
    for edge in edges:
        axes.plot(*zip(lens[:2], edge, strict=True), color="#b8901f", lw=0.9, ls="--")
    half = screen.width_m / 2
    ends, gaps = (screen.right_m - half, screen.right_m + half), 2 * (screen.gap_to_wall_m,)
    axes.plot(ends, gaps, color=INK, lw=5, solid_capstyle="butt", zorder=4)
    axes.plot(*lens[:2], marker="v", ms=13, mfc=INK, mec="white", mew=1.2, clip_on=False, zorder=6)
    axes.annotate(
        f"lens, throw {measurement.throw.distance_m:.2f}",
        lens[:2],
        (11, 0),
        textcoords="offset points",
        ha="left",
        va="center",
        fontsize=10,
        color=INK,
        zorder=6,
        bbox=dict(boxstyle="round,pad=0.1", fc="white", ec="none", alpha=0.75),
    )


def _seats(axes: Axes, measurement: Measurement) -> Any:
    """Circles numbered as in the legend, the value in cd/m2 below each; coloured where they differ. Returns what the colour bar needs."""
    white = [reading.white["centre"].value for reading in measurement.seats]
    low, high = luminance_range(min(white), max(white))
    eyes = [seat.eye_m for seat in measurement.scene.seats]
    drawn: Any = axes.scatter(
        [eye[0] for eye in eyes],
        [eye[1] for eye in eyes],
        c=white,
        cmap=COLOURS,
        vmin=low,
        vmax=high,
        s=520,
        edgecolors=INK,
        linewidths=1.2,
        zorder=5,
        clip_on=False,
    )
    coloured = differ(measurement)
    if not coloured:
        drawn.set_array(None)
        drawn.set_facecolor("white")
    for number, (eye, value) in enumerate(zip(eyes, white, strict=True), start=1):
        colour = ink_on(drawn.to_rgba(value)) if coloured else INK
        middle: dict[str, Any] = dict(ha="center", va="center", fontsize=12, weight="bold")
        axes.text(eye[0], eye[1], str(number), color=colour, zorder=6, **middle)
        axes.annotate(
            digits(value),
            eye[:2],
            (0, -15),
            textcoords="offset points",
            ha="center",
            va="top",
            fontsize=11,
            color=INK,
            zorder=6,
            bbox=dict(boxstyle="round,pad=0.12", fc="white", ec="none", alpha=0.75),
        )
    return drawn


def _legend_lines(measurement: Measurement) -> list[tuple[float, str, bool]]:
    """Lines that name seats and objects: how far from the left edge [in], the text, whether it is a heading."""
    lines = [(_LEGEND_IN, "Full white at the picture's centre, and distance", True)]
    for number, (reading, place) in enumerate(zip(measurement.seats, measurement.geometry, strict=True), start=1):
        value = reading.white["centre"].value
        both = f"{TYPESET.of(value, 'cd/m2')},{_HOLD}{TYPESET.of(foot_lamberts(value), 'fL')}"
        lines += _entry(f"{number}:", f"{reading.name}, {both}, {place.distance_m:.2f}{_HOLD}m away")
    if not differ(measurement):
        alike = f"Alike within {100 * _ALIKE:.0f} %: not coloured."
        lines += [(_LEGEND_IN, line, False) for line in wrapped(alike, _LEGEND_PT, _WIDTH_IN - 0.15 - _LEGEND_IN)]
    boxes = object_letters(measurement)
    if boxes:
        lines += [(_LEGEND_IN, "", False), (_LEGEND_IN, "Objects", True)]
        lines += [line for letter, name in boxes for line in _entry(f"{letter}:", name)]
    parts = measurement.scene.room.parts
    if parts:
        lines += [(_LEGEND_IN, "", False), (_LEGEND_IN, "Parts of surfaces, tinted", True)]
        lines += [line for part in parts for line in _entry("", f"{part.name}, on {part.on}")]
    lamps = marked(measurement.scene)
    if lamps:
        lines += [(_LEGEND_IN, "", False), (_LEGEND_IN, "Lamps and windows", True)]
        lines += [line for each in lamps for line in _entry(f"{each.mark}:", f"{each.name}, {each.words}")]
    lines += [(_LEGEND_IN, "", False), (_LEGEND_IN, "All lengths in metres; heights: section.png", False)]
    return lines


def _entry(mark: str, text: str) -> list[tuple[float, str, bool]]:
    """A marked entry; its further lines hang under its first letter."""
    mark += 2 * _HOLD
    hang = _LEGEND_IN + width_in(mark, _LEGEND_PT)
    first, *more = wrapped(text, _LEGEND_PT, _WIDTH_IN - 0.15 - hang)
    return [(_LEGEND_IN, mark + first, False), *((hang, line, False) for line in more)]


def _legend(figure: Figure, lines: list[tuple[float, str, bool]], height: float, below: float) -> None:
    """The legend at the right, as many lines as fit above what stands below it [in], the colour bar if there is one."""
    room = int((height - 0.7 - below) / _LINE_IN)
    if len(lines) > room:
        lines = [*lines[: room - 1], (_LEGEND_IN, f"… and {len(lines) - room + 1} more lines", False)]
    for i, (left, text, heading) in enumerate(lines):
        figure.text(
            left / _WIDTH_IN,
            1 - (0.8 + _LINE_IN * i) / height,
            plain(text),
            fontsize=_LEGEND_PT,
            va="top",
            color=INK,
            weight="bold" if heading else "normal",
        )
    figure.add_artist(_rule(0.595, 0.5 / height, 1 - 0.7 / height))


def _rule(x: float, low: float, high: float) -> Any:
    from matplotlib.lines import Line2D

    return Line2D((x, x), (low, high), color=FAINT, lw=1)
