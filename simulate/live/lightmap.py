"""The light on a room's surfaces, traced once and read again for every paint, picture and lumen.

What the picture's zones send to each cell and where each cell's rays end knows neither finish nor level of the picture: both are
kept, and a repaint is a few sums over them (`transport.all_bounces`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ...scenes.cloth.cloth import Cloth
from ...scenes.digest import digest_of
from ...scenes.model import Scene
from ..light.projector import PEAK, SPILLS
from ..measuring.flatten import SceneArrays, flatten
from ..views.gather import RoomValues
from ..views.means import Bends, bends_of, with_means
from ..views.primary_rays import look
from ..views.roomlight import RoomLight, room_before_light, zones_at, zones_of_places
from ..views.texture import cell_places
from ..views.transport import CellTransport, all_bounces, recorded
from .shape import Shape, shape_of

_WHITE = np.ones((192, 3))
PIECE = 1500  # cells of one step
WARM_ENOUGH = 5e-4  # mean change of a bounce at which a repaint's bounces end, as a share of the light


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
    kept: CellTransport
    bends: Bends
    owner: np.ndarray

    @cached_property
    def shape_key(self) -> str:
        """What tells one shape from another."""
        return digest_of((self.shape.place, self.shape.corners))[:16]

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
        if before is not None and before.of is self and before.shows(arrays, levels):
            return before
        rho = _narrow(arrays.reflectance[arrays.geometry.surface[self.owner]])
        tint = np.asarray(arrays.fabric.tint)
        grey = rho.shape[1] == 1 and levels.shape[1] == 1 and float(np.ptp(tint)) == 0.0
        channels = 1 if grey else 3
        tint = np.ascontiguousarray(tint[:channels])
        rho = np.ascontiguousarray(np.broadcast_to(rho, (len(rho), channels)))
        asked, levels = levels, np.ascontiguousarray(np.broadcast_to(levels, (len(levels), channels)))
        scale = float(arrays.projector.light[PEAK]) / float(self.arrays.projector.light[PEAK])
        sent = self.lux @ levels.astype(np.float32)  # 3 MB of single precision a channel: read once
        spilt = rho / np.pi * scale * self.spill[:, None] * levels[self.zone]
        first = rho / np.pi * scale * sent * tint + spilt
        own = np.ascontiguousarray(scale * self.kept.own[:, :channels] * levels.mean(axis=0))
        start = None
        if before is not None and before.light.shape == first.shape:  # the nearer the better: more lumens, as much more light
            start = before.light * (float(arrays.projector.light[PEAK]) / float(before.arrays.projector.light[PEAK]))
        kept = self.kept._replace(own=own)
        light, _ = all_bounces(kept, self.bends, tint, first, rho, threads=threads, start=start, enough=WARM_ENOUGH)
        cells = with_means(self.bends, first + rho * light)
        shown = with_means(self.bends, first - spilt + rho * light) if self.spill.any() else cells
        values = RoomValues(self.room.values.radiance._replace(value=cells), levels, tint)
        room = replace(self.room, arrays=arrays, values=values, levels=levels, reflectance=_table(arrays, channels))
        return Lit(self, arrays, asked, room, cells, light, shown)


@dataclass(frozen=True)
class Lit:
    """The light of one scene and its zones' levels.

    cells  (T, C) what the cells send [cd/m2];  shown  the same without the projector's own light, which is drawn by itself
    light  / pi that arrives from the room [cd/m2];  room  for pictures
    """

    of: LightMap
    arrays: SceneArrays
    levels: np.ndarray
    room: RoomLight
    cells: np.ndarray
    light: np.ndarray
    shown: np.ndarray

    def shows(self, arrays: SceneArrays, levels: np.ndarray) -> bool:
        """Whether this is the light of these finishes, lumens and levels [1] already."""
        alike = (
            (arrays.reflectance, self.arrays.reflectance),
            (arrays.projector.light, self.arrays.projector.light),
            (levels, self.levels),
        )
        return all(np.array_equal(a, b) for a, b in alike)

    def corners(self) -> np.ndarray:
        """What the shape's corners send without the projector's own light, (V, 3) [cd/m2]. Source: `Shape.light`."""
        found = self.of.shape.light(self.shown)
        return np.broadcast_to(found, (len(found), 3))


def flat_arrays(scene: Scene) -> SceneArrays:
    """The scene lowered with a flat cloth [m]: folds stand in pictures as luminance ratios."""
    return flatten(scene, Cloth(scene.screen.width_m, scene.screen.height_m, ()), opaque=True)


def light_map(arrays: SceneArrays, *, seed: int = 1, threads: int = 1) -> LightMap:
    """The map of a scene [m, lx]. Source: `light_map_steps`."""
    *_, found = light_map_steps(arrays, seed=seed, threads=threads)
    if found is None:
        raise AssertionError("the steps end with the map")
    return found


def light_map_steps(arrays: SceneArrays, *, seed: int = 1, threads: int = 1) -> Iterator[LightMap | None]:
    """The map of a scene [m, lx] in steps of some ten milliseconds, at which other work may cut in; the last is the map, others None.

    Source: `roomlight`, `transport.recorded`; pieces have seeds of their own, so that cells err independently.
    """
    room = room_before_light(arrays, _WHITE)
    texture = room.values.radiance
    place, owner = cell_places(arrays.geometry, texture)
    lux, kept = [], []
    for k, low in enumerate(range(0, len(place), PIECE)):
        yield None
        cells, patch = np.ascontiguousarray(place[low : low + PIECE]), np.ascontiguousarray(owner[low : low + PIECE])
        lux.append(zones_of_places(room, cells, patch, threads=threads).astype(np.float32))
        yield None
        kept.append(
            recorded(
                arrays.geometry,
                arrays.projector,
                arrays.fabric,
                room.values,
                cells,
                patch,
                np.ones(len(cells), bool),
                seed=seed + k,
                threads=threads,
            )
        )
    spill, zone = _spill(arrays, place, owner, threads)
    whole = CellTransport(*(np.concatenate(parts) for parts in zip(*kept, strict=True)))
    yield LightMap(arrays, room, shape_of(arrays, texture), np.concatenate(lux), spill, zone, whole, bends_of(texture), owner)


def _spill(arrays: SceneArrays, place: np.ndarray, owner: np.ndarray, threads: int) -> tuple[np.ndarray, np.ndarray]:
    """The projector's own light [lx] on the cells, and the zone that sends it."""
    if not arrays.projector.flags[SPILLS]:
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
