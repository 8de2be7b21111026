"""check.csv: one row a reading, promised beside measured and explained."""

from __future__ import annotations

from ...commissioning.check import Check
from ..csv_text import csv_text

COLUMNS = (
    "picture",
    "place",
    "seat",
    "light",
    "unit",
    "predicted",
    "predicted_standard_uncertainty",
    "measured",
    "measured_standard_uncertainty",
    "en_score",
    "agrees",
    "explained",
    "explained_standard_uncertainty",
    "agrees_with_estimates",
    "doubted",
)


def check_csv(check: Check) -> str:
    """The readings in their order as CSV text with a header; values in the row's unit. Source: `Compared`."""
    rows: list[list[object]] = [list(COLUMNS)]
    for each in check.compared:
        reading = each.reading
        rows.append([
            reading.shown.value,
            reading.place,
            reading.seat,
            reading.light,
            reading.unit,
            each.predicted,
            each.predicted_uncertainty,
            reading.value,
            each.uncertainty,
            each.score,
            each.agrees,
            each.explained,
            each.explained_uncertainty,
            each.agrees_after,
            each.doubted,
        ])  # fmt: skip
    return csv_text(rows)
