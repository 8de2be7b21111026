"""Variants that keep the geometry, answered from a kept ledger: no light path is traced unless the error asks for more."""

from __future__ import annotations

import time
from collections.abc import Sequence
from functools import partial
from pathlib import Path as FilePath

from ...materials.dataclass import dataclass
from ..answers.answers import Answers, Precise
from ..answers.geometry_match import differences, geometry_of
from ..answers.ledger_file import Kept, LedgerError, load
from ..measuring.flatten import flatten
from ..measuring.measure import Measurement
from ..measuring.readings import worst_error
from ..measuring.solver import MOST_PATHS, map_cells
from .together import Paired
from .variants import Variant

_MOST_TOLD = 3  # of what differs


@dataclass(frozen=True)
class LedgerUsed:
    """Which ledger answered, and in sentences what had to be traced anew; none: every figure comes from the file."""

    file: str
    retraced: tuple[str, ...]


def load_for(file: FilePath, variants: Sequence[Variant]) -> Kept:
    """The ledger of a file, checked against every variant.

    raises  LedgerError naming the first variant it cannot answer for and what differs: size, cloth's shape, room
    """
    kept = load(file)
    refused: dict[str, list[str]] = {}
    for variant in variants:
        found = differences(kept.geometry, geometry_of(variant.scene, flatten(variant.scene)))
        if found:
            refused[variant.label] = found
    if refused:
        label, found = next(iter(refused.items()))
        why = "; ".join(found[:_MOST_TOLD]) + (f"; and {len(found) - _MOST_TOLD} more" if len(found) > _MOST_TOLD else "")
        others = len(refused) - 1
        more = f", nor for {others} other variant{'s' if others > 1 else ''}" if others else ""
        advice = "a ledger keeps room, size and hang: leave --ledger out, or trace that scene"
        raise LedgerError(f'{file}: cannot answer for "{label}" ({why}){more}; {advice}')
    return kept


def answer_together(
    variants: Sequence[Variant],
    kept: Kept,
    *,
    where: str = "ledger",
    error: float = 0.01,
    threads: int = 1,
    most_paths: int = MOST_PATHS,
) -> tuple[list[Paired], LedgerUsed]:
    """Measurements of variants of one geometry, all from the same kept paths, so that differences are paired.

    error    asked relative standard error of each variant [1]; where the ledger falls short of it the paths are traced anew,
             for all variants together, with the ledger's own seed
    raises   LedgerError where a variant has another geometry
    Source: answers/answers.py; common random numbers as in together.py.
    """
    began = time.perf_counter()
    first = Answers.of(variants[0].scene, kept, where=where, cells=map_cells(error), threads=threads)
    answers = [first, *(first.with_scene(variant.scene) for variant in variants[1:])]
    order = sorted(range(len(answers)), key=lambda i: -answers[i].fitting_survival())  # the longest paths first
    said: list[str] = []
    found: dict[int, Precise] = {}
    stage = first.stage
    while True:
        new: list[str] = []
        for i in order:
            found[i] = answers[i].on(stage).precise(error, most_paths=most_paths)
            stage = found[i].answers.stage
            new += found[i].said
        said += new
        if not new:  # what one variant needs all take, so that differences stay paired: every one was looked at again
            break
    paired = [_paired(found[i], error, began) for i in range(len(answers))]
    return paired, LedgerUsed(where, tuple(said))


def _paired(found: Precise, error: float, began_s: float) -> Paired:
    reached = max(worst_error(reading, error) for reading in found.readings)
    spent = time.perf_counter() - began_s
    return Paired(found.seats, reached, reached <= error, partial(_measured, found, error, spent))


def _measured(found: Precise, error: float, spent_s: float) -> Measurement:
    return found.answers.measured(found.seats, found.readings, error, time.perf_counter() - spent_s)
