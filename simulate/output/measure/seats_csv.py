"""seats.csv: one row a seat, light state and figure; seats-wide.csv: one row a seat and light state, one column a figure."""

from __future__ import annotations

import math

from ...measuring.measure import Measurement
from ...measuring.tidy import TidyRow, tidy_rows
from ..csv_text import csv_text

FIRST = ("seat", "state", "ambient_at_screen_lx")
COLUMNS = (*FIRST, "figure", "surface", "value", "value_standard_error", "value_bias_bound", "verdict")


def seats_csv(measurement: Measurement) -> str:
    """The readings as CSV text with a header; a figure's name ends in its unit. Source: `tidy_rows`."""
    return csv_text([COLUMNS, *(_cells(row) for row in tidy_rows(measurement))])


def seats_wide_csv(measurement: Measurement) -> str:
    """The same with a column a figure, and one for its standard error; a cell is empty where the state does not have the figure."""
    rows: dict[tuple[object, ...], dict[str, object]] = {}
    for row in tidy_rows(measurement):
        cells = rows.setdefault(row[: len(FIRST)], dict(zip(FIRST, row, strict=False)))
        name = f"{row.figure}[{row.surface}]" if row.surface else row.figure
        cells[name] = "" if row.value is None else _finite(row.value.value)
        if row.value is not None and row.value.standard_error:
            cells[f"{name}_standard_error"] = _finite(row.value.standard_error)
        if row.verdict:
            cells[f"{name}_verdict"] = row.verdict
    columns = list(dict.fromkeys(column for cells in rows.values() for column in cells))
    return csv_text([columns, *([cells.get(column, "") for column in columns] for cells in rows.values())])


def _cells(row: TidyRow) -> list[object]:
    numbers = ("", "", "") if row.value is None else tuple(_finite(part) for part in row.value)
    return [row.seat, row.state, row.ambient_at_screen_lx, row.figure, row.surface, *numbers, row.verdict]


def _finite(value: float) -> str | float:
    """Empty for what is not a number or has no end, as null is in measure.json."""
    return float(value) if math.isfinite(value) else ""
