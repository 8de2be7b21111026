"""`check` as a terminal report."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ....materials.text.plain import plain
from ...commissioning.check import Check, Compared, Estimated
from ...commissioning.meters import COVERAGE, Meter
from ...commissioning.parameter import ParameterKind
from ...measuring.targets import DARK
from ...measuring.unit import in_unit
from ..layout import bullet, grid, heading, line, rendered
from ..units import figure, spread
from . import words

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

_ARITHMETIC = 1e-9
_KNOWN, _DIRECTIONS, _PART = 0.5, 6, 0.2  # combinations told with --full: narrowed below, how many, least weight that is shown
_NOTE = (
    "±: 95 %. Promised: by the scene as stated; its ± is that of the light paths. Measured: the meter's calibration, repetition and last "
    "digit. They agree where the difference is within both (E_n scores, ISO 13528). Explained: with the estimates below; ! still off."
)


def check_report(check: Check, console: Console, *, full: bool = False) -> str:
    """What to know first, then every reading, then what explains them; `full` adds what was held beforehand, with its sources."""
    parts = [
        line(plain(check.scene.title), "bold"),
        line(words.headline(check)),
        *(bullet(text) for text in words.findings(check)),
        *([line(strain)] if (strain := words.strain(check)) else []),
        *_readings(check),
        *_estimates(check),
        *_together(check),
        *(_beforehand(check) if full else []),
        *_seats(check),
    ]
    return rendered(parts, console)


def _readings(check: Check) -> list[RenderableType]:
    parts: list[RenderableType] = []
    for meter, title in ((Meter.ILLUMINANCE, "At the screen, lx"), (Meter.LUMINANCE, "From the seats, cd/m2")):
        rows = [each for each in check.compared if each.reading.meter is meter]
        if not rows:
            continue
        table = grid()
        table.add_column("", overflow="fold")
        for name in ("promised", "±", "measured", "±", "off %", "agrees", "explained"):
            table.add_column(name, justify="right", no_wrap=True)
        for each in rows:
            table.add_row(line(words.reading_name(each.reading)), *_cells(each))
        parts += [heading(title), table]
    blank = f" {check.site.blank} rows without a value were passed over." if check.site.blank else ""
    return [*parts, line(_NOTE + blank, "dim")]


def _cells(each: Compared) -> tuple[str, ...]:
    away = 100.0 * (each.reading.value / each.predicted - 1.0) if each.predicted > 0.0 else 0.0
    return (
        figure(each.predicted),
        _error(each.predicted_uncertainty, each.predicted),
        figure(each.reading.value),
        _error(each.uncertainty, each.reading.value),
        f"{away:+.0f}" if abs(away) < 1000.0 and each.predicted > 0.0 else "-",
        "yes" if each.agrees else "no",
        "left out" if each.doubted else _explained(each),
    )


def _explained(each: Compared) -> str:
    shown = (
        words.to_width(each.explained, each.explained_uncertainty)
        if abs(each.explained) < each.explained_uncertainty
        else figure(each.explained)
    )
    return shown if each.agrees_after else f"{shown} !"


def _error(standard: float, value: float) -> str:
    """95 % of a standard uncertainty; nothing where only arithmetic is left of it."""
    return spread(COVERAGE * standard) if standard > _ARITHMETIC * abs(value) else "0"


def _estimates(check: Check) -> list[RenderableType]:
    table = grid()
    table.add_column("what", overflow="fold")
    for title in ("stated", "estimate", "95 %", "narrowed\nto %"):
        table.add_column(title, justify="right", no_wrap=True)
    for each in check.estimates:
        if each.informed or each.parameter.kind is ParameterKind.METER:
            table.add_row(line(_name(each)), _stated(each), *_estimate(each))
    parts: list[RenderableType] = [heading("What the readings tell"), table]
    note = "Narrowed: how wide the interval is, of what was held before the readings. * lies outside its interval as stated."
    parts.append(line(note, "dim"))
    if told := words.untold(check):
        parts += [line("Not told by these readings, left as stated:"), *(bullet(text) for text in told)]
    return parts


def _name(each: Estimated) -> str:
    unit = f", {each.parameter.unit}" if each.parameter.unit not in ("", ":1") else ""
    return f"{'* ' if each.differs else ''}{each.parameter.title}{unit}"


def _stated(each: Estimated) -> str:
    return "-" if each.parameter.stated is None else figure(in_unit(each.parameter.stated, each.parameter.unit))


def _estimate(each: Estimated) -> tuple[str, str, str]:
    alone = "" if not each.only_with else "~"
    return f"{alone}{words.estimate(each)}", words.ends(each.low, each.high), f"{100.0 * each.narrowed:.0f}"


def _together(check: Check) -> list[RenderableType]:
    if not check.pairs:
        return []
    lead = "These readings cannot tell apart (~ above: what was held beforehand shares it out):"
    return [line(lead), *(bullet(words.pair_words(check, pair)) for pair in check.pairs)]


def _beforehand(check: Check) -> list[RenderableType]:
    """What was held of each parameter before the readings, and where that is from."""
    said = []
    for each in check.estimates:
        held = f"{words.ends(*each.before)} {each.parameter.unit}".rstrip()
        said.append(f"{each.parameter.title}: {held}; {each.parameter.source}.")
    lines = []
    for direction in [each for each in check.directions if each.ratio < _KNOWN][:_DIRECTIONS]:
        parts = sorted(zip(direction.weights, check.estimates, strict=True), key=lambda pair: -abs(pair[0]))
        shown = " ".join(f"{weight:+.2f} {each.parameter.key}" for weight, each in parts if abs(weight) > _PART)
        lines.append(f"to {100.0 * direction.ratio:.1f} %: {shown}")
    return [
        heading("Held before the readings (95 %)"),
        *(bullet(text) for text in said),
        heading("Known best: combinations, in deviations held beforehand"),
        *(bullet(text) for text in lines),
    ]


def _seats(check: Check) -> list[RenderableType]:
    table = grid()
    table.add_column("seat", overflow="fold")
    for title in ("white promised\ncd/m2", "as built\ncd/m2", "contrast promised\n:1", "as built\n:1"):
        table.add_column(title, justify="right", no_wrap=True)
    for each in check.seats:
        table.add_row(line(plain(each.name)), *(figure(x) for x in (*each.white, *each.checkerboard)))
    note = f"Contrast of the checkerboard, {DARK} room. As built: by the corrected scene"
    count = len(check.correction.changes)
    return [heading("At the seats"), table, line(f"{note}, {count} {'key' if count == 1 else 'keys'} changed.", "dim")]
