"""Reference estimator, for tests and benchmarks alone: the light at points by plain path tracing.

Nothing is interpolated and nothing asked: slow, and the judge of the fast way.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from ...materials.lobes.brdf import fabric_value
from ..light import workers
from ..light.displaced_screen import normal_on
from ..light.geometry import SCREEN, nearest_hit
from ..light.next_event import fraction
from ..light.numbers import address
from ..light.projector import Projection, illuminance_lx, in_shadow, raster_place, zone_of
from ..light.vectors import along, cosine_direction, dot, row, screen_tangents, sub, tangents, to_local, to_world, triple, unit
from ..measuring.flatten import SceneArrays
from .gather import GatherPoints, Ray, ray_scratch

_SURVIVAL = 0.85


class BruteScene(NamedTuple):
    """All that a path reads: reflectance (surfaces, C) and tint (C,) of the fabric [1];  zone (zones, C) level of the picture [1]."""

    projection: Projection
    reflectance: np.ndarray
    tint: np.ndarray
    zone: np.ndarray


@kernel
def own_light(projection, p, n, patch, frame, seen, stack):
    """The projector's own light at a hit: illuminance by full white [lx], zone of the picture, f_r / rho towards `seen` [1/sr].

    p, n     place [m] and unit normal, on `patch`;  frame  two unit tangents there;  seen  unit direction in that frame
    returns  (0, 0, 0) off the beam and in a shadow
    Source: L = f_r E; inverse-square and cosine laws in `illuminance_lx`; 1 / pi for a matt surface.
    """
    geometry, projector, fabric = projection
    lux = illuminance_lx(projector, p, n)
    if not lux > 0.0 or in_shadow(geometry, projector, p, patch, stack):
        return 0.0, np.int64(0), 0.0
    across, upward, _ = raster_place(projector, p)
    value = 1.0 / math.pi
    if geometry.role[patch] == SCREEN:
        value = fabric_value(fabric, to_local(unit(sub(triple(projector.lens), p)), frame[0], frame[1], n), seen)
    return lux, np.int64(zone_of(projector, across, upward)), value


@kernel
def follow_path(scene, bits, ray, scratch):
    """Add to scratch.total (C,) the radiance [cd/m2] that one path brings to its start; it ends in the open, on a black back or by lot.

    scene  a BruteScene;  bits  of the path's random numbers;  ray  its first
    scratch.through  (C,) the path's weight [1]: read at the start, written at each hit
    At each hit the projector's own light is added; the cloth reflects by its BRDF, the rest by their reflectance.
    Source: rendering equation, cosine sampling, roulette with one fixed survival from the third hit.
    """
    projection, reflectance, tint, zone = scene
    geometry, fabric = projection.geometry, projection.fabric
    through, found, stack = scratch.through, scratch.total, scratch.stack
    skip, origin, direction = ray
    for m in range(1, 200):
        t, patch, u, v = nearest_hit(geometry, origin, direction, skip, stack)
        if patch < 0:
            return
        n = normal_on(geometry, patch, u, v)
        if dot(n, direction) >= 0.0:
            return
        p = along(origin, direction, t)
        cloth = geometry.role[patch] == SCREEN
        a, b = screen_tangents(n) if cloth else tangents(n)
        seen = to_local((-direction[0], -direction[1], -direction[2]), a, b, n)
        surface = geometry.surface[patch]
        lux, z, value = own_light(projection, p, n, patch, (a, b), seen, stack)
        if lux > 0.0:
            for c in range(found.shape[0]):
                rho = tint[c] if cloth else reflectance[surface, c]
                found[c] += through[c] * value * rho * lux * zone[z, c]
        local = cosine_direction(fraction(address(bits, m, 0)), fraction(address(bits, m, 1)))
        value = math.pi * fabric_value(fabric, local, seen) if cloth else 1.0
        if m >= 3:
            if fraction(address(bits, m, 2)) > _SURVIVAL:
                return
            value /= _SURVIVAL
        for c in range(found.shape[0]):
            through[c] *= value * (tint[c] if cloth else reflectance[surface, c])
        direction = to_world(local, a, b, n)
        origin = p
        skip = patch


@kernel
def trace_points(scene, points, seed, paths, scratch, out, low, high):
    """Mean and variance of the mean over paths, from points low .. high - 1, into out (n, 2, C): light / pi [cd/m2], its square.

    On the cloth light is weighed towards the point's eye. Source: mean of pi f_r L under cosine sampling; `follow_path`.
    """
    geometry, fabric, tint = scene.projection.geometry, scene.projection.fabric, scene.tint
    channels = tint.shape[0]
    through, found = scratch.through, scratch.total
    for i in range(low, high):
        start = np.int64(points.patch[i])
        n = row(points.normal, i)
        on_cloth = start >= 0 and geometry.role[start] == SCREEN
        a, b = screen_tangents(n) if on_cloth else tangents(n)
        to_eye = to_local(row(points.to_eye, i), a, b, n)
        for c in range(channels):
            out[i, 0, c] = 0.0
            out[i, 1, c] = 0.0
        for j in range(paths):
            bits = address(seed, np.int64(i), np.int64(j))
            local = cosine_direction(fraction(address(bits, 0, 0)), fraction(address(bits, 0, 1)))
            weight = math.pi * fabric_value(fabric, local, to_eye) if on_cloth else 1.0
            for c in range(channels):
                found[c] = 0.0
                through[c] = weight * tint[c] if on_cloth else 1.0
            follow_path(scene, bits, Ray(start, row(points.place, i), to_world(local, a, b, n)), scratch)
            for c in range(channels):
                out[i, 0, c] += found[c]
                out[i, 1, c] += found[c] * found[c]
        for c in range(channels):
            mean = out[i, 0, c] / paths
            out[i, 1, c] = max(0.0, out[i, 1, c] / paths - mean * mean) / paths
            out[i, 0, c] = mean


def brute_force(
    arrays: SceneArrays, levels: np.ndarray, points: GatherPoints, *, paths: int, seed: int = 1, threads: int = 1
) -> tuple[np.ndarray, np.ndarray]:
    """Light / pi at points by path tracing, (n, 3) [cd/m2], and its standard error; the projector's own light left out.

    levels  (zones, 1 or 3) of the picture's zones [1];  paths  from each point;  seed  any non-negative integer
    Source: `trace_points`; standard error of a mean of independent paths.
    """
    out = np.zeros((len(points.place), 2, 3))
    zone = np.ascontiguousarray(np.broadcast_to(levels, (len(levels), 3)))
    projection, key = Projection(arrays.geometry, arrays.projector, arrays.fabric), np.uint64(seed)
    scene = BruteScene(projection, arrays.reflectance, np.array(arrays.fabric.tint), zone)
    workers.in_ranges(
        lambda low, high: trace_points(scene, points, key, paths, ray_scratch(3), out, low, high), len(out), threads
    )
    return out[:, 0], np.sqrt(out[:, 1])
