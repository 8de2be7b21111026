"""CSV, the one door to its reader: a text in, rows with their lines out, every fault with its place."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

MOST_CELLS = 1000  # of a row
MOST_LETTERS = 10_000  # of a cell


class NotCsv(Exception):
    """A text that is no CSV, with the line of the fault."""

    def __init__(self, message: str, line: int, allowed: str = "") -> None:
        super().__init__(message)
        self.line, self.allowed = line, allowed


def csv_rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """Line (from 1) and cells, blanks at their ends taken away, of every row that is not blank.

    raises  NotCsv at the first fault
    Source: RFC 4180.
    """
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    while True:
        try:
            row = next(reader, None)
        except csv.Error as fault:
            if "field limit" in str(fault):
                raise _too_long(reader.line_num) from None
            raise NotCsv("is not CSV: quotation marks that do not match", reader.line_num) from None
        if row is None:
            return
        if len(row) > MOST_CELLS:
            raise NotCsv(f"has {len(row)} cells in a row", reader.line_num, f"at most {MOST_CELLS}")
        if any(len(cell) > MOST_LETTERS for cell in row):
            raise _too_long(reader.line_num)
        cells = [cell.strip() for cell in row]
        if any(cells):
            yield reader.line_num, cells


def _too_long(line: int) -> NotCsv:
    return NotCsv("has a cell that is too long", line, f"at most {MOST_LETTERS} characters")
