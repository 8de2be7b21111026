"""What all ledgers of one geometry share, whatever their paths: points, field, samples of the lit screen and its map."""

from __future__ import annotations

from collections.abc import Hashable
from functools import partial
from typing import Any

import numpy as np

from ...scenes.model import Scene
from ..light.irradiance_cache import zone_map
from ..light.lampcells import LampCells
from ..light.mapgrid import MapGrid, make_grid
from ..light.patches import frozen
from ..light.projector import FALL_OFF, PEAK
from ..light.screen_samples import LitScreen, light_the_screen
from ..measuring.field import Field, picture_field
from ..measuring.flatten import SceneArrays
from ..measuring.lamp_sums import cells_of_lamps
from ..measuring.lamps import key_of
from ..measuring.solver import (
    MeasuringPoints,
    board_patches,
    measuring_points,
    picture_map,
    picture_samples,
    sharpness,
    starts_of,
)
from .geometry_match import SEAT, geometry_of
from .links import Links, fits_links, linked_map, make_links
from .shelf import Shelves
from .travel import read_only

_MIB = 1 << 20


def _again(scene: Scene, arrays: SceneArrays, cells: int, threads: int) -> Ground:
    """A ground as it was before it was pickled; what it kept is made anew when it is asked for."""
    return Ground(scene, read_only(arrays), cells=cells, threads=threads)


class Ground:
    """One geometry and the first scene's light; every method is a pure function of its arguments.

    cells  of the wall map along an edge;  threads  used by the kernels
    """

    def __init__(self, scene: Scene, arrays: SceneArrays, *, cells: int, threads: int) -> None:
        self.scene, self.arrays, self.cells, self.threads = scene, arrays, cells, threads
        self.named = geometry_of(scene, arrays)
        self.starts = starts_of(measuring_points(arrays))
        self._kept = Shelves(
            grid=64 * _MIB,
            cells=16 * _MIB,
            points=4 * _MIB,
            field=48 * _MIB,
            samples=16 * _MIB,
            links=256 * _MIB,
            pictures=16 * _MIB,
            zones=48 * _MIB,
        )

    def __reduce__(self) -> tuple[Any, ...]:
        return _again, (self.scene, self.arrays, self.cells, self.threads)

    def with_seats(self, scene: Scene, arrays: SceneArrays) -> Ground:
        """The same geometry and light with other seats, whose heads stand in no beam: only what seats see is made anew.

        arrays  the scene lowered, its geometry this one's
        """
        new = Ground.__new__(Ground)
        new.__dict__.update(self.__dict__, scene=scene, arrays=arrays)
        seats = {f'{SEAT}"{seat.name}"': list(seat.eye_m) for seat in scene.seats}
        new.named = {**{key: value for key, value in self.named.items() if not key.startswith(SEAT)}, **seats}
        new._kept = self._kept.with_new("points", "field")
        return new

    @property
    def grid(self) -> MapGrid:
        """Nodes of the wall map, places [m]. Source: `make_grid`."""
        return self._kept.get(
            "grid", None, lambda: make_grid(self.arrays.geometry, self.arrays.projector, cells=self.cells, shell=True)
        )

    def reference(self, arrays: SceneArrays) -> SceneArrays:
        """The arrays at the first scene's illuminance [lx] in the picture's middle, with their own fall-off: all that is kept is
        made at that, and nothing of it depends on who asked first.

        Source: derived; luminance is in proportion to the lumens, `lux_scale` puts them right.
        """
        light = frozen(np.array([self.arrays.projector.light[PEAK], *arrays.projector.light[1:]]))
        return arrays._replace(projector=arrays.projector._replace(light=light))

    def lux_scale(self, arrays: SceneArrays) -> float:
        """Illuminance of this scene over that of the one whose light is kept [1]. Source: `reference`."""
        return float(arrays.projector.light[PEAK]) / float(self.arrays.projector.light[PEAK])

    def points(self, arrays: SceneArrays, fabric: Hashable) -> MeasuringPoints:
        """Measuring points of a scene, places [m]; they follow fabric and lumens. Source: `measuring_points`."""
        return self._kept.get("points", (fabric, *arrays.projector.light, key_of(arrays.lamps)), lambda: measuring_points(arrays))

    def field(self, arrays: SceneArrays, points: MeasuringPoints, fabric: Hashable) -> Field:
        """The picture's fine grid, places [m], for whole readings. Source: `picture_field`."""
        return self._kept.get(
            "field", (fabric, *arrays.projector.light, key_of(arrays.lamps)), lambda: picture_field(arrays, points)
        )

    def lamp_cells(self, arrays: SceneArrays) -> tuple[LampCells, ...]:
        """Pieces of the surfaces for the first reflection of each of a scene's lamps. Source: `cells_of_lamps`."""
        return self._kept.get("cells", key_of(arrays.lamps), lambda: cells_of_lamps(arrays, self.starts))

    def pictures(self, arrays: SceneArrays, fabric: Hashable) -> np.ndarray:
        """Irradiance at the map's nodes for the two traced pictures, (N, 2) [lx] at the reference lumens."""
        at, fall = self.reference(arrays), arrays.projector.light[FALL_OFF]

        def make() -> np.ndarray:
            lit = self._kept.get("samples", fall, lambda: picture_samples(at))
            if len(at.fabric.lobes) and sharpness(at) == 1.0 and fits_links(at.geometry, at.fabric):
                return linked_map(self.links(at, lit), at.fabric, threads=self.threads)
            return picture_map(at, self.grid, lit=lit, threads=self.threads)

        return self._kept.get("pictures", (fabric, fall), make)

    def links(self, at: SceneArrays, lit: LitScreen) -> Links:
        """What joins the samples of the lit screen to the map's nodes, whatever the fabric, strength [lx sr].

        Source: `make_links`.
        """
        make = partial(make_links, at.geometry, self.grid, lit, board_patches(), test_blocked=at.objects, threads=self.threads)
        return self._kept.get("links", at.projector.light[FALL_OFF], make)

    def zones(self, arrays: SceneArrays, fabric: Hashable) -> np.ndarray:
        """Irradiance at the map's nodes from each of the 192 zones, (N, zones) [lx] at the reference lumens."""
        at = self.reference(arrays)

        def make() -> np.ndarray:
            lit = light_the_screen(at.geometry, at.projector)
            return zone_map(
                at.geometry, self.grid, lit, at.fabric, test_blocked=at.objects, sharpness=sharpness(at), threads=self.threads
            )

        return self._kept.get("zones", (fabric, arrays.projector.light[FALL_OFF]), make)

    @property
    def bytes(self) -> int:
        """Bytes of all that is kept. Source: `held_bytes`."""
        return self._kept.bytes
