"""A ledger on its stage: all that many answers share, made when first asked for and kept until the ledger grows."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from functools import partial
from typing import Any

import numpy as np

from ...scenes.model import Scene
from ..estimate import SCRAMBLES, replicates
from ..field import Field, picture_field
from ..flatten import SceneArrays, flatten
from ..light.ledger import Ledger
from ..light.litscreen import LitScreen, light_the_screen
from ..light.mapgrid import make_grid
from ..light.spill import spilt_light
from ..light.walk import Lighting
from ..light.wallmap import zone_map
from ..solver import (
    MAP_CELLS,
    Points,
    board_patches,
    measuring_points,
    picture_map,
    picture_samples,
    sharpness,
    starts_of,
    survival_for,
    traced_pictures,
)
from .belongs import geometry_of
from .facts import Facts, first_places, make_facts
from .kept import Kept, LedgerError, check, traced
from .links import Links, fits_links, linked_map, make_links
from .passes import picture_matrix, slopes
from .walked import repaint

_KEPT_ANSWERS = 6


class Stage:
    """One geometry with its ledger; every method is a pure function of its arguments and the ledger.

    survival  of a fresh ledger, probability to go on after a hit [1]; None: what the scene's lightest finish asks for
    cells     cells of the wall map along an edge;  threads used by the kernels
    raises    LedgerError when the ledger does not belong to the scene
    """

    def __init__(self, scene: Scene, kept: Kept | None = None, *, where: str = "ledger", seed: int = 1, paths: int = 64,
                 survival: float | None = None, cells: int = MAP_CELLS, threads: int = 1) -> None:  # fmt: skip
        arrays = flatten(scene)
        self.threads, self.cells, self.where = threads, cells, where
        self._geometry = arrays.geometry
        self.named = geometry_of(scene, arrays)
        self._starts = starts_of(measuring_points(arrays))
        self._arrays = arrays
        self._shared: OrderedDict[Hashable, Any] = OrderedDict()
        self._of_ledger: OrderedDict[Hashable, Any] = OrderedDict()
        if kept is not None:
            check(kept, arrays, self._starts, self.named, where)
        self.kept = kept or traced(
            arrays, self._starts, self.named, title=scene.title, seed=seed, paths=paths,
            survival=survival or survival_for(arrays.reflectance), threads=threads,
        )  # fmt: skip

    @property
    def ledger(self) -> Ledger:
        """The paths in use."""
        return self.kept.ledger

    def retrace(self, *, paths: int, survival: float) -> None:
        """Trace anew with more paths a scramble and start, or another survival [1]; forgets what the old ledger gave."""
        self.kept = traced(
            self._arrays, self._starts, self.named, title=self.kept.title, seed=self.kept.seed, paths=paths,
            survival=survival, threads=self.threads,
        )  # fmt: skip
        self._of_ledger.clear()

    @property
    def arrays(self) -> SceneArrays:
        """The first scene, lowered."""
        return self._arrays

    def admit(self, scene: Scene, arrays: SceneArrays) -> None:
        """Refuse another geometry; raises LedgerError naming what differs."""
        check(self.kept, arrays, self._starts, geometry_of(scene, arrays), self.where)

    def _once(self, store: OrderedDict[Hashable, Any], key: Hashable, make: Callable[[], Any]) -> Any:
        if key not in store:
            store[key] = make()
            while len(store) > 4 * _KEPT_ANSWERS:
                store.popitem(last=False)
        store.move_to_end(key)
        return store[key]

    @property
    def grid(self) -> Any:
        """Nodes of the wall map, places [m]. Source: `make_grid`."""
        return self._once(
            self._shared, "grid", lambda: make_grid(self._geometry, self._arrays.projector, cells=self.cells, shell=True)
        )

    def reference(self, arrays: SceneArrays) -> SceneArrays:
        """The arrays at the illuminance [lx] of the first scene with this fall-off: all that is kept is made at that.

        Source: derived; luminance is in proportion to the lumens, `lux_scale` puts them right.
        """
        key = ("light", arrays.projector.light[1])
        light = self._once(self._shared, key, lambda: arrays.projector.light)
        return arrays._replace(projector=arrays.projector._replace(light=light))

    def lux_scale(self, arrays: SceneArrays) -> float:
        """Illuminance of this scene over that of the one whose light is kept [1]. Source: `reference`."""
        return float(arrays.projector.light[0]) / float(self.reference(arrays).projector.light[0])

    def points(self, arrays: SceneArrays, fabric: Hashable) -> Points:
        """Measuring points of a scene, places [m]; they follow fabric and lumens. Source: `measuring_points`."""
        return self._once(self._shared, ("points", fabric, *arrays.projector.light), lambda: measuring_points(arrays))

    def field(self, arrays: SceneArrays, points: Points, fabric: Hashable) -> Field:
        """The picture's fine grid, places [m], for whole readings. Source: `picture_field`."""
        return self._once(self._shared, ("field", fabric, *arrays.projector.light), lambda: picture_field(arrays, points))

    def pictures(self, arrays: SceneArrays, fabric: Hashable) -> np.ndarray:
        """Irradiance at the map's nodes for the two traced pictures, (N, 2) [lx] at the reference lumens."""
        key, at = ("pictures", fabric, arrays.projector.light[1]), self.reference(arrays)
        lit = self._once(self._shared, ("samples", arrays.projector.light[1]), lambda: picture_samples(at))

        def make() -> np.ndarray:
            if len(at.fabric.lobes) and sharpness(at) == 1.0 and fits_links(at.geometry, at.fabric):
                return linked_map(self.links(at, lit), at.fabric, threads=self.threads)
            return picture_map(at, self.grid, lit=lit, threads=self.threads)

        return self._once(self._shared, key, make)

    def links(self, at: SceneArrays, lit: LitScreen) -> Links:
        """What joins the samples of the lit screen to the map's nodes, whatever the fabric, strength [lx sr].

        Source: `make_links`.
        """
        make = partial(
            make_links, at.geometry, self.grid, lit, board_patches(), test_blocked=at.objects, threads=self.threads
        )
        return self._once(self._shared, ("links", at.projector.light[1]), make)

    def zones(self, arrays: SceneArrays, fabric: Hashable) -> np.ndarray:
        """Irradiance at the map's nodes from each of the 192 zones, (N, zones) [lx] at the reference lumens."""
        at = self.reference(arrays)

        def make() -> np.ndarray:
            lit = light_the_screen(at.geometry, at.projector)
            return zone_map(
                at.geometry, self.grid, lit, at.fabric, test_blocked=at.objects, sharpness=sharpness(at), threads=self.threads
            )

        return self._once(self._shared, ("zones", fabric, arrays.projector.light[1]), make)

    def facts(self, arrays: SceneArrays, points: Points, fabric: Hashable) -> Facts:
        """The ledger with a fabric put in, luminances [cd/m2] at the reference lumens. Source: `make_facts`."""
        at, tint = self.reference(arrays), np.asarray(arrays.fabric.tint)
        fall = arrays.projector.light[1]

        def make() -> Facts:
            spill = self._once(
                self._of_ledger,
                ("spill", fall),
                lambda: spilt_light(at.geometry, at.projector, self.ledger, threads=self.threads),
            )
            beam = at.projector if at.geometry.relief else ()
            return make_facts(
                at.geometry, self._starts, points.seats, self.grid,
                Lighting(node_lx=self.pictures(arrays, fabric), zone=traced_pictures(), beam=beam), at.fabric,
                tint if np.ptp(tint) else tint[:1], self.ledger, spill,
                self._once(self._of_ledger, "first places", partial(first_places, at.geometry, self.ledger)), threads=self.threads,
            )  # fmt: skip

        return self._once(self._of_ledger, ("facts", fabric, fall), make)

    def sums(self, facts: Facts, reflectance: np.ndarray, *, pooling: bool = False) -> np.ndarray:
        """Means (scrambles, 25, 1 or T, surfaces, 4, C) over paths [cd/m2], at the stage's lumens, before the last tint.

        reflectance  (surfaces, C) [1], the screen's row its tint
        pooling  paths share what they find beyond their first hits (walked.py); False: each path for itself
        Source: `repaint`.
        """
        patches = len(self._geometry.corner) if pooling else 0
        found = repaint(facts, reflectance, scrambles=SCRAMBLES, patches=patches, threads=self.threads)
        return (found / facts.paths[0]).reshape(SCRAMBLES, -1, *found.shape[1:])

    def slope_sums(self, facts: Facts, reflectance: np.ndarray) -> np.ndarray:
        """d means / d ln reflectance, (scrambles, 25, 1 or T, surfaces, 2, C) [cd/m2]. Source: passes.slopes."""
        found = slopes(facts, reflectance, threads=self.threads) / facts.paths[0]
        return found.reshape(SCRAMBLES, -1, *found.shape[1:])

    def zone_matrix(self, arrays: SceneArrays, facts: Facts, fabric: Hashable, reflectance: np.ndarray) -> np.ndarray:
        """What each zone of the white picture sends back to each point and seat: (C, R + 2, 25, 1 or T, zones) [cd/m2]
        at the reference lumens, before the last tint.

        Source: the map's nodes weighed by the ledger (transpose of the walk), times the zone map.
        """
        key = ("matrix", fabric, arrays.projector.light[1], reflectance.tobytes())
        return self._once(self._of_ledger, key, lambda: self._make_matrix(arrays, facts, fabric, reflectance))

    def weighed_matrix(self, matrix: np.ndarray, weights: np.ndarray) -> np.ndarray:
        """A zone matrix's channels summed with weights (C,), (R + 2, 25, 1 or T, zones) [cd/m2].

        Source: luminance is linear in RGB.
        """
        key = ("weighed", id(matrix), weights.tobytes())
        _, found = self._once(self._of_ledger, key, lambda: (matrix, np.tensordot(weights, matrix, axes=1)))
        return found  # the first holds the matrix, so that its id stays its own

    def _make_matrix(self, arrays: SceneArrays, facts: Facts, fabric: Hashable, reflectance: np.ndarray) -> np.ndarray:
        tint = np.ascontiguousarray(arrays.fabric.tint[: reflectance.shape[1]])
        matrix, change = picture_matrix(
            self._geometry, self.grid, self.zones(arrays, fabric), self.ledger, facts, reflectance, tint, threads=self.threads
        )
        means = (matrix / facts.paths[0]).reshape(SCRAMBLES, -1, *matrix.shape[1:])
        spread = (change / facts.paths[0]).reshape(SCRAMBLES, -1, *matrix.shape[1:])
        return np.ascontiguousarray(np.moveaxis(replicates(means, spread.mean(axis=0)), -1, 0))


__all__ = ["LedgerError", "Stage"]
