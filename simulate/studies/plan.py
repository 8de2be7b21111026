"""The plan of a study: which variants share light paths, in which order they run, and what that costs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.fabric import Fabric
from ...materials.finish import Finish
from ...materials.library import Library, load_library
from ...scenes.changes import Change
from ..measuring.solver import survival_for
from .factors import SpreadFactor
from .job import Carried, Job, JobAsk, Task, code_digest, content_key
from .moves import Moves, lowered, moves_of
from .part import Done
from .study import SCENE, Study, StudyVariant

PART = 64  # variants a job; small enough to lose, large enough that sending it costs nothing


class Counts(NamedTuple):
    """How much is to be made anew: geometries traced, places of seats and lens mapped, fabrics put in, variants read."""

    paths: int
    places: int
    fabrics: int
    variants: int


class Piece(NamedTuple):
    """What the plan hands out next: a job, or a variant that is known already, or cannot be, or is one already handed out."""

    job: Job | None = None
    known: tuple[int, str] | None = None  # number, key of the content that is kept
    same: tuple[int, int] | None = None  # number, number of the variant it equals
    failed: Done | None = None


@dataclass(frozen=True)
class StudyPlan:
    """A study in the order in which it runs.

    matrix  of the design, (variants, factors);  order (variants,) places in it, so that what is dear is made once
    moves   what each factor moves
    """

    study: Study
    matrix: np.ndarray
    order: np.ndarray
    moves: tuple[Moves, ...]
    ask: JobAsk
    carried: tuple[Carried, ...]

    @cached_property
    def counts(self) -> Counts:
        """What has to be made, before variants with the same contents are found."""
        kinds = []
        for least in (Moves.PATHS, Moves.PLACES, Moves.FABRIC):
            columns = self._columns(least)
            kinds.append(len(np.unique(self.matrix[:, columns], axis=0)) if columns else 1)
        return Counts(kinds[0], kinds[1], kinds[2], len(self.matrix))

    def _columns(self, least: Moves) -> list[int]:
        scene = [0] if len(self.study.bases) > 1 else []
        return [i for i, moves in enumerate(self.moves) if moves >= least or i in scene]

    def reference(self, variant: StudyVariant, row: np.ndarray) -> tuple[Change, ...]:
        """Changes of the scene whose light paths answer a variant: those of factors that move paths."""
        columns = self._columns(Moves.PATHS)
        base = self.study.bases[variant.base]
        changes: list[Change] = []
        order = sorted(columns, key=lambda i: isinstance(self.study.factors[i], SpreadFactor))
        for i in order:
            changes += self.study.factors[i].made(float(row[i]), base.document.scene, base.library, changes).changes
        return tuple(changes)

    def pieces(self, known: Mapping[str, object]) -> Iterator[Piece]:
        """All variants in the plan's order, as jobs of at most PART of one geometry; known: content keys that are kept."""
        seen: dict[bytes, int] = {}
        waiting: list[Task] = []
        last: tuple[int, tuple[Change, ...]] | None = None
        for place in self.order:
            number, row = int(place) + 1, self.matrix[place]
            try:
                variant = self.study.variant(number, row)
                reference = self.reference(variant, row)
            except ValueError as fault:
                yield Piece(failed=Done(number, "", failed=f"{self.study.name}: {fault}"))
                continue
            base = self.carried[variant.base]
            changes, reference = self.travelling(variant, variant.changes), self.travelling(variant, reference)
            key = content_key(base, changes, reference, self.ask)
            first = seen.setdefault(bytes.fromhex(key), number)
            if first != number:
                yield Piece(same=(number, first))
                continue
            if key in known:
                yield Piece(known=(number, key))
                continue
            where = (variant.base, reference)
            if last is not None and waiting and (last != where or len(waiting) == PART):
                yield Piece(job=self.job(*last, tuple(waiting)))
                waiting = []
            last = where
            waiting.append(Task(number, key, changes))
        if last is not None and waiting:
            yield Piece(job=self.job(*last, tuple(waiting)))

    def travelling(self, variant: StudyVariant, changes: tuple[Change, ...]) -> tuple[Change, ...]:
        """Changes of a variant as they are sent: with the materials of the scene's own libraries in them."""
        return _carried_changes(changes, self.study.bases[variant.base].library)

    def job(self, base: int, reference: tuple[Change, ...], tasks: tuple[Task, ...]) -> Job:
        """Tasks of one geometry as a job."""
        return Job(self.carried[base], reference, self.ask, tasks)


def plan_of(study: Study) -> StudyPlan:
    """The plan of a study: what each factor moves, by trial, and the order that follows; no light is traced."""
    moves, survival = [], 0.0
    for factor in study.factors:
        if factor.name == SCENE and len(study.bases) > 1 and factor is study.factors[0]:
            moves.append(Moves.PATHS)
            continue
        found = [moves_of(factor, base) for base in study.bases]
        moves.append(max(each.moves for each in found))
        survival = max(survival, *(each.survival for each in found))
    if not survival:
        survival = max(survival_for(lowered(base.document.scene).arrays.reflectance) for base in study.bases)
    matrix = study.matrix()
    dearest = sorted(range(len(moves)), key=lambda i: (-moves[i], i))
    order = np.lexsort([matrix[:, i] for i in reversed(dearest)]) if dearest else np.arange(len(matrix))
    ask = JobAsk(study.outputs, study.states, study.error, study.seed, survival, code_digest())
    carried = tuple(
        _carried(
            base.document.table, base.document.name, str(base.document.folder.resolve()), base.library, base.document.scene.digest
        )
        for base in study.bases
    )
    return StudyPlan(study, matrix, order, tuple(moves), ask, carried)


def _carried(table: Mapping[str, object], name: str, folder: str, library: Library, digest: str) -> Carried:
    """A scene's file with the materials of its own libraries in it, so that it can be loaded where those files are not."""
    own = {key: value for key, value in table.items() if key != "libraries"}
    if "libraries" in table:
        own = {key: _with_materials(value, (key,), library) for key, value in own.items()}
    return Carried(own, name, folder, digest)


def _carried_changes(changes: tuple[Change, ...], library: Library) -> tuple[Change, ...]:
    if library is load_library():
        return changes
    return tuple(replace(change, value=_with_materials(change.value, change.path, library)) for change in changes)


def _with_materials(value: object, path: tuple[str, ...], library: Library) -> object:
    """A value with names of the scene's own libraries replaced by what they name, where a material belongs."""
    if isinstance(value, str):
        return _material(value, path, library)
    if isinstance(value, Mapping):
        return {key: _with_materials(item, (*path, key), library) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_with_materials(item, path, library) for item in value]
    return value


def _material(name: str, path: tuple[str, ...], library: Library) -> str | Fabric | Finish:
    built_in = load_library()
    if path == ("screen", "fabric"):
        found: Fabric | Finish | None = library.fabrics.get(name) if name in library.fabrics else None
        return name if found is None or (name in built_in.fabrics and found is built_in.fabrics[name]) else found
    if path[-1] in ("finish", "border_finish") or path[:2] == ("room", "finish"):
        found = library.finishes.get(name)
        return name if found is None or found is built_in.finishes.get(name) else found
    return name
