"""How results tell themselves: plain data, frames, arrays, notebook tables and figures (see showing.py)."""

from __future__ import annotations

import math
from functools import singledispatch
from typing import TYPE_CHECKING, Any

import numpy as np

from ..choices.advice import Advice
from ..choices.comparison import Comparison
from ..commissioning.check import Check
from ..measuring.estimate import exact
from ..measuring.measure import Measurement
from ..measuring.quantities import LIT_ONLY, QUANTITIES, Quantity
from ..measuring.targets import DARK
from ..measuring.tidy import PLACE_FIGURES, tidy_rows
from ..measuring.unit import in_unit
from ..ordering.order import Order
from ..placing.placement import Placement
from ..studies.outcome import StudyResult
from .measure.document import to_json as json_text
from .units import PLAIN, figure, spread

if TYPE_CHECKING:
    import pandas
    import xarray

NOTEBOOK = "pip install 'halfgain[notebook]'"
_SHOWN = ("white_cd_m2", "uniformity_ratio", "black_cd_m2", "checkerboard_ratio", "washout_cd_m2")


@singledispatch
def to_dict(result: Any) -> dict[str, Any]:
    """The document of a result, as --json has it. raises TypeError for what has none"""
    raise TypeError(f"a {type(result).__name__} has no document")


@to_dict.register(Measurement)
def _(result: Measurement) -> dict[str, Any]:
    from .measure.document import document

    return document(result)


@to_dict.register(Comparison)
def _(result: Comparison) -> dict[str, Any]:
    from .compare.document import compare_document

    return compare_document(result, ())


@to_dict.register(Advice)
def _(result: Advice) -> dict[str, Any]:
    from .advise.document import advise_document

    return advise_document(result)


@to_dict.register(Order)
def _(result: Order) -> dict[str, Any]:
    from .order.document import order_document

    return order_document(result)


@to_dict.register(Placement)
def _(result: Placement) -> dict[str, Any]:
    from .place.document import place_document

    return place_document(result)


@to_dict.register(StudyResult)
def _(result: StudyResult) -> dict[str, Any]:
    from .study.document import study_document

    return study_document(result)


@to_dict.register(Check)
def _(result: Check) -> dict[str, Any]:
    from .check.document import check_document

    return check_document(result)


def to_json(result: Any) -> str:
    """The document of a result as JSON text."""
    return json_text(to_dict(result))


def _pandas() -> Any:
    try:
        import pandas
    except ImportError:
        raise ImportError(f"to_frame needs pandas: {NOTEBOOK}") from None
    return pandas


@singledispatch
def to_frame(result: Any) -> pandas.DataFrame:
    """A tidy frame of a result. raises TypeError for what has none, ImportError where pandas is missing"""
    raise TypeError(f"a {type(result).__name__} has no frame")


@to_frame.register(Measurement)
def _(result: Measurement) -> pandas.DataFrame:
    none = (np.nan, np.nan, np.nan)
    rows = [
        (
            row.seat,
            row.state,
            row.ambient_at_screen_lx,
            row.figure,
            row.surface,
            *(none if row.value is None else row.value),
            row.verdict,
        )
        for row in tidy_rows(result)
    ]
    columns = ["seat", "state", "ambient_at_screen_lx", "figure", "surface", "value", "standard_error", "bias_bound", "verdict"]
    return _pandas().DataFrame(rows, columns=columns)


@to_frame.register(Comparison)
def _(result: Comparison) -> pandas.DataFrame:
    import io

    from .compare.csv import compare_csv

    return _pandas().read_csv(io.StringIO(compare_csv(result)))


@to_frame.register(Advice)
def _(result: Advice) -> pandas.DataFrame:
    import io

    from .advise.document import advise_csv

    return _pandas().read_csv(io.StringIO(advise_csv(result)))


@to_frame.register(Placement)
def _(result: Placement) -> pandas.DataFrame:
    import io

    from .place.document import place_csv

    return _pandas().read_csv(io.StringIO(place_csv(result)))


@to_frame.register(StudyResult)
def _(result: StudyResult) -> pandas.DataFrame:
    from .study.frames import study_frame

    return study_frame(result, _pandas())


@to_frame.register(Check)
def _(result: Check) -> pandas.DataFrame:
    import io

    from .check.csv import check_csv

    return _pandas().read_csv(io.StringIO(check_csv(result)), keep_default_na=False)


@singledispatch
def to_xarray(result: Any) -> xarray.Dataset:
    """A Dataset of a result. raises TypeError for what has none, ImportError where xarray is missing"""
    raise TypeError(f"a {type(result).__name__} has no arrays")


def _xarray() -> Any:
    try:
        import xarray
    except ImportError:
        raise ImportError(f"to_xarray needs xarray: {NOTEBOOK}") from None
    return xarray


@to_xarray.register(StudyResult)
def _(result: StudyResult) -> xarray.Dataset:
    from .study.frames import study_arrays

    return study_arrays(result, _xarray())


@to_xarray.register(Measurement)
def _(result: Measurement) -> xarray.Dataset:
    """Dimensions seat, state, surface, replicate, row, column; units and titles as attributes. raises ImportError without xarray

    NAME_replicates holds the values that the errors come from: the mean, the means that leave one replication out, the mean without
    map extrapolation. A difference of two quantities, or of two measurements with the same seed, is made of them replicate by
    replicate and takes its own error from them (delete-one jackknife).
    """
    xarray = _xarray()
    states = [DARK, *(light.name for light in result.scene.lights)]
    data: dict[str, Any] = {}
    for quantity in (*QUANTITIES, *LIT_ONLY):
        _put_quantity(data, result, quantity)
    for place in PLACE_FIGURES:
        values = [getattr(each, place.field) for each in result.geometry]
        numbers = np.array([np.nan if value is None else value for value in values], float)
        data[place.key] = ("seat", numbers, {"units": _units(place.unit), "long_name": place.title})
    surfaces = list(result.seats[0].share)
    for name, part in (("", 0), ("_standard_error", 1), ("_bias_bound", 2)):
        shares = np.array([[reading.share[surface][part] for surface in surfaces] for reading in result.seats])
        data[f"washout_share_ratio{name}"] = (("seat", "surface"), shares, {"units": "1", "long_name": "share of the wash-out"})
    for name in ("white_cd_m2", "direct_cd_m2"):
        maps = np.stack([getattr(each, name) for each in result.maps])
        data[f"map_{name}"] = (("seat", "row", "column"), maps, {"units": "cd/m2", "long_name": "luminance over the picture"})
    coordinates = {"seat": [each.name for each in result.seats], "state": states, "surface": surfaces}
    attributes = {"title": result.scene.title, "scene_sha256": result.scene.sha256, "seed": result.seed, "paths": result.paths}
    return xarray.Dataset(data, coordinates, attributes)


def _units(unit: str) -> str:
    """The unit of the stored number: shares and ratios are plain."""
    return "1" if unit in ("%", ":1", "") else unit


def _put_quantity(data: dict[str, Any], result: Measurement, quantity: Quantity) -> None:
    """A quantity's values, errors and bounds, and its replicates where it has any; in all states where light changes it."""
    attributes = {"units": _units(quantity.unit), "long_name": quantity.title}
    lit, nothing = quantity.lit is not None, exact(math.nan)  # what only a light state has is no number in the dark
    found = np.array([
        [reading.values.get(quantity.key, nothing), *(state.values[quantity.key] for state in reading.states if lit)] for reading in result.seats
    ])  # fmt: skip  # (seat, state, 3)
    dims: Any = ("seat", "state") if lit else "seat"
    for name, part in (("", 0), ("_standard_error", 1), ("_bias_bound", 2)):
        data[quantity.key + name] = (dims, found[..., part] if lit else found[:, 0, part], attributes)
    stack = result.replicates.get(quantity.key)
    if stack is not None:
        dims = ("seat", "state", "replicate") if lit else ("seat", "replicate")
        data[f"{quantity.key}_replicates"] = (dims, stack if lit else stack[:, 0], attributes)


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
    from .check import words

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
    from .order.words import projector_rows, screen_rows

    rows = [[name, words] for name, words in (*screen_rows(result), *projector_rows(result))]
    return _table(f"{result.scene.title}: to order and to mount", ["", ""], rows)


@html.register(Placement)
def _(result: Placement) -> str:
    from .place.words import ends_words, named_ranges, span

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


@singledispatch
def plot(result: Any, **options: Any) -> Any:
    """A matplotlib figure of a result. raises TypeError for what has none"""
    raise TypeError(f"a {type(result).__name__} has no figure")


@plot.register(Measurement)
def _(result: Measurement, *, seat: str | int | None = None) -> Any:
    """The room in plan; with a seat, by name or place from 0, the white picture as it sees it."""
    from .measure.plan import plan_figure
    from .measure.screen_map import screen_figure

    if seat is None:
        return plan_figure(result)
    names = [reading.name for reading in result.seats]
    return screen_figure(result, names.index(seat) if isinstance(seat, str) else seat)


@plot.register(Order)
def _(result: Order) -> Any:
    """The screen on its wall as the seats see it."""
    from .order.front import front_figure

    return front_figure(result)


@plot.register(Placement)
def _(result: Placement) -> Any:
    """Plan and section to scale, with where the lens may stand."""
    from .place.chart import place_figure

    return place_figure(result)
