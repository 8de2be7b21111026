"""The terminal report of `measure` as it is without --full: the first block, the seats, what to know, where the rest is."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from ...measuring.measure import Measurement
from ...measuring.targets import UPPER_BOUND, Verdict
from ..layout import bullet, grid, heading, rendered
from ..layout import line as text_line
from ..units import brief, foot_lamberts
from ..warned import gathered
from .first_block import first_block
from .verdict_table import verdicts_by_seat

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

POINTER = "Errors, folds, throw, every target and all cautions: --full; files: --out DIR; a client's page: halfgain report."
CAUTION = "Beam, overhead mass, mains, fire, way out: cautions in --full and README. A model's estimates, no certificate."


def short_report(measurement: Measurement, console: Console) -> str:
    """The report as text for a console, see `table.report`."""
    scene = measurement.scene
    parts: list[RenderableType] = block_parts(measurement)
    parts += _warnings(measurement)
    parts += _seats(measurement)
    for i, light in enumerate(scene.lights):
        parts += [heading(f"With {light.name}: {light.words}"), _lit(measurement, i)]
    notes = (*_washout(measurement), *_targets(measurement), _sureness(measurement), CAUTION, POINTER)
    parts += [heading("Beside this"), *(bullet(note) for note in notes)]
    return rendered(parts, console)


def block_parts(measurement: Measurement) -> list[RenderableType]:
    """The title and the first block, which every report of a measurement begins with."""
    table = grid(header=False)
    table.add_column(style="bold", no_wrap=True)
    table.add_column()
    for each in first_block(measurement):
        table.add_row(each.topic, text_line(each.said))
    return [text_line(measurement.scene.title, "bold"), table]


def _warnings(measurement: Measurement) -> list[RenderableType]:
    found = gathered(measurement.scene.warnings, measurement.scene.seats, [place.hidden_share for place in measurement.geometry])
    return [heading("Warnings"), *(bullet(warning.text) for warning in found)] if found else []


def _gathered(rows: list[tuple[str, tuple[str, ...]]]) -> list[tuple[str, tuple[str, ...]]]:
    """Seats that read alike in one row: (names, cells)."""
    names: dict[tuple[str, ...], list[str]] = {}
    for name, cells in rows:
        names.setdefault(cells, []).append(name)
    return [("every seat" if len(each) == len(rows) > 1 else ", ".join(each), cells) for cells, each in names.items()]


def _table(heads: tuple[str, ...], rows: list[tuple[str, tuple[str, ...]]]) -> RenderableType:
    table = grid()
    table.add_column("seat", overflow="fold", vertical="top")
    for head in heads:
        table.add_column(head, justify="right", no_wrap=True)
    for names, cells in _gathered(rows):
        table.add_row(text_line(names), *cells)
    return table


def _seats(measurement: Measurement) -> list[RenderableType]:
    rows: list[tuple[str, tuple[str, ...]]] = []
    for reading, place in zip(measurement.seats, measurement.geometry, strict=True):
        white, board = reading.white["centre"].value, reading.checkerboard.value
        rows.append(
            (
                reading.name,
                (
                    brief(white),
                    brief(foot_lamberts(white)),
                    brief(100.0 * reading.uniformity.value),
                    brief(reading.black.value),
                    brief(board),
                    brief(reading.washout.value),
                    brief(100.0 * place.hidden_share),
                ),
            )
        )
    heads = ("white\ncd/m2", "\nfL", "min/\ncentre %", "black\ncd/m2", "checker-\nboard :1", "wash-out\ncd/m2", "hidden\n%")
    bound = (
        [text_line(f"checkerboard: {UPPER_BOUND}.", "dim")] if measurement.scene.projector.checkerboard_contrast is None else []
    )
    return [heading("At the seats, no other light on"), _table(heads, rows), *bound]


def _lit(measurement: Measurement, i: int) -> RenderableType:
    rows: list[tuple[str, tuple[str, ...]]] = []
    for reading in measurement.seats:
        state = reading.states[i]
        figures = (
            state.white.value,
            foot_lamberts(state.white.value),
            state.black.value,
            state.full_on_off.value,
            state.checkerboard.value,
        )
        rows.append((reading.name, tuple(brief(value) for value in figures)))
    return _table(("white\ncd/m2", "\nfL", "black\ncd/m2", "on : off\n:1", "checker-\nboard :1"), rows)


def _washout(measurement: Measurement) -> list[str]:
    """The surfaces that most wash-out comes from, in a sentence."""
    names = measurement.seats[0].share
    means = {name: sum(seat.share[name].value for seat in measurement.seats) / len(measurement.seats) for name in names}
    most = sorted((name for name in means if means[name] >= 0.05), key=lambda name: -means[name])
    if not any(seat.washout.value > 0.0 for seat in measurement.seats):
        return ["Wash-out: none, the room sends nothing back."]
    return [f"Wash-out comes from {', '.join(f'{name} {100.0 * means[name]:.0f} %' for name in most)}."] if most else []


def _targets(measurement: Measurement) -> list[str]:
    """Published targets counted by their worst seat, with the names of those missed."""
    worst: dict[tuple[str, str], Verdict] = {}
    order = ("above", "met", "undecided", "missed")
    for found in verdicts_by_seat(measurement).values():
        for verdict in found:
            key = (verdict.state, verdict.target.name)
            if key not in worst or order.index(verdict.result) > order.index(worst[key].result):
                worst[key] = verdict
    counts = Counter(verdict.result for verdict in worst.values())
    said = ", ".join(f"{counts[result]} {result}" for result in ("met", "above", "undecided", "missed") if counts[result])
    homes: dict[str, list[str]] = {}
    for verdict in worst.values():
        if verdict.target.use == "home" and verdict.result == "missed":
            homes.setdefault(f"{verdict.target.name} ({verdict.target.document})", []).append(_state(verdict))
    missed = "; ".join(f"{name}, {', '.join(states)}" for name, states in homes.items())
    return [f"Published targets at the worst seats: {said}." + (f" Missed of those for homes: {missed}." if missed else "")]


def _state(verdict: Verdict) -> str:
    return {"dark": "dark", "any": "in any light"}.get(verdict.state, f"with {verdict.state}")


def _sureness(measurement: Measurement) -> str:
    reached, asked = 100.0 * measurement.error_reached, 100.0 * measurement.error_asked
    said = f"Standard errors up to {reached:.2g} %, {asked:.2g} % asked ({measurement.paths:,} light paths, seed {measurement.seed})."
    return said if measurement.met else f"Less precise than asked, as the cap on paths was met first. {said}"
