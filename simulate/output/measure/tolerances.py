"""How sure the figures are, as a block for the terminal and as a document: bands, what they hang on, whether the best fabric stays it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from ...choices.figures import Figure
from ...measuring.estimate import Estimate
from ...measuring.measure import Measurement
from ...measuring.targets import DARK
from ...measuring.unit import in_unit
from ...studies.tolerances.bands import ENDS, Band
from ...studies.tolerances.odds import FabricOdds
from ...studies.tolerances.sureness import Sureness
from ...studies.tolerances.uncertain import Group, Limits
from ..layout import grid, heading, line, rendered
from ..units import PLAIN, brief

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

LEAST_SHARE, LEAST_WIDTH = 0.05, 0.02  # of what is told
_UNIT = {"": "", "%": " %", "m": " m"}
_SHOWN = ("white_cd_m2", "uniformity_ratio", "black_cd_m2", "checkerboard_ratio", "washout_cd_m2")


def tolerances_report(measurement: Measurement, sure: Sureness, console: Console) -> str:
    """The block as text for a console: every figure at its worst seat, then what to measure, then the fabric."""
    parts: list[RenderableType] = [heading(f"How sure: {limits_words(sure.limits)}")]
    table = grid()
    for name in ("at the worst seat", "here", "9 of 10 lie in", "what that hangs on"):
        table.add_column(name)
    for band in told(measurement, sure):
        value = value_at(measurement, band)
        hangs = [(each, share) for each, share in sure.ranked(band) if share >= LEAST_SHARE][:3] if is_band(band) else []
        title = band.figure.title if band.figure.state == DARK else f"{band.figure.title}, {band.figure.state}"
        unit = PLAIN.sign(band.figure.unit)
        table.add_row(
            line(f"{title} [{unit}]" if unit else title),
            brief(in_unit(value, band.figure.unit)),
            range_words(value, band),
            line(", ".join(f"{each.name} {100 * share:.0f} %" for each, share in hangs)),
        )
    parts += [table, line("")]
    if first := measure_first(measurement, sure):
        parts.append(line(f"Measure first: {', '.join(first)}."))
    if sure.odds is not None:
        parts.append(line(odds_words(sure.odds)))
    parts += [line(f"Left out: {name} ({why}).") for name, why in sure.left_out]
    return rendered(parts, console)


def is_band(band: Band) -> bool:
    """False where the figure hardly moves: what it hangs on is then no reason to measure anything."""
    return band.high.value > (1.0 + LEAST_WIDTH) * band.low.value


def measure_first(measurement: Measurement, sure: Sureness) -> list[str]:
    """What brings most of the variance of some figure at its worst seat, each once."""
    return list(dict.fromkeys(sure.ranked(band)[0][0].name for band in told(measurement, sure) if is_band(band)))


def told(measurement: Measurement, sure: Sureness) -> list[Band]:
    """The bands of the usual figures at their worst seats: in the dark, and contrast in each light state."""
    found = []
    for figure in dict.fromkeys(band.figure for band in sure.bands):
        if figure.key not in _SHOWN or (figure.state != DARK and figure.key != "checkerboard_ratio"):
            continue
        band = sure.worst(figure, {seat: value for seat, value in _values(measurement, figure).items()})
        if band is not None:
            found.append(band)
    return found


def _values(measurement: Measurement, figure: Figure) -> dict[str, float]:
    """A figure at every seat, in the program's unit."""
    found = {}
    for reading in measurement.seats:
        values = reading.values
        if figure.state != DARK:
            values = next(state.values for state in reading.states if state.name == figure.state)
        found[reading.name] = values[figure.key].value
    return found


def value_at(measurement: Measurement, band: Band) -> float:
    """The figure of a band as it was measured, in the program's unit."""
    return _values(measurement, band.figure)[band.seat]


def range_words(value: float, band: Band) -> str:
    """The band's ends in the figure's unit."""
    low, high = (brief(in_unit(value * end.value, band.figure.unit)) for end in (band.low, band.high))
    return low if low == high else f"{low} to {high}"


def limits_words(limits: Mapping[Group, Limits]) -> str:
    """The tolerances as they were given; what is known exactly is not named."""
    words = []
    for group, each in limits.items():
        low, high = each.low, each.high
        if low.value == high.value == 0.0:
            continue
        if low.value == -high.value and low.unit == high.unit:
            words.append(f"{group} ± {high.value:g}{_UNIT[high.unit]}")
        else:
            words.append(f"{group} {low.value:g} to {high.value:g}{_UNIT[high.unit or low.unit]}")
    return ", ".join(words)


def odds_words(odds: FabricOdds) -> str:
    """Whether the best fabric stays the best, in a sentence or two."""
    stays = 100.0 * odds.stays.value
    if stays > 99.5:
        return f"Of {odds.looked_at} fabrics {odds.best} is best here, and stays so throughout."
    others = ", ".join(f"{name} in {100 * share:.0f}" for name, share in odds.others[:3] if share >= 0.005)
    decides = min(odds.alone, key=lambda group: odds.alone[group], default=None)
    what = f" What decides is the {decides}." if decides is not None and odds.alone[decides] < 0.995 else ""
    return f"Of {odds.looked_at} fabrics {odds.best} is best here, and stays so in {stays:.0f} of 100 such rooms; else {others}.{what}"


def tolerances_document(sure: Sureness) -> dict[str, Any]:
    """All of it as plain dictionaries, lists and numbers; bands as factors of the figure, `of_rooms_below` which share lies below."""
    return {
        "limits": {group.value: {"low": _amount(each.low.value, each.low.unit), "high": _amount(each.high.value, each.high.unit)}
                   for group, each in sure.limits.items()},
        "uncertain": [
            {"name": each.name, "kind": each.group.value, "target": each.target, "value": each.value, "spread": each.kind,
             "low": each.low, "high": each.high, "scale": "relative" if each.ratio else "difference"}
            for each in sure.uncertain
        ],
        "left_out": [{"name": name, "why": why} for name, why in sure.left_out],
        "of_rooms_below": list(ENDS),
        "bands": [
            {"seat": band.seat, "state": band.figure.state, "figure": band.figure.key, "low_ratio": _estimate(band.low),
             "high_ratio": _estimate(band.high), "first_order_indices": [_estimate(share) for share in band.shares]}
            for band in sure.bands
        ],
        "fabric": None if sure.odds is None else _odds(sure.odds),
    }  # fmt: skip


def _odds(odds: FabricOdds) -> dict[str, Any]:
    return {
        "best": odds.best,
        "stays": _estimate(odds.stays),
        "others": [{"fabric": name, "share": share} for name, share in odds.others],
        "stays_where_one_kind_alone_is_uncertain": {group.value: share for group, share in odds.alone.items()},
        "looked_at": odds.looked_at,
    }


def _amount(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": {"": "the value's own", "%": "%", "m": "m"}[unit]}


def _estimate(value: Estimate) -> dict[str, float]:
    return {"value": value.value, "standard_error": value.standard_error}
