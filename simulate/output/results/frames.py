"""Results as tidy pandas frames."""

from __future__ import annotations

from functools import singledispatch
from typing import TYPE_CHECKING, Any

import numpy as np

from ...choices.advice import Advice
from ...choices.comparison import Comparison
from ...commissioning.check import Check
from ...measuring.measure import Measurement
from ...measuring.tidy import tidy_rows
from ...placing.placement import Placement
from ...studies.outcome import StudyResult

if TYPE_CHECKING:
    import pandas

NOTEBOOK = "pip install 'halfgain[notebook]'"


def _pandas() -> Any:
    try:
        import pandas
    except ImportError:
        raise ImportError(f"to_frame needs pandas: {NOTEBOOK}") from None
    return pandas


@singledispatch
def to_frame(result: Any) -> pandas.DataFrame:
    """A tidy frame of a result. raises TypeError for what has none, ImportError where pandas is missing"""
    raise TypeError(f"{type(result).__name__} has no frame")


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

    from ..compare.csv import compare_csv

    return _pandas().read_csv(io.StringIO(compare_csv(result)))


@to_frame.register(Advice)
def _(result: Advice) -> pandas.DataFrame:
    import io

    from ..advise.document import advise_csv

    return _pandas().read_csv(io.StringIO(advise_csv(result)))


@to_frame.register(Placement)
def _(result: Placement) -> pandas.DataFrame:
    import io

    from ..place.document import place_csv

    return _pandas().read_csv(io.StringIO(place_csv(result)))


@to_frame.register(StudyResult)
def _(result: StudyResult) -> pandas.DataFrame:
    from ..study.frames import study_frame

    return study_frame(result, _pandas())


@to_frame.register(Check)
def _(result: Check) -> pandas.DataFrame:
    import io

    from ..check.csv import check_csv

    return _pandas().read_csv(io.StringIO(check_csv(result)), keep_default_na=False)
