"""The lit picture as samples of flux on the cloth: for each zone, where the projector's light lands and how much of it there is.

Samples are taken evenly in the raster, not on the cloth, so that each carries a known flux wherever the cloth lies; what
misses the cloth is not here but is found by the paths that come upon it.
"""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.jit import kernel
from .geometry import SCREEN, STACK, Geometry, nearest_hit
from .patches import frozen
from .projector import ZONES_RIGHT, ZONES_UP, Projector, in_shadow, nominal_illuminance_lx
from .vectors import dot, row, screen_tangents, sub, to_local, triple, unit

# Gauss-Legendre points a side of each zone, by level: near surfaces take a finer level.
LEVELS = (1, 2, 4, 8)


class LitScreen(NamedTuple):
    """Flux samples of the white picture; those of a zone at one level are neighbours.

    place              (n, 3) on the cloth [m]
    right, up, normal  (n, 3) frame of the cloth there
    source             (n, 3) unit direction to the lens in that frame
    flux               (n,) lumens that land there for a white picture; 0 in a shadow or where the cloth is missed
    patch              (n,) int32
    first              (levels,) int64, start of each level
    side               (levels,) int64, samples a side of a zone
    zone_place         (zones, 3) middle of each zone [m]
    zone_size          (1,) longest side of a zone [m]
    """

    place: np.ndarray
    right: np.ndarray
    up: np.ndarray
    normal: np.ndarray
    source: np.ndarray
    flux: np.ndarray
    patch: np.ndarray
    first: np.ndarray
    side: np.ndarray
    zone_place: np.ndarray
    zone_size: np.ndarray


@kernel
def land(geometry, projector, right, up, weight, lit, low, high):
    """Follow the rays of raster places low .. high - 1 to the cloth and write the samples.

    right, up  (n,) places on the nominal plane [m];  weight (n,) raster area each stands for [m2]
    Source: flux of a raster element = nominal illuminance x its area, wherever it lands; derived.
    """
    stack = np.empty(STACK, np.int32)
    lens = triple(projector.lens)
    x, z, centre = row(projector.frame, 1), row(projector.frame, 2), row(projector.frame, 0)
    for i in range(low, high):
        q = (
            centre[0] + right[i] * x[0] + up[i] * z[0],
            centre[1] + right[i] * x[1] + up[i] * z[1],
            centre[2] + right[i] * x[2] + up[i] * z[2],
        )
        direction = unit(sub(q, lens))
        patch, p = cloth_hit(geometry, lens, direction, stack)
        if patch < 0:
            lit.flux[i] = 0.0
            continue
        n = row(geometry.normal, patch)
        a, b = screen_tangents(n)
        w = to_local((-direction[0], -direction[1], -direction[2]), a, b, n)
        shaded = projector.flags[1] and in_shadow(geometry, projector, p, patch, stack)
        lit.flux[i] = 0.0 if shaded else nominal_illuminance_lx(projector, right[i], up[i]) * weight[i]
        lit.patch[i] = patch
        for k in range(3):
            lit.place[i, k] = p[k]
            lit.right[i, k] = a[k]
            lit.up[i, k] = b[k]
            lit.normal[i, k] = n[k]
            lit.source[i, k] = w[k]


@kernel
def cloth_hit(geometry, lens, direction, stack):
    """First patch of the cloth's front along a ray from the lens, whatever stands before it: (patch or -1, place [m]).

    Source: repeated nearest hits, passing what is not cloth; shadows are judged apart.
    """
    origin = lens
    skip = np.int64(-1)
    for _ in range(64):
        t, patch, _, _ = nearest_hit(geometry, origin, direction, skip, stack)
        if patch < 0:
            break
        origin = (origin[0] + t * direction[0], origin[1] + t * direction[1], origin[2] + t * direction[2])
        if geometry.role[patch] == SCREEN:
            if dot(row(geometry.normal, patch), direction) < 0.0:
                return patch, origin
            break
        skip = patch
    return -1, origin


def light_the_screen(geometry: Geometry, projector: Projector) -> LitScreen:
    """Flux samples of the white picture at all levels.

    returns  LitScreen; per zone and level side^2 samples whose weights integrate the raster exactly
    Source: Gauss-Legendre product rule on each of 16 x 12 zones.
    """
    left, _, _, top = projector.picture
    width = (projector.picture[1] - left) / ZONES_RIGHT
    height = (top - projector.picture[2]) / ZONES_UP
    rights, ups, weights, first, done = [], [], [], [], 0
    for side in LEVELS:
        node, gauss = np.polynomial.legendre.leggauss(side)
        unit_place, unit_weight = 0.5 * (node + 1.0), 0.5 * gauss
        row_of, column_of, b, a = np.meshgrid(
            np.arange(ZONES_UP), np.arange(ZONES_RIGHT), np.arange(side), np.arange(side), indexing="ij"
        )
        rights.append((left + width * (column_of + unit_place[a])).ravel())
        ups.append((top - height * (row_of + unit_place[b])).ravel())
        weights.append((width * height * unit_weight[a] * unit_weight[b]).ravel())
        first.append(done)
        done += rights[-1].size
    right, up, weight = np.concatenate(rights), np.concatenate(ups), np.concatenate(weights)
    lit = LitScreen(
        *(np.zeros((done, 3)) for _ in range(5)),
        flux=np.zeros(done),
        patch=np.full(done, -1, np.int32),
        first=frozen(np.array(first)),
        side=frozen(np.array(LEVELS)),
        zone_place=np.zeros((ZONES_RIGHT * ZONES_UP, 3)),
        zone_size=frozen(np.array([max(width, height)])),
    )
    land(geometry, projector, right, up, weight, lit, 0, done)
    lit.zone_place[:] = lit.place[: ZONES_RIGHT * ZONES_UP]
    return LitScreen(*(frozen(a) for a in lit))
