"""Final gather at a few places with its hits kept: cloth as seats see it, viewers' heads. Fabric, finishes and picture are put in later.

The rays are those of `views/gather.py`, the cloth flat: a ray from the cloth never meets it again, one from a head at most once.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.brdf import fabric_value
from ..light import workers
from ..light.geometry import SCREEN, STACK, Geometry, nearest_hit
from ..light.projector import ProjectorArrays, illuminance_lx, raster_place, zone_of
from ..light.readonly import read_only
from ..light.vectors import along, dot, row, screen_tangents, sub, tangents, to_local, to_world, triple, unit
from ..views.gather import _TURN, GatherPoints
from ..views.primary_rays import in_the_dark
from ..views.texture import Texture, half_cell


class RayEnds(NamedTuple):
    """Where n rays end, between which cells; T, a cell that is always dark, where nowhere.

    cell  (n,) int32 the first;  across, upward (n,) int32 the way to its neighbours, 0 without;  s, t (n,) float32 weights of these [1]
    """

    cell: np.ndarray
    across: np.ndarray
    upward: np.ndarray
    s: np.ndarray
    t: np.ndarray


class ClothHits(NamedTuple):
    """K rays that meet the cloth and go on.

    which  (K,) int64 number of the ray;  seen, lens, on (K, 3) in the cloth's frame: back along the ray, to the lens, where it goes on [1]
    lux    (K,) by the white picture [lx], in the level of zone (K,) int32
    """

    which: np.ndarray
    seen: np.ndarray
    lens: np.ndarray
    on: np.ndarray
    lux: np.ndarray
    zone: np.ndarray


class PointRays(NamedTuple):
    """What the rays of points are made of and meet: table (R, ...) of `ray_table` [1];  dark  the cell that is always dark."""

    geometry: Geometry
    texture: Texture
    points: GatherPoints
    table: np.ndarray
    dark: np.int64


def blank_ends(count: int) -> RayEnds:
    """RayEnds of so many rays, to be written. Source: definition."""
    whole = (np.empty(count, np.int32) for _ in range(3))
    return RayEnds(*whole, *(np.empty(count, np.float32) for _ in range(2)))


@kernel
def point_ray(geometry, points, table, i, r):
    """Direction of ray r of point i, in the point's frame and in the room's, and whether the point is cloth. Source: as `gather_points`."""
    start = np.int64(points.patch[i])
    n = row(points.normal, i)
    on_cloth = start >= 0 and geometry.role[start] == SCREEN
    right, up = screen_tangents(n) if on_cloth else tangents(n)
    turn = dot(row(points.place, i), _TURN)
    cosine, sine = math.cos(turn), math.sin(turn)
    x, y = table[r, 0], table[r, 1]
    local = (cosine * x - sine * y, sine * x + cosine * y, table[r, 2])
    return local, to_world(local, right, up, n), on_cloth


@kernel
def end_between(texture, patch, u, v, dark, ends, k):
    """Write the cells between which (u, v) of a patch lies. Source: as `read_texture`."""
    ends.cell[k], ends.across[k], ends.upward[k], ends.s[k], ends.t[k] = dark, 0, 0, 0.0, 0.0
    if patch < 0 or texture.first[patch] < 0:
        return
    a = half_cell(texture, patch, 0, texture.half_u[patch], u)
    b = half_cell(texture, patch, 1, texture.half_v[patch], v)
    many = np.int64(texture.count_v[patch])
    ends.cell[k] = np.int64(texture.first[patch]) + texture.base[a] * many + texture.base[b]
    ends.across[k] = many if texture.slope[a] > 0.0 else 0
    ends.upward[k] = 1 if texture.slope[b] > 0.0 else 0
    ends.s[k], ends.t[k] = (u - texture.middle[a]) * texture.slope[a], (v - texture.middle[b]) * texture.slope[b]


@kernel
def follow(asked, ends, on_cloth, stack, low, high):
    """RayEnds of the rays of points low .. high - 1, row by row, and on_cloth (n R,) uint8. Source: nearest hits [m]."""
    geometry, texture, points, table, dark = asked
    many = table.shape[0]
    for i in range(low, high):
        for r in range(many):
            k = i * many + r
            _, direction, _ = point_ray(geometry, points, table, i, r)
            _, patch, u, v = nearest_hit(geometry, row(points.place, i), direction, np.int64(points.patch[i]), stack)
            faced = patch >= 0 and dot(row(geometry.normal, patch), direction) < 0.0
            on_cloth[k] = faced and geometry.role[patch] == SCREEN
            end_between(texture, patch if faced and on_cloth[k] == 0 else np.int64(-1), u, v, dark, ends, k)


@kernel
def follow_on(asked, projector, met, ends, stack, low, high):
    """The rays that met the cloth: the light there, and where they end. Source: as `gather.end_of_ray`."""
    geometry, texture, points, table, dark = asked
    many = table.shape[0]
    for k in range(low, high):
        i, r = met.which[k] // many, met.which[k] % many
        origin = row(points.place, i)
        _, direction, _ = point_ray(geometry, points, table, i, r)
        t, cloth, _, _ = nearest_hit(geometry, origin, direction, np.int64(points.patch[i]), stack)
        n, p = row(geometry.normal, cloth), along(origin, direction, t)
        a, b = screen_tangents(n)
        seen = to_local((-direction[0], -direction[1], -direction[2]), a, b, n)
        lens = to_local(unit(sub(triple(projector.lens), p)), a, b, n)
        local = (table[r, 3], table[r, 4], table[r, 5])
        lux = illuminance_lx(projector, p, n)
        met.zone[k] = 0
        if lux > 0.0:
            if in_the_dark(geometry, projector, p, cloth, stack):
                lux = 0.0
            across, upward, _ = raster_place(projector, p)
            met.zone[k] = zone_of(projector, across, upward)
        met.lux[k] = lux
        for j in range(3):
            met.seen[k, j], met.lens[k, j], met.on[k, j] = seen[j], lens[j], local[j]
        onward = to_world(local, a, b, n)
        _, patch, u, v = nearest_hit(geometry, p, onward, cloth, stack)
        faced = patch >= 0 and geometry.role[patch] != SCREEN and dot(row(geometry.normal, patch), onward) < 0.0
        end_between(texture, patch if faced else np.int64(-1), u, v, dark, ends, k)


@kernel
def towards_eye(geometry, fabric, points, table, weight, low, high):
    """pi f_r towards the eye of the rays of cloth points low .. high - 1 into weight (n R,) [1], the tint apart. Source: `fabric_value`."""
    many = table.shape[0]
    for i in range(low, high):
        n = row(points.normal, i)
        right, up = screen_tangents(n)
        eye = to_local(row(points.to_eye, i), right, up, n)
        for r in range(many):
            local, _, _ = point_ray(geometry, points, table, i, r)
            weight[i * many + r] = math.pi * fabric_value(fabric, local, eye)


@kernel
def by_cloth(fabric, met, direct, onward, low, high):
    """Luminance of white [cd/m2] that rays met on the cloth into direct (K,), and what goes on, pi f_r, into onward (K,). Source: `fabric_value`."""
    for k in range(low, high):
        seen = np.float64(met.seen[k, 0]), np.float64(met.seen[k, 1]), np.float64(met.seen[k, 2])
        lens = np.float64(met.lens[k, 0]), np.float64(met.lens[k, 1]), np.float64(met.lens[k, 2])
        on = np.float64(met.on[k, 0]), np.float64(met.on[k, 1]), np.float64(met.on[k, 2])
        direct[k] = met.lux[k] * fabric_value(fabric, lens, seen) if met.lux[k] > 0.0 else 0.0
        onward[k] = math.pi * fabric_value(fabric, on, seen)


@kernel
def read_ends(ends, weight, many, sent, out, low, high):
    """Mean over rows of `many` rays of weight x what is sent from where they end, (n, C), for the rows low .. high - 1. Source: bilinear."""
    for i in range(low, high):
        for c in range(sent.shape[1]):
            total = 0.0
            for k in range(i * many, (i + 1) * many):
                a, s, t = ends.cell[k], ends.s[k], ends.t[k]
                b, one = a + ends.across[k], ends.upward[k]
                value = (1.0 - s) * ((1.0 - t) * sent[a, c] + t * sent[a + one, c]) + s * (
                    (1.0 - t) * sent[b, c] + t * sent[b + one, c]
                )
                total += weight[k] * max(value, 0.0)
            out[i, c] = total / many


def hits(
    geometry: Geometry, texture: Texture, points: GatherPoints, table: np.ndarray, *, threads: int
) -> tuple[RayEnds, np.ndarray]:
    """Where the rays of `table` from points end, and the numbers of those that met the cloth. Places [m]. Source: `follow`."""
    count = len(points.place) * len(table)
    ends, on_cloth = blank_ends(count), np.zeros(count, np.uint8)
    asked = read_only(PointRays(geometry, texture, points, table, np.int64(len(texture.value))))
    workers.in_ranges(
        lambda low, high: follow(asked, ends, on_cloth, np.empty(STACK, np.int32), low, high), len(points.place), threads
    )
    return ends, np.flatnonzero(on_cloth)


def on_cloth(
    geometry: Geometry,
    projector: ProjectorArrays,
    texture: Texture,
    points: GatherPoints,
    table: np.ndarray,
    which: np.ndarray,
    *,
    threads: int,
) -> tuple[ClothHits, RayEnds]:
    """What the rays `which` (K,) met on the cloth [lx], and where they end. Source: `follow_on`."""
    count = len(which)
    seen, lens, on = (np.empty((count, 3), np.float32) for _ in range(3))
    met = ClothHits(which.astype(np.int64), seen, lens, on, np.empty(count, np.float32), np.empty(count, np.int32))
    ends, dark = blank_ends(count), np.int64(len(texture.value))
    asked, beam = read_only((PointRays(geometry, texture, points, table, dark), projector))
    workers.in_ranges(lambda low, high: follow_on(asked, beam, met, ends, np.empty(STACK, np.int32), low, high), count, threads)
    return met, ends


def read(ends: RayEnds, weight: np.ndarray, many: int, sent: np.ndarray, *, threads: int) -> np.ndarray:
    """Mean over every `many` rays of weight (n many,) [1] x what is sent (T + 1, C) [cd/m2], (n, C). Source: `read_ends`."""
    out = np.empty((len(weight) // many, sent.shape[1]))
    kept = read_only((ends, weight))
    workers.in_ranges(lambda low, high: read_ends(*kept, many, sent, out, low, high), len(out), threads)
    return out


def eye_weights(geometry: Geometry, fabric: FabricArrays, points: GatherPoints, table: np.ndarray, *, threads: int) -> np.ndarray:
    """pi f_r (n R,) float32 [1] of the rays of cloth points towards `points.to_eye`. Source: `towards_eye`."""
    weight = np.empty(len(points.place) * len(table), np.float32)
    kept = read_only((geometry, fabric, points, table))
    workers.in_ranges(lambda low, high: towards_eye(*kept, weight, low, high), len(points.place), threads)
    return weight


def cloth_weights(fabric: FabricArrays, met: ClothHits, *, threads: int) -> tuple[np.ndarray, np.ndarray]:
    """Luminance of white [cd/m2] where rays met the cloth, and pi f_r with which they go on [1], (K,) float32, tint apart. Source: `by_cloth`."""
    direct, onward = np.empty(len(met.lux), np.float32), np.empty(len(met.lux), np.float32)
    kept = read_only((fabric, met))
    workers.in_ranges(lambda low, high: by_cloth(*kept, direct, onward, low, high), len(direct), threads)
    return direct, onward
