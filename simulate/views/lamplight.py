"""Lamps and windows in pictures: what a light state puts on surfaces, on the cloth towards an eye, and windows as they are seen."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.albedo import directional_albedos
from ...materials.lobes.brdf import fabric_value
from ...scenes.model import Light, Scene
from ..light import workers
from ..light.geometry import STACK, Geometry, blocked
from ..light.lamps import AREA, AXIS, LINE, POINT, Lamps, lamp_sample, rectangle_lux
from ..light.patches import frozen
from ..light.readonly import read_only
from ..light.screen_samples import LitScreen
from ..light.vectors import row, screen_tangents, to_local
from ..measuring.flatten import SceneArrays
from ..measuring.lamps import lamp_shares
from .gather import GatherPoints

FEW, MANY = 8, 40  # points of a line or a window: where all or none are seen, and where an edge of a shadow lies
_GOLDEN, _OTHER = 0.7548776662466927, 0.5698402909980532  # Roberts' plane sequence (from memory)


class LampsOn(NamedTuple):
    """The lamps of a light state.

    lamps  at full output;  weight (L, 3) share of each times its colour in linear RGB of luminance 1 [1]
    """

    lamps: Lamps
    weight: np.ndarray


def burning(on: LampsOn) -> LampsOn:
    """Those that give light [1]: the others of a state, each as dear to ask, would add nought. Source: definition."""
    some = np.flatnonzero(on.weight.any(axis=1))
    each = {name: frozen(part[some]) for name, part in on.lamps._asdict().items() if name not in ("angle", "value")}
    return LampsOn(on.lamps._replace(**each), on.weight[some])


def lamps_on_in(scene: Scene, arrays: SceneArrays, light: Light | None) -> LampsOn | None:
    """What a light state has of lamps and windows; None where it has none. Source: `lamp_shares`."""
    if light is None or not light.traced:
        return None
    return LampsOn(arrays.lamps.lamps, lamp_shares(scene, light, arrays.lamps.names)[:, None] * arrays.lamps.colour)


@kernel
def lux_at(geometry, lamps, lamp, p, n, patch, stack):
    """Illuminance [lx] of a lamp at p [m], unit normal n, shadows by FEW of its points or, where an edge crosses it, by MANY.

    Source: `lamp_sample`; where no point is hidden a rectangle's closed form.
    """
    kind = lamps.kind[lamp]
    count = 1 if kind == POINT else FEW
    for _ in range(2):
        total, hidden, asked = 0.0, 0, 0
        for j in range(count):
            d, r, lux = lamp_sample(lamps, lamp, p, n, (0.5 + _GOLDEN * j) % 1.0, (0.5 + _OTHER * j) % 1.0)
            if lux <= 0.0:
                continue
            asked += 1
            if blocked(geometry, p, d, r, patch, np.int64(-1), stack):
                hidden += 1
            else:
                total += lux / count
        if hidden == 0 and kind == AREA:
            return rectangle_lux(lamps, lamp, p, n)
        if hidden == 0 or hidden == asked or count != FEW:
            return total
        count = MANY
    return total


@kernel
def fill_lux(geometry, lamps, points, out, stack, low, high):
    """Illuminance [lx] of every lamp at points low .. high - 1 into out (n, L). Source: `lux_at`."""
    for i in range(low, high):
        for lamp in range(out.shape[1]):
            out[i, lamp] = lux_at(
                geometry, lamps, lamp, row(points.place, i), row(points.normal, i), np.int64(points.patch[i]), stack
            )


@kernel
def fill_cloth(geometry, lamps, fabric, points, out, stack, low, high):
    """Luminance [cd/m2] that points of the cloth send to their eyes of every lamp's own light into out (n, L), before the tint.

    Source: L = f_r E over MANY points of a lamp, the fabric asked for each direction.
    """
    for i in range(low, high):
        place, patch, n = row(points.place, i), np.int64(points.patch[i]), row(points.normal, i)
        right, up = screen_tangents(n)
        eye = to_local(row(points.to_eye, i), right, up, n)
        for lamp in range(out.shape[1]):
            count = MANY if lamps.kind[lamp] >= LINE else 1
            out[i, lamp] = 0.0
            for j in range(count):
                a, b = (0.5 + _GOLDEN * j) % 1.0, (0.5 + _OTHER * j) % 1.0
                d, r, lux = lamp_sample(lamps, lamp, place, n, a, b)
                if lux > 0.0 and not blocked(geometry, place, d, r, patch, np.int64(-1), stack):
                    out[i, lamp] += lux / count * fabric_value(fabric, to_local(d, right, up, n), eye)


def on_surfaces(
    on: LampsOn, geometry: Geometry, place: np.ndarray, normal: np.ndarray, patch: np.ndarray, *, threads: int = 1
) -> np.ndarray:
    """Illuminance (n, 3) [lx] in linear RGB of a light state's lamps at places (n, 3) [m] on patches (n,). Source: `lux_at`."""
    on = burning(on)
    out = np.zeros((len(place), len(on.weight)))
    read = read_only((geometry, on.lamps, _points(place, normal, patch, np.zeros((0, 3)))))  # no eye is asked for
    workers.in_ranges(lambda low, high: fill_lux(*read, out, np.empty(STACK, np.int32), low, high), len(place), threads)
    return np.asarray(out @ on.weight)


def on_cloth(
    on: LampsOn,
    arrays: SceneArrays,
    place: np.ndarray,
    normal: np.ndarray,
    patch: np.ndarray,
    rays: np.ndarray,
    *,
    threads: int = 1,
) -> np.ndarray:
    """Luminance (n, 3) [cd/m2] of the cloth back along rays, by lamps' own light, tint included. Source: `fill_cloth`."""
    on = burning(on)
    out = np.zeros((len(place), len(on.weight)))
    read = read_only((arrays.geometry, on.lamps, arrays.fabric, _points(place, normal, patch, -rays)))
    workers.in_ranges(lambda low, high: fill_cloth(*read, out, np.empty(STACK, np.int32), low, high), len(place), threads)
    return np.asarray(out @ on.weight * np.array(arrays.fabric.tint))


def _points(place: np.ndarray, normal: np.ndarray, patch: np.ndarray, to_eye: np.ndarray) -> GatherPoints:
    """Points of one type for numba, whatever the arrays are parts of."""
    return GatherPoints(
        np.ascontiguousarray(place), np.ascontiguousarray(normal), patch.astype(np.int64), np.ascontiguousarray(to_eye)
    )


def windows_seen(on: LampsOn, place: np.ndarray, rays: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Number of the window (n,) at places (n, 3) [m] of walls, -1 for none, and its luminance (n, 3) [cd/m2].

    Source: a place within a millimetre of a rectangle, met from its front.
    """
    which, shine = np.full(len(place), -1), np.zeros((len(place), 3))
    for lamp in np.flatnonzero(np.asarray(on.lamps.kind) == AREA):
        u, v, normal = on.lamps.edge_u[lamp], on.lamps.edge_v[lamp], on.lamps.frame[lamp, AXIS]
        off = place - on.lamps.place[lamp]
        a, b = off @ u / (u @ u), off @ v / (v @ v)
        inside = (np.abs(off @ normal) < 1e-3) & (a > 0.0) & (a < 1.0) & (b > 0.0) & (b < 1.0) & (rays @ normal < 0.0)
        which[inside] = lamp
        shine[inside] = on.lamps.luminance[lamp] * on.weight[lamp]
    return which, shine


class Glow(NamedTuple):
    """The cloth as lamps light it, an even screen for the rest of the room.

    lit  samples that carry areas in place of flux;  fabric  a perfect diffuser times the cloth's albedo
    levels  (zones, 3) illuminance of each zone in linear RGB [lx]
    """

    lit: LitScreen
    fabric: FabricArrays
    levels: np.ndarray


def glow_of(on: LampsOn, arrays: SceneArrays, lit: LitScreen, *, threads: int = 1) -> Glow:
    """What lamps make of the cloth as a source for the room: each zone with its mean light, diffuse with the albedo at 45 deg.

    Approximate for cloth that is not diffuse: how much it sends on is kept, not where to. Source: energy.
    """
    zones, used = len(lit.zone_place), lit.patch >= 0
    lux = np.zeros((len(lit.place), 3))
    lux[used] = on_surfaces(on, arrays.geometry, lit.place[used], lit.normal[used], lit.patch[used], threads=threads)
    first, side = int(lit.first[0]), int(lit.side[0])
    coarse = lux[first : first + zones * side * side].reshape(zones, side * side, 3).mean(axis=1)
    left, right, bottom, top = arrays.projector.picture
    area, flux = (right - left) * (top - bottom) / zones, np.zeros(len(lit.flux))
    ends = [*lit.first[1:], len(flux)]
    for start, end in zip(lit.first, ends, strict=True):
        flux[start:end] = area / max((end - start) // zones, 1)
    slant = np.array([[0.0, np.sqrt(0.5), np.sqrt(0.5)]])
    albedo = float(directional_albedos(arrays.fabric, slant)[0])
    fabric = arrays.fabric._replace(base=np.full_like(arrays.fabric.base, albedo), lobes=arrays.fabric.lobes[:0])
    return Glow(lit._replace(flux=flux), fabric, coarse)
