"""Pictures as the room feels them: levels of the 16 x 12 zones, right for shapes smaller than a zone by their first moments.

Returned light is a smooth function of where on the screen it starts. A shape that fills a part of a zone counts with its area
and with the offset of its middle (slope between the neighbouring zones); the second-order term bounds what is left.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from ...materials.dataclass import dataclass
from ..light.patches import frozen
from ..light.projector import ZONES_RIGHT, ZONES_UP
from ..measuring.solver import patch_levels
from .answer_error import AnswerError

ZONES = ZONES_RIGHT * ZONES_UP
Moments = dict[tuple[int, int], np.ndarray]


@dataclass(frozen=True)
class ZonePicture:
    """A picture in linear levels [1], 0 black, 1 the projector's white.

    zones    (192, C) level of each zone, sub-zone shapes put right to first order;  bound (192, C) the second-order term
    average  (C,) mean level over the picture;  points (25, C) level at the measuring points
    C        1 for grey, 3 for linear RGB
    """

    name: str
    zones: np.ndarray
    bound: np.ndarray
    average: np.ndarray
    points: np.ndarray


@cache
def measuring_places() -> tuple[np.ndarray, np.ndarray]:
    """Shares [1] of picture width from the left and of height from the top, (25,) each: 16 patch centres, 9 ISO 21118 points.

    Source: as solver.measuring_points.
    """
    across, down = [], []
    for side in (4, 3):
        row, column = np.divmod(np.arange(side * side), side)
        across.append((column + 0.5) / side)
        down.append((row + 0.5) / side)
    return frozen(np.concatenate(across)), frozen(np.concatenate(down))


@cache
def _difference(count: int, order: int) -> np.ndarray:
    """Matrix (count, count) of first or second differences between zones; the edge takes its neighbour's."""
    found = np.zeros((count, count))
    for i in range(count):
        j = min(max(i, 1), count - 2)
        found[i, [j - 1, j, j + 1]] = (1.0, -2.0, 1.0) if order == 2 else (-0.5, 0.0, 0.5)
        if order == 1 and i != j:  # one-sided at the edge
            found[i] = 0.0
            found[i, [i, i + 1] if i == 0 else [i - 1, i]] = (-1.0, 1.0)
    return frozen(found)


def _turned(moment: np.ndarray, right: int, down: int) -> np.ndarray:
    """Moment (12, 16, C) brought to weights of the zones: transpose of the differences along both axes."""
    if right:
        moment = _difference(ZONES_RIGHT, right).T @ moment
    if down:
        moment = (_difference(ZONES_UP, down).T @ moment.reshape(ZONES_UP, -1)).reshape(moment.shape)
    return moment


def _weighed(m: Moments) -> tuple[np.ndarray, np.ndarray]:
    """Zone levels and their second-order bound from moments (12, 16, C) about zone middles, in zone widths and heights.

    Source: Taylor series of the response to second order; for a full zone the second moment is 1 / 12 and nothing is left.
    """
    zones = m[0, 0] + _turned(m[1, 0], 1, 0) + _turned(m[0, 1], 0, 1)
    bound = 0.5 * _turned(m[2, 0] - m[0, 0] / 12.0, 2, 0) + 0.5 * _turned(m[0, 2] - m[0, 0] / 12.0, 0, 2) + _turned(m[1, 1], 1, 1)
    return zones.reshape(ZONES, -1), bound.reshape(ZONES, -1)


def even(level: float, name: str | None = None) -> ZonePicture:
    """The same level [1] everywhere, 0 .. 1; raises AnswerError outside."""
    if not 0.0 <= level <= 1.0:
        raise AnswerError(f"level is {level:g}; allowed 0 to 1")
    return ZonePicture(
        name or f"even {100 * level:g} %",
        np.full((ZONES, 1), level),
        np.zeros((ZONES, 1)),
        np.array([level]),
        np.full((25, 1), level),
    )


WHITE_PICTURE = even(1.0, "full white")
BLACK_PICTURE = even(0.0, "full black")


def checkerboard(*, complement: bool = False) -> ZonePicture:
    """The 4 x 4 checkerboard in levels 0 and 1 [1], top left white, or its complement.

    Source: ISO/IEC 21118 pattern of 16 equal rectangles.
    """
    levels = patch_levels() if not complement else 1.0 - patch_levels()
    across, down = measuring_places()
    white = (np.floor(4 * across) + np.floor(4 * down)) % 2 == (1 if complement else 0)
    name = "checkerboard, complement" if complement else "checkerboard"
    return ZonePicture(name, levels[:, None], np.zeros((ZONES, 1)), np.array([0.5]), white.astype(float)[:, None])


def _covered(low: float, high: float, count: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Moments 0, 1, 2 (count,) of the interval low .. high (shares of the whole) in each of `count` equal cells."""
    edge = np.arange(count)
    a, b = np.clip(low * count - edge, 0.0, 1.0), np.clip(high * count - edge, 0.0, 1.0)
    length, middle = b - a, 0.5 * (a + b) - 0.5
    return length, length * middle, length * (middle**2 + length**2 / 12.0)


def window(share: float, *, right: float = 0.5, down: float = 0.5, level: float = 1.0) -> ZonePicture:
    """A window of the picture's shape on black.

    share        part of the picture's area [1], 0 < share <= 1;  right, down   its middle, shares of width and height [1]
    level        of the window, 0 .. 1 [1]
    raises       AnswerError outside those, or where the window would leave the picture
    Source: moments of a rectangle in each zone, second moment of a uniform length 1 / 12; derived.
    """
    if not 0.0 < share <= 1.0 or not 0.0 <= level <= 1.0:
        raise AnswerError(f"window of share {share:g}, level {level:g}; allowed above 0 to 1, and 0 to 1")
    half = 0.5 * np.sqrt(share)
    edges = (right - half, right + half, down - half, down + half)
    if min(edges[0], edges[2]) < -1e-12 or max(edges[1], edges[3]) > 1.0 + 1e-12:
        raise AnswerError(f"a window of share {share:g} about ({right:g}, {down:g}) leaves the picture")
    x, y = _covered(edges[0], edges[1], ZONES_RIGHT), _covered(edges[2], edges[3], ZONES_UP)
    moments = {(i, j): level * np.outer(y[j], x[i])[..., None] for i in range(3) for j in range(3) if i + j <= 2}
    zones, bound = _weighed(moments)
    across, down_at = measuring_places()
    inside = (across > edges[0]) & (across < edges[1]) & (down_at > edges[2]) & (down_at < edges[3])
    return ZonePicture(
        f"window {100 * share:g} %", zones, bound, np.array([level * share]), level * inside.astype(float)[:, None]
    )


def from_levels(levels: np.ndarray, name: str = "image") -> ZonePicture:
    """A picture from linear levels of its pixels.

    levels  (rows, columns) grey or (rows, columns, 3) linear RGB [1], 0 .. 1, top row first; stretched over the whole picture
    raises  AnswerError for another shape, or levels outside 0 .. 1
    Source: moments of the pixels in each zone; a pixel that zone edges cut counts in each zone with the part that lies there.
    """
    levels = np.asarray(levels, float)
    if levels.ndim == 2:
        levels = levels[..., None]
    if levels.ndim != 3 or levels.shape[2] not in (1, 3) or 0 in levels.shape:
        raise AnswerError(f"levels have the shape {levels.shape}; allowed (rows, columns) or (rows, columns, 3)")
    if not (levels.min() >= 0.0 and levels.max() <= 1.0):
        raise AnswerError(f"levels reach from {levels.min():g} to {levels.max():g}; allowed 0 to 1")
    x, y = _pixel_moments(levels.shape[1], ZONES_RIGHT), _pixel_moments(levels.shape[0], ZONES_UP)
    along = [np.einsum("zp,rpc->rzc", x[i], levels) for i in range(3)]
    moments = {(i, j): np.einsum("wr,rzc->wzc", y[j], along[i]) for i in range(3) for j in range(3) if i + j <= 2}
    zones, bound = _weighed(moments)
    across, down = measuring_places()
    shown = levels[
        np.minimum((down * levels.shape[0]).astype(int), levels.shape[0] - 1),
        np.minimum((across * levels.shape[1]).astype(int), levels.shape[1] - 1),
    ]
    return ZonePicture(name, zones, bound, levels.mean(axis=(0, 1)), shown)


def _pixel_moments(pixels: int, zones: int) -> np.ndarray:
    """Moments 0, 1, 2 of each pixel in each zone along one axis, (3, zones, pixels)."""
    found = np.zeros((3, zones, pixels))
    for p in range(pixels):
        found[:, :, p] = _covered(p / pixels, (p + 1) / pixels, zones)
    return found
