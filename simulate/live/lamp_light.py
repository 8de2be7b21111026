"""Lamps and windows of a light state on the page: what each sends at full output is kept, so that dimming one is a sum."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from dataclasses import field
from typing import NamedTuple

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.fabric import FabricArrays
from ...materials.lobes.albedo import directional_albedos
from ...scenes.head import HEAD_RADIUS_M
from ..light import workers
from ..light.direct import cloth_points
from ..light.geometry import STACK, Geometry
from ..light.lamps import AREA, AXIS
from ..light.readonly import read_only
from ..light.screen_samples import LitScreen
from ..measuring.flatten import SceneArrays
from ..measuring.lamps import LampSet, key_of
from ..views.gather import GatherPoints
from ..views.lamplight import LampsOn, fill_cloth, fill_lux
from ..views.room_glb import to_gltf
from ..views.shade import HEAD_REFLECTANCE
from ..views.texture import Texture, read_texture
from .sights import MOST_HEADS, head_corners, places_on

CLOTH = 49, 28  # places across and down of the lamps' own light on the cloth
PANE = 9  # places along each edge of a window at which its light is told
PIECE = 3000  # cells of one step
_MOST_KEPT = 16
_BEFORE_M = 0.001  # a window is drawn so far before its wall
_NO_EYE = np.zeros((0, 3))


@dataclass(frozen=True)
class LampsOnCells:
    """What the L lamps of `key` send at full output: to a room's T cells, lux (T, L) float32, to the picture's zones, zone (zones, L) [lx]."""

    key: Hashable
    lux: np.ndarray
    zone: np.ndarray
    _kept: OrderedDict[Hashable, np.ndarray] = field(default_factory=OrderedDict)

    def once(self, key: Hashable, make: Callable[[], np.ndarray]) -> np.ndarray:
        """What a seat or heads see of these lamps, made when it is first asked for; what was asked for longest ago goes."""
        if key not in self._kept:
            self._kept[key] = make()
        self._kept.move_to_end(key)
        while len(self._kept) > _MOST_KEPT:
            self._kept.popitem(last=False)
        return self._kept[key]


class LampState(NamedTuple):
    """The lamps of a light state in a room: what they send at full output, and weight (L, 3), what the state takes of each in its colour [1]."""

    cells: LampsOnCells
    on: LampsOn

    def alike(self, other: LampState | None) -> bool:
        """Whether the other one is the same light."""
        return other is not None and self.cells.key == other.cells.key and np.array_equal(self.on.weight, other.on.weight)

    def grey(self) -> bool:
        """Whether all of its light is white."""
        return float(np.ptp(self.on.weight, axis=1).max(initial=0.0)) == 0.0

    def first_lux(
        self, even: np.ndarray, zone_lux: np.ndarray, fabric: FabricArrays, channels: int
    ) -> tuple[np.ndarray, np.ndarray]:
        """Illuminance (T, C) float32 of the cells by the lamps, and by the cloth that they light, tint apart [lx].

        even (T, zones) what zones of a white picture send under a perfect diffuser, zone_lux (zones,) that picture's light on them [lx]
        Source: `glow_of`; zones share their light evenly.
        """
        weight = np.ascontiguousarray(self.on.weight[:, :channels], np.float32)
        slant = np.array([[0.0, np.sqrt(0.5), np.sqrt(0.5)]])
        albedo = float(directional_albedos(fabric, slant)[0])
        glow = albedo * np.divide(
            self.cells.zone @ weight, zone_lux[:, None], out=np.zeros((len(zone_lux), channels)), where=zone_lux[:, None] > 0.0
        )
        return self.cells.lux @ weight, even @ glow.astype(np.float32)


def lamp_cells_steps(
    arrays: SceneArrays, lit: LitScreen, place: np.ndarray, owner: np.ndarray, *, threads: int
) -> Iterator[LampsOnCells | None]:
    """What a scene's lamps send to cells at place (T, 3) [m] on patches owner (T,), in steps; the last is LampsOnCells. Source: `lux_at`."""
    lamps, parts = arrays.lamps, []
    for low in range(0, len(place), PIECE):
        yield None
        some = slice(low, low + PIECE)
        parts.append(_lux(arrays.geometry, lamps, place[some], arrays.geometry.normal[owner[some]], owner[some], threads))
    yield None
    zones, first, side = len(lit.zone_place), int(lit.first[0]), int(lit.side[0])
    some = slice(first, first + zones * side * side)
    used = lit.patch[some] >= 0
    on_zones = np.zeros((len(used), len(lamps.names)))
    on_zones[used] = _lux(arrays.geometry, lamps, lit.place[some][used], lit.normal[some][used], lit.patch[some][used], threads)
    zone = on_zones.reshape(zones, side * side, -1).mean(axis=1)
    yield LampsOnCells(key_of(lamps), np.concatenate(parts).astype(np.float32), zone)


def _lux(
    geometry: Geometry, lamps: LampSet, place: np.ndarray, normal: np.ndarray, patch: np.ndarray, threads: int
) -> np.ndarray:
    """Illuminance (n, L) [lx] of each lamp at full output. Source: `fill_lux`."""
    out = np.zeros((len(place), len(lamps.names)))
    read = read_only((geometry, lamps.lamps, _points(place, normal, patch, _NO_EYE)))
    workers.in_ranges(lambda low, high: fill_lux(*read, out, np.empty(STACK, np.int32), low, high), len(out), threads)
    return out


def _points(place: np.ndarray, normal: np.ndarray, patch: np.ndarray, to_eye: np.ndarray) -> GatherPoints:
    return GatherPoints(
        np.ascontiguousarray(place), np.ascontiguousarray(normal), patch.astype(np.int64), np.ascontiguousarray(to_eye)
    )


def zone_lux(arrays: SceneArrays, lit: LitScreen) -> np.ndarray:
    """Mean illuminance (zones,) [lx] of the picture's zones by white. Source: flux over area."""
    zones, first, side = len(lit.zone_place), int(lit.first[0]), int(lit.side[0])
    left, right, bottom, top = arrays.projector.picture
    flux = lit.flux[first : first + zones * side * side].reshape(zones, -1).sum(axis=1)
    return np.asarray(flux * zones / ((right - left) * (top - bottom)))


def lamps_on_cloth(arrays: SceneArrays, eye: np.ndarray, *, threads: int) -> np.ndarray:
    """Luminance (28, 49, L) [cd/m2] of the flat cloth towards an eye [m] by each lamp's own light, tint apart. Source: `fill_cloth`."""
    cloth = cloth_points(arrays.geometry, arrays.projector, *places_on(arrays, *CLOTH))
    away = eye - cloth.place
    away /= np.linalg.norm(away, axis=1, keepdims=True)
    out = np.zeros((len(away), len(arrays.lamps.names)))
    read = read_only((arrays.geometry, arrays.lamps.lamps, arrays.fabric, _points(cloth.place, cloth.normal, cloth.patch, away)))
    workers.in_ranges(lambda low, high: fill_cloth(*read, out, np.empty(STACK, np.int32), low, high), len(out), threads)
    return out.reshape(*CLOTH[::-1], -1)


def lamps_on_heads(arrays: SceneArrays, *, threads: int) -> np.ndarray:
    """Luminance (heads, corners, L) [cd/m2] of viewers' heads at the corners of `head_corners` by each lamp's own light. Source: `lux_at`."""
    way, eyes = head_corners(), arrays.eyes[:MOST_HEADS]
    place, normal = (eyes[:, None] + HEAD_RADIUS_M * way).reshape(-1, 3), np.tile(way, (len(eyes), 1))
    lux = _lux(arrays.geometry, arrays.lamps, place, normal, np.full(len(place), -1), threads)
    return HEAD_REFLECTANCE / np.pi * lux.reshape(len(eyes), len(way), -1)


def finer(coarse: np.ndarray, shape: tuple[int, int]) -> np.ndarray:
    """A map (rows, columns, C) at more places, first and last on the same edges. Source: bilinear."""
    for axis, many in enumerate(shape):
        at = np.linspace(0.0, coarse.shape[axis] - 1.0, many)
        low = np.minimum(at.astype(int), coarse.shape[axis] - 2)
        part = (at - low).reshape([-1 if k == axis else 1 for k in range(3)])
        coarse = (1.0 - part) * np.take(coarse, low, axis) + part * np.take(coarse, low + 1, axis)
    return coarse


def panes(on: LampsOn, geometry: Geometry, sent: Texture) -> tuple[np.ndarray, np.ndarray]:
    """Windows that shine: places (n, 9, 9, 3) in glTF axes [m], u outer, and luminance (n, 9, 9, 3) with what their wall sends [cd/m2].

    sent  what the room's surfaces send, the projector's own light apart.  Source: as `windows_seen`
    """
    places, light = [], []
    for lamp in np.flatnonzero((np.asarray(on.lamps.kind) == AREA) & (on.weight.max(axis=1, initial=0.0) > 0.0)):
        u, v, normal = on.lamps.edge_u[lamp], on.lamps.edge_v[lamp], on.lamps.frame[lamp, AXIS]
        a, b = (x.reshape(-1, 1) for x in np.meshgrid(*2 * [np.linspace(0.0, 1.0, PANE)], indexing="ij"))
        if np.cross(u, v) @ normal < 0.0:  # the front faces along u x v
            a = 1.0 - a
        place = on.lamps.place[lamp] + a * u + b * v
        places.append(to_gltf(place + _BEFORE_M * normal))
        light.append(on.lamps.luminance[lamp] * on.weight[lamp] + _wall(geometry, sent, place, normal))
    shape = (len(places), PANE, PANE, 3)
    return np.array(places, np.float32).reshape(shape), np.array(light).reshape(shape)


def _wall(geometry: Geometry, sent: Texture, place: np.ndarray, normal: np.ndarray) -> np.ndarray:
    """What the surface behind places (n, 3) [m] of a window sends, (n, 3) [cd/m2]; 0 where none is found."""
    out, one = np.zeros((len(place), 3)), np.zeros(sent.value.shape[1])
    for k, p in enumerate(place):
        off = np.einsum("ij,ij->i", p - geometry.corner, geometry.normal)
        u = np.einsum("ij,ij->i", p - geometry.corner, geometry.plane[:, 6:9])
        v = np.einsum("ij,ij->i", p - geometry.corner, geometry.plane[:, 9:12])
        inside = (np.abs(off) < _BEFORE_M) & (geometry.normal @ normal > 0.99) & (sent.first >= 0)
        inside &= (u > -1e-6) & (u < 1.0 + 1e-6) & (v > -1e-6) & (v < 1.0 + 1e-6)
        if inside.any():
            patch = int(np.argmax(inside))
            read_texture(sent, patch, min(max(u[patch], 0.0), 1.0 - 1e-9), min(max(v[patch], 0.0), 1.0 - 1e-9), one)
            out[k] = one
    return out
