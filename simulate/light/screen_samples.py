"""The lit picture as samples of flux on the cloth: for each zone, where the projector's light lands and how much of it there is.

Samples are taken evenly in the raster, not on the cloth, so that each carries a known flux wherever the cloth lies; what
misses the cloth is not here but is found by the paths that come upon it.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...materials.kernels.jit import kernel
from .displaced_screen import hit_relief, normal_on
from .geometry import SCREEN, STACK, Geometry
from .patches import frozen, sealed
from .projector import CENTRE, OBSTRUCTED, RIGHT, UP, ZONES_RIGHT, ZONES_UP, ProjectorArrays, in_shadow, nominal_illuminance_lx
from .raster_places import NO_SCATTERED, PARTS, gauss_points, raster_samples
from .rays import patch_hit
from .readonly import read_only
from .vectors import along, dot, row, screen_tangents, sub, to_local, triple, unit

# Gauss-Legendre points a side of each zone, by level: near surfaces take a finer level.
LEVELS = (1, 2, 4, 8)
GENTLE = 0.08  # slope up to which samples of folded cloth are averages that hide nothing: 0.1 % of the returned light (measured)


class LitScreen(NamedTuple):
    """Flux samples of the white picture; those of a zone at one level are neighbours.

    place              (n, 3) on the cloth [m]
    right, up, normal  (n, 3) frame of the cloth there [1]
    source             (n, 3) unit direction to the lens in that frame [1]
    flux               (n,) lands there for a white picture [lm]; 0 in a shadow or where the cloth is missed
    patch              (n,) int32
    first              (levels,) int64, start of each level
    side               (levels,) int64, samples a side of a zone
    zone_place         (zones, 3) middle of each zone [m]
    zone_size          (1,) longest side of a zone [m]
    scattered          (2,) int64, first and number a zone of samples without rows, for zones that an edge crosses; 0 of them: none
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
    scattered: np.ndarray = NO_SCATTERED


class RasterSamples(NamedTuple):
    """Places of the raster: right, up (n,) on the nominal plane [m];  weight (n,) raster area each stands for [m2]."""

    right: np.ndarray
    up: np.ndarray
    weight: np.ndarray


@kernel
def land(geometry, projector, raster, lit, cloth, stack, low, high):
    """Follow the rays of the raster's samples low .. high - 1 to the cloth and write those of the lit screen.

    raster     RasterSamples
    cloth      its patch;  stack  int32 (STACK,), scratch
    Source: flux of a raster element = nominal illuminance x its area, wherever it lands; derived.
    """
    lens = triple(projector.lens)
    x, z, centre = row(projector.frame, RIGHT), row(projector.frame, UP), row(projector.frame, CENTRE)
    right, up = raster.right, raster.up
    for i in range(low, high):
        q = (
            centre[0] + right[i] * x[0] + up[i] * z[0],
            centre[1] + right[i] * x[1] + up[i] * z[1],
            centre[2] + right[i] * x[2] + up[i] * z[2],
        )
        direction = unit(sub(q, lens))
        met, p, n = cloth_hit(geometry, lens, direction, cloth)
        if not met:
            lit.flux[i] = 0.0
            lit.place[i, 0], lit.place[i, 1], lit.place[i, 2] = q[0], q[1], q[2]
            continue
        a, b = screen_tangents(n)
        w = to_local((-direction[0], -direction[1], -direction[2]), a, b, n)
        shaded = projector.flags[OBSTRUCTED] and in_shadow(geometry, projector, p, cloth, stack)
        lit.flux[i] = 0.0 if shaded else nominal_illuminance_lx(projector, right[i], up[i]) * raster.weight[i]
        lit.patch[i] = cloth
        for k in range(3):
            lit.place[i, k] = p[k]
            lit.right[i, k] = a[k]
            lit.up[i, k] = b[k]
            lit.normal[i, k] = n[k]
            lit.source[i, k] = w[k]


@kernel
def cloth_hit(geometry, lens, direction, cloth):
    """Where a ray from the lens meets the front of the cloth, whatever stands before it: (met or not, place [m], normal [1]).

    cloth   its patch. Source: `hit_relief`, `patch_hit`; shadows are judged apart.
    """
    if len(geometry.relief) > 0:
        t, _, u, v = hit_relief(geometry.relief, lens, direction, np.int64(-1), math.inf)
    else:
        t, u, v = patch_hit(geometry.plane, cloth, lens, direction, math.inf)
    if t <= 0.0:
        return False, lens, lens
    n = normal_on(geometry, cloth, u, v)
    return dot(n, direction) < 0.0, along(lens, direction, t), n


def cloth_of(geometry: Geometry) -> np.int64:
    """The cloth's patch, folded or not.

    raises  ValueError where there is none, or more than one
    """
    cloth = (geometry.role == SCREEN).nonzero()[0]
    if len(cloth) != 1:
        raise ValueError(f"{len(cloth)} patches of cloth in place of one")
    return np.int64(cloth[0])


def blank_samples(count: int, *, first: np.ndarray, side: np.ndarray, zone_place: np.ndarray, zone_size: np.ndarray) -> LitScreen:
    """Samples that nothing has landed on yet: `count` of them, all zero, patch -1; the rest as LitScreen has it."""
    place, right, up, normal, source = np.zeros((5, count, 3))
    return LitScreen(
        place=place,
        right=right,
        up=up,
        normal=normal,
        source=source,
        flux=np.zeros(count),
        patch=np.full(count, -1, np.int32),
        first=first,
        side=side,
        zone_place=zone_place,
        zone_size=zone_size,
    )


def land_all(
    geometry: Geometry, projector: ProjectorArrays, right: np.ndarray, up: np.ndarray, weight: np.ndarray, lit: LitScreen
) -> None:
    """Write all samples of `lit`: the rays of raster places right, up (n,) [m], each for `weight` (n,) [m2]. Source: `land`."""
    first, side, place, size = read_only((lit.first, lit.side, lit.zone_place, lit.zone_size))
    right, up, weight = (np.ascontiguousarray(each) for each in (right, up, weight))  # a column of a table compiles `land` again
    read = read_only((geometry, projector, RasterSamples(right, up, weight)))
    into = lit._replace(first=first, side=side, zone_place=place, zone_size=size)
    land(*read, into, cloth_of(geometry), np.empty(STACK, np.int32), 0, len(right))


def is_steep(geometry: Geometry) -> bool:
    """True for cloth with folds steeper than GENTLE [1], which must be sampled finely wherever it is seen from.

    Source: `GENTLE`.
    """
    return bool(geometry.relief) and float(geometry.relief.reach[2]) > GENTLE


def light_the_screen(
    geometry: Geometry,
    projector: ProjectorArrays,
    *,
    zones: tuple[int, int] = (ZONES_RIGHT, ZONES_UP),
    levels: tuple[int, ...] = LEVELS,
    scatter_folds: bool = False,
    edges: bool = True,
) -> LitScreen:
    """Flux samples of the white picture at all levels, places [m], flux [lm].

    zones    zones across and down
    levels   Gauss points a side of a zone, rising
    scatter_folds  scattered samples on gently folded cloth too
    edges    False where no edge can cross a zone, so that nobody asks for scattered samples
    returns  LitScreen; per zone and level side^2 samples whose weights integrate the raster exactly, and on flat cloth
             SCATTERED more
    Source: Gauss-Legendre product rule on each zone.
    """
    left, _, _, top = projector.picture
    width = (projector.picture[1] - left) / zones[0]
    height = (top - projector.picture[2]) / zones[1]
    steep = is_steep(geometry)
    if steep:
        levels = _levels_for_steep_folds(geometry, levels, max(width, height))
    scattering = edges and (not geometry.relief or (scatter_folds and not steep))
    across, down, share, first, scattered = raster_samples(zones, levels, scattering, bool(geometry.relief))
    right, up, weight, done = left + width * across, top - height * down, width * height * share, len(share)
    lit = blank_samples(
        done,
        first=first,
        side=frozen(np.array(levels)),
        zone_place=np.zeros((zones[0] * zones[1], 3)),
        zone_size=frozen(np.array([max(width, height)])),
    )
    land_all(geometry, projector, right, up, weight, lit)
    lit = lit._replace(scattered=scattered)
    count = levels[0] ** 2  # the middle of a zone: the mean of its samples at the coarsest level
    lit.zone_place[:] = lit.place[: len(lit.zone_place) * count].reshape(-1, count, 3).sum(axis=1) / count
    if geometry.relief and not steep:
        average_over_folds(geometry, projector, lit, zones)
    return LitScreen(*map(sealed, lit))


def _levels_for_steep_folds(geometry: Geometry, levels: tuple[int, ...], zone_m: float) -> tuple[int, ...]:
    """The levels that resolve folds by six samples a wave or, failing that, the finest one.

    Steep folds hide parts of themselves from surfaces beside the screen, so mean normals will not do for them.
    """
    wave = 48.0 * float(geometry.relief.step.max())
    return tuple(side for side in levels if zone_m / side <= wave / 6.0) or (levels[-1],)


def average_over_folds(geometry: Geometry, projector: ProjectorArrays, lit: LitScreen, zones: tuple[int, int]) -> None:
    """Give each sample of a folded cloth the flux [lm] and mean normal of the part of the picture it stands for.

    What a sample sends is linear in flux x normal for a diffuse cloth, so folds finer than the samples are kept; for a lobe the
    mean of the slopes is taken, right to second order in slope / half-gain angle.
    Source: derived; each Gauss point stands for the share of its zone that its weight is, each scattered one for its part.
    """
    left, right, bottom, top = projector.picture
    step = 6.0 * float(geometry.relief.step.max())  # an eighth of a wave
    columns, rows = (max(24, int(np.ceil(size / step))) for size in (right - left, top - bottom))
    row_of, column_of = np.divmod(np.arange(columns * rows), columns)
    cell = (right - left) / columns, (top - bottom) / rows
    part = blank_samples(columns * rows, first=lit.first, side=lit.side, zone_place=lit.zone_place, zone_size=lit.zone_size)
    across, upward = left + cell[0] * (column_of + 0.5), top - cell[1] * (row_of + 0.5)
    weight = np.full(columns * rows, cell[0] * cell[1])
    land_all(geometry, projector, across, upward, weight, part)
    lumens = np.concatenate([part.flux[:, None], part.flux[:, None] * part.normal], axis=1).reshape(rows, columns, 4)
    whole = np.zeros((rows + 1, columns + 1, 4))  # sums from the top left corner: a part's sum is four of its entries
    whole[1:, 1:] = lumens.cumsum(axis=0).cumsum(axis=1)
    parts = [
        (int(side), int(first), np.cumsum(gauss_points(int(side))[1])) for side, first in zip(lit.side, lit.first, strict=True)
    ]
    if lit.scattered[1]:
        parts.append((PARTS, int(lit.scattered[0]), np.arange(1, PARTS + 1) / PARTS))
    for side, first, ends in parts:
        edge = np.concatenate([[0.0], ends])
        sums: np.ndarray = whole
        for axis, (many, count) in enumerate(((rows, zones[1]), (columns, zones[0]))):
            at = np.append(np.add.outer(np.arange(count), edge[:-1]).ravel(), count) * many / count
            low = np.minimum(at.astype(int), many - 1)
            share = (at - low).reshape((-1, 1, 1) if axis == 0 else (1, -1, 1))
            sums = np.diff((1.0 - share) * sums.take(low, axis) + share * sums.take(low + 1, axis), axis=axis)
        sums = sums.reshape(zones[1], side, zones[0], side, 4).transpose(0, 2, 1, 3, 4).reshape(-1, 4)
        some = np.arange(first, first + len(sums))
        lit.flux[some] = sums[:, 0]
        lit_up = some[sums[:, 0] > 0.0]
        lit.normal[lit_up] = sums[sums[:, 0] > 0.0, 1:] / sums[sums[:, 0] > 0.0, :1]
        turn_frames(projector, lit, lit_up)


@kernel
def turn_frames(projector, lit, some):
    """Turn the frame and the lens's direction [1] of samples `some` to their (mean) normals. Source: `screen_tangents`."""
    for k in range(some.shape[0]):
        i = some[k]
        n = unit(row(lit.normal, i))
        a, b = screen_tangents(n)
        w = to_local(unit(sub(triple(projector.lens), row(lit.place, i))), a, b, n)
        for j in range(3):
            lit.right[i, j] = a[j]
            lit.up[i, j] = b[j]
            lit.source[i, j] = w[j]
