"""folds-NAME.png: what one seat sees of the folds: brightness against the flat screen, and warp."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ....scenes.cloth.surface import LEVELS, Level, cloth_of
from ....scenes.geometry import Raster, picture
from ...eye.sight import NONE, SINGLE, WAVES
from ...eye.warp import without_keystone_and_bow
from ...folds.maps import picture_grid, seat_maps
from ...folds.readings import FoldReading
from ...measuring.measure import Measurement
from ..drawing import GREY, INK, figure_of, label, png
from ..units import figure as digits

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDTH_IN, _MAP_IN = 10.0, 7.4
_AS = {NONE: "", WAVES: " as waves", SINGLE: " as one feature"}
DIVERGING = "RdBu_r"  # white in the middle; red and blue are told apart by most colour-blind readers


def folds_map(measurement: Measurement, seat: int) -> bytes:
    """Two maps over the picture as PNG bytes: luminance against the flat screen in %, and displacement left after keystone and bow.

    Stated folds, or the high shape of a hang: the one to be careful about. A frame marks the worst place.
    Source: `seat_maps`, `Visible`, `Warp`.
    """
    return png(folds_figure(measurement, seat))


def folds_figure(measurement: Measurement, seat: int, *, small: bool = False) -> Figure:
    """The maps as a figure; small: a narrow one without words above. Source: see `folds_map`."""
    scene, folds = measurement.scene, measurement.folds
    level: Level = "typical" if folds.stated else "high"
    grid = picture_grid(scene)
    (seen,) = seat_maps(scene, cloth_of(scene.screen, level), grid, seats=(scene.seats[seat],))
    reading = folds.seats[seat].levels[level]
    area = picture(scene)
    width, room = (5.4, 3.5) if small else (_WIDTH_IN, _MAP_IN)
    high = min(room * area.height_m / area.width_m, 4.6)
    wide = high * area.width_m / area.height_m
    height = 2 * high + (1.6 if small else 3.2)
    figure = figure_of(width, height)
    left = (0.95 + (room - wide) / 2 - 0.1 * small) / width
    bar = (0.95 + room + 0.5 - 0.4 * small) / width
    percent = 100.0 * (seen.luminance_ratio - 1.0)
    shift = without_keystone_and_bow(seen.shift_arcmin, grid.right_m, grid.up_m)
    axis = int(np.nanargmax(np.nanstd(shift, axis=(0, 1))))
    for place, values, title, unit in (
        (
            (high + 1.3 - 0.1 * small) / height,
            percent,
            "Brightness against a flat screen",
            "luminance over the flat screen's, less 1 [%]",
        ),
        (
            0.62 / height,
            shift[..., axis],
            f"How far the picture is moved {('to the right', 'upwards')[axis]}",
            "displacement [arc min]",
        ),
    ):
        axes = figure.add_axes((left, place, wide / width, high / height))
        axes.set_title(title, fontsize=11, color=INK, loc="left", weight="bold")
        unit = unit[unit.index("[") :] if small else unit
        _panel(figure, axes, values, area, unit, (bar, place, 0.22 * width / _WIDTH_IN / width, high / height))
        if values is percent:
            _frame(axes, reading)
    figure.axes[0].set_xlabel("")
    if not small:
        _words(figure, measurement, seat, reading, level, height)
    return figure


def _panel(
    figure: Figure, axes: Axes, values: np.ndarray, area: Raster, unit: str, bar: tuple[float, float, float, float]
) -> None:
    """One map with its colour bar; the scale is even to both sides of nought."""
    most = max(float(np.nanpercentile(np.abs(values), 99.8)), 1e-6)
    axes.set_facecolor(GREY)
    drawn = axes.imshow(
        values,
        extent=(area.left_m, area.right_m, area.bottom_m, area.top_m),
        cmap=DIVERGING,
        vmin=-most,
        vmax=most,
        interpolation="nearest",
        aspect="auto",
    )
    axes.set_xlabel("right of the screen's middle [m]", fontsize=11, color=INK)
    axes.set_ylabel("above the middle [m]", fontsize=11, color=INK)
    axes.tick_params(labelsize=10)
    cax = figure.add_axes(bar)
    figure.colorbar(drawn, cax=cax)
    cax.set_ylabel(unit, fontsize=10, color=INK)
    cax.tick_params(labelsize=10)


def _frame(axes: Axes, reading: FoldReading) -> None:
    """The worst place."""
    from matplotlib.patches import Rectangle
    from matplotlib.patheffects import withStroke

    seen = reading.visible
    if seen.ratio <= 0.0:
        return
    corner = (seen.place_m[0] - 0.5 * seen.side_m[0], seen.place_m[1] - 0.5 * seen.side_m[1])
    edge = Rectangle(corner, *seen.side_m, fill=False, ec="black", lw=1.8, ls="--")
    edge.set_path_effects([withStroke(linewidth=3.6, foreground="white")])
    axes.add_patch(edge)


def _words(figure: Figure, measurement: Measurement, seat: int, reading: FoldReading, level: str, height: float) -> None:
    folds = measurement.folds
    name = label(measurement.seats[seat].name)
    which = "as the scene states them" if folds.stated else f"{measurement.scene.screen.hang}, high estimate"
    seen, warp = reading.visible, reading.warp
    ratios = [folds.seats[seat].levels[each].visible.ratio for each in LEVELS]
    spread = "" if folds.stated else f" (low / typical / high {' / '.join(f'{r:.2g}' for r in ratios)})"
    edge = " at the edge, its dark border not counted" if seen.at_edge else ""
    lines = (
        f"brightness: modulation {100 * seen.modulation:.2g} %, {digits(seen.ratio)} times the threshold"
        f"{_AS[seen.channel]}{edge}: {reading.luminance.word}{spread}",
        f"geometry: warp {digits(warp.peak_to_peak_arcmin)} arc min peak to peak, {digits(warp.acuity_ratio)} times acuity: "
        f"{reading.geometry.word}",
        "for an even bright field; dashes: the worst place; grey: light that misses the cloth, or cloth hidden from the eye",
    )
    figure.text(0.06, 1 - 0.34 / height, f"{name}: folds, {which}", fontsize=14, color=INK, weight="bold", va="center")
    for i, line in enumerate(lines):
        figure.text(0.06, 1 - (0.72 + 0.28 * i) / height, line, fontsize=10.5, color=INK if i < 2 else GREY, va="center")
