"""Answers kept by geometry: what repaints, fabrics, lumens, lamps and seats are read from without new paths."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from ...scenes.model import Scene
from ..answers.answers import Answers
from ..measuring.solver import survival_for
from .figures import LiveFigures, figures_of
from .places import geometry_key, places_key, still_key

FIRST_PATHS = 16  # a replication and start: the first numbers of a new geometry
ENOUGH = 0.005  # relative standard error at which no more paths are traced [1]
MOST_PATHS = 1024
LIGHTEST = 0.85  # paths are traced for repaints up to this reflectance [1]
MOST_ROOMS = 4
_MOST_TOLD = 8


class Rooms:
    """The answers of the last geometries that were asked for; asked by one solver at a time."""

    def __init__(self, *, seed: int, threads: int) -> None:
        self.seed, self.threads = seed, threads
        self._kept: OrderedDict[str, Answers] = OrderedDict()
        self._told: OrderedDict[tuple[str, int], LiveFigures] = OrderedDict()

    def figures(self, scene: Scene) -> Iterator[LiveFigures]:
        """Figures of a scene, the first at once, then better ones until they are good enough.

        raises  FloatingPointError when a sum is not finite, LedgerError never: other geometries have answers of their own
        Source: doubling the paths, as `Answers.precise`.
        """
        key = geometry_key(scene)
        kept = self._kept.get(key)
        now = self._first(scene) if kept is None else kept if kept.scene.sha256 == scene.sha256 else moved(kept, scene)
        if now.fitting_survival() > now.stage.kept.survival:
            now = now.with_paths(FIRST_PATHS, survival=now.fitting_survival())
        while True:
            self._keep(key, now)
            paths = int(now.stage.ledger.paths[0])
            found = self._figures(now, paths)
            last = found.error <= ENOUGH or 2 * paths > MOST_PATHS
            yield found._replace(settled=last)
            if last:
                return
            now = now.with_paths(2 * paths)

    def _first(self, scene: Scene) -> Answers:
        reflectances = [finish.reflectance for finish in scene.room.finish.values()]
        survival = survival_for(np.array([LIGHTEST, *(part for each in reflectances for part in each)]))
        return Answers.of(scene, seed=self.seed, paths=FIRST_PATHS, survival=survival, threads=self.threads)

    def _figures(self, answers: Answers, paths: int) -> LiveFigures:
        """The figures of a scene by so many paths, read once while its seat, its picture and what else leaves them alone are changed."""
        key = answers.scene.sha256, paths
        if key not in self._told:
            self._told[key] = figures_of(answers)
        self._told.move_to_end(key)
        while len(self._told) > _MOST_TOLD:
            self._told.popitem(last=False)
        return self._told[key]

    def _keep(self, key: str, answers: Answers) -> None:
        self._kept[key] = answers
        self._kept.move_to_end(key)
        while len(self._kept) > MOST_ROOMS:
            self._kept.popitem(last=False)

    def __len__(self) -> int:
        return len(self._kept)


def moved(answers: Answers, scene: Scene) -> Answers:
    """Answers for another scene of the same geometry on the same paths.

    What changes no place (finishes, fabric, lumens, contrasts, lamps) is put in without lowering the scene again, which takes
    tens of milliseconds where cloth is folded. raises LedgerError where the geometry differs
    """
    old = answers.scene
    if still_key(old) != still_key(scene):
        return answers.with_scene(scene)
    if places_key(old) != places_key(scene):
        return answers.with_seats(scene)
    before = old.room.finishes
    paints = {name: finish for name, finish in scene.room.finishes.items() if finish != before[name]}
    if scene.screen.border_finish != old.screen.border_finish:
        paints["border"] = scene.screen.border_finish
    now = answers.with_finishes(paints) if paints else answers
    if scene.screen.fabric != old.screen.fabric:
        now = now.with_fabric(scene.screen.fabric)
    ratio = _lumens(scene) / _lumens(old)
    if ratio != 1.0:
        now = now.with_light_output(old.projector.light_output_lm * ratio)
    return replace(now, scene=scene)


def _lumens(scene: Scene) -> float:
    """Light output in use [lm]."""
    return scene.projector.light_output_lm * (1.0 if scene.projector.in_use is None else scene.projector.in_use)
