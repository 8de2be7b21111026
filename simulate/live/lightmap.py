"""The light on a room's surfaces, traced once and read again for every paint, picture and lumen.

What the picture's zones send to each cell and where each cell's rays end knows neither finish nor level of the picture: both are
kept, and a repaint is a few sums over them (`transport.all_bounces`).
"""
from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...scenes.cloth.cloth import Cloth
from ...scenes.model import Scene
from ..flatten import SceneArrays, flatten
from ..light.geometry import SCREEN
from ..views.gather import RoomValues
from ..views.look import look
from ..views.means import Bends, bends_of, with_means
from ..views.roomlight import RoomLight, room_before_light, zones_at, zones_of_places
from ..views.texture import cell_places
from ..views.transport import Transport, all_bounces, recorded
from .shape import Shape, shape_of

_WHITE = np.ones((192, 3))
WARM_ENOUGH = 2e-4  # mean change of a bounce at which a repaint's bounces end, as a share of the light


@dataclass(frozen=True)
class LightMap:
    """One geometry and one fabric, the cloth flat; T cells.

    room    with the light of a white picture in no room yet;  shape of the room
    lux     (T, zones) float32, what each zone of a white picture sends to the cells [lx], at the lumens of `arrays`
    spill   (T,) the projector's own light [lx], in the level of zone (T,) int
    kept    where the cells' rays end;  bends  of the cells;  owner (T,) their patches
    """

    arrays: SceneArrays
    room: RoomLight
    shape: Shape
    lux: np.ndarray
    spill: np.ndarray
    zone: np.ndarray
    kept: Transport
    bends: Bends
    owner: np.ndarray

    @property
    def bytes(self) -> int:
        """Bytes of the large arrays. Source: definition."""
        return sum(a.nbytes for a in (self.lux, self.kept.cell, self.kept.weight, self.kept.hits, *self.shape))

    def lit(self, arrays: SceneArrays, levels: np.ndarray, before: Lit | None = None, *, threads: int = 1) -> Lit:
        """The light of another scene of this geometry and fabric.

        arrays  of that scene;  levels  (zones, C) of its picture [1]
        before  an answer of this map to start from: the nearer, the fewer bounces
        raises  FloatingPointError when a value is not finite
        Source: as `roomlight.light_the_room`.
        """
        rho = _narrow(arrays.reflectance[arrays.geometry.surface[self.owner]])
        tint = np.asarray(arrays.fabric.tint)
        grey = rho.shape[1] == 1 and levels.shape[1] == 1 and float(np.ptp(tint)) == 0.0
        channels = 1 if grey else 3
        tint = np.ascontiguousarray(tint[:channels])
        rho = np.ascontiguousarray(np.broadcast_to(rho, (len(rho), channels)))
        levels = np.ascontiguousarray(np.broadcast_to(levels, (len(levels), channels)))
        scale = float(arrays.projector.light[0]) / float(self.arrays.projector.light[0])
        lux = scale * (self.lux @ levels * tint + self.spill[:, None] * levels[self.zone])
        first = rho / np.pi * lux
        own = np.ascontiguousarray(scale * self.kept.own[:, :channels] * levels.mean(axis=0))
        start = None if before is None or before.light.shape != first.shape else before.light
        kept = self.kept._replace(own=own)
        light, _ = all_bounces(kept, self.bends, tint, first, rho, threads=threads, start=start, enough=WARM_ENOUGH)
        cells = with_means(self.bends, first + rho * light)
        values = RoomValues(self.room.values.radiance._replace(value=cells), levels, tint)
        room = replace(self.room, arrays=arrays, values=values, levels=levels, reflectance=_table(arrays, channels))
        return Lit(self, arrays, room, cells, light)


@dataclass(frozen=True)
class Lit:
    """The light of one scene: `cells` (T, C) send [cd/m2], `light` / pi arrives from the room [cd/m2]; `room` for pictures."""

    of: LightMap
    arrays: SceneArrays
    room: RoomLight
    cells: np.ndarray
    light: np.ndarray

    def corners(self) -> np.ndarray:
        """What the shape's corners send, (V, 3) [cd/m2]. Source: `Shape.light`."""
        found = self.of.shape.light(self.cells)
        return np.broadcast_to(found, (len(found), 3))


def flat_arrays(scene: Scene) -> SceneArrays:
    """The scene lowered with a flat cloth [m]: folds stand in pictures as luminance ratios."""
    return flatten(scene, Cloth(scene.screen.width_m, scene.screen.height_m, ()))


def light_map(arrays: SceneArrays, *, seed: int = 1, threads: int = 1) -> LightMap:
    """The map of a scene [m, lx]. Source: `roomlight`, `transport.recorded`."""
    room = room_before_light(arrays, _WHITE)
    texture = room.values.radiance
    place, owner = cell_places(arrays.geometry, texture)
    lux = zones_of_places(room, place, owner, threads=threads).astype(np.float32)
    spill, zone = _spill(arrays, place, owner, threads)
    kept = recorded(
        arrays.geometry, arrays.projector, arrays.fabric, room.values, place, owner, np.ones(len(place), bool), seed=seed, threads=threads
    )
    return LightMap(arrays, room, shape_of(arrays, texture), lux, spill, zone, kept, bends_of(texture), owner)


def _spill(arrays: SceneArrays, place: np.ndarray, owner: np.ndarray, threads: int) -> tuple[np.ndarray, np.ndarray]:
    """The projector's own light [lx] on the cells, and the zone that sends it."""
    if not arrays.projector.flags[0]:
        return np.zeros(len(place)), np.zeros(len(place), int)
    ray = place - arrays.projector.lens
    ray /= np.linalg.norm(ray, axis=1, keepdims=True)
    seen = look(arrays.geometry, arrays.projector, arrays.fabric, arrays.projector.lens, ray, threads=threads)
    return np.where(seen.patch == owner, seen.lux, 0.0), zones_at(arrays, seen.across, seen.upward)


def _narrow(table: np.ndarray) -> np.ndarray:
    """One channel where all are grey."""
    return table[:, :1] if float(np.ptp(table, axis=1).max(initial=0.0)) == 0.0 else table


def _table(arrays: SceneArrays, channels: int) -> np.ndarray:
    """Reflectances (surfaces, C) with the screen's own row as pictures have it."""
    return np.ascontiguousarray(np.broadcast_to(arrays.reflectance[:, :channels], (len(arrays.reflectance), channels)))


def cloth_patch(arrays: SceneArrays) -> int:
    """Number of the flat cloth's patch [1]. Source: definition."""
    return int(np.flatnonzero(arrays.geometry.role == SCREEN)[-1])
