"""The light on a room's surfaces, traced once and read again for every paint, fabric, picture and lumen.

What the picture's zones send to each cell under a perfect diffuser, and where each cell's rays end, knows neither finish nor fabric nor
level of the picture: both are kept. A fabric puts its lobes in (`FabricLight`), a repaint is a few sums over the rays (`Lit`).
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import field, replace
from functools import cached_property

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.fabric import FabricArrays
from ...scenes.cloth.cloth import Cloth
from ...scenes.digest import digest_of
from ...scenes.model import Scene
from ..light.projector import PEAK, SPILLS
from ..measuring.flatten import SceneArrays, flatten
from ..measuring.solver import sharpness
from ..views.gather import RoomValues
from ..views.means import Bends, bends_of
from ..views.primary_rays import look
from ..views.roomlight import RoomLight, room_before_light, room_cells, zones_at, zones_of_places
from .cell_rays import FEW, RAYS, Bounces, CellRays, Tracing, weights
from .lamp_light import LampState, zone_lux
from .shape import Shape, shape_of
from .sights import SentLight, Sights
from .zone_light import zones_under

_WHITE, _NONE = np.ones((192, 3)), np.zeros((0, 0), np.float32)
PIECE = 1500  # cells of one step
WARM_ENOUGH = 5e-4  # mean change of a bounce at which a repaint's bounces end, as a share of the light


@dataclass(frozen=True)
class LightMap:
    """One geometry and one lens, the cloth flat; T cells.

    arrays  of any scene of it;  room  with its cells dark;  shape of the room
    even    (T, zones) float32, what each zone of a white picture sends to the cells under a perfect diffuser [lx]
    spill   (T,) the projector's own light [lx], in the level of zone (T,) int
    rays    where the FEW rays of a cell end;  bends of the cells;  owner (T,) their patches, place (T, 3) their middles, eyes (T, 3) from
            where they see [m]
    """

    arrays: SceneArrays
    room: RoomLight
    shape: Shape
    even: np.ndarray
    spill: np.ndarray
    zone: np.ndarray
    rays: CellRays
    bends: Bends
    owner: np.ndarray
    place: np.ndarray
    eyes: np.ndarray
    sights: Sights
    seed: int
    threads: int

    @cached_property
    def shape_key(self) -> str:
        """What tells one shape from another."""
        return digest_of((self.shape.place, self.shape.corners, self.shape.at, self.shape.pull))[:16]

    @cached_property
    def zone_lux(self) -> np.ndarray:
        """Light of white on the picture's zones [lx]. Source: `zone_lux`."""
        return zone_lux(self.arrays, self.room.lit)

    @property
    def bytes(self) -> int:
        """Bytes of the large arrays. Source: definition."""
        return self.rays.bytes + self.shape.bytes + self.even.nbytes

    def under(self, arrays: SceneArrays) -> FabricLight:
        """The map under the fabric of `arrays`. Source: `zones_under`, `weights`."""
        fine = 0.3 * sharpness(arrays)
        lux = zones_under(
            arrays.geometry, self.room.lit, arrays.fabric, self.place, self.owner, self.even, sharpness=fine, threads=self.threads
        )
        return FabricLight(self, arrays.fabric, fabric_key(arrays), lux, self.bounces(self.rays, arrays.fabric))

    def bounces(self, rays: CellRays, fabric: FabricArrays) -> Bounces:
        """The bounces over some of the cells' rays under a fabric. Source: `weights`."""
        return Bounces(rays, weights(rays, fabric, threads=self.threads), self.bends, threads=self.threads)

    def more_steps(self) -> Iterator[CellRays | None]:
        """The rest of the cells' rays, in steps as `light_map_steps`; the last is the rays, others None. Source: `cell_rays`."""
        texture = self.room.values.radiance
        tracing = Tracing(self.arrays.geometry, texture, self.eyes, self.owner, few=False, seed=self.seed, threads=self.threads)
        for low in range(0, len(self.place), PIECE // 3):  # as many rays as a step of the map
            yield None
            tracing.trace(low, min(low + PIECE // 3, len(self.place)))
        yield None
        yield tracing.rays()


def fabric_key(arrays: SceneArrays) -> Hashable:
    """What tells one fabric from another but for its tint, which only scales."""
    return tuple(part.tobytes() for name, part in arrays.fabric._asdict().items() if name != "tint"), arrays.half_gain_deg


@dataclass(frozen=True)
class FabricLight:
    """A map under one fabric.

    lux  (T, zones) float32 that each zone of a white picture sends to the cells [lx], at the lumens of the map, tint apart
    bounces  over the few rays;  fine over the rest, once they were asked for
    """

    of: LightMap
    fabric: FabricArrays
    key: Hashable
    lux: np.ndarray
    bounces: Bounces
    fine: list[Bounces] = field(default_factory=list)

    def lit(self, arrays: SceneArrays, levels: np.ndarray, before: Lit | None = None, lamps: LampState | None = None) -> Lit:
        """The light of another scene of this geometry and fabric.

        arrays  of that scene;  levels  (zones, C) of its picture [1];  lamps  of its light state, None in the dark
        before  an answer of this geometry to start from: the nearer, the fewer bounces
        raises  FloatingPointError when a value is not finite
        Source: as `roomlight.light_the_room`.
        """
        same = before is not None and before.of is self
        if before is not None and same and before.shows(arrays, levels, lamps):
            return before
        kept = self.of
        rho, tint = _narrow(arrays.reflectance), np.asarray(arrays.fabric.tint)
        grey = rho.shape[1] == 1 and levels.shape[1] == 1 and float(np.ptp(tint)) == 0.0 and (lamps is None or lamps.grey())
        channels = 1 if grey else 3
        tint = np.ascontiguousarray(tint[:channels], np.float32)
        rho = np.broadcast_to(rho, (len(rho), channels)).astype(np.float32)[arrays.geometry.surface[kept.owner]]
        shown = np.ascontiguousarray(np.broadcast_to(levels, (len(levels), channels)), np.float32)
        scale = float(arrays.projector.light[PEAK]) / float(kept.arrays.projector.light[PEAK])
        if before is not None and same and before.straight.shape[1] == channels and np.array_equal(before.levels, levels):
            straight = before.straight
        else:
            straight = self.lux @ shown
        part = rho * np.float32(scale / np.pi)
        own = part * kept.spill[:, None] * shown[kept.zone] if kept.spill.any() else None
        first = part * straight * tint if own is None else part * straight * tint + own
        if lamps is not None:
            direct, glow = lamps.first_lux(kept.even, kept.zone_lux, self.fabric, channels)
            first = first + rho / np.float32(np.pi) * (direct + glow * tint)
        start, whole = None, first.sum(axis=0, dtype=float)
        if before is not None and before.light.shape == first.shape:  # more first light, as much more of all bounces
            more = np.divide(
                whole, before.whole, out=np.zeros_like(whole), where=before.whole > 0.0
            )  # a black room tells nothing
            start = before.light * more.astype(np.float32)
        light = self.bounces.settled(first, rho, tint, start, WARM_ENOUGH) if whole.any() else np.zeros_like(first)
        return self._shown(Lit(self, arrays, levels, straight, whole, first, rho, own, light, lamps))

    def finer(self, lit: Lit, more: CellRays) -> Lit:
        """The same light by all rays, of a light by the few; more: the rest of the room's. Source: one more bounce, weighed by numbers of rays."""
        if not self.fine:
            self.fine.append(self.of.bounces(more, self.fabric))
        tint = np.ascontiguousarray(np.asarray(lit.arrays.fabric.tint)[: lit.first.shape[1]], np.float32)
        sent = self.bounces.sent(lit.first, lit.rho, lit.light)
        few, rest = self.bounces.once(sent, tint), self.fine[0].once(sent, tint)
        share = np.float32(FEW / RAYS)
        return self._shown(replace(lit, brought=share * few + (1 - share) * rest))

    def _shown(self, lit: Lit) -> Lit:
        """With what the cells send."""
        light = lit.light if lit.brought is None else lit.brought
        sent = self.bounces.sent(lit.first, lit.rho, light)
        return replace(lit, sent=sent, shown=sent if lit.own is None else self.bounces.sent(lit.first - lit.own, lit.rho, light))


@dataclass(frozen=True)
class Lit:
    """The light of one scene and its zones' levels [1].

    straight  (T, C) from the zones at the map's lumens, tint apart [lx];  whole (C,) sum of what the cells send of the first light [cd/m2]
    first, own  (T, C) what the cells send of the first light, and of that the projector's own, None where there is none [cd/m2]
    lamps  that burn, None in the dark
    rho    (T, C) reflectance [1];  light (T, C) / pi that arrives from the room by few rays, brought by all; None: not asked yet [cd/m2]
    sent   (T + 1, C) what the cells send, the last dark [cd/m2];  shown  the same without the projector's own light, which is drawn by itself
    """

    of: FabricLight
    arrays: SceneArrays
    levels: np.ndarray
    straight: np.ndarray
    whole: np.ndarray
    first: np.ndarray
    rho: np.ndarray
    own: np.ndarray | None
    light: np.ndarray
    lamps: LampState | None = None
    brought: np.ndarray | None = None
    sent: np.ndarray = field(default_factory=lambda: _NONE)
    shown: np.ndarray = field(default_factory=lambda: _NONE)

    def shows(self, arrays: SceneArrays, levels: np.ndarray, lamps: LampState | None) -> bool:
        """Whether this is the light of these finishes, lumens, tint, levels [1] and lamps already."""
        if (self.lamps is None) != (lamps is None) or (lamps is not None and not lamps.alike(self.lamps)):
            return False
        alike = (
            (arrays.reflectance, self.arrays.reflectance),
            (arrays.projector.light, self.arrays.projector.light),
            (arrays.fabric.tint, self.arrays.fabric.tint),
            (levels, self.levels),
        )
        return all(np.array_equal(a, b) for a, b in alike)

    @property
    def cells(self) -> np.ndarray:
        """What the cells send (T, C) [cd/m2]."""
        return self.sent[:-1]

    @property
    def sights(self) -> Sights:
        """The room's kept rays from cloth and heads."""
        return self.of.of.sights

    @cached_property
    def for_sights(self) -> SentLight:
        """This light as `Sights` asks it."""
        channels, lumens = self.sent.shape[1], float(self.arrays.projector.light[PEAK])
        levels = np.broadcast_to(self.levels, (len(self.levels), channels))
        tint, scale = np.asarray(self.arrays.fabric.tint)[:channels], lumens / float(self.of.of.arrays.projector.light[PEAK])
        return SentLight(self.sent, levels, tint, self.of.fabric, self.of.key, scale)

    @property
    def room(self) -> RoomLight:
        """The room for pictures of other places. Source: as `roomlight.light_the_room`."""
        dark, channels = self.of.of.room, self.sent.shape[1]
        levels = np.ascontiguousarray(np.broadcast_to(self.levels, (len(self.levels), channels)), float)
        tint = np.ascontiguousarray(np.asarray(self.arrays.fabric.tint, float)[:channels])
        values = RoomValues(dark.values.radiance._replace(value=self.cells.astype(float)), levels, tint)
        scale = float(self.arrays.projector.light[PEAK]) / float(self.of.of.arrays.projector.light[PEAK])
        bounced, straight = (
            (self.light if self.brought is None else self.brought).astype(float),
            scale / np.pi * self.straight * tint,
        )
        table = _table(self.arrays, channels)
        return replace(
            dark, arrays=self.arrays, values=values, levels=levels, reflectance=table, bounced=bounced, straight=straight
        )

    def atlas(self) -> np.ndarray:
        """What the surfaces send without the projector's own light, (rows, columns, 3) [cd/m2]. Source: `Shape.light`."""
        found = self.of.of.shape.light(self.shown[:-1])
        return np.broadcast_to(found, (*found.shape[:2], 3))


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

    Source: `roomlight`, `cell_rays`.
    """
    even = arrays._replace(fabric=diffuser(arrays.fabric), half_gain_deg=90.0)
    cells = room_cells(even, light=False)
    room = room_before_light(even, _WHITE, cells)
    texture, place, owner = cells.texture, cells.place, cells.owner
    tracing, lux = Tracing(arrays.geometry, texture, cells.eyes, owner, few=True, seed=seed, threads=threads), []
    for low in range(0, len(place), PIECE):
        high = min(low + PIECE, len(place))
        yield None
        some = np.ascontiguousarray(place[low:high]), np.ascontiguousarray(owner[low:high])
        lux.append(zones_of_places(room, *some, threads=threads).astype(np.float32))
        yield None
        tracing.trace(low, high)
    yield None
    spill, zone = _spill(arrays, place, owner, threads)
    sights = Sights(arrays, texture, seed=seed, threads=threads)
    yield None
    shape = shape_of(arrays, texture)
    whole = np.concatenate(lux)
    yield LightMap(
        arrays,
        room,
        shape,
        whole,
        spill,
        zone,
        tracing.rays(),
        bends_of(texture),
        owner,
        place,
        cells.eyes,
        sights,
        seed,
        threads,
    )


def diffuser(fabric: FabricArrays) -> FabricArrays:
    """A perfect diffuser in the place of a fabric: gain 1, no lobes, no tint."""
    return fabric._replace(base=np.ones_like(fabric.base), lobes=fabric.lobes[:0], tint=np.ones_like(fabric.tint))


def _spill(arrays: SceneArrays, place: np.ndarray, owner: np.ndarray, threads: int) -> tuple[np.ndarray, np.ndarray]:
    """The projector's own light (T,) float32 [lx] on the cells, and the zone that sends it."""
    if not arrays.projector.flags[SPILLS]:
        return np.zeros(len(place), np.float32), np.zeros(len(place), int)
    ray = place - arrays.projector.lens
    ray /= np.linalg.norm(ray, axis=1, keepdims=True)
    seen = look(arrays.geometry, arrays.projector, arrays.fabric, arrays.projector.lens, ray, threads=threads)
    return np.where(seen.patch == owner, seen.lux, 0.0).astype(np.float32), zones_at(arrays, seen.across, seen.upward)


def _narrow(table: np.ndarray) -> np.ndarray:
    """One channel where all are grey."""
    return table[:, :1] if float(np.ptp(table, axis=1).max(initial=0.0)) == 0.0 else table


def _table(arrays: SceneArrays, channels: int) -> np.ndarray:
    """Reflectances (surfaces, C) with the screen's own row as pictures have it."""
    return np.ascontiguousarray(np.broadcast_to(arrays.reflectance[:, :channels], (len(arrays.reflectance), channels)))
