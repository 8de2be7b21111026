"""One row of README's table of external checks."""

from __future__ import annotations

from typing import NamedTuple


class Check(NamedTuple):
    """One row: what, expected (words for a limit), got, standard error (0: no random number, or none known), source."""

    what: str
    expected: float | str
    got: float
    standard_error: float
    source: str
