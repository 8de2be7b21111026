"""The projector as a point at the lens whose light is known on the flat nominal screen: what it puts on any surface."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.arguments import lasting
from ...materials.kernels.jit import kernel
from ...scenes.head import HEAD_RADIUS_M
from .geometry import Geometry, blocked
from .vectors import dot, row, triple

ZONES_RIGHT, ZONES_UP = 16, 12
CENTRE, RIGHT, UP, NORMAL = range(4)  # rows of `frame`
PEAK, FALL_OFF, FAR2 = range(3)  # of `light`
SPILLS, OBSTRUCTED = range(2)  # of `flags`


@lasting
class ProjectorArrays(NamedTuple):
    """Projector and raster; read-only arrays in the inside frame.

    lens     (3,) [m]
    frame    (4, 3) CENTRE of the screen [m], RIGHT, UP, NORMAL of the flat nominal screen
    raster   (4,) left, right, bottom, top on the screen plane, from the screen's centre [m]
    picture  (4,) the part of the raster on the white area, same measures [m]
    light    (3,) PEAK: illuminance at the raster's centre [lx], FALL_OFF: 1 - E(far corner)/E(centre), FAR2: squared far-corner distance [m2]
    heads    (n, 3) eye points of the seats [m]; each head shades the beam as a sphere
    flags    (2,) uint8, 1 where SPILLS: light can fall outside the white area, OBSTRUCTED: something may stand in the beam
    """

    lens: np.ndarray
    frame: np.ndarray
    raster: np.ndarray
    picture: np.ndarray
    light: np.ndarray
    heads: np.ndarray
    flags: np.ndarray


class Projection(NamedTuple):
    """The projector's light on a room and its screen: what meets a ray, what lights it, and how the cloth sends it on."""

    geometry: Geometry
    projector: ProjectorArrays
    fabric: FabricArrays


@kernel
def raster_place(projector, p):
    """Where the ray from the lens through p meets the nominal plane: (right [m], up [m], True when p lies ahead of the lens).

    Source: central projection from the lens.
    """
    lens, centre, normal = triple(projector.lens), row(projector.frame, CENTRE), row(projector.frame, NORMAL)
    d = (p[0] - lens[0], p[1] - lens[1], p[2] - lens[2])
    drop = -dot(d, normal)
    if drop <= 1e-12:
        return 0.0, 0.0, False
    c = (centre[0] - lens[0], centre[1] - lens[1], centre[2] - lens[2])
    t = -dot(c, normal) / drop
    q = (t * d[0] - c[0], t * d[1] - c[1], t * d[2] - c[2])
    return dot(q, row(projector.frame, RIGHT)), dot(q, row(projector.frame, UP)), True


@kernel
def nominal_illuminance_lx(projector, right, up):
    """Illuminance [lx] that the raster has at a place (right, up) [m] of the flat nominal screen; 0 outside.

    Source: E = Ec (1 - (1 - c) r^2), r = 1 at the far corner: the project's own model of the fall-off, c as the scene states it.
    """
    raster = projector.raster
    if right < raster[0] or right > raster[1] or up < raster[2] or up > raster[3]:
        return 0.0
    x = right - 0.5 * (raster[0] + raster[1])
    y = up - 0.5 * (raster[2] + raster[3])
    return projector.light[PEAK] * (1.0 - projector.light[FALL_OFF] * (x * x + y * y) / projector.light[FAR2])


@kernel
def zone_of(projector, right, up):
    """Zone (0 at top left as the seats see it, row by row) whose picture content a raster place (right, up) [m] shows.

    Outside the white area the nearest zone counts: a pattern goes on into the light that misses the screen.
    Source: the project's decision; it keeps a checkerboard and its complement mirror images.
    """
    picture = projector.picture
    a = int(math.floor((right - picture[0]) / (picture[1] - picture[0]) * ZONES_RIGHT))
    b = int(math.floor((picture[3] - up) / (picture[3] - picture[2]) * ZONES_UP))
    a = min(max(a, 0), ZONES_RIGHT - 1)
    b = min(max(b, 0), ZONES_UP - 1)
    return b * ZONES_RIGHT + a


@kernel
def in_shadow(geometry, projector, p, patch, stack):
    """True when a patch or a head stands between the lens and p [m] on `patch`. Source: segment against sphere and tree."""
    lens = triple(projector.lens)
    d = (p[0] - lens[0], p[1] - lens[1], p[2] - lens[2])
    distance = math.sqrt(dot(d, d))
    d = (d[0] / distance, d[1] / distance, d[2] / distance)
    for i in range(projector.heads.shape[0]):
        h = projector.heads
        q = (h[i, 0] - lens[0], h[i, 1] - lens[1], h[i, 2] - lens[2])
        s = dot(q, d)
        if 0.0 < s < distance and dot(q, q) - s * s < HEAD_RADIUS_M * HEAD_RADIUS_M:
            return True
    return blocked(geometry, lens, d, distance, np.int64(-1), patch, stack)


@kernel
def illuminance_lx(projector, p, n):
    """Illuminance [lx] of a white raster on a surface through p with unit normal n, shadows apart; 0 outside the beam.

    The lumens in a small cone stay the same from the nominal plane to p: E = E_nominal (|q-l|/|p-l|)^2 cos(p) / cos(q).
    Source: derived (inverse square and cosine law of a point source).
    """
    right, up, ahead = raster_place(projector, p)
    if not ahead:
        return 0.0
    nominal = nominal_illuminance_lx(projector, right, up)
    if nominal <= 0.0:
        return 0.0
    lens, centre, normal = triple(projector.lens), row(projector.frame, CENTRE), row(projector.frame, NORMAL)
    d = (lens[0] - p[0], lens[1] - p[1], lens[2] - p[2])
    size = math.sqrt(dot(d, d))
    cos_p = dot(d, n) / size
    if cos_p <= 0.0:
        return 0.0
    drop = (lens[0] - centre[0]) * normal[0] + (lens[1] - centre[1]) * normal[1] + (lens[2] - centre[2]) * normal[2]
    cos_q = dot(d, normal) / size  # the same ray, so the same direction at p and at q
    reach = drop / cos_q
    return nominal * (reach / size) ** 2 * cos_p / cos_q


def beam_meets(lens: np.ndarray, corners: np.ndarray, low: np.ndarray, high: np.ndarray, *, past_screen: bool) -> np.ndarray:
    """False for boxes (n, 3) low, high [m] that no ray from the lens through the raster can meet on its way, (n,).

    corners      (4, 3) of the raster on the screen plane, in order [m]
    past_screen  rays may go on behind the screen plane
    May be True for a box that only comes near. Source: separating planes: the beam's four sides and its base.
    """
    rays = corners - lens
    sides = np.cross(rays, np.roll(rays, -1, axis=0))
    sides *= np.sign(sides @ rays.mean(axis=0))[:, None]
    back = np.cross(corners[1] - corners[0], corners[2] - corners[1])
    back *= np.sign(back @ (lens - corners[0]))  # off the screen, towards the lens
    planes = [*((lens, side) for side in sides), (lens, -back)] + ([] if past_screen else [(corners[0], back)])
    outside = np.zeros(len(low), bool)
    for place, inward in planes:
        outside |= (np.where(inward > 0.0, high - place, low - place) * inward).sum(axis=1) < -1e-9
    return ~outside
