"""Folds in the terminal report of `measure`: what the hang does, and how visible it is from each seat."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ....scenes.cloth.surface import LEVELS
from ...eye.sight import NONE, SINGLE, WAVES
from ...eye.verdict import STATED_FOR
from ...folds.readings import FoldReading, Folds
from ..layout import grid, heading
from ..units import figure

if TYPE_CHECKING:
    from rich.console import RenderableType

_CHANNELS = {NONE: "", WAVES: "waves", SINGLE: "one"}


def folds_parts(folds: Folds) -> list[RenderableType]:
    """Sections for a cloth that is folded or swings; none for one that hangs still and flat."""
    from rich.text import Text

    parts: list[RenderableType] = []
    if folds.effects:
        table = grid(header=False)
        table.add_column(no_wrap=True)
        table.add_column()
        for effect in folds.effects:
            table.add_row("-", Text(f"{effect.name}: {effect.sentence}"))
        parts += [heading("The cloth, by its hang"), table]
    if not folds.flat:
        parts += _visible(folds)
    return parts + _swing(folds)


def _visible(folds: Folds) -> list[RenderableType]:
    from rich.text import Text

    table = grid()
    table.add_column("seat, shape", overflow="fold")
    for name in ("modu-\nlation\n%", "times\nthres-\nhold"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("bright-\nness", no_wrap=True)
    table.add_column("seen\nas", no_wrap=True)
    for name in ("warp\narc\nmin", "\n\npx"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("geometry", no_wrap=True)
    table.add_column("worst at m\nright, up", justify="right", no_wrap=True)
    for seat in folds.seats:
        for level in ("typical",) if folds.stated else LEVELS:
            shape = "" if folds.stated else f", {level}"
            table.add_row(Text(f"{seat.name}{shape}"), *_cells(seat.levels[level]))
    order = "" if folds.stated else "No verdict from the typical shape alone. "
    notes = (
        f"{order}Brightness: the pattern over the eye's threshold at its worst place, as three waves or more, or as one feature (a crease, "
        "a step, an edge); * at the picture's edge, where the dark border is not counted as masking.",
        "Warp: displacement, peak to peak, less what a keystone and a smooth bow explain, against 1 arc minute; fine straight "
        "lines show a sixth of that.",
        f"Verdicts are {STATED_FOR}.",
    )
    return [heading("Folds as the seats see them"), table, *(Text(note, style="dim") for note in notes)]


def _cells(reading: FoldReading) -> tuple[str, ...]:
    seen, warp = reading.visible, reading.warp
    return (
        _short(100.0 * seen.modulation),
        _short(seen.ratio),
        reading.luminance.word,
        _CHANNELS[seen.channel],
        _short(warp.peak_to_peak_arcmin),
        "" if warp.peak_to_peak_px is None else _short(warp.peak_to_peak_px),
        reading.geometry.word,
        f"{seen.place_m[0]:+.1f} {seen.place_m[1]:+.1f}{'*' if seen.at_edge else ''}" if seen.ratio > 0.0 else "",
    )


def _short(value: float) -> str:
    """Two digits, as verdicts need no more; what rounding leaves of a flat cloth is 0."""
    if value < 1e-9:
        return "0"
    return f"{value:.0f}" if value >= 10 else f"{value:.2g}"


def _swing(folds: Folds) -> list[RenderableType]:
    from rich.text import Text

    swings = [(seat.name, seat.swing) for seat in folds.seats if seat.swing is not None]
    if not swings:
        return []
    most = max(swing.shift_arcmin for _, swing in swings)
    least = min(swing.shift_arcmin for _, swing in swings)
    first = swings[0][1]
    pixels = [swing.shift_px for _, swing in swings if swing.shift_px is not None]
    also = f", up to {figure(max(pixels))} pixels" if pixels else ""
    line = (
        f"A swing of {1e3 * first.swing_m:g} mm at the bar (period {first.period_s:.1f} s) moves the picture by "
        f"{figure(least)} to {figure(most)} arc minutes{also}."
    )
    return [Text(line, style="dim")]
