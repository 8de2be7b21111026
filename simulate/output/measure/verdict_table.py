"""Verdicts of all seats, gathered by light state and target, for the terminal report."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from ...eye.glare import STATED_FOR
from ...measuring.measure import Measurement
from ...measuring.places import EDGE_INSET, inset_words
from ...measuring.targets import (
    ANY_STATE,
    CLASSES,
    DARK,
    RATED,
    TARGETS,
    Reason,
    Result,
    Target,
    Verdict,
    class_standing,
    echo_note,
    echoes_the_lens,
    verdicts,
    worst_of,
)
from ..layout import grid, heading
from ..units import PLAIN, UnitStyle

if TYPE_CHECKING:
    from rich.console import RenderableType

Seats = dict[str, tuple[Verdict, ...]]


class VerdictLine(NamedTuple):
    """A row of verdicts: target with its source, what is asked, what is said of the seats, and the worst result of them.

    said   a text for each group of seats;  worst  None for the row of contrast classes, which has no result
    in_eye what the eyes at the seats make of the contrast asked for; "" for other figures
    """

    target: str
    asked: str
    said: tuple[str, ...]
    worst: Result | None
    in_eye: str = ""


_MARKS = {"second-hand": "*", "from memory": "**"}
_NOTES = (
    "* the document itself was not read, only texts that quote it; ** figure from memory. Targets of homes, theatres and meeting rooms, "
    "as a yardstick; no certificate.",
    "White of homes: a home theatre's 28 fL for a new lamp* is light for its ageing; HDTV programmes are judged at 100 cd/m2*.",
    f"Side to centre is judged {100.0 * EDGE_INSET:g} % of the picture's width in from its side edges, at half its height (the place of "
    "SMPTE ST 196M-2003*, taken for ST 431-1**); the worse of the two sides.",
    "Above: more light, or more even light, than the range asks for; headroom, not a fault.",
    "In the eye: what is left of a checkerboard's contrast once the light that the eye itself scatters lies over it, at the middles of "
    f"its patches; CIE 146:2002**, general disability glare equation, for {STATED_FOR} and brown iris; all beside the picture black.",
    "Undecided: the limit lies within the error of the figure, or the figure is only an upper bound.",
)
BLACK_ROOM = (
    "Not judged: the checkerboard with no other light on, as nothing comes back from this room: it is the projector's own."
)
UNLIT = "Undecided also: a figure that does not exist, as no light reaches a place that it compares."


def verdict_notes(measurement: Measurement) -> list[str]:
    """What to know of the verdicts, one sentence or two each."""
    seats = verdicts_by_seat(measurement).values()
    own = f"Not judged: full on : full off with no other light on, {echo_note(measurement.scene)}."
    notes = [*_NOTES[:2], own, *_NOTES[2:]]
    if measurement.scene.projector.in_use is None:
        notes.append(f"White luminance is judged for the {RATED}.")
    if any(echoes_the_lens(reading) for reading in measurement.seats):
        notes.append(BLACK_ROOM)
    return notes + [UNLIT] * any(verdict.why is Reason.NO_FIGURE for found in seats for verdict in found)


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
        for each in lines:
            asked = f"{each.asked}\n{each.in_eye}" if each.in_eye else each.asked
            table.add_row(Text(each.target), asked, Text("\n".join(each.said)))
    return [heading("Against published targets"), table, *(Text(note, style="dim") for note in verdict_notes(measurement))]


def verdict_lines(measurement: Measurement, units: UnitStyle = PLAIN) -> list[tuple[str, list[VerdictLine]]]:
    """(light state in words, its rows), units written as `units` has them.

    Source: `targets.TARGETS`; each line names its own document.
    """
    seats = verdicts_by_seat(measurement)
    titles = {DARK: "no other light on", ANY_STATE: "sight, in any light"}
    states = (DARK, *(light.name for light in measurement.scene.lights), ANY_STATE)
    return [(titles.get(state, f"with {state}"), list(_lines(seats, state, units))) for state in states]


def verdicts_by_seat(measurement: Measurement) -> Seats:
    """All verdicts of each seat, by its name. Source: `targets.verdicts`."""
    return {
        reading.name: verdicts(measurement.scene, reading, place)
        for reading, place in zip(measurement.seats, measurement.geometry, strict=True)
    }


def _lines(seats: Seats, state: str, units: UnitStyle) -> Iterator[VerdictLine]:
    """Rows of one state; the four contrast classes share one."""
    for target in TARGETS:
        found = {name: v for name, judged in seats.items() for v in judged if v.state == state and v.target is target}
        if found and target not in CLASSES:
            worst = worst_of(verdict.result for verdict in found.values())
            yield VerdictLine(
                _named(target), _asked(target, units), _result(found, units), worst, _in_eye((target,), found, units)
            )
        elif found and target is CLASSES[-1]:
            asked = units.written(" / ".join(f"{target.low:g}" for target in CLASSES), target.unit)
            said = _classes(seats, state, units)
            yield VerdictLine(f"{CLASSES[0].source}*: class reached", asked, said, None, _in_eye(CLASSES, found, units))


def _in_eye(targets: Sequence[Target], found: dict[str, Verdict], units: UnitStyle) -> str:
    """What is left of the targets' least contrasts in the eye, two digits, at the seat where that is least."""
    veils = [verdict.eye for verdict in found.values() if verdict.eye is not None]
    if not veils:
        return ""
    left = [min(veil.left(target.low) for veil in veils) for target in targets if target.low is not None]
    return units.written(" / ".join(_rounded(each) for each in left), ":1") + " in the eye"


def _named(target: Target) -> str:
    place = "" if target.inset is None else f", {inset_words(target.inset)}"
    return f"{target.document}{_MARKS[target.seen]}: {target.name}{place}"


def _asked(target: Target, units: UnitStyle) -> str:
    if target.low is not None and target.high is not None:
        return units.written(f"{target.low:g} to {target.high:g}", target.unit)
    low = target.low is not None
    return f"at {'least' if low else 'most'} {units.written(f'{target.low if low else target.high:g}', target.unit)}"


def _result(found: dict[str, Verdict], units: UnitStyle) -> tuple[str, ...]:
    """Seats gathered by what is said of them: `met: A, B`, `missed, 2.4 deg above: C`."""
    groups: dict[str, list[str]] = {}
    for name, verdict in found.items():
        groups.setdefault(_said(verdict, units), []).append(name)
    return tuple(f"{said}: {_seats(names, len(found))}" for said, names in groups.items())


def _said(verdict: Verdict, units: UnitStyle) -> str:
    unit = verdict.target.unit
    if verdict.result == "above":
        return f"above, by {units.written(_rounded(verdict.above_by), unit)}"
    if verdict.result != "missed":
        return verdict.result
    low, by = verdict.target.low, _rounded(verdict.missed_by)
    if unit == ":1":  # a difference of contrasts is no contrast: the one that is reached stands beside it
        return f"missed by {by} ({units.written(_rounded(verdict.got.value), unit)})"
    side = "below" if low is not None and verdict.got.value < low else "above"
    shaded = f", {verdict.reason}" if verdict.why is Reason.SHADED else ""
    return f"missed, {units.written(by, unit)} {side}{shaded}"


def _rounded(value: float) -> str:
    return f"{value:.0f}" if value >= 99.5 else f"{value:.2g}"


def _seats(names: list[str], count: int) -> str:
    return "every seat" if len(names) == count else ", ".join(names)


def _classes(seats: Seats, state: str, units: UnitStyle) -> tuple[str, ...]:
    groups: dict[str, list[str]] = {}
    for name, found in seats.items():
        standing = class_standing(found, state)
        if standing is None:  # not judged at this seat
            continue
        reached = standing.reached
        said = "none" if reached is None else f"{units.written(f'{reached.low:g}', reached.unit)}, {reached.name}"
        if standing.undecided:
            said += f" (undecided: {', '.join(units.written(f'{each.low:g}', each.unit) for each in standing.undecided)})"
        groups.setdefault(said, []).append(name)
    return tuple(f"{said}: {_seats(names, len(seats))}" for said, names in groups.items())
