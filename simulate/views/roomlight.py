"""The light on all surfaces of a room under one picture, solved once and shared by the pictures of all seats."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..flatten import SceneArrays
from ..light.litscreen import LitScreen, blank_samples, is_steep, land_all, light_the_screen
from ..light.mapgrid import MapGrid, make_grid
from ..light.patches import frozen
from ..light.projector import ZONES_RIGHT, ZONES_UP
from ..light.wallmap import zone_map
from ..solver import MAP_CELLS, colour_channels, sharpness
from .gather import Points, RoomValues, gather, ray_table
from .look import look
from .nodes import NodeGrid, fill_covered, node_grid
from .texture import Texture, cell_places, empty_texture, resampled

WALLS = 6
FIRST_RAYS, NODE_RAYS = 128, 1024
CELL_RAYS = 512
NEAR_M = 0.35  # before the screen's plane: cells up to here are asked themselves
_ROUNDS = 12
_SCATTERED = 16  # samples a zone where something hides a part of the screen


@dataclass(frozen=True)
class RoomLight:
    """A room under a picture: `values` for the gather, `lit` and `scattered` for exact light from the screen.

    levels       (zones, C) level of the picture's zones
    reflectance  (S, C), as many channels as finishes or picture need
    node_lx      (N, C) light on the nodes [lx], less what comes straight from screen and projector;  nodes their grid
    map_grid     grid of the wall map, whose kernel sums the screen's light at any place
    change       mean change by the last bounce, which has more rays than those before, as a share of the light [1]
    """

    arrays: SceneArrays
    values: RoomValues
    lit: LitScreen
    scattered: LitScreen
    levels: np.ndarray
    reflectance: np.ndarray
    nodes: NodeGrid
    map_grid: MapGrid
    node_lx: np.ndarray
    change: float

    def from_screen(self, place: np.ndarray, patch: np.ndarray, *, threads: int = 1) -> np.ndarray:
        """Illuminance (n, C) [lx] that comes straight from the lit screen to places (n, 3) [m] on patches (n,).

        Source: `zone_map`, the same sums as the wall map's, without interpolation; where a part of the screen is
        hidden, sixteen scattered samples a zone instead of even rows, which an even edge would hide all at once.
        """
        found = self._sums(self.lit, place, patch, self.arrays.objects, threads)
        if not self.arrays.objects:
            return found
        free = self._sums(self.lit, place, patch, False, threads)
        part = np.flatnonzero((found.sum(axis=1) > 0.0) & (found.sum(axis=1) < (1.0 - 1e-9) * free.sum(axis=1)))
        found[part] = self._sums(self.scattered, place[part], patch[part], True, threads)
        return found

    def _sums(self, lit: LitScreen, place: np.ndarray, patch: np.ndarray, test: bool, threads: int) -> np.ndarray:
        if not len(place):
            return np.zeros((0, len(self.values.tint)))
        at = self.map_grid._replace(place=np.ascontiguousarray(place), patch=patch.astype(np.int32))
        arrays = self.arrays
        flat = arrays.geometry._replace(relief=())  # folds shade themselves only a few degrees off their own plane: left out
        zones = zone_map(flat, at, lit, arrays.fabric, test_blocked=test, sharpness=sharpness(arrays), threads=threads)
        return zones @ self.levels * self.values.tint


def light_the_room(arrays: SceneArrays, levels: np.ndarray, *, seed: int = 1, threads: int = 1) -> RoomLight:
    """Solve the light in a room [cd/m2 and lx].

    levels   (zones, C) level of each zone of the picture, C = 1 for grey pictures, else 3; see content.py
    returns  RoomLight; its maps have as many channels as finishes or picture need
    raises   FloatingPointError when a value is not finite
    Source: Neumann series of bounces on nodes, each bounce a gather; the tail of the series by its ratio.
    """
    finishes = colour_channels(arrays)
    channels = max(finishes.reflectance.shape[1], levels.shape[1])
    geometry, projector = arrays.geometry, arrays.projector
    lit = smoothed(arrays, light_the_screen(geometry, projector))
    map_grid = make_grid(geometry, projector, cells=MAP_CELLS, shell=True)
    zones = zone_map(
        geometry, map_grid, lit, arrays.fabric, test_blocked=arrays.objects, sharpness=sharpness(arrays), threads=threads
    )
    levels = np.ascontiguousarray(np.broadcast_to(levels, (len(levels), channels)))
    tint = np.ascontiguousarray(np.broadcast_to(finishes.tint, channels))
    reflectance = np.ascontiguousarray(np.broadcast_to(finishes.reflectance, (len(finishes.reflectance), channels)))
    texture = empty_texture(geometry, projector, channels)
    place, owner = cell_places(geometry, texture)
    first_lx = resampled(map_grid, zones @ levels * tint, texture, extrapolate=True)
    first_lx = np.maximum(first_lx, 0.0) + _spill(arrays, levels, place, owner, threads)
    values = RoomValues(
        radiance=texture,
        zone=levels,
        tint=tint,
        solid=(np.arange(len(arrays.surfaces)) >= WALLS).astype(np.uint8),
    )
    rho = reflectance[geometry.surface[owner]] / np.pi
    nodes = node_grid(geometry)
    texture, node_lx, change = _bounces(arrays, values, nodes, first_lx, rho, seed, threads)
    values = values._replace(radiance=texture)
    room = RoomLight(arrays, values, lit, _scattered(arrays), levels, reflectance, nodes, map_grid, node_lx, change)
    near = np.flatnonzero((place - projector.frame[0]) @ projector.frame[3] < NEAR_M)
    where = (np.ascontiguousarray(place[near]), owner[near])
    near_lx = room.from_screen(*where, threads=threads) + _spill(arrays, levels, *where, threads)
    for _ in range(2):  # these cells light one another
        values = _asked_again(arrays, values, near, where, near_lx, rho[near], seed, threads)
    return replace(room, values=values)


def _spill(arrays: SceneArrays, levels: np.ndarray, place: np.ndarray, owner: np.ndarray, threads: int) -> np.ndarray:
    """The projector's own light (T, C) [lx] on cells: what the lens itself sees is lit."""
    if not arrays.projector.flags[0]:
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


def _bounces(
    arrays: SceneArrays, values: RoomValues, nodes: NodeGrid, first_lx: np.ndarray, rho: np.ndarray, seed: int, threads: int
) -> tuple[Texture, np.ndarray, float]:
    """Bounce light between nodes until one more adds little, then once more with many rays.

    returns  the surfaces' radiance, the nodes' illuminance (N, C) [lx], the last bounce's mean change as a share
    """
    points = Points(nodes.place, arrays.geometry.normal[nodes.patch], nodes.patch, np.zeros((len(nodes.place), 3)))
    lx = before = np.zeros((len(nodes.place), rho.shape[1]))
    texture, change = values.radiance._replace(value=rho * first_lx), 1.0
    table, last = ray_table(FIRST_RAYS, seed + 1), False
    for k in range(_ROUNDS):
        found, covered = gather(
            arrays.geometry, arrays.projector, arrays.fabric, values._replace(radiance=texture), points, table, threads=threads
        )
        new = np.pi * fill_covered(nodes, found, covered > 0.5)
        if not np.isfinite(new).all():
            raise FloatingPointError(f"light on node {int(np.argmin(np.isfinite(new).all(axis=1)))} is not finite")
        step = new - lx
        change = float(np.abs(step).sum() / max(new.sum(), 1e-300))
        ratio = float(step.sum() / before.sum()) if before.sum() > 0.0 else 0.0
        if not last and k in (2, 5, 8) and 0.0 < ratio < 0.9 and step.min() >= 0.0:
            new = new + step * ratio / (1.0 - ratio)  # the slowest mode is left: sum its geometric tail
        before, lx = step, new
        texture = texture._replace(value=rho * (first_lx + resampled(nodes, lx, texture, extrapolate=False)))
        if last:
            break
        if change < 3e-3 or k == _ROUNDS - 2:
            table, last = ray_table(NODE_RAYS, seed + 1), True  # one bounce with many rays takes most of the few rays' error
    return texture, lx, change


def _asked_again(
    arrays: SceneArrays,
    values: RoomValues,
    some: np.ndarray,
    where: tuple[np.ndarray, np.ndarray],
    first_lx: np.ndarray,
    rho: np.ndarray,
    seed: int,
    threads: int,
) -> RoomValues:
    """Radiance of the cells `some` (n,), at `where` (place, patch), from a gather there and their first light (n, C) [lx].

    Beside and behind the screen its plane and its shadow, a hand's breadth from the wall, change light faster than nodes stand.
    Source: one more bounce of the same series.
    """
    points = Points(where[0], arrays.geometry.normal[where[1]], where[1], np.zeros((len(some), 3)))
    table = ray_table(CELL_RAYS, seed + 1)
    hung = np.array([name in ("border", "screen") for name in arrays.surfaces])  # off the wall: shadow it, cover nothing
    bodies = values._replace(solid=np.where(hung, 0, values.solid).astype(np.uint8))
    found, covered = gather(arrays.geometry, arrays.projector, arrays.fabric, bodies, points, table, threads=threads)
    free = covered <= 0.5
    value = values.radiance.value.copy()
    value[some[free]] = (rho * (first_lx + np.pi * found))[free]
    return values._replace(radiance=values.radiance._replace(value=value))


def smoothed(arrays: SceneArrays, lit: LitScreen) -> LitScreen:
    """The samples of gently folded cloth as if its plane sent their flux [lm]; others as they are.

    Light nearly along the plane comes from slopes that lean that way and is partly hidden by crests. Samples know nothing of the
    crests, so surfaces near the plane got too much. What is seen of the cloth fills the same solid angle as the plane does, and
    its radiance hardly depends on the slope: so the plane's cosine is right to first order. Source: derived; `brute.py`.
    """
    if not arrays.geometry.relief or is_steep(arrays.geometry):
        return lit
    frame, count = arrays.projector.frame, len(lit.place)
    right, up, normal = (frozen(np.tile(frame[k], (count, 1))) for k in (1, 2, 3))
    ray = arrays.projector.lens - lit.place
    ray /= np.linalg.norm(ray, axis=1, keepdims=True)
    return lit._replace(right=right, up=up, normal=normal, source=frozen(ray @ np.array(frame[1:4]).T))


def _scattered(arrays: SceneArrays) -> LitScreen:
    """Flux samples with sixteen scattered places a zone, no two of a zone at one height or one side.

    Source: the first 16 points of the (0, 2)-sequence of van der Corput and Sobol.
    """
    k = np.arange(_SCATTERED)
    bits = [(k >> i) & 1 for i in range(4)]
    y = sum(bit / 2.0 ** (i + 1) for i, bit in enumerate(bits)) + 0.5 / _SCATTERED
    x = (k + 0.5) / _SCATTERED
    left, right, bottom, top = arrays.projector.picture
    width, height = (right - left) / ZONES_RIGHT, (top - bottom) / ZONES_UP
    row, column = np.divmod(np.arange(ZONES_RIGHT * ZONES_UP), ZONES_RIGHT)
    at_right = (left + width * (column[:, None] + x)).ravel()
    at_up = (top - height * (row[:, None] + y)).ravel()
    middle = left + width * (column + 0.5), top - height * (row + 0.5)
    n = len(row) * (1 + _SCATTERED)
    weight = np.concatenate([np.zeros(len(row)), np.full(at_right.size, width * height / _SCATTERED)])
    lit = blank_samples(
        n,
        first=np.full(1, len(row), np.int64),
        side=np.full(1, 4, np.int64),
        zone_place=np.zeros((len(row), 3)),
        zone_size=np.array([max(width, height)]),
    )
    across, upward = np.concatenate([middle[0], at_right]), np.concatenate([middle[1], at_up])
    land_all(arrays.geometry, arrays.projector, across, upward, weight, lit)
    lit.zone_place[:] = lit.place[: len(row)]
    return smoothed(arrays, LitScreen(*(frozen(a) for a in lit)))
