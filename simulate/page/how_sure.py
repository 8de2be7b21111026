"""The page's short block on how sure figures and advice are within tolerances."""

from __future__ import annotations

from typing import Any

from ..measuring.targets import DARK
from ..measuring.unit import in_unit
from ..output.measure.tolerances import is_band, limits_words, measure_first, odds_words, range_words, told, value_at
from ..output.units import TYPESET, brief
from .evidence import Evidence
from .tables import PageTable


def how_sure(evidence: Evidence) -> dict[str, Any] | None:
    """Limits, bands at the worst seats, what to measure and whether the advice stays, by the names that page.html has; None: not asked."""
    sure = evidence.sure
    if sure is None:
        return None
    rows = []
    for band in told(evidence.measurement, sure):
        if not is_band(band):
            continue
        value = value_at(evidence.measurement, band)
        unit = band.figure.unit
        title = band.figure.title if band.figure.state == DARK else f"{band.figure.title}, {band.figure.state}"
        hangs = sure.ranked(band)[0][0].name
        rows.append(
            (title, TYPESET.written(brief(in_unit(value, unit)), unit), TYPESET.written(range_words(value, band), unit), hangs)
        )
    return {
        "limits": limits_words(sure.limits),
        "table": PageTable("At the worst seat", ("figure", "here", "nine of ten rooms", "hangs most on"), tuple(rows)),
        "measure": ", ".join(measure_first(evidence.measurement, sure)),
        "odds": "" if sure.odds is None else odds_words(sure.odds),
    }
