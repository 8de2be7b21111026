"""Where the projector's rays through the places of the picture land on the folded cloth, exactly and without a mesh."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...scenes.cloth.cloth import Cloth

_NEWTON = 12
_CLOSE_M = 1e-12
_SAFE = 0.8  # below this slope x tangent, no ray meets the cloth twice and Newton's method cannot jump


class Landing(NamedTuple):
    """Landing places of n rays, in screen coordinates [m] (right, up, out from the nominal plane).

    right, up, out         (n,) where each ray meets the cloth first
    slope_right, slope_up  (n,) slopes of the cloth there [1]
    on_cloth               (n,) False where the ray passes the cloth's edge
    """

    right: np.ndarray
    up: np.ndarray
    out: np.ndarray
    slope_right: np.ndarray
    slope_up: np.ndarray
    on_cloth: np.ndarray


def land_on(cloth: Cloth, lens: tuple[float, float, float], right: np.ndarray, up: np.ndarray) -> Landing:
    """First meeting of the rays from the lens through nominal places with the cloth.

    lens       (right, up, out) from the middle of the white area [m]
    right, up  (n,) nominal places on the plane [m]
    Source: a ray is q + s (lens - q) with height s d; s d = h(q + s (lens - q)) is solved by Newton's method, after a march
    from the highest fold downwards where the cloth is so steep that a ray may meet it more than once.
    """
    right, up = np.asarray(right, float), np.asarray(up, float)
    if cloth.smooth:
        nil = np.zeros_like(right)
        return Landing(right, up, nil, nil, nil, cloth.covers(right, up))
    start = (right, up, np.zeros_like(right))
    s, heights = first_meeting(cloth, start, lens, cloth.highest_m / lens[2], cloth.lowest_m / lens[2])
    x, y = right + s * (lens[0] - right), up + s * (lens[1] - up)
    return Landing(x, y, s * lens[2], heights.slope_right, heights.slope_up, cloth.covers(x, y))


def first_meeting(cloth, start, end, high: float, low: float):
    """Parameter s (n,) [1] of the first meeting with the cloth coming from `end` towards `start` [m], and the heights there.

    start  (right, up, out) arrays on the nominal plane [m];  end  (right, up, out) numbers [m], out > 0
    high, low  s between which the meeting must be (from the cloth's highest and lowest heights)
    Source: see `land_on`.
    """
    dx, dy, rise = end[0] - start[0], end[1] - start[1], end[2]
    steep = cloth.steepest * float(np.hypot(dx, dy).max()) / rise
    if steep >= _SAFE:  # a ray may meet the cloth more than once: only the first counts, and Newton's method might leave it
        s = _march(cloth, start, (dx, dy, rise), high, low)
        return s, cloth.at(start[0] + s * dx, start[1] + s * dy)
    s = np.zeros_like(start[0])
    for _ in range(_NEWTON):
        heights = cloth.at(start[0] + s * dx, start[1] + s * dy)
        gap = s * rise - heights.height
        rate = rise - heights.slope_right * dx - heights.slope_up * dy
        move = gap / rate  # rate > (1 - _SAFE) rise
        s = s - move
        if np.abs(move).max() * rise < _CLOSE_M:
            break
    return s, cloth.at(start[0] + s * dx, start[1] + s * dy)


def _march(cloth: Cloth, start, way, high: float, low: float) -> np.ndarray:
    """s of the first crossing: steps of a twentieth of the finest detail along the plane, then bisection to 1e-9 of a step."""
    margin = 1e-3 * (high - low) + 1e-9
    high, low = high + margin, low - margin
    run = float(np.hypot(way[0], way[1]).max()) * (high - low)
    steps = int(np.clip(np.ceil(20.0 * run / cloth.finest_m), 16, 2000))
    count = len(start[0])
    above, below = np.full(count, high), np.full(count, low)
    open_ = np.ones(count, bool)
    for i in range(1, steps + 1):
        index = np.flatnonzero(open_)
        if len(index) == 0:
            break
        s = high + (low - high) * i / steps
        x, y = start[0][index] + s * way[0][index], start[1][index] + s * way[1][index]
        under = s * way[2] <= cloth.at(x, y).height
        below[index[under]] = s
        above[index[~under]] = s
        open_[index[under]] = False
    for _ in range(30):
        middle = 0.5 * (above + below)
        under = middle * way[2] <= cloth.at(start[0] + middle * way[0], start[1] + middle * way[1]).height
        below, above = np.where(under, middle, below), np.where(under, above, middle)
    return 0.5 * (above + below)
