"""Verdicts of all seats, gathered by light state and target, for the terminal report."""
from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..measure import Measurement
from ..targets import (
    ANY_STATE,
    CLASSES,
    DARK,
    ECHO,
    NO_FIGURE,
    RATED,
    SHADED,
    TARGETS,
    Target,
    Verdict,
    class_reached,
    echoes_the_lens,
    verdicts,
)
from .layout import grid, heading

if TYPE_CHECKING:
    from rich.console import RenderableType

Seats = dict[str, tuple[Verdict, ...]]
_MARKS = {"second-hand": "*", "from memory": "**"}
_NOTES = (
    "* the document itself was not read, only texts that quote it; ** figure from memory. Cinema and meeting-room "
    "targets, as a yardstick; no certificate.",
    f"Not judged: full on : full off with no other light on, {ECHO}.",
    "Side to centre: left and right middle of the nine ISO 21118 points; the worse of the two is judged.",
    "Undecided: the limit lies within the error of the figure, or the figure is only an upper bound.",
)
BLACK_ROOM = "Not judged: the checkerboard with no other light on, as nothing comes back from this room: it is the projector's own."
UNLIT = "Undecided also: a figure that does not exist, as no light reaches a place that it compares."


def verdict_notes(measurement: Measurement) -> list[str]:
    """What to know of the verdicts, one sentence or two each."""
    seats = verdicts_by_seat(measurement).values()
    notes = list(_NOTES)
    if measurement.scene.projector.in_use is None:
        notes.append(f"White luminance is judged for the {RATED}.")
    if any(echoes_the_lens(reading) for reading in measurement.seats):
        notes.append(BLACK_ROOM)
    return notes + [UNLIT] * any(verdict.reason == NO_FIGURE for found in seats for verdict in found)


def verdict_parts(measurement: Measurement) -> list[RenderableType]:
    """One table of targets for all seats and states, with what the marks mean.

    Source: `targets.TARGETS`; each line names its own document.
    """
    from rich.text import Text

    table = grid()
    table.add_column("target", overflow="fold", ratio=5)
    table.add_column("asked", no_wrap=True)
    table.add_column("result", overflow="fold", ratio=6)
    for title, lines in verdict_lines(measurement):
        table.add_row(Text(title, style="bold"), "", "")
        for target, asked, result in lines:
            table.add_row(Text(target), asked, Text(result))
    return [heading("Against published targets"), table, *(Text(note, style="dim") for note in verdict_notes(measurement))]


def verdict_lines(measurement: Measurement) -> list[tuple[str, list[tuple[str, str, str]]]]:
    """(light state in words, [(target with its source, asked, result by seats)]); a result has a line for each thing said.

    Source: `targets.TARGETS`; each line names its own document.
    """
    seats = verdicts_by_seat(measurement)
    titles = {DARK: "no other light on", ANY_STATE: "sight, in any light"}
    states = (DARK, *(light.name for light in measurement.scene.lights), ANY_STATE)
    return [(titles.get(state, f"with {state}"), list(_lines(seats, state))) for state in states]


def verdicts_by_seat(measurement: Measurement) -> Seats:
    """All verdicts of each seat, by its name. Source: `targets.verdicts`."""
    return {
        reading.name: verdicts(measurement.scene, reading, place)
        for reading, place in zip(measurement.seats, measurement.geometry, strict=True)
    }


def _lines(seats: Seats, state: str) -> Iterator[tuple[str, str, str]]:
    """(target, asked, result) of one state; the four contrast classes share a line."""
    for target in TARGETS:
        found = {name: v for name, judged in seats.items() for v in judged if v.state == state and v.target is target}
        if found and target not in CLASSES:
            yield _named(target), _asked(target), _result(found)
        elif found and target is CLASSES[-1]:
            asked = " / ".join(f"{target.low:g}" for target in CLASSES) + " :1"
            yield f"{CLASSES[0].source}*: class reached", asked, _classes(seats, state)


def _named(target: Target) -> str:
    return f"{target.source.split(',')[0]}{_MARKS[target.seen]}: {target.name}"


def _asked(target: Target) -> str:
    unit = target.unit if target.unit.startswith(":") else f" {target.unit}"
    if target.low is not None and target.high is not None:
        return f"{target.low:g} to {target.high:g}{unit}"
    return f"at least {target.low:g}{unit}" if target.low is not None else f"at most {target.high:g}{unit}"


def _result(found: dict[str, Verdict]) -> str:
    """Seats gathered by what is said of them, a line each: `met: A, B`, `2.4 deg short: C`."""
    groups: dict[str, list[str]] = {}
    for name, verdict in found.items():
        groups.setdefault(_said(verdict), []).append(name)
    return "\n".join(f"{said}: {_seats(names, len(found))}" for said, names in groups.items())


def _said(verdict: Verdict) -> str:
    if verdict.result != "missed":
        return verdict.result
    low, by = verdict.target.low, _rounded(verdict.missed_by)
    side = "below" if low is not None and verdict.got.value < low else "above"
    if verdict.target.unit.startswith(":"):  # a difference of contrasts is no contrast: the one that is reached stands beside it
        return f"missed by {by} ({_rounded(verdict.got.value)}{verdict.target.unit})"
    shaded = f", {verdict.reason}" if verdict.reason == SHADED else ""
    return f"missed, {by} {verdict.target.unit} {side}{shaded}"


def _rounded(value: float) -> str:
    return f"{value:.0f}" if value >= 99.5 else f"{value:.2g}"


def _seats(names: list[str], count: int) -> str:
    return "every seat" if len(names) == count else ", ".join(names)


def _classes(seats: Seats, state: str) -> str:
    groups: dict[str, list[str]] = {}
    for name, found in seats.items():
        reached = class_reached(found, state)
        said = "none" if reached is None else f"{reached.low:g}:1, {reached.name}"
        open_ones = [v for v in found if v.state == state and v.target in CLASSES and v.result == "undecided"]
        if open_ones:
            said += f" (undecided: {', '.join(f'{v.target.low:g}:1' for v in open_ones)})"
        groups.setdefault(said, []).append(name)
    return "\n".join(f"{said}: {_seats(names, len(seats))}" for said, names in groups.items())
