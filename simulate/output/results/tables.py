"""Results as tables of a notebook, in HTML."""

from __future__ import annotations

from functools import singledispatch
from typing import Any

from ...choices.comparison import Comparison
from ...commissioning.check import Check
from ...measuring.measure import Measurement
from ...measuring.quantities import QUANTITIES
from ...measuring.unit import in_unit
from ...ordering.order import Order
from ...placing.placement import Placement
from ..units import PLAIN, figure, spread

_SHOWN = ("white_cd_m2", "uniformity_ratio", "black_cd_m2", "checkerboard_ratio", "washout_cd_m2")


@singledispatch
def html(result: Any) -> str:
    """A table for a notebook."""
    from markupsafe import escape

    return f"<code>{escape(repr(result))}</code>"


@html.register(Measurement)
def _(result: Measurement) -> str:
    shown = [quantity for quantity in QUANTITIES if quantity.key in _SHOWN]
    heads = ["seat", *(f"{quantity.title} [{PLAIN.sign(quantity.unit)}]" for quantity in shown)]
    heads += [f"checkerboard, {light.name} [:1]" for light in result.scene.lights]
    rows = []
    for reading in result.seats:
        cells = [_cell(reading.values[quantity.key], quantity.unit) for quantity in shown]
        rows.append([reading.name, *cells, *(_cell(state.checkerboard, ":1") for state in reading.states)])
    screen = result.scene.screen
    words = f"{result.scene.title}: {screen.fabric.name}, {screen.hang}; {result.paths:,} light paths, seed {result.seed}"
    return _table(words, heads, rows)


@html.register(Comparison)
def _(result: Comparison) -> str:
    heads = ["variant", "seat", "figure", "value", "difference [%]"]
    rows = [
        [
            variant.label,
            each.seat,
            f"{each.figure.title}, {each.figure.state}",
            _cell(each.value, each.figure.unit),
            figure(100 * each.relative.value) if each.found else "none found",
        ]
        for variant, found in zip(result.variants, result.differences, strict=True)
        for each in found
    ]
    return _table(f"{result.variants[0].scene.title}: differences from {result.variants[0].label}", heads, rows)


@html.register(Check)
def _(result: Check) -> str:
    from ..check import words

    heads = ["reading", "promised", "measured", "agrees"]
    rows = [
        [
            each.reading.name,
            *(PLAIN.of(x, each.reading.unit) for x in (each.predicted, each.reading.value)),
            "yes" if each.agrees else "no",
        ]
        for each in result.compared
    ]
    return _table(" ".join([f"{result.scene.title}:", words.headline(result), *words.findings(result)]), heads, rows)


@html.register(Order)
def _(result: Order) -> str:
    from ..order.words import projector_rows, screen_rows

    rows = [[name, words] for name, words in (*screen_rows(result), *projector_rows(result))]
    return _table(f"{result.scene.title}: to order and to mount", ["", ""], rows)


@html.register(Placement)
def _(result: Placement) -> str:
    from ..place.words import ends_words, named_ranges, span

    heads = ["length", "now [m]", "serves", "set by"]
    rows = [
        [title, figure(each.now_m), span(each.low_m, each.high_m), ends_words(each, result.scene)]
        for title, each in named_ranges(result)
    ]
    return _table(f"{result.scene.title}: what may stand where", heads, rows)


def _cell(value: Any, unit: str) -> str:
    error = spread(in_unit(value.standard_error, unit))
    return figure(in_unit(value.value, unit)) + (f" ± {error}" if error else "")


def _table(caption: str, heads: list[str], rows: list[list[str]]) -> str:
    from markupsafe import escape

    head = "".join(f"<th>{escape(each)}</th>" for each in heads)
    body = "".join("<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return f"<table><caption>{escape(caption)}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
