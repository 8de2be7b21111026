"""CSV text of rows, the one way for all tables: no cell starts a formula in a spreadsheet, numbers stay numbers."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

_STARTS_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\uff1d", "\uff0b", "\uff0d", "\uff20")  # the last four: full-width forms
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)


def csv_text(rows: Iterable[Sequence[object]]) -> str:
    """Rows as CSV text, the header first; text that a spreadsheet would run as a formula gets an apostrophe before it.

    Numbers, and text that is a number such as "-0.7", stay as they are.
    Source: RFC 4180, but one line feed ends a row; formulas: OWASP, "CSV injection" (from memory).
    """
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows([_harmless(cell) for cell in row] for row in rows)
    return text.getvalue()


def _harmless(cell: object) -> object:
    if not isinstance(cell, str):
        return cell
    plain = cell.replace("\r\n", "\n").replace("\r", "\n") if "\r" in cell else cell
    risky = cell.lstrip(" ").startswith(_STARTS_FORMULA) and not _NUMBER.fullmatch(cell)
    return f"'{plain}" if risky else plain
