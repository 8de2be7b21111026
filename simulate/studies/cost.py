"""What a study costs: a few variants timed before it runs, and the plan's counts times that."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from .job import Task, content_key
from .moves import Moves
from .plan import Counts, StudyPlan
from .work import run_job

MOST_FAILED = 5  # variants looked at for one that has figures
_ROUGH = 0.5  # a relative error [1] that the fewest paths meet


class Cost(NamedTuple):
    """Seconds of one worker [s]: light paths of a geometry, a map of moved seats or lens, a fabric put in, and reading a variant."""

    paths: float
    places: float
    fabric: float
    variant: float

    def of(self, counts: Counts) -> float:
        """Seconds of one worker for all of it [s]. Source: each thing is made once, by the plan's order."""
        places, fabrics = counts.places - counts.paths, counts.fabrics - counts.places
        return self.paths * counts.paths + self.places * places + self.fabric * fabrics + self.variant * counts.variants


def measured_cost(plan: StudyPlan) -> Cost | None:
    """Cost on this machine, from variants of the plan's first geometry; None where the first few cannot be."""
    for place in plan.order[:MOST_FAILED]:
        _timed(plan, int(place), _ROUGH)  # loads or compiles what is done once a process, on few paths
        first = _timed(plan, int(place))
        if not first:
            continue
        variant = min(filter(None, (_timed(plan, at) for at in _alike(plan, int(place), None))), default=0.0)
        steps = {
            moves: max(
                0.0, min(filter(None, (_timed(plan, at) for at in _alike(plan, int(place), moves))), default=0.0) - variant
            )
            for moves in (Moves.PLACES, Moves.FABRIC)
        }
        if variant == 0.0:  # nothing but new geometries: reading is part of their cost
            return Cost(first, steps[Moves.PLACES], steps[Moves.FABRIC], 0.0)
        return Cost(max(0.0, first - variant), steps[Moves.PLACES], steps[Moves.FABRIC], variant)
    return None


def _timed(plan: StudyPlan, place: int, error: float | None = None) -> float:
    """Seconds that one variant takes [s], to this relative error [1], that of the study where none is given; 0 where it failed."""
    row = plan.matrix[place]
    try:
        variant = plan.study.variant(place + 1, row)
        reference = plan.reference(variant, row)
    except ValueError:
        return 0.0
    carried = plan.carried[variant.base]
    changes, reference = plan.travelling(variant, variant.changes), plan.travelling(variant, reference)
    job = plan.job(variant.base, reference, (Task(place + 1, content_key(carried, changes, reference, plan.ask), changes),))
    if error is not None:
        job = replace(job, ask=replace(job.ask, error=error))
    began = time.perf_counter()
    part = run_job(job)
    return 0.0 if part.failed else time.perf_counter() - began


def _alike(plan: StudyPlan, place: int, differing: Moves | None) -> Iterator[int]:
    """Up to two other variants that differ from this one in paint alone, or in what moves so much and no more."""
    moves = np.array(plan.moves)
    same = moves > (Moves.PAINT if differing is None else differing)
    other = np.zeros(len(moves), bool) if differing is None else moves == differing
    here = plan.matrix[place]
    matches = (plan.matrix[:, same] == here[same]).all(axis=1)
    if differing is not None:
        matches &= (plan.matrix[:, other] != here[other]).any(axis=1)
    matches[place] = False
    yield from (int(found) for found in np.flatnonzero(matches)[:2])
