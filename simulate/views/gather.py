"""Final gather: what comes to points from all directions, with the room's surfaces read from maps one bounce further on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.brdf import fabric_value
from ..light import workers
from ..light.displaced_screen import normal_on
from ..light.geometry import SCREEN, STACK, Geometry, nearest_hit
from ..light.projector import Projection, ProjectorArrays, illuminance_lx, raster_place, zone_of
from ..light.readonly import read_only
from ..light.vectors import along, dot, row, screen_tangents, sub, tangents, to_local, to_world, triple, unit
from .primary_rays import in_the_dark
from .sobol_points import DIRECTIONS
from .texture import Texture, read_texture

CLOTH_HITS = 8  # a path goes on from the cloth, whose light has lobes, at most so often: from fold to fold
GOLDEN_ANGLE = math.pi * (3.0 - math.sqrt(5.0))
_TURN = (2.0, 2.6, 1.4)  # by how much the directions turn about the normal as the place moves [rad/m]


class RoomValues(NamedTuple):
    """The light on the room's surfaces, for C channels.

    radiance  what each place off the cloth sends back, however the light came there [cd/m2]
    zone      (zones, C) level of the picture's zones [1], for folded cloth that lights itself
    tint      (C,) of the fabric [1]
    """

    radiance: Texture
    zone: np.ndarray
    tint: np.ndarray


def together(values: Sequence[RoomValues]) -> RoomValues:
    """Rooms that differ in light and finishes alone as one with all their channels: the channels of `gather` do not know of each other."""
    return RoomValues(
        values[0].radiance._replace(value=np.hstack([each.radiance.value for each in values])),
        np.hstack([each.zone for each in values]),
        np.concatenate([each.tint for each in values]),
    )


class GatherPoints(NamedTuple):
    """Where light is gathered: place (n, 3) [m], normal (n, 3), patch (n,) int32, negative on a head, to_eye (n, 3) unit.

    Only the cloth heeds `to_eye`.
    """

    place: np.ndarray
    normal: np.ndarray
    patch: np.ndarray
    to_eye: np.ndarray


class Ray(NamedTuple):
    """A ray that leaves a patch, -1 on a head: patch it leaves, origin [m], unit direction [1], three numbers each."""

    start: int
    origin: tuple[float, float, float]
    direction: tuple[float, float, float]


class RayScratch(NamedTuple):
    """What rays write on their way, for one thread.

    through  (C,) a ray's weight [1], written at each hit on the cloth;  total (C,) gets the projector's light there [cd/m2]
    sent     (C,) what is read of the room [cd/m2];  stack  int32 (STACK,)
    """

    through: np.ndarray
    total: np.ndarray
    sent: np.ndarray
    stack: np.ndarray


def ray_scratch(channels: int) -> RayScratch:
    """Room for one thread."""
    return RayScratch(np.empty(channels), np.empty(channels), np.empty(channels), np.empty(STACK, np.int32))


def ray_table(count: int, seed: int, *, start: float = 0.5) -> np.ndarray:
    """Unit directions about z with density cos / pi [1/sr], CLOTH_HITS of them a path, (count, 3 CLOTH_HITS).

    count   a power of two;  seed  any non-negative integer
    start   0 .. 1, where in its ring of equal share each first direction lies [1]: the middle, unless several tables share the rings
    Source: a sunflower's seeds (Vogel 1979) on the disc under the half-sphere: one direction in each ring, so what does not
    change round the normal is summed as by the midpoint rule. After hits on the cloth: Sobol points with a random digital shift
    (Cranley and Patterson's idea on bits) under Shirley and Chiu's map.
    """
    index = np.arange(count, dtype=np.uint64)
    gray = index ^ (index >> np.uint64(1))
    bits = np.tile(np.random.default_rng(seed).integers(0, 1 << 32, size=2 * CLOTH_HITS, dtype=np.uint64), (count, 1))
    for bit in range(count.bit_length()):
        odd = (gray >> np.uint64(bit)) & np.uint64(1) != 0
        bits[odd] ^= DIRECTIONS[: 2 * CLOTH_HITS, bit].astype(np.uint64)
    numbers = (bits + 0.5) / 2.0**32
    a, b = 2.0 * numbers[:, 0::2] - 1.0, 2.0 * numbers[:, 1::2] - 1.0
    wide = np.abs(a) > np.abs(b)
    with np.errstate(divide="ignore", invalid="ignore"):
        phi = np.where(wide, np.pi / 4 * b / a, np.pi / 2 - np.pi / 4 * a / b)
    r = np.where(wide, a, b)
    r[:, 0] = np.sqrt((np.arange(count) + start) / count)
    phi[:, 0] = np.arange(count) * GOLDEN_ANGLE
    z = np.sqrt(np.maximum(0.0, 1.0 - r * r))
    return np.ascontiguousarray(np.stack([r * np.cos(phi), r * np.sin(phi), z], axis=2).reshape(count, -1))


@kernel
def end_of_ray(projection, values, table, r, ray, lit, scratch):
    """Where a ray ends off the cloth: patch or -1 in the dark, u, v, what the cloth on its way leaves, its tint apart [1], and hits on it.

    table    of `ray_table`, r the ray's row: how it goes on after its hits on the cloth;  scratch  a RayScratch
    lit      True where the projector's light on the cloth counts at the first hit too; from the second it always does
    Source: rendering equation; off the cloth the ray ends, on the cloth it goes on.
    """
    geometry, projector, fabric = projection
    through, total, stack = scratch.through, scratch.total, scratch.stack
    skip, origin, direction = ray
    left = 1.0
    for m in range(CLOTH_HITS):
        t, patch, u, v = nearest_hit(geometry, origin, direction, skip, stack)
        if patch < 0:
            break
        n = normal_on(geometry, patch, u, v)
        if dot(n, direction) >= 0.0:
            break
        if geometry.role[patch] != SCREEN:
            return np.int64(patch), u, v, left, m
        p = along(origin, direction, t)
        a, b = screen_tangents(n)
        seen = to_local((-direction[0], -direction[1], -direction[2]), a, b, n)
        lux = illuminance_lx(projector, p, n) if lit or m > 0 else 0.0
        if lux > 0.0 and not in_the_dark(geometry, projector, p, patch, stack):
            across, upward, _ = raster_place(projector, p)
            zone = zone_of(projector, across, upward)
            value = fabric_value(fabric, to_local(unit(sub(triple(projector.lens), p)), a, b, n), seen)
            for c in range(total.shape[0]):
                total[c] += through[c] * value * lux * values.zone[zone, c] * values.tint[c]
        if m + 1 == CLOTH_HITS:
            break
        local = (table[r, 3 * m + 3], table[r, 3 * m + 4], table[r, 3 * m + 5])
        weight = math.pi * fabric_value(fabric, local, seen)
        left *= weight
        for c in range(total.shape[0]):
            through[c] *= weight * values.tint[c]
        direction = to_world(local, a, b, n)
        origin = p
        skip = patch
    return np.int64(-1), 0.0, 0.0, 0.0, 0


@kernel
def gather_points(projection, values, points, table, scratch, out, low, high):
    """Fill out (n, C) for the points low .. high - 1: light / pi that arrives, weighed towards the eye on the cloth [cd/m2].

    Left out is what comes straight from the lit screen to a patch off the cloth, and the projector's own light.
    The table turns slowly with the place: neighbours err alike and no grain is seen, places far apart err otherwise and a
    surface as a whole hardly errs. Source: rendering equation, cosine sampling: the mean of pi f_r L.
    """
    channels = values.tint.shape[0]
    geometry, fabric = projection.geometry, projection.fabric
    sent, through, total = scratch.sent, scratch.through, scratch.total
    for i in range(low, high):
        start = np.int64(points.patch[i])
        n = row(points.normal, i)
        on_cloth = start >= 0 and geometry.role[start] == SCREEN
        right, up = screen_tangents(n) if on_cloth else tangents(n)
        to_eye = to_local(row(points.to_eye, i), right, up, n)
        turn = dot(row(points.place, i), _TURN)
        cosine, sine = math.cos(turn), math.sin(turn)
        for c in range(channels):
            total[c] = 0.0
        for r in range(table.shape[0]):
            x, y = table[r, 0], table[r, 1]
            local = (cosine * x - sine * y, sine * x + cosine * y, table[r, 2])
            weight = math.pi * fabric_value(fabric, local, to_eye) if on_cloth else 1.0
            for c in range(channels):
                through[c] = weight * values.tint[c] if on_cloth else 1.0
            ray = Ray(start, row(points.place, i), to_world(local, right, up, n))
            end, u, v, _, _ = end_of_ray(projection, values, table, r, ray, on_cloth or start < 0, scratch)
            if end >= 0:
                read_texture(values.radiance, end, u, v, sent)
                for c in range(channels):
                    total[c] += through[c] * sent[c]
        for c in range(channels):
            out[i, c] = total[c] / table.shape[0]


def gather(
    geometry: Geometry,
    projector: ProjectorArrays,
    fabric: FabricArrays,
    values: RoomValues,
    points: GatherPoints,
    table: np.ndarray,
    *,
    threads: int = 1,
) -> np.ndarray:
    """Light / pi at points, (n, C) [cd/m2].

    values, table  as `RoomValues` and `ray_table` give them; C is that of `values.tint`
    Source: `gather_points`.
    """
    out = np.zeros((len(points.place), len(values.tint)))
    read = read_only((Projection(geometry, projector, fabric), values, points, table))
    workers.in_ranges(lambda low, high: gather_points(*read, ray_scratch(out.shape[1]), out, low, high), len(out), threads)
    return out
