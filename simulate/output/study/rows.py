"""The tidy table of a study, written as it is read, so that its length costs no memory: CSV, or Parquet where pyarrow is installed."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import Any

from ...studies.outcome import StudyResult, StudyRow
from ..csv_text import csv_text

COLUMNS = ("seat", "state", "figure", "value", "standard_error", "bias_bound")
_AT_ONCE = 50_000  # rows
INSTALL = "pip install 'halfgain[parquet]'"


def header(result: StudyResult) -> list[str]:
    """Names of the columns: the variant's number, a column a factor, where, which figure, value and error in its unit."""
    return ["variant", *result.factors, *COLUMNS]


def write_csv(result: StudyResult, path: Path) -> None:
    """The table as CSV. Source: RFC 4180, see csv_text.py."""
    with path.open("w", encoding="utf-8", newline="") as file:
        file.write(csv_text([header(result)]))
        for rows in _batches(result):
            file.write(csv_text(_cells(rows)))


def write_parquet(result: StudyResult, path: Path) -> None:
    """The table as Parquet: factors of numbers alone as numbers, of names as text. raises ImportError without pyarrow"""
    arrow, parquet = arrow_or_why()
    numbers = numeric_factors(result)
    kinds = [arrow.float64() if number else arrow.string() for number in numbers]
    text = arrow.dictionary(arrow.int32(), arrow.string())
    types = [arrow.int64(), *kinds, text, text, text, arrow.float64(), arrow.float64(), arrow.float64()]
    schema = arrow.schema(list(zip(header(result), types, strict=True)))
    with parquet.ParquetWriter(str(path), schema) as writer:
        for rows in _batches(result):
            columns = list(zip(*_cells(rows), strict=True))
            for i, number in enumerate(numbers):
                columns[1 + i] = columns[1 + i] if number else tuple(_text(each) for each in columns[1 + i])
            arrays = [arrow.array(column, type=kind) for column, kind in zip(columns, types, strict=True)]
            writer.write_table(arrow.Table.from_arrays(arrays, schema=schema))


def arrow_or_why() -> tuple[Any, Any]:
    """pyarrow and its Parquet part. raises ImportError that says how to get it"""
    try:
        import pyarrow
        from pyarrow import parquet
    except ImportError:
        raise ImportError(f"Parquet needs pyarrow: {INSTALL}; CSV needs nothing") from None
    return pyarrow, parquet


def numeric_factors(result: StudyResult) -> list[bool]:
    """Whether a factor's column holds numbers alone."""
    from ...studies.factors import LevelFactor

    return [
        all(isinstance(each, float) for each in factor.shown) if isinstance(factor, LevelFactor) else True
        for factor in result.plan.study.factors
    ]


def _text(value: float | str) -> str:
    return f"{value:g}" if isinstance(value, float) else value


def _batches(result: StudyResult) -> Iterator[list[StudyRow]]:
    rows = result.rows()
    while batch := list(islice(rows, _AT_ONCE)):
        yield batch


def _cells(rows: list[StudyRow]) -> list[list[Any]]:
    return [[row.variant, *row.factors, row.seat, row.state, row.figure, *row.value] for row in rows]
