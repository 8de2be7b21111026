"""A ledger on the ground of its geometry: all that many answers share, made when first asked for."""

from __future__ import annotations

from collections.abc import Hashable
from functools import partial
from typing import Any

import numpy as np

from ...scenes.model import Scene
from ..light.lamphits import lamp_key
from ..light.ledger import Ledger
from ..light.patches import frozen
from ..light.projector import FALL_OFF
from ..light.spill import spilt_light
from ..light.walk import Finishes, Lighting
from ..measuring.estimate import REPLICATIONS, replicates
from ..measuring.flatten import SceneArrays, flatten
from ..measuring.lamp_sums import lamp_sums, lamps_on_hits, once_reflected
from ..measuring.lamps import key_of
from ..measuring.solver import MAP_CELLS, MeasuringPoints, survival_for, traced_pictures
from .geometry_match import geometry_of
from .ground import Ground
from .ledger_file import Kept, LedgerError, check, traced
from .passes import picture_matrix, slopes
from .repaint_kernel import repaint
from .shelf import Shelves
from .through_cloth import refuse_light_through
from .throughputs import Throughputs, first_places, make_facts

_MIB = 1 << 20


def _again(ground: Ground, where: str, kept: Kept) -> Session:
    """A stage as it was before it was pickled."""
    new = Session.__new__(Session)
    new._set(ground, where, kept)
    return new


class Session:
    """One geometry with one ledger, neither of which ever changes: every method is a pure function of its arguments.

    survival  of a fresh ledger, probability to go on after a hit [1]; None: what the scene's lightest finish asks for
    cells     cells of the wall map along an edge;  threads used by the kernels
    raises    LedgerError when the ledger does not belong to the scene, SceneErrors where light comes through its cloth

    May be asked from several threads at once. What it keeps is bounded by bytes, kind by kind (shelf.py).
    """

    def __init__(self, scene: Scene, kept: Kept | None = None, *, where: str = "ledger", seed: int = 1, paths: int = 64,
                 survival: float | None = None, cells: int = MAP_CELLS, threads: int = 1) -> None:  # fmt: skip
        refuse_light_through(scene)
        arrays = flatten(scene)
        ground = Ground(scene, arrays, cells=cells, threads=threads)
        if kept is not None:
            check(kept, arrays, ground.starts, ground.named, where)
        self._set(ground, where, kept or traced(
            arrays, ground.starts, ground.named, title=scene.title, seed=seed, paths=paths,
            survival=survival or survival_for(arrays.reflectance), threads=threads,
        ))  # fmt: skip

    def __reduce__(self) -> tuple[Any, ...]:
        return _again, (self.ground, self.where, self.kept)

    def _set(self, ground: Ground, where: str, kept: Kept) -> None:
        self.ground, self.where, self.kept = ground, where, kept
        self._of_ledger = Shelves(
            lux=64 * _MIB, once=32 * _MIB, spill=32 * _MIB, places=64 * _MIB, facts=96 * _MIB, matrix=64 * _MIB, weighed=32 * _MIB
        )

    @property
    def threads(self) -> int:
        """Threads used by the kernels."""
        return self.ground.threads

    @property
    def ledger(self) -> Ledger:
        """The paths in use."""
        return self.kept.ledger

    def with_ledger(self, kept: Kept) -> Session:
        """A new stage on the same ground with another ledger; raises LedgerError naming what differs."""
        check(kept, self.arrays, self.ground.starts, self.ground.named, self.where)
        new = Session.__new__(Session)
        new._set(self.ground, self.where, kept)
        return new

    def retraced(self, *, paths: int, survival: float) -> Session:
        """A new stage on the same ground, traced with more paths a replication and start, or another survival [1]."""
        kept = traced(
            self.arrays, self.ground.starts, self.ground.named, title=self.kept.title, seed=self.kept.seed, paths=paths,
            survival=survival, threads=self.threads,
        )  # fmt: skip
        return self.with_ledger(kept)

    @property
    def arrays(self) -> SceneArrays:
        """The first scene, lowered."""
        return self.ground.arrays

    def serving(self, scene: Scene, arrays: SceneArrays) -> Session:
        """This stage where the scene has its seats and its lens, else a new one with the same paths.

        arrays  the scene lowered;  raises  LedgerError naming what differs in the geometry
        """
        refuse_light_through(scene)
        check(self.kept, arrays, self.ground.starts, geometry_of(scene, arrays), self.where)
        same = np.array_equal(arrays.eyes, self.arrays.eyes) and np.array_equal(arrays.projector.lens, self.arrays.projector.lens)
        return self if same else Session(scene, self.kept, where=self.where, cells=self.ground.cells, threads=self.threads)

    def with_seats(self, scene: Scene, arrays: SceneArrays) -> Session:
        """This stage for a scene that differs in its seats, finishes and light alone, no head in the beam; arrays on this geometry."""
        new = Session.__new__(Session)
        new.__dict__.update(self.__dict__, ground=self.ground.with_seats(scene, arrays))
        new._of_ledger = self._of_ledger.with_new("facts", "matrix", "weighed")
        return new

    def facts(self, arrays: SceneArrays, points: MeasuringPoints, fabric: Hashable) -> Throughputs:
        """The ledger with a fabric put in, luminances [cd/m2] at the reference lumens. Source: `make_facts`."""
        ground, ledger = self.ground, self.ledger
        at, tint = ground.reference(arrays), np.asarray(arrays.fabric.tint)
        fall = arrays.projector.light[FALL_OFF]

        def make() -> Throughputs:
            spill = self._of_ledger.get(
                "spill", fall, lambda: spilt_light(at.geometry, at.projector, ledger, threads=self.threads)
            )
            beam = at.projector if at.geometry.relief else ()
            return make_facts(
                at.geometry, ground.starts, points.seats, ground.grid,
                Lighting(node_lx=ground.pictures(arrays, fabric), zone=traced_pictures(), beam=beam), at.fabric,
                tint if np.ptp(tint) else tint[:1], ledger, spill,
                self._of_ledger.get("places", None, partial(first_places, self.ground.grid.pool, ledger)), threads=self.threads,
            )  # fmt: skip

        return self._of_ledger.get("facts", (fabric, fall), make)

    def sums(self, facts: Throughputs, reflectance: np.ndarray, *, pooling: bool = False) -> np.ndarray:
        """Means (replications, 25, 1 or T, surfaces, 4, C) over paths [cd/m2], at the stage's lumens, before the last tint.

        reflectance  (surfaces, C) [1], the screen's row its tint
        pooling  paths share what they find beyond their first hits (repaint_kernel.py); False: each path for itself
        Source: `repaint`.
        """
        patches = int(self.ground.grid.pool.max()) + 1 if pooling else 0
        found = repaint(facts, reflectance, replications=REPLICATIONS, patches=patches, threads=self.threads)
        return (found / facts.paths[0]).reshape(REPLICATIONS, -1, *found.shape[1:])

    def lamps(
        self, arrays: SceneArrays, points: MeasuringPoints, fabric: Hashable, reflectance: np.ndarray, *, pooling: bool = False
    ) -> np.ndarray:
        """Means (replications, 25, T, surfaces, 4L, C) over paths of lamps at full output, rows as `lamp_sums` has them [cd/m2].

        reflectance  (surfaces, C) [1], the screen's row its tint;  pooling  as in `sums`
        """
        ground, ledger, threads = self.ground, self.ledger, self.threads
        cells, key, named = ground.lamp_cells(arrays), lamp_key(self.kept.seed, 0), key_of(arrays.lamps)
        lux = self._of_ledger.get("lux", named, lambda: lamps_on_hits(arrays, ledger, cells, key, threads=threads))
        once = self._of_ledger.get(
            "once",
            (fabric, arrays.eyes.tobytes(), named),
            lambda: once_reflected(arrays, ground.starts, points.seats, cells, key, replications=REPLICATIONS, threads=threads),
        )
        finishes = Finishes(np.ascontiguousarray(reflectance), np.ascontiguousarray(reflectance[-1]))
        pool_of = ground.grid.pool
        found = lamp_sums(
            arrays, ground.starts, points.seats, pool_of, finishes, ledger, key, lux, once, pooling=pooling, threads=threads
        )
        return (found / ledger.paths[0]).reshape(REPLICATIONS, -1, *found.shape[1:])

    def slope_sums(self, facts: Throughputs, reflectance: np.ndarray) -> np.ndarray:
        """d means / d ln reflectance, (replications, 25, 1 or T, surfaces, 2, C) [cd/m2]. Source: passes.slopes."""
        found = slopes(facts, reflectance, threads=self.threads) / facts.paths[0]
        return found.reshape(REPLICATIONS, -1, *found.shape[1:])

    def zone_matrix(self, arrays: SceneArrays, facts: Throughputs, fabric: Hashable, reflectance: np.ndarray) -> np.ndarray:
        """What each zone of the white picture sends back to each point and seat: (C, R + 2, 25, 1 or T, zones) [cd/m2]
        at the reference lumens, before the last tint.

        Source: the map's nodes weighed by the ledger (transpose of the walk), times the zone map.
        """
        key = (fabric, arrays.projector.light[FALL_OFF], reflectance.tobytes())
        return self._of_ledger.get("matrix", key, lambda: self._make_matrix(arrays, facts, fabric, reflectance))

    def weighed_matrix(
        self, arrays: SceneArrays, facts: Throughputs, fabric: Hashable, reflectance: np.ndarray, weights: np.ndarray
    ) -> np.ndarray:
        """The zone matrix's channels summed with weights (C,), (R + 2, 25, 1 or T, zones) [cd/m2].

        Source: luminance is linear in RGB.
        """
        key = (fabric, arrays.projector.light[FALL_OFF], reflectance.tobytes(), weights.tobytes())
        return self._of_ledger.get(
            "weighed", key, lambda: frozen(np.tensordot(weights, self.zone_matrix(arrays, facts, fabric, reflectance), axes=1))
        )

    def _make_matrix(self, arrays: SceneArrays, facts: Throughputs, fabric: Hashable, reflectance: np.ndarray) -> np.ndarray:
        tint = np.ascontiguousarray(arrays.fabric.tint[: reflectance.shape[1]])
        ground = self.ground
        matrix, change = picture_matrix(
            arrays.geometry,
            ground.grid,
            ground.zones(arrays, fabric),
            self.ledger,
            facts,
            reflectance,
            tint,
            threads=self.threads,
        )
        means = (matrix / facts.paths[0]).reshape(REPLICATIONS, -1, *matrix.shape[1:])
        spread = (change / facts.paths[0]).reshape(REPLICATIONS, -1, *matrix.shape[1:])
        return frozen(np.moveaxis(replicates(means, spread.mean(axis=0)), -1, 0))

    @property
    def bytes(self) -> int:
        """Bytes of all that is kept beside the ledger. Source: `held_bytes`."""
        return self.ground.bytes + self._of_ledger.bytes


__all__ = ["LedgerError", "Session"]
