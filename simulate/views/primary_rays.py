"""Rays from an eye into the room: what each one meets, and the projector's own light there."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.brdf import fabric_value
from ...scenes.head import HEAD_RADIUS_M
from ..light import workers
from ..light.displaced_screen import is_folded, normal_on
from ..light.geometry import NO_HIT, SCREEN, STACK, Geometry, nearest_hit
from ..light.projector import OBSTRUCTED, Projection, ProjectorArrays, illuminance_lx, in_shadow, raster_place
from ..light.readonly import read_only
from ..light.vectors import along, dot, row, screen_tangents, sub, to_local, triple, unit

NOTHING = -1
BLACK_BACK = -2
HEAD = -3  # and below: head h of projector.heads is HEAD - h


class Seen(NamedTuple):
    """What n rays meet.

    patch       (n,) int32, NOTHING where the ray leaves, BLACK_BACK on the back of a patch, HEAD - h on a viewer's head
    place       (n, 3) [m];  normal (n, 3) unit, towards the side that reflects
    lux         (n,) illuminance by the white raster [lx], 0 off the beam and in a shadow
    across, upward  (n,) raster place that lights it [m] from the screen's centre
    gain        (n,) of the cloth for the projector's light towards the eye; 1 elsewhere
    """

    patch: np.ndarray
    place: np.ndarray
    normal: np.ndarray
    lux: np.ndarray
    across: np.ndarray
    upward: np.ndarray
    gain: np.ndarray


@kernel
def head_before(heads, origin, direction, t):
    """The first head that a ray meets nearer than t [m]: number or -1, and the distance of what is nearest [m].

    A head that holds the origin, the viewer's own, is passed. Source: ray against sphere.
    """
    found = np.int64(-1)
    for h in range(heads.shape[0]):
        q = sub(row(heads, h), origin)
        square = dot(q, q) - HEAD_RADIUS_M * HEAD_RADIUS_M
        middle = dot(q, direction)
        root = middle * middle - square
        if square > 0.0 and middle > 0.0 and root > 0.0:
            near = middle - math.sqrt(root)
            if near < t:
                found, t = np.int64(h), near
    return found, t


@kernel
def in_the_dark(geometry, projector, p, patch, stack):
    """True when p [m] on `patch` (negative on a head) lies in a shadow of the projector's light.

    Flat cloth with nothing in the beam is the first thing on every ray and need not be asked; folded cloth may shade itself, and
    whatever else there is may stand behind the cloth. Source: `in_shadow`.
    """
    if patch >= 0 and geometry.role[patch] == SCREEN and projector.flags[OBSTRUCTED] == 0 and not is_folded(geometry):
        return False
    return in_shadow(geometry, projector, p, patch, stack)


@kernel
def look_along(projection, eye, rays, seen, stack, low, high):
    """Fill `seen` for the rays low .. high - 1 from eye (3,) [m] along rays (n, 3), unit; stack int32 (STACK,), scratch.

    Source: nearest hit, then the inverse-square and cosine laws from the lens; L = gain E / pi.
    """
    geometry, projector, fabric = projection
    origin = triple(eye)
    lens = triple(projector.lens)
    for i in range(low, high):
        direction = row(rays, i)
        t, patch, u, v = nearest_hit(geometry, origin, direction, np.int64(NOTHING), stack)
        seen.lux[i] = 0.0
        seen.gain[i] = 1.0
        seen.patch[i] = NOTHING
        head, t = head_before(projector.heads, origin, direction, t)
        if head >= 0:
            patch = np.int64(HEAD) - head
        if patch == NO_HIT:
            continue
        p = along(origin, direction, t)
        n = unit(sub(p, row(projector.heads, head))) if head >= 0 else normal_on(geometry, patch, u, v)
        for k in range(3):
            seen.place[i, k] = p[k]
            seen.normal[i, k] = n[k]
        if dot(n, direction) >= 0.0:
            seen.patch[i] = BLACK_BACK
            continue
        seen.patch[i] = patch
        lux = illuminance_lx(projector, p, n)
        if lux > 0.0:
            if in_the_dark(geometry, projector, p, patch, stack):
                lux = 0.0
            across, upward, _ = raster_place(projector, p)
            seen.lux[i] = lux
            seen.across[i] = across
            seen.upward[i] = upward
        if lux > 0.0 and head < 0 and geometry.role[patch] == SCREEN:
            right, up = screen_tangents(n)
            to_eye = to_local((-direction[0], -direction[1], -direction[2]), right, up, n)
            seen.gain[i] = math.pi * fabric_value(fabric, to_local(unit(sub(lens, p)), right, up, n), to_eye)


def look(
    geometry: Geometry, projector: ProjectorArrays, fabric: FabricArrays, eye: np.ndarray, rays: np.ndarray, *, threads: int = 1
) -> Seen:
    """What rays (n, 3) from an eye (3,) [m] meet. Source: `look_along`."""
    n = len(rays)
    seen = Seen(
        patch=np.full(n, NOTHING, np.int32),
        place=np.zeros((n, 3)),
        normal=np.zeros((n, 3)),
        lux=np.zeros(n),
        across=np.zeros(n),
        upward=np.zeros(n),
        gain=np.ones(n),
    )
    lines = (np.ascontiguousarray(eye, float), np.ascontiguousarray(rays, float))
    read = read_only((Projection(geometry, projector, fabric), *lines))
    workers.in_ranges(lambda low, high: look_along(*read, seen, np.empty(STACK, np.int32), low, high), n, threads)
    return seen
