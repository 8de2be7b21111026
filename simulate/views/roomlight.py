"""The light on all surfaces of a room under one picture, solved once and shared by the pictures of all seats."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field, replace
from functools import cached_property

import numpy as np

from ...materials.dataclass import dataclass
from ..light.eyes import eyes_of
from ..light.irradiance_cache import zone_map
from ..light.mapgrid import MapGrid, make_grid
from ..light.projector import SPILLS, ZONES_RIGHT, ZONES_UP, Projection
from ..light.screen_samples import LitScreen, light_the_screen
from ..measuring.colour import luminance
from ..measuring.flatten import SceneArrays
from ..measuring.solver import colour_channels, sharpness
from .between_cells import BetweenCells
from .covered import open_cells
from .evened import evened
from .gather import RoomValues
from .hidden_ways import maybe_hidden
from .lamplight import Glow, LampsOn, glow_of, on_surfaces
from .lit_samples import scattered, smoothed
from .means import bends_of, with_means
from .primary_rays import look
from .texture import Texture, cell_places, empty_texture
from .transport import CellTransport, all_bounces, recorded, weighed_anew


@dataclass(frozen=True)
class RoomLight:
    """A room under a picture: `values` for the gather, `lit` and `scattered` for exact light from the screen.

    levels       (zones, C) level of the picture's zones
    reflectance  (S, C), as many channels as finishes or picture need
    map_grid     a grid of the wall map, whose kernel sums the screen's light at any place
    between      how light is told between the middles of cells
    bounced      (T, C) light / pi that arrives at the cells by way of the room [cd/m2]
    straight     (T, C) the same of what comes straight from the lit screen, lamps' light on it included
    glow         the cloth as lamps light it, a source for the room; None where there are none
    change       mean change by the last bounce, as a share of the light [1]
    """

    arrays: SceneArrays
    values: RoomValues
    lit: LitScreen
    scattered: LitScreen
    levels: np.ndarray
    reflectance: np.ndarray
    map_grid: MapGrid
    between: BetweenCells
    change: float = 0.0
    bounced: np.ndarray = field(default_factory=lambda: np.zeros((0, 1)))
    straight: np.ndarray = field(default_factory=lambda: np.zeros((0, 1)))
    glow: Glow | None = None

    @cached_property
    def told(self) -> Texture:
        """What cells tell of the light / pi at any place of walls and things, (T', 2 C) [cd/m2]: `bounced`, its noise evened out, then `straight`.

        Source: `BetweenCells.finer` and `evened`.
        """
        return self.between.finer(np.hstack([evened(self.between.joins, self.bounced), self.straight]))

    def from_screen(self, place: np.ndarray, patch: np.ndarray, *, threads: int = 1) -> np.ndarray:
        """Illuminance (n, C) [lx] that comes straight from the lit screen to places (n, 3) [m] on patches (n,).

        Source: `zone_map`, the same sums as the wall map's, without interpolation; where a part of the screen is
        hidden, sixteen scattered samples a zone instead of even rows, which an even edge would hide all at once.
        """
        return from_screen_of([self], place, patch, threads=threads)[0]

    def zones(self, lit: LitScreen, place: np.ndarray, patch: np.ndarray, test: bool, threads: int) -> np.ndarray:
        """Illuminance (n, zones) that each zone of an even white picture sends there [lx]. Source: `zone_map`."""
        arrays, at = self.arrays, self._grid_at(place, patch)
        flat = arrays.geometry._replace(relief=())  # folds shade themselves only a few degrees off their own plane: left out
        return zone_map(flat, at, lit, arrays.fabric, test_blocked=test, sharpness=sharpness(arrays), threads=threads)

    def _grid_at(self, place: np.ndarray, patch: np.ndarray) -> MapGrid:
        place = np.ascontiguousarray(place)
        return self.map_grid._replace(place=place, patch=patch.astype(np.int32), eye=eyes_of(self.arrays.geometry, patch, place))

    def free_zones(self, place: np.ndarray, patch: np.ndarray, whole: np.ndarray, threads: int) -> np.ndarray:
        """What `zones` of the lit screen gives with nothing between, from what it gives with all that stands there, `whole` (n, zones) [lx].

        Worked out where something may stand between alone: elsewhere the two are the same. Source: `maybe_hidden`.
        """
        flat = self.arrays.geometry._replace(relief=())
        some = np.flatnonzero(maybe_hidden(flat, self._grid_at(place, patch), self.lit, threads=threads))
        free = whole.copy()
        free[some] = self.zones(self.lit, place[some], patch[some], False, threads)
        return free

    def glowing(self, place: np.ndarray, patch: np.ndarray, threads: int) -> np.ndarray | float:
        """Illuminance (n, C) [lx] that the cloth as lamps light it sends there; 0 without lamps. Source: `Glow`."""
        if self.glow is None:
            return 0.0
        arrays = self.arrays._replace(fabric=self.glow.fabric, half_gain_deg=90.0)
        sent = replace(self, arrays=arrays, glow=None).zones(self.glow.lit, place, patch, arrays.objects, threads)
        return np.asarray(sent @ in_channels(self.glow.levels * np.array(arrays.fabric.tint), len(self.values.tint)))

    def weighed(self, zones: np.ndarray) -> np.ndarray:
        """Illuminance (n, C) [lx] by this room's picture from what its zones send (n, zones) [lx]."""
        return np.asarray(zones @ self.levels * self.values.tint)


def from_screen_of(rooms: Sequence[RoomLight], place: np.ndarray, patch: np.ndarray, *, threads: int = 1) -> list[np.ndarray]:
    """`RoomLight.from_screen` of several rooms that differ in picture and finishes alone: the zones are summed once."""
    one = rooms[0]
    if not len(place):
        return [np.zeros((0, len(room.values.tint))) for room in rooms]
    whole = one.zones(one.lit, place, patch, one.arrays.objects, threads)
    found = [room.weighed(whole) for room in rooms]
    glows = [room.glowing(place, patch, threads) for room in rooms]
    if not one.arrays.objects or one.lit.scattered[1] > 0:  # zones that an edge crosses took scattered samples already
        return [light + glow for light, glow in zip(found, glows, strict=True)]
    free = one.free_zones(place, patch, whole, threads)
    sums = [(light.sum(axis=1), room.weighed(free).sum(axis=1)) for room, light in zip(rooms, found, strict=True)]
    parts = [np.flatnonzero((light > 0.0) & (light < (1.0 - 1e-9) * most)) for light, most in sums]
    every = np.unique(np.concatenate(parts))
    if len(every):
        some = one.zones(one.scattered, place[every], patch[every], True, threads)
        for room, light, part in zip(rooms, found, parts, strict=True):
            light[part] = room.weighed(some[np.searchsorted(every, part)])
    return [light + glow for light, glow in zip(found, glows, strict=True)]


def in_channels(rgb: np.ndarray, channels: int) -> np.ndarray:
    """Linear RGB (n, 3) in the channels of a room: as it is, or its luminance (n, 1)."""
    return rgb if channels == 3 else luminance(rgb)[:, None]


@dataclass(frozen=True)
class RoomCells:
    """What rooms share that differ in picture, finishes and light states alone.

    texture      of one channel, zero;  place (T, 3) [m] and owner (T,) patch of its cells; of a covered cell that of the nearest open one
    eyes         (T, 3) [m] from where cells see: frames reach past the patches that are cut, and nothing is seen from there
    zones        (T, zones) illuminance of the cells by each zone of an even white picture [lx];  None where the cloth is folded
    asked, kept  (T,) cells from which rays were traced, and those rays;  None where the cloth is folded and may light itself
    """

    texture: Texture
    place: np.ndarray
    owner: np.ndarray
    eyes: np.ndarray
    lit: LitScreen
    scattered: LitScreen
    map_grid: MapGrid
    between: BetweenCells
    zones: np.ndarray | None = None
    asked: np.ndarray | None = None
    kept: CellTransport | None = None

    def rays(self, asked: np.ndarray, channels: int) -> CellTransport | None:
        """The rays of cells (T,) that are asked, those of others left dark; None where some of them were not traced.

        Source: `record_rays`; rays of a cell depend on its number and the seed alone, so they are those that would be traced anew.
        """
        if self.kept is None or self.asked is None or (asked & ~self.asked).any():
            return None
        cell = self.kept.cell if (asked == self.asked).all() else np.where(asked[:, None], self.kept.cell, np.int32(-1))
        return self.kept._replace(cell=cell, own=np.zeros((len(asked), channels)))


def room_cells(arrays: SceneArrays, *, seed: int = 1, threads: int = 1, light: bool = True) -> RoomCells:
    """The cells of a room with what neither picture nor finishes nor lamps change, for several `light_the_room` with the same seed.

    light  False: the cells alone, nothing is summed or traced
    Source: first light summed at the middle of every cell of `layout.py`; rays of `transport.py`.
    """
    geometry, projector = arrays.geometry, arrays.projector
    texture = empty_texture(geometry, projector, 1)
    place, owner = cell_places(geometry, texture)
    eyes = eyes_of(geometry, owner, place)
    from_open = open_cells(geometry, place, eyes, owner, threads=threads)
    place, eyes = place[from_open], eyes[from_open]
    lit = smoothed(arrays, light_the_screen(geometry, projector))
    grid = make_grid(geometry, projector, cells=4, shell=True)
    cells = RoomCells(texture, place, owner, eyes, lit, scattered(arrays), grid, BetweenCells(geometry, texture))
    if geometry.relief or not light:
        return cells
    values = RoomValues(texture, np.ones((ZONES_RIGHT * ZONES_UP, 1)), np.ones(1))  # flat cloth does not light itself
    room = RoomLight(arrays, values, lit, cells.scattered, values.zone, arrays.reflectance, grid, cells.between)
    asked = arrays.reflectance[geometry.surface[owner]].max(axis=1) > 0.0
    kept = recorded(geometry, projector, arrays.fabric, values, eyes, owner, asked, seed=seed, threads=threads)
    return replace(cells, zones=room.zones(lit, place, owner, arrays.objects, threads), asked=asked, kept=kept)


def in_fabric(cells: RoomCells, arrays: SceneArrays, *, seed: int = 1, threads: int = 1) -> RoomCells:
    """`room_cells` of a room that differs in the fabric of its flat cloth alone, and in finishes: the same bits, two thirds cheaper.

    cells  of the other room, with the same seed; raises ValueError where they were made without light
    Source: `weighed_anew`.
    """
    if cells.kept is None or arrays.geometry.relief:
        raise ValueError("cells without kept rays, or a folded cloth")
    values = RoomValues(cells.texture, np.ones((ZONES_RIGHT * ZONES_UP, 1)), np.ones(1))
    room = RoomLight(arrays, values, cells.lit, cells.scattered, values.zone, arrays.reflectance, cells.map_grid, cells.between)
    projection = Projection(arrays.geometry, arrays.projector, arrays.fabric)
    kept = weighed_anew(cells.kept, projection, values, cells.eyes, cells.owner, seed=seed, threads=threads)
    return replace(cells, zones=room.zones(cells.lit, cells.place, cells.owner, arrays.objects, threads), kept=kept)


def room_before_light(arrays: SceneArrays, levels: np.ndarray, cells: RoomCells | None = None) -> RoomLight:
    """A room whose cells are dark yet, with the samples of its lit screen; levels [1] and cells as for `light_the_room`."""
    cells = cells or room_cells(arrays, light=False)
    finishes = colour_channels(arrays)
    channels = max(finishes.reflectance.shape[1], levels.shape[1])
    levels = np.ascontiguousarray(np.broadcast_to(levels, (len(levels), channels)))
    tint = np.ascontiguousarray(np.broadcast_to(finishes.tint, channels))
    reflectance = np.ascontiguousarray(np.broadcast_to(finishes.reflectance, (len(finishes.reflectance), channels)))
    values = RoomValues(cells.texture._replace(value=np.zeros((len(cells.place), channels))), zone=levels, tint=tint)
    return RoomLight(arrays, values, cells.lit, cells.scattered, levels, reflectance, cells.map_grid, cells.between)


def zones_of_places(room: RoomLight, place: np.ndarray, patch: np.ndarray, *, threads: int = 1) -> np.ndarray:
    """Illuminance (n, zones) [lx] that each zone of an even white picture sends to places (n, 3) [m] on patches (n,), for any picture.

    Source: as `from_screen_of`; which places have a part of the screen hidden is judged by the even picture.
    """
    found = room.zones(room.lit, place, patch, room.arrays.objects, threads)
    if not room.arrays.objects or room.lit.scattered[1] > 0:  # zones that an edge crosses took scattered samples already
        return found
    light, most = found.sum(axis=1), room.free_zones(place, patch, found, threads).sum(axis=1)
    part = np.flatnonzero((light > 0.0) & (light < (1.0 - 1e-9) * most))
    if len(part):
        found[part] = room.zones(room.scattered, place[part], patch[part], True, threads)
    return found


def light_the_room(
    arrays: SceneArrays,
    levels: np.ndarray,
    *,
    lamps: LampsOn | None = None,
    seed: int = 1,
    threads: int = 1,
    cells: RoomCells | None = None,
) -> RoomLight:
    """Solve the light in a room [cd/m2 and lx].

    levels   (zones, C) level of each zone of the picture, C = 1 for grey pictures, else 3; see content.py
    lamps    of the light state; None: there are none
    cells    `room_cells` of these arrays or of others that differ in finishes alone, same seed; None: made here
    returns  RoomLight; its maps have as many channels as finishes, picture or lamps need
    raises   FloatingPointError when a value is not finite
    Source: first light summed at the middle of every cell of `layout.py`; bounces between cells in `transport.py`.
    """
    if lamps is not None and np.ptp(lamps.weight, axis=1).max() > 0.0:
        levels = np.broadcast_to(levels, (len(levels), 3))
    cells = cells or room_cells(arrays, seed=seed, threads=threads)
    room = room_before_light(arrays, levels, cells)
    if lamps is not None:
        room = replace(room, glow=glow_of(lamps, arrays, room.lit, threads=threads))
    geometry, values, place, owner = arrays.geometry, room.values, cells.place, cells.owner
    rho = room.reflectance[geometry.surface[owner]]
    if cells.zones is None:
        straight = room.from_screen(place, owner, threads=threads)
    else:
        straight = room.weighed(cells.zones) + room.glowing(place, owner, threads)
    first = rho / np.pi * (straight + _spill(arrays, room.levels, place, owner, threads))
    if lamps is not None:
        own = on_surfaces(lamps, geometry, cells.eyes, geometry.normal[owner], owner, threads=threads)
        first = first + rho / np.pi * in_channels(own, rho.shape[1])
    asked = rho.max(axis=1) > 0.0
    kept = cells.rays(asked, rho.shape[1]) or recorded(
        geometry, arrays.projector, arrays.fabric, values, cells.eyes, owner, asked, seed=seed, threads=threads
    )
    bends = bends_of(values.radiance)
    light, change = all_bounces(kept, bends, values.tint, first, rho, threads=threads)
    solved = values._replace(radiance=values.radiance._replace(value=with_means(bends, first + rho * light)))
    return replace(room, values=solved, change=change, bounced=light, straight=straight / np.pi)


def _spill(arrays: SceneArrays, levels: np.ndarray, place: np.ndarray, owner: np.ndarray, threads: int) -> np.ndarray:
    """The projector's own light (T, C) [lx] on cells: what the lens itself sees is lit."""
    if not arrays.projector.flags[SPILLS]:
        return np.zeros((len(place), levels.shape[1]))
    ray = place - arrays.projector.lens
    ray /= np.linalg.norm(ray, axis=1, keepdims=True)
    seen = look(arrays.geometry, arrays.projector, arrays.fabric, arrays.projector.lens, ray, threads=threads)
    lux = np.where(seen.patch == owner, seen.lux, 0.0)
    return lux[:, None] * levels[zones_at(arrays, seen.across, seen.upward)]


def zones_at(arrays: SceneArrays, across: np.ndarray, upward: np.ndarray) -> np.ndarray:
    """Zone (n,) of raster places (n,) [m]. Source: as the kernel `zone_of`."""
    left, right, bottom, top = arrays.projector.picture
    a = np.clip(np.floor((across - left) / (right - left) * ZONES_RIGHT), 0, ZONES_RIGHT - 1)
    b = np.clip(np.floor((top - upward) / (top - bottom) * ZONES_UP), 0, ZONES_UP - 1)
    return (b * ZONES_RIGHT + a).astype(int)
