"""Ledgers that answer the variants of one geometry: how many paths and of which kind follows from the geometry alone, never from who asked."""

from __future__ import annotations

import math
import threading
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from ...scenes.changes import Change
from ...scenes.digest import digest_of
from ...scenes.model import Scene
from ..answers.answers import Answers
from ..measuring.flatten import SceneArrays, flatten
from ..measuring.solver import MOST_PATHS, map_cells, survival_for
from .job import JobAsk
from .outputs import OutputRow, Read, read, rows_of, worst_error
from .paints import repainted

FIRST_PATHS = 32  # a replication and start
MOST_PLACES = 3  # stages kept for moved seats or lens


class LedgerFigures(NamedTuple):
    """A variant's rows and figures, the paths they were read from, and whether they met the asked error."""

    rows: tuple[OutputRow, ...]
    read: Read
    paths: int
    met: bool


class Ledgers:
    """Answers for variants of one geometry, each a pure function of the variant, of `reference` and of `ask`.

    reference  the scene whose paths are traced: as many as bring its own figures well under the asked error, so that variants away
               from it mostly need no others; a variant that does need more gets them on paths of its own count
    """

    def __init__(self, reference: Scene, ask: JobAsk) -> None:
        self.reference, self.ask = reference, ask
        self._arrays = flatten(reference)
        self._cloth = _cloth_digest(reference)
        self._traced: dict[tuple[int, float], Answers] = {}
        self._moved: OrderedDict[Any, Answers] = OrderedDict()
        self._lock = threading.Lock()
        self._first = self._first_paths()

    def _first_paths(self) -> int:
        """As many as bring the reference a factor of sqrt(2) under the asked error, which is what twice as many would."""
        rows, paths = rows_of(self.reference, self.ask.outputs, self.ask.states), FIRST_PATHS
        survival, enough = self._survival(self._arrays), self.ask.error / math.sqrt(2.0)
        while worst_error(read(self._at(paths, survival), rows), rows, self.ask.error) > enough and 2 * paths <= MOST_PATHS:
            self._traced.clear()  # the fewer paths serve nobody else
            paths *= 2
        return paths

    def _survival(self, arrays: SceneArrays) -> float:
        return max(self.ask.survival, survival_for(arrays.reflectance))

    def _at(self, paths: int, survival: float) -> Answers:
        """Answers for the reference on this many paths a replication and start."""
        known = self._traced.get((paths, survival))
        if known is None:
            cells = map_cells(self.ask.error)
            known = Answers.of(self.reference, seed=self.ask.seed, paths=paths, survival=survival, cells=cells)
            self._traced[paths, survival] = known
        return known

    def repainted(self, changes: Sequence[Change]) -> LedgerFigures | None:
        """The same for a variant that only repaints or dims the reference, by what it changes of it; None for any other."""
        first = repainted(self._at(self._first, self._survival(self._arrays)), changes)
        if first is None:
            return None
        survival = self._survival(first.arrays)
        return self._until_met(
            first.scene, lambda paths: replace(self._at(paths, survival), scene=first.scene, arrays=first.arrays)
        )

    def figures(self, scene: Scene) -> LedgerFigures:
        """Figures of a variant. raises LedgerError where it has other paths than the reference, FloatingPointError"""
        arrays = self._lowered(scene)
        survival = self._survival(arrays)
        return self._until_met(scene, lambda paths: self._serving(scene, arrays, paths, survival))

    def _until_met(self, scene: Scene, answers_on: Callable[[int], Answers]) -> LedgerFigures:
        """Figures on as many paths as meet the asked error, from the reference's number on, by doubling."""
        rows, paths = rows_of(scene, self.ask.outputs, self.ask.states), self._first
        while True:
            answers = answers_on(paths)
            found = read(answers, rows)
            met = worst_error(found, rows, self.ask.error) <= self.ask.error
            if met or 2 * paths > MOST_PATHS:
                return LedgerFigures(rows, found, answers.stage.kept.paths, met)
            paths *= 2

    def _lowered(self, scene: Scene) -> SceneArrays:
        """Arrays of a variant; a folded cloth that lies as the reference's is not made into a mesh again."""
        if self._arrays.geometry.relief and _same_room(scene, self.reference) and _cloth_digest(scene) == self._cloth:
            return flatten(scene, geometry=self._arrays.geometry)
        return flatten(scene)

    def _serving(self, scene: Scene, arrays: SceneArrays, paths: int, survival: float) -> Answers:
        base = self._at(paths, survival)
        same = _same_room(scene, self.reference) and _cloth_digest(scene) == self._cloth
        if same and _same_places(arrays, base.arrays):
            return replace(base, scene=scene, arrays=arrays)
        key = (paths, survival, arrays.eyes.tobytes(), arrays.projector.lens.tobytes(), same)
        with self._lock:
            known = self._moved.get(key)
            if known is not None:
                self._moved.move_to_end(key)
        if known is not None:
            return replace(known, scene=scene, arrays=arrays)
        moved = base.with_scene(scene)  # checks that the paths are this geometry's
        if same:
            with self._lock:
                self._moved[key] = moved
                while len(self._moved) > MOST_PLACES:
                    self._moved.popitem(last=False)
        return moved


def _same_places(one: SceneArrays, other: SceneArrays) -> bool:
    return (
        one.eyes.shape == other.eyes.shape
        and np.array_equal(one.eyes, other.eyes)
        and np.array_equal(one.projector.lens, other.projector.lens)
    )


def _same_room(one: Scene, other: Scene) -> bool:
    """True where walls, things, screen and raster stand alike; finishes, fabric, light, seats and lens may differ."""
    return _measures(one) == _measures(other)


def _measures(scene: Scene) -> Sequence[Any]:
    room, screen, projector = scene.room, scene.screen, scene.projector
    return (
        room.width_m, room.depth_m, room.height_m, [(box.name, box.min_m, box.max_m) for box in room.objects],
        digest_of((room.shell, [getattr(each, "mesh", None) for each in room.objects], [(part.name, part.on, part.span_m) for part in room.parts])),
        screen.width_m, screen.height_m, screen.bottom_m, screen.right_m, screen.gap_to_wall_m, screen.border_m, screen.hang,
        projector.pixels, projector.fit, projector.film,
    )  # fmt: skip


def _cloth_digest(scene: Scene) -> str:
    """Hash of the cloth as it lies."""
    return digest_of((scene.screen.drape, scene.screen.hang))
