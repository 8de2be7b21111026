"""Sobol indices of a study that was drawn for them: for each combination of levels, each figure and each factor that was drawn."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from ..measuring.estimate import Estimate
from .factors import Shown
from .indices import sobol_indices
from .outcome import StudyResult
from .outputs import OutputRow

METHOD = "sobol indices"


class IndexRow(NamedTuple):
    """Indices of one figure by one factor.

    held  values of the factors with levels, in their order;  first, total  indices [1] with the standard error of sampling
    """

    held: tuple[Shown, ...]
    row: OutputRow
    factor: str
    first: Estimate
    total: Estimate


def has_indices(result: StudyResult) -> bool:
    """Whether a study was drawn so that indices follow."""
    study = result.plan.study
    return study.design.method == METHOD and bool(study.drawn)


def indices_of(result: StudyResult) -> Iterator[IndexRow]:
    """Indices of every figure; none for a combination of levels in which a variant failed, since its rows go together.

    Source: `sobol_indices`.
    """
    if not has_indices(result):
        return
    study = result.plan.study
    names = [result.factors[i] for i in study.drawn]
    held = [i for i in range(len(result.factors)) if i not in study.drawn]
    each = study.design.samples * (len(names) + 2)
    shown = result.shown()
    for row in result.labels():
        values = result.figure(row)[:, 0]
        for start in range(0, len(values), each):
            block = values[start : start + each]
            if not np.isfinite(block).all():
                continue
            found = sobol_indices(block, len(names))
            for name, first, total in zip(names, found.first, found.total, strict=True):
                yield IndexRow(tuple(shown[start][i] for i in held), row, name, first, total)
