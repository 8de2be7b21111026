"""What a seat sees without any random number: the projector's own light on the cloth, and what hides the cloth from an eye."""

from __future__ import annotations

import math

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.kernels.jit import kernel
from ...materials.lobes.brdf import fabric_value
from ...scenes.head import HEAD_RADIUS_M
from .geometry import STACK, Geometry, blocked
from .patches import frozen
from .projector import ProjectorArrays, illuminance_lx
from .readonly import read_only
from .screen_samples import LitScreen, blank_samples, land_all
from .vectors import dot, row, sub, to_local, unit


def cloth_points(geometry: Geometry, projector: ProjectorArrays, right: np.ndarray, up: np.ndarray) -> LitScreen:
    """Places of the cloth that show given picture places.

    right, up  (n,) on the nominal plane from the screen's centre [m]
    returns    LitScreen whose `flux` is the nominal illuminance there [lx], 0 in a shadow; no levels, no zones
    Source: the ray from the lens through the nominal place, followed to the cloth.
    """
    n = len(right)
    none, one = np.zeros(1, np.int64), np.ones(1, np.int64)
    points = blank_samples(n, first=frozen(none), side=frozen(one), zone_place=np.zeros((0, 3)), zone_size=frozen(np.zeros(1)))
    land_all(geometry, projector, np.asarray(right, float), np.asarray(up, float), np.ones(n), points)
    return points


@kernel
def seat_directions(points, eyes, out):
    """Unit directions [1] from points to eyes (seats, 3) [m] in the cloth's frame, out (n, seats, 3). Source: definition."""
    for i in range(points.place.shape[0]):
        p = row(points.place, i)
        right, up, normal = row(points.right, i), row(points.up, i), row(points.normal, i)
        for s in range(eyes.shape[0]):
            d = to_local(unit(sub(row(eyes, s), p)), right, up, normal)
            out[i, s, 0] = d[0]
            out[i, s, 1] = d[1]
            out[i, s, 2] = d[2]


@kernel
def direct_gains(projector, points, seats, fabric, gain, lux):
    """Gain [1] of each point towards each seat for the projector's light, (n, seats), and its illuminance (n,) [lx].

    The illuminance is that of the true cloth, tilt and distance included; 0 in a shadow. Source: L = f_r E, gain = pi f_r.
    """
    for i in range(points.place.shape[0]):
        lux[i] = 0.0
        if points.patch[i] >= 0 and points.flux[i] > 0.0:
            lux[i] = illuminance_lx(projector, row(points.place, i), row(points.normal, i))
        for s in range(seats.shape[1]):
            gain[i, s] = math.pi * fabric_value(fabric, row(points.source, i), row(seats[i], s))


@kernel
def count_hidden(geometry, eyes, heads, place, patch, stack, out):
    """Share [1] of places (n, 3) [m] that patches or other heads hide from each eye (eyes, 3) [m], out (eyes,).

    patch  (n,) that each place lies on;  heads  (n, 3) [m], the eyes' own in the same order
    Source: segments against tree and spheres of HEAD_RADIUS_M.
    """
    for s in range(eyes.shape[0]):
        eye = row(eyes, s)
        hidden = 0
        for i in range(place.shape[0]):
            d = sub(row(place, i), eye)
            distance = math.sqrt(dot(d, d))
            d = (d[0] / distance, d[1] / distance, d[2] / distance)
            found = blocked(geometry, eye, d, distance, np.int64(-1), np.int64(patch[i]), stack)
            for h in range(heads.shape[0]):
                if h != s and not found:
                    q = sub(row(heads, h), eye)
                    along = dot(q, d)
                    if 0.0 < along < distance and dot(q, q) - along * along < HEAD_RADIUS_M * HEAD_RADIUS_M:
                        found = True
            hidden += found
        out[s] = hidden / place.shape[0]


def directions_to(points: LitScreen, eyes: np.ndarray) -> np.ndarray:
    """Unit directions (n, seats, 3) [1] from points of the cloth to eyes (seats, 3) [m], in the cloth's frame.

    Source: `seat_directions`.
    """
    out = np.zeros((len(points.place), len(eyes), 3))
    seat_directions(points, eyes, out)
    return out


def direct_light(
    projector: ProjectorArrays, points: LitScreen, seats: np.ndarray, fabric: FabricArrays
) -> tuple[np.ndarray, np.ndarray]:
    """Gain (n, seats) [1] towards seats and illuminance (n,) [lx] of points of the cloth under a white picture.

    seats   (n, seats, 3) directions as `directions_to` gives them
    Source: `direct_gains`.
    """
    gain, lux = np.zeros(seats.shape[:2]), np.zeros(len(points.place))
    direct_gains(projector, points, seats, fabric, gain, lux)
    return gain, lux


def hidden_shares(geometry: Geometry, points: LitScreen, eyes: np.ndarray, heads: np.ndarray) -> np.ndarray:
    """Share (seats,) [1] of the given cloth points that objects or other seats' heads hide from each eye.

    eyes, heads  (seats, 3) [m] in the same order.  Source: `count_hidden`.
    """
    out = np.zeros(len(eyes))
    geometry, eyes, heads = read_only((geometry, eyes, heads))  # what another process sent can be written to
    count_hidden(geometry, eyes, heads, points.place, points.patch, np.empty(STACK, np.int32), out)
    return out
