"""A study as a tidy frame, and as arrays with the factors along the variants."""

from __future__ import annotations

from typing import Any

import numpy as np

from ...measuring.estimate import jackknife_error
from ...measuring.quantities import BY_KEY
from ...studies.outcome import StudyResult
from .rows import header, numeric_factors


def study_frame(result: StudyResult, pandas: Any) -> Any:
    """One row a variant, seat, light state and figure; the columns of results.csv."""
    rows = [(row.variant, *row.factors, row.seat, row.state, row.figure, *row.value) for row in result.rows()]
    return pandas.DataFrame(rows, columns=header(result)).sort_values("variant", kind="stable", ignore_index=True)


def study_arrays(result: StudyResult, xarray: Any) -> Any:
    """A Dataset: each figure over variant, seat and state, with NAME_standard_error and NAME_bias_bound; factors along `variant`.

    A full grid unfolds by `set_index(variant=[...]).unstack("variant")`.
    """
    labels = result.labels()
    seats, states = (list(dict.fromkeys(getattr(row, part) for row in labels)) for part in ("seat", "state"))
    shape = (len(result.keys), len(seats), len(states))
    data: dict[str, Any] = {}
    for key in result.plan.study.outputs:
        found = np.full((3, *shape), np.nan)
        for row in (row for row in labels if row.key == key):
            stack = result.figure(row).T  # (R + 2, variants)
            at = seats.index(row.seat), states.index(row.state)
            found[0, :, at[0], at[1]] = stack[0]
            found[1, :, at[0], at[1]] = jackknife_error(stack)
            found[2, :, at[0], at[1]] = np.abs(stack[0] - stack[-1])
        quantity = BY_KEY[key]
        attributes = {"units": "1" if quantity.unit in ("%", ":1", "") else quantity.unit, "long_name": quantity.title}
        for name, part in (("", 0), ("_standard_error", 1), ("_bias_bound", 2)):
            data[key + name] = (("variant", "seat", "state"), found[part], attributes)
    shown = result.shown()
    coordinates: dict[str, Any] = {"variant": np.arange(1, shape[0] + 1), "seat": seats, "state": states}
    for i, (name, number) in enumerate(zip(result.factors, numeric_factors(result), strict=True)):
        column = [each[i] for each in shown]
        values = (
            np.array([np.nan if each == "" else each for each in column], float) if number else [str(each) for each in column]
        )
        coordinates[name] = ("variant", values)
    about: dict[str, Any] = {"title": result.plan.study.title, "seed": result.plan.study.seed}
    return xarray.Dataset(data, coordinates, about)
