"""The rows of the table of speeds: what was measured, beside what is aimed at."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from statistics import median, stdev
from typing import NamedTuple


class Figure(NamedTuple):
    """One row: value in `unit`, its standard error where one is known, and the aim where there is one.

    more_is_better  the aim is a least value, not a greatest
    """

    what: str
    value: float
    unit: str
    error: float | None = None
    aim: float | None = None
    more_is_better: bool = False

    @property
    def met(self) -> bool | None:
        """Whether the aim is met; None where there is none."""
        if self.aim is None:
            return None
        return self.value >= self.aim if self.more_is_better else self.value <= self.aim


def middle_of(
    what: str, samples: Sequence[float], unit: str, *, aim: float | None = None, more_is_better: bool = False
) -> Figure:
    """The median of some samples with its standard error; none is known of a single one.

    Source: a median's error is sqrt(pi / 2) that of a mean for many normal samples; on a busy machine noise is not normal.
    """
    error = math.sqrt(0.5 * math.pi / len(samples)) * stdev(samples) if len(samples) > 1 else None
    return Figure(what, median(samples), unit, error, aim, more_is_better)


def lines_of(figures: Iterable[Figure]) -> list[str]:
    """The rows as text, one line each."""
    return [_line(figure) for figure in figures]


def _line(figure: Figure) -> str:
    error = "" if figure.error is None else f"+- {_short(figure.error)}"
    aim = ""
    if figure.aim is not None:
        aim = f"aim {'>=' if figure.more_is_better else '<='} {figure.aim:g}{'' if figure.met else '  not met'}"
    return f"  {figure.what:52s} {_short(figure.value):>9s} {figure.unit:8s} {error:10s} {aim}".rstrip()


def _short(value: float) -> str:
    """Three significant digits, no exponent."""
    if value != 0.0 and abs(value) < 1000.0:
        return f"{value:.3g}"
    return f"{value:,.0f}"
