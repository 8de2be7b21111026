"""What a worker does with a job: a pure function, so that it does not matter where, when and beside what it runs."""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from pathlib import Path

from ...materials.text.error import Error
from ...scenes.errors import SceneErrors
from ...scenes.load import scene_from_document
from ...scenes.model import Document as SceneDocument
from ..answers.ledger_file import LedgerError
from ..choices.variants import VariantText, document_of_scene
from .job import Carried, Job, StudyError, Task, code_digest
from .ledgers import LedgerFigures, Ledgers
from .part import Done, StudyPart, part_of

MOST_LEDGERS, MOST_BASES = 2, 8  # kept for the next job: some hundred megabytes a ledger with all that is made of it
_lock = threading.Lock()
_ledgers: OrderedDict[str, Ledgers] = OrderedDict()
_bases: OrderedDict[str, VariantText] = OrderedDict()


def run_job(job: Job) -> StudyPart:
    """Figures of all variants of a job; what fails is told by variant and stops no other.

    raises  StudyError where this worker runs another version of the program, or reads other files than the study did
    """
    began = time.perf_counter()
    if job.ask.code != code_digest():
        raise StudyError("a worker runs another version of halfgain than this process: install the same one everywhere")
    base = _base(job.base)
    done = [_done(job, base, task) for task in job.tasks]
    return part_of(done, time.perf_counter() - began)


def _base(carried: Carried) -> VariantText:
    """The base scene, loaded once a worker. raises StudyError where it comes out otherwise than it was sent"""
    with _lock:
        known = _bases.get(carried.digest)
    if known is None:
        try:
            scene = scene_from_document(SceneDocument(carried.table, carried.name, Path(carried.folder)))
        except SceneErrors as fault:
            raise StudyError(f"a worker cannot load {carried.name}: {fault.errors[0]}") from None
        if scene.digest != carried.digest:
            raise StudyError(
                f"a worker loads another {carried.name} than was sent: its measured folds must be readable by all workers"
            )
        known = document_of_scene(scene)
        _keep(_bases, carried.digest, known, MOST_BASES)
    return known


def _keep(shelf: OrderedDict, key: str, thing: object, most: int) -> None:
    with _lock:
        shelf[key] = thing
        while len(shelf) > most:
            shelf.popitem(last=False)


def _done(job: Job, base: VariantText, task: Task) -> Done:
    """One variant: figures, or why it has none."""
    try:
        return Done(task.number, task.key, *_figures(job, base, task))
    except StudyError:
        raise
    except Error as fault:
        return Done(task.number, task.key, failed=str(fault))
    except Exception as fault:  # a fault of ours in one variant must not cost the others
        return Done(task.number, task.key, failed=f"a fault of the program: {type(fault).__name__}: {fault}")


def _figures(job: Job, base: VariantText, task: Task) -> LedgerFigures:
    ledgers = _ledgers_of(job, base, task)
    found = ledgers.repainted(task.changes[len(job.reference) :]) if task.changes[: len(job.reference)] == job.reference else None
    if found is not None:
        return found
    scene = base.with_changes(task.changes, f"variant {task.number}")
    try:
        return ledgers.figures(scene)
    except LedgerError:  # it moves paths that its factor was not seen to move: paths of its own
        return Ledgers(scene, job.ask).figures(scene)


def _ledgers_of(job: Job, base: VariantText, task: Task) -> Ledgers:
    """The ledgers of the job's geometry; where the geometry alone cannot be, those of the variant itself."""
    key = job.ledger_key
    with _lock:
        known = _ledgers.get(key)
        if known is not None:
            _ledgers.move_to_end(key)
            return known
    try:
        reference = base.with_changes(job.reference, "geometry")
    except SceneErrors:
        return Ledgers(base.with_changes(task.changes, f"variant {task.number}"), job.ask)
    known = Ledgers(reference, job.ask)
    _keep(_ledgers, key, known, MOST_LEDGERS)
    return known


def forget() -> None:
    """Drop what this process keeps between jobs."""
    with _lock:
        _ledgers.clear()
        _bases.clear()
