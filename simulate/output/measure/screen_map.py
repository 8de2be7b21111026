"""screen-NAME.png: the white picture as one seat sees it, in false colour."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ....scenes.geometry import picture
from ...measuring.measure import Measurement
from ..drawing import COLOURS, GREY, INK, figure_of, label, luminance_bar, luminance_range, png
from ..lettering import width_in
from ..units import figure as digits

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LEVELS = (0.5, 0.75, 0.9)
_WIDTH_IN, _MAP_IN = 10.0, 7.2
_LABEL_PT, _MARGIN_IN = 12, 0.06  # of a contour's label; the margin holds its stroke


def screen_map(measurement: Measurement, seat: int) -> bytes:
    """`screen_figure` as PNG bytes."""
    return png(screen_figure(measurement, seat))


def screen_figure(measurement: Measurement, seat: int) -> Figure:
    """False-colour map of the full-white luminance over the picture towards one seat.

    All seats of a scene share one colour scale, so that their maps can be laid side by side.
    Source: `ScreenMap`; ISO/IEC 21118 for the nine points.
    """
    area = picture(measurement.scene)
    scale = min(_MAP_IN / area.width_m, 6.0 / area.height_m)
    wide, high = area.width_m * scale, area.height_m * scale
    height = max(high + 2.1, 4.2)
    figure = figure_of(_WIDTH_IN, height)
    left, low_edge = 0.85 + (_MAP_IN - wide) / 2, 0.75 + (height - 2.1 - high) / 2
    axes = figure.add_axes((left / _WIDTH_IN, low_edge / height, wide / _WIDTH_IN, high / height))
    white = measurement.maps[seat].white_cd_m2
    every = [each.white_cd_m2 for each in measurement.maps]
    low, top = luminance_range(min(float(m.min()) for m in every), max(float(m.max()) for m in every))
    drawn = axes.imshow(
        white,
        extent=(area.left_m, area.right_m, area.bottom_m, area.top_m),
        cmap=COLOURS,
        vmin=low,
        vmax=top,
        interpolation="bicubic",
        aspect="auto",
    )
    _contours(axes, measurement, seat)
    _nine_points(axes, measurement)
    axes.set_xlabel("right of the screen's middle [m]", fontsize=11, color=INK)
    axes.set_ylabel("above the screen's middle [m]", fontsize=11, color=INK)
    axes.tick_params(labelsize=10)
    _words(figure, measurement, seat, height)
    luminance_bar(figure, drawn, (0.893, 0.75 / height, 0.022, (height - 2.1) / height), "full white")
    return figure


def _contours(axes: Axes, measurement: Measurement, seat: int) -> None:
    """Lines of 50, 75 and 90 % of the centre's luminance, where the picture has them."""
    from matplotlib.patheffects import withStroke

    area, white = picture(measurement.scene), measurement.maps[seat].white_cd_m2
    centre = measurement.seats[seat].white["centre"].value
    levels = [share * centre for share in _LEVELS if white.min() < share * centre < white.max()]
    if not levels:
        return
    rows, columns = white.shape
    across = area.left_m + area.width_m * (np.arange(columns) + 0.5) / columns
    upward = area.top_m - area.height_m * (np.arange(rows) + 0.5) / rows
    lines = axes.contour(across, upward, white, levels=levels, colors="white", linewidths=1.6)
    lines.set_path_effects([withStroke(linewidth=3, foreground="black")])
    points = np.stack(_nine_places(measurement), axis=1)
    frame = axes.get_window_extent()
    m_per_in = axes.figure.dpi * np.array([area.width_m / frame.width, area.height_m / frame.height])
    for level, path in zip(levels, lines.get_paths(), strict=True):
        text = f"{100 * level / centre:.0f} %"
        half = m_per_in * (width_in(text, _LABEL_PT, "bold") / 2 + _MARGIN_IN, _LABEL_PT / 72 / 2 + _MARGIN_IN)
        low, high = np.array([area.left_m, area.bottom_m]) + half, np.array([area.right_m, area.top_m]) - half
        x, y = _free_place(np.asarray(path.vertices), points, low, high)
        axes.text(
            x,
            y,
            text,
            fontsize=_LABEL_PT,
            color="white",
            ha="center",
            va="center",
            weight="bold",
            path_effects=[withStroke(linewidth=3, foreground="black")],
        )


def _free_place(line: np.ndarray, points: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """Where a line (n, 2) is farthest from all points (m, 2) and from the ends low, high (2,) of a label's middle [m].

    returns  (2,) a vertex of the line, or, where the line keeps outside those ends, the place between them next to one
    """
    away = np.linalg.norm(line[:, None] - points, axis=2).min(axis=1)
    inside = np.minimum(line - low, high - line).min(axis=1)
    return np.clip(line[int(np.argmax(np.minimum(away, 2.0 * inside)))], low, high)


def _nine_places(measurement: Measurement) -> tuple[np.ndarray, np.ndarray]:
    """Right and up (9,) [m] of the nine points from the screen's middle. Source: ISO/IEC 21118."""
    area = picture(measurement.scene)
    row, column = np.divmod(np.arange(9), 3)
    return area.left_m + area.width_m * (column + 0.5) / 3, area.bottom_m + area.height_m * (row + 0.5) / 3


def _nine_points(axes: Axes, measurement: Measurement) -> None:
    x, y = _nine_places(measurement)
    axes.plot(x, y, ls="none", marker="+", ms=13, mew=3.2, color="black")
    axes.plot(x, y, ls="none", marker="+", ms=11, mew=1.4, color="white")


def _words(figure: Figure, measurement: Measurement, seat: int, height: float) -> None:
    reading, geometry = measurement.seats[seat], measurement.geometry[seat]
    white = reading.white
    title = f"{label(reading.name)}: the screen at full white, room lights off"
    share = 100 * geometry.hidden_share
    hidden = f"; {share:.0f} % of it is hidden from this eye" if share >= 0.5 else ""
    line = (
        f"centre {digits(white['centre'].value)}, least {digits(white['min'].value)}, "
        f"greatest {digits(white['max'].value)} cd/m²{hidden}"
    )
    foot = "+ the nine ISO 21118 points; lines: share of the centre; one colour scale for all seats of the scene"
    figure.text(0.085, 1 - 0.36 / height, title, fontsize=14, color=INK, weight="bold", va="center")
    figure.text(0.085, 1 - 0.72 / height, line, fontsize=12, color=INK, va="center")
    figure.text(0.085, 1 - 1.03 / height, foot, fontsize=10, color=GREY, va="center")
