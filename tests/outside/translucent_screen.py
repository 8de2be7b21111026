"""Analog path tracing of a box room with one sheet that scatters light to both of its sides; it shares nothing with the program.

Frame: x right, y out from the screen wall, z up. Light counts where a path ends on what shines: no connections, no map, no pooling.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

Floats = np.ndarray
Shines = Callable[[Floats, Floats], Floats]  # radiance (n, K) [cd/m2] at places (n, 2) of a plane, in the measures named below


@dataclass(frozen=True)
class Sheet:
    """A rectangle at y = gap [m], x from -width / 2, z from bottom.

    front, back    reflectances [1];  through  transmittance, the same both ways [1]
    front_shines, back_shines  radiance at (x, z)
    """

    gap: float
    width: float
    bottom: float
    height: float
    front: float
    back: float
    through: float
    front_shines: Shines
    back_shines: Shines


@dataclass(frozen=True)
class Box:
    """A room [m] with walls of one reflectance [1]; the screen wall and the one opposite shine at (x, z)."""

    width: float
    depth: float
    height: float
    reflectance: float
    front_wall_shines: Shines
    back_wall_shines: Shines


def _cosine(rng: np.random.Generator, normal: Floats) -> Floats:
    """Directions by the cosine law about normals (n, 3) that lie along an axis."""
    n = len(normal)
    r, turn = np.sqrt(rng.random(n)), 2.0 * np.pi * rng.random(n)
    local = np.stack([r * np.cos(turn), r * np.sin(turn), np.sqrt(1.0 - r * r)], axis=1)
    axis = np.abs(normal).argmax(axis=1)
    rows = np.arange(n)
    out = np.empty((n, 3))
    out[rows, axis] = local[:, 2] * np.sign(normal[rows, axis])
    out[rows, (axis + 1) % 3], out[rows, (axis + 2) % 3] = local[:, 0], local[:, 1]
    return out


def illuminance(
    box: Box, sheet: Sheet, place: tuple[float, float], side: int, kinds: int, *, paths: int, seed: int
) -> tuple[Floats, Floats]:
    """Illuminance (K,) [lx] at (x, z) on a side of the sheet, +1 its front, and its standard error.

    Source: E = pi times the mean radiance under the cosine law; each bounce goes on with its reflectance as the probability.
    """
    rng = np.random.default_rng(seed)
    normal = np.tile([0.0, float(side), 0.0], (paths, 1))
    at = np.tile([place[0], sheet.gap, place[1]], (paths, 1))
    on_sheet = np.ones(paths, bool)
    alive, found = np.arange(paths), np.zeros((paths, kinds))
    low, high = np.array([-box.width / 2, 0.0, 0.0]), np.array([box.width / 2, box.depth, box.height])
    while len(alive):
        way = _cosine(rng, normal)
        with np.errstate(divide="ignore", invalid="ignore"):
            ends = np.where(way > 0.0, (high - at) / way, (low - at) / way)
            t_sheet = np.where(on_sheet, np.inf, (sheet.gap - at[:, 1]) / way[:, 1])
        wall = ends.argmin(axis=1)
        t = ends[np.arange(len(alive)), wall]
        hit = at + t_sheet[:, None].clip(-1e9, 1e9) * way
        meets = (t_sheet > 1e-9) & (t_sheet < t) & (np.abs(hit[:, 0]) < sheet.width / 2)
        meets &= (hit[:, 2] > sheet.bottom) & (hit[:, 2] < sheet.bottom + sheet.height)
        at = np.where(meets[:, None], hit, at + t[:, None] * way)
        from_front = way[:, 1] < 0.0
        spot = at[:, [0, 2]]
        for which, shines in ((meets & from_front, sheet.front_shines), (meets & ~from_front, sheet.back_shines)):
            found[alive[which]] += shines(spot[which, 0], spot[which, 1])
        for towards, shines in ((way[:, 1] < 0.0, box.front_wall_shines), (way[:, 1] > 0.0, box.back_wall_shines)):
            lit = ~meets & (wall == 1) & towards
            found[alive[lit]] += shines(spot[lit, 0], spot[lit, 1])
        luck = rng.random(len(alive))
        own = np.where(meets, np.where(from_front, sheet.front, sheet.back), box.reflectance)
        goes_through = meets & (luck >= own) & (luck < own + sheet.through)
        goes_on = (luck < own) | goes_through
        new = np.zeros_like(at)
        rows = np.arange(len(alive))
        new[rows, np.where(meets, 1, wall)] = -np.sign(way[rows, np.where(meets, 1, wall)])
        new[goes_through] *= -1.0
        alive, at, normal, on_sheet = alive[goes_on], at[goes_on], new[goes_on], meets[goes_on]
    return np.pi * found.mean(axis=0), np.pi * found.std(axis=0, ddof=1) / np.sqrt(paths)
