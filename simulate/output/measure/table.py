"""The terminal report of `measure`: what a client can read in one go, in 80 columns or more."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ....scenes.warn import in_the_way
from ....scenes.warning import SceneWarning, WarningCode
from ...measuring.estimate import Estimate
from ...measuring.measure import Measurement
from ...measuring.moire import screen_moire
from ...measuring.targets import UPPER_BOUND, echo_note
from ..cautions import CAUTIONS
from ..folds.table import folds_parts
from ..layout import grid, heading, rendered
from ..units import between, figure, foot_lamberts, spread
from ..warned import share_words
from .short_report import block_parts, short_report
from .verdict_table import verdict_parts

if TYPE_CHECKING:
    from rich.console import Console, RenderableType
    from rich.table import Table

_WIDE = 104
_BAR = 24


def report(measurement: Measurement, console: Console, *, full: bool = False) -> str:
    """The report as text for a console: its width, its colours (none where it is no terminal).

    full    every figure with its error, folds, throw, targets and cautions in whole; without it what a designer reads first
    Source: the project's own form; cautions as in cautions.py.
    """
    if not full:
        return short_report(measurement, console)
    parts: list[RenderableType] = [
        *block_parts(measurement),
        *_head(measurement),
        *_seats(measurement, console.width >= _WIDE),
        *_states(measurement),
        *_washout(measurement),
        *folds_parts(measurement.folds),
        *_holes(measurement),
        *verdict_parts(measurement),
        *_sureness(measurement),
        *_section("Cautions", CAUTIONS),
    ]
    return rendered(parts, console)


def _section(title: str, lines: tuple[str, ...]) -> list[RenderableType]:
    """A heading and hanging paragraphs; nothing where there are no lines."""
    from rich.text import Text

    if not lines:
        return []
    table = grid(header=False)
    table.add_column(no_wrap=True)
    table.add_column()
    for line in lines:
        table.add_row("-", Text(line))
    return [heading(title), table]


def _head(measurement: Measurement) -> list[RenderableType]:
    from rich.text import Text

    scene = measurement.scene
    screen, fabric, projector, lux = scene.screen, scene.screen.fabric, scene.projector, measurement.illuminance_lx
    half = "" if fabric.half_gain_deg is None else f", half-gain angle {fabric.half_gain_deg:g} deg"
    low, high = fabric.albedo_band
    open_to = "" if fabric.albedo_given else f" ({low:.2f} to {high:.2f} is open)"
    used = "" if projector.in_use is None else f" x {projector.in_use:g} in use"
    rows = (
        ("Screen", f"{screen.width_m:.2f} x {screen.height_m:.2f} m, {screen.hang}, lower edge {screen.bottom_m:.2f} m up"),
        ("Fabric", f"{fabric.name} ({fabric.kind}): gain {fabric.gain:g}{half}, albedo {fabric.albedo:.2f}{open_to}"),
        (
            "Light",
            f"{projector.light_output_lm:g} lm{used}: {figure(lux['centre'])} lx at the picture's centre, "
            f"{figure(lux['mean'])} lx mean",
        ),
        *(("Throw", line.words) if i == 0 else ("", str(line)) for i, line in enumerate(measurement.throw.said)),
    )
    table = grid(header=False)
    table.add_column(style="bold", no_wrap=True)
    table.add_column()
    for name, text in rows:
        table.add_row(name, Text(text))
    return [
        heading("The scene"),
        Text(f"{scene.path}, sha256 {scene.sha256[:12]}", style="dim"),
        table,
        *_section("Warnings", tuple(_with_share(warning, measurement) for warning in scene.warnings)),
        *_section("Taken for granted", (*scene.notes, *fabric.assumed)),
    ]


def _with_share(warning: SceneWarning, measurement: Measurement) -> str:
    """A scene's warning; one that something may hide the picture from a seat says how much of the screen it hides."""
    hidden = {seat.name: place.hidden_share for seat, place in zip(measurement.scene.seats, measurement.geometry, strict=True)}
    if warning.code is not WarningCode.IN_SIGHT or warning.seat not in hidden:
        return warning.text
    return f'from "{warning.seat}", {share_words(hidden[warning.seat])} of the screen is hidden by {in_the_way(warning.things)}'


def _cell(value: Estimate, scale: float = 1.0, unit: str = "") -> str:
    """A value with its standard error on a second line, or alone where it is exact."""
    error = spread(value.standard_error * scale)
    return f"{figure(value.value * scale)}{unit}" + (f"\n±{error}" if error else "")


def _fl(value: Estimate) -> Estimate:
    return Estimate(*(foot_lamberts(part) for part in value))


def _columns(table: Table, names: tuple[str, ...]) -> None:
    table.add_column("seat", overflow="fold", vertical="top")
    for name in names:
        table.add_column(name, justify="right", no_wrap=True)


def _seats(measurement: Measurement, wide: bool) -> list[RenderableType]:
    """A row a seat. Source: the registry of quantities."""
    from rich.text import Text

    gain = ("gain\nto\nseat",) if wide else ()
    table = grid()
    _columns(
        table,
        (
            "away\n\nm",
            "off\naxis\ndeg",
            *gain,
            "white\n\ncd/m2",
            "\n\nfL",
            "min/\ncentre\n%",
            "black\n\ncd/m2",
            "checker-\nboard\n:1",
            "wash-\nout\ncd/m2",
            "hidden\n\n%",
        ),
    )
    for reading, place in zip(measurement.seats, measurement.geometry, strict=True):
        white = reading.white["centre"]
        table.add_row(
            Text(reading.name),
            f"{place.distance_m:.2f}",
            f"{place.view_angle_deg:.1f}",
            *((f"{place.gain:.2f}",) if wide else ()),
            _cell(white),
            _cell(_fl(white)),
            _cell(reading.uniformity, 100.0),
            _cell(reading.black),
            _cell(reading.checkerboard),
            _cell(reading.washout),
            f"{100.0 * place.hidden_share:.0f}",
        )
    notes = [f"full on : full off is {figure(measurement.seats[0].full_on_off.value)}:1: {echo_note(measurement.scene)}."]
    if measurement.scene.projector.checkerboard_contrast is None:
        notes.append(f"checkerboard: {UPPER_BOUND}, since the projector's own is not stated.")
    notes.append("wash-out: light that the room and the screen send back onto black patches of the checkerboard.")
    return [heading("At the seats, no other light on"), table, *(Text(note, style="dim") for note in notes)]


def _states(measurement: Measurement) -> list[RenderableType]:
    from rich.text import Text

    parts: list[RenderableType] = []
    for i, light in enumerate(measurement.scene.lights):
        table = grid()
        _columns(table, ("white\ncd/m2", "\nfL", "black\ncd/m2", "on : off\n:1", "checkerboard\n:1"))
        rows: dict[tuple[str, ...], list[str]] = {}
        for reading in measurement.seats:
            state = reading.states[i]
            figures = (state.white, _fl(state.white), state.black, state.full_on_off, state.checkerboard)
            rows.setdefault(tuple(_cell(value) for value in figures), []).append(reading.name)
        for cells, names in rows.items():
            table.add_row(Text("every seat" if len(names) == len(measurement.seats) > 1 else ", ".join(names)), *cells)
        parts += [heading(f"With {light.name}: {light.words}"), table, *_spots(measurement, i)]
        if measurement.scene.projector.checkerboard_contrast is None:
            parts.append(Text(f"checkerboard: {UPPER_BOUND}.", style="dim"))
    return parts


def _spots(measurement: Measurement, state: int) -> list[RenderableType]:
    """How much light lamps and windows put on the screen, and how evenly the seats see it; nothing for even light."""
    from rich.text import Text

    if not measurement.scene.lights[state].traced:
        return []
    lux = measurement.seats[0].states[state].values["ambient_lx"]
    said = [f"on the screen {figure(lux.value)} ± {figure(lux.standard_error)} lx, mean of its 25 points"]
    for key, words in (("ambient_uniformity_ratio", "least"), ("ambient_hot_spot_ratio", "greatest")):
        worst = [reading.states[state].values[key].value for reading in measurement.seats]
        said.append(f"{words} over mean as the seats see it {between([100.0 * value for value in worst])} %")
    return [Text(f"ambient light: {'; '.join(said)}.", style="dim")]


def _washout(measurement: Measurement) -> list[RenderableType]:
    """By the last surface before the screen, the largest first; the bar is the mean over the seats."""
    from rich.text import Text

    shares = {name: [reading.share[name].value for reading in measurement.seats] for name in measurement.seats[0].share}
    if not any(reading.washout.value > 0.0 for reading in measurement.seats):
        return [heading("Wash-out by surface"), Text("none: the room sends nothing back")]
    table = grid()
    table.add_column("last surface before the screen", overflow="fold")
    table.add_column("share %", justify="right", no_wrap=True)
    table.add_column("", no_wrap=True)
    for name, values in sorted(shares.items(), key=lambda item: -max(item[1])):
        low, high, mean = 100 * min(values), 100 * max(values), 100 * sum(values) / len(values)
        if high >= 0.05:
            between = f"{low:.1f}" if f"{low:.1f}" == f"{high:.1f}" else f"{low:.1f} to {high:.1f}"
            table.add_row(Text(name), between, "#" * max(1, round(mean / 100 * _BAR)))
    note = "This is where wash-out comes from, not what repainting a surface would gain."
    return [heading("Wash-out by surface, over all seats"), table, Text(note, style="dim")]


def _holes(measurement: Measurement) -> list[RenderableType]:
    """Holes or threads of the sheet against the pixels, from the nearest seat; nothing for a closed sheet."""
    holes = screen_moire(measurement.scene)
    if holes is None:
        return []
    lines = [
        f"{holes.lattice}, every {holes.pitch_mm:g} mm: {figure(holes.pitch_arcmin)} arc minutes from {holes.seat}, the nearest "
        f"seat ({holes.distance_m:.2f} m)"
    ]
    if holes.pixel_mm is not None and holes.found is not None:
        lines.append(
            f"a pixel is {figure(holes.pixel_mm)} mm, {figure(holes.found.pixel_arcmin)} arc minutes: moire ratio (pitch over "
            f"pixel) {figure(holes.found.pitch_ratio)}"
        )
    return _section("Holes against pixels", (*lines, holes.words))


def _sureness(measurement: Measurement) -> list[RenderableType]:
    """How far the numbers can be trusted as answers to the model; not how well the model fits the room."""
    from rich.text import Text

    reached, asked = 100.0 * measurement.error_reached, 100.0 * measurement.error_asked
    lines = [f"{measurement.paths:,} light paths, seed {measurement.seed}, {measurement.elapsed_s:.1f} s."]
    if measurement.met:
        lines.append(f"Largest standard error {reached:.2g} % (asked {asked:.2g} %).")
    else:
        lines.append(
            f"Less precise than asked: the cap on paths was met first; largest standard error {reached:.2g} % "
            f"(asked {asked:.2g} %)."
        )
    shares = [
        v.bias_bound / abs(v.value)
        for reading in measurement.seats
        for v in (reading.white["centre"], reading.checkerboard, reading.washout)
        if v.value and math.isfinite(v.value)
    ]
    bias = max(shares, default=0.0)
    lines.append(f"The map of lit surfaces may add a bias of at most {100.0 * bias:.2g} %; ± is one standard error.")
    return [heading("How sure"), *(Text(line) for line in lines)]
