"""compare.csv: one row a variant, seat, light state and figure, with its difference from the reference."""

from __future__ import annotations

from ...choices.comparison import Comparison
from ...choices.figures import seat_figures
from ...measuring.estimate import estimate
from ...measuring.targets import DARK
from ..csv_text import csv_text
from .folds_table import fold_rows

COLUMNS = (
    "variant",
    "seat",
    "state",
    "figure",
    "value",
    "value_standard_error",
    "value_bias_bound",
    "difference",
    "difference_standard_error",
    "difference_bias_bound",
    "relative_difference",
    "relative_difference_standard_error",
    "verdict",
)


def compare_csv(comparison: Comparison) -> str:
    """The comparison as CSV text with a header; the figure's name ends in its unit, which value and difference share.

    Columns for each choice follow the variant's name.
    Rows of folds, where a variant has any, hold the verdict on the value.
    Source: tidy data (Wickham 2014, J. Stat. Softw. 59(10)).
    """
    axes = [axis.name for axis in comparison.axes]
    folds = {variant.label: fold for variant, fold in zip(comparison.variants, comparison.folds, strict=bool(comparison.folds))}
    rows: list[list[object]] = [[COLUMNS[0], *(f"choice: {name}" for name in axes), *COLUMNS[1:]]]
    for variant, paired, found in zip(comparison.variants, comparison.paired, comparison.differences, strict=True):
        against = {(each.seat, each.figure): each for each in found}
        for i, seat in enumerate(variant.scene.seats):
            for figure, stack in seat_figures(paired.seats, i).items():
                value, each = estimate(stack), against.get((seat.name, figure))
                row: list[object] = [variant.label, *variant.picks, seat.name, figure.state, figure.key, *value]
                if each is not None:
                    verdict = "difference" if each.found else "no difference found"
                    row += [*each.absolute, each.relative.value, each.relative.standard_error, verdict]
                rows.append(row + [""] * (len(COLUMNS) + len(axes) - len(row)))
            for name, number, verdict in fold_rows(folds[variant.label], seat.name) if folds else ():
                row = [variant.label, *variant.picks, seat.name, DARK, name, number]
                rows.append([*row, *[""] * (len(COLUMNS) + len(axes) - len(row) - 1), verdict])
    return csv_text(rows)
