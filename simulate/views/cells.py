"""Slowly changing light over an image: asked at few pixels, more where it changes, interpolated between."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np

FIRST_STEP = 16
LAST_STEP = 2  # cells of this size across an edge are not cut any more
_ALIKE = {16: 0.10, 8: 0.15, 4: 0.20, 2: 0.30}  # largest relative difference of a cell's corners, by its size in pixels
_FOLLOWED = {16: 0.05, 8: 0.06, 4: 0.08, 2: 0.12}  # the same of the values over the guide's, where it tells how they differ
_BENT = 0.05  # largest difference of the guide from straight lines between a cell's corners, as a share of its largest
_NOISE = 0.008  # of the guide: differences up to here are not believed, larger ones less this
_EVEN = {16: 0.04, 8: 0.06, 4: 0.12, 2: 1.0}  # largest spread of the guide on each surface of a cell across an edge


def spread_over(
    key: np.ndarray, ask: Callable[[np.ndarray], np.ndarray], channels: int, guide: np.ndarray | None = None
) -> tuple[np.ndarray, int]:
    """Values (H, W, channels) at all pixels whose key is not negative, in the unit of `ask`; 0 at the others.

    key    (H, W) int, H and W one more than a multiple of FIRST_STEP; pixels of one key lie on one smooth surface
    ask    values (n, channels), not negative, at flat pixel numbers (n,)
    guide  (H, W) a rough forecast of the values, in any unit, 0 where there is none: it tells of shadows between corners
    returns  the values, and how many pixels were asked
    A cell of one key is interpolated bilinearly where its corners are alike and the guide is straight, else cut in four; the
    error of a bilinear cell whose corners differ by d is about d^2 / 5 for light that falls as 1 / r^2 (derived), 0.5 % for 0.15.
    Where the guide tells how the corners differ, twice as much may lie between them: it bends what is between.
    """
    height, width = key.shape
    value, known, filled = np.zeros((height, width, channels)), key < 0, key < 0
    guide = np.zeros((height, width)) if guide is None else guide
    asked = 0
    top, left = (a.ravel() for a in np.mgrid[0 : height - 1 : FIRST_STEP, 0 : width - 1 : FIRST_STEP])
    step = FIRST_STEP
    while len(top):
        corners = np.unique(np.concatenate([(top + a) * width + left + b for a in (0, step) for b in (0, step)]))
        asked += _ask(corners, value, known, ask)
        filled.reshape(-1)[corners] = True
        one = _one_key(key, top, left, step)
        smooth = _some(one, top, left, partial(_smooth, value, guide, step=step))
        _fill(value, filled, guide, top[smooth], left[smooth], step)
        across = _some(~one, top, left, partial(_even, key, guide, step=step, most=_EVEN[step]))
        _borrow(key, value, known, filled, guide, top[across], left[across], step)
        open_ = ~smooth & ~_all_filled(filled, top, left, step)
        top, left, half = top[open_], left[open_], step // 2
        top = np.concatenate([top + a for a in (0, half) for _ in (0, 1)])
        left = np.concatenate([left + b for _ in (0, 1) for b in (0, half)])
        if step == LAST_STEP:
            asked += _ask(np.flatnonzero(~filled), value, known, ask)
            break
        step = half
    return value, asked


def _ask(pixels: np.ndarray, value: np.ndarray, known: np.ndarray, ask: Callable[[np.ndarray], np.ndarray]) -> int:
    new = pixels[~known.reshape(-1)[pixels]]
    if len(new):
        value.reshape(-1, value.shape[2])[new] = ask(new)
        known.reshape(-1)[new] = True
    return len(new)


def _some(
    which: np.ndarray, top: np.ndarray, left: np.ndarray, also: Callable[[np.ndarray, np.ndarray], np.ndarray]
) -> np.ndarray:
    """True for those cells of `which` (n,) for which also(top, left) holds: of the others it is not worked out."""
    out, at = np.zeros(len(which), bool), np.flatnonzero(which)
    out[at] = also(top[at], left[at])
    return out


def _smooth(value: np.ndarray, guide: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> np.ndarray:
    """True for cells of one key that may be interpolated: corners alike, or as the guide says, and the guide straight."""
    near = _alike(value, top, left, step, _ALIKE[step])
    far = _alike(value, top, left, step, 2.0 * _ALIKE[step]) & ~near
    alike = near | _some(far, top, left, partial(_follows, value, guide, step=step))
    return _some(alike, top, left, partial(_straight, guide, step=step))


def _one_key(key: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> np.ndarray:
    """True where all pixels of a cell, its far edges included, have one key that is not negative."""
    keys = _pixels(key, top, left, step)
    return (keys == keys[:, :1]).all(axis=1) & (keys[:, 0] >= 0)


def _alike(value: np.ndarray, top: np.ndarray, left: np.ndarray, step: int, most: float) -> np.ndarray:
    corners = np.stack([value[top + a, left + b].sum(axis=1) for a in (0, step) for b in (0, step)], axis=1)
    high = corners.max(axis=1)
    return high - corners.min(axis=1) <= most * high


def _follows(value: np.ndarray, guide: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> np.ndarray:
    """True where the corners' values over the guide, which is nowhere silent in the cell, are alike within _FOLLOWED."""
    corners = np.stack([value[top + a, left + b].sum(axis=1) for a in (0, step) for b in (0, step)], axis=1)
    inner = _pixels(guide, top, left, step)
    heard = inner.min(axis=1) > 0.0
    ratio = corners / np.where(heard[:, None], inner[:, [0, step, -1 - step, -1]], 1.0)
    high = ratio.max(axis=1)
    return heard & (high - ratio.min(axis=1) <= _FOLLOWED[step] * high)


def _pixels(image: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> np.ndarray:
    """Values (cells, (step + 1)^2) of an image at all pixels of cells, their far edges included."""
    a, b = np.mgrid[0 : step + 1, 0 : step + 1].reshape(2, -1)
    return image[top[:, None] + a, left[:, None] + b]


def _weights(step: int) -> np.ndarray:
    """Bilinear weights (4, (step + 1)^2) of a cell's corners at its pixels."""
    i, j = np.mgrid[0 : step + 1, 0 : step + 1].reshape(2, -1)
    s, t = i / step, j / step
    return np.stack([(1 - s) * (1 - t), (1 - s) * t, s * (1 - t), s * t])


def _believed(here: np.ndarray, there: np.ndarray) -> np.ndarray:
    """What the guide says of light here over light there [1]: 1 within its noise and where it is silent. Source: soft threshold."""
    ratio = np.divide(here, there, out=np.ones_like(here), where=(here > 0.0) & (there > 0.0)) - 1.0
    return 1.0 + np.sign(ratio) * np.maximum(np.abs(ratio) - _NOISE, 0.0)


def _straight(guide: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> np.ndarray:
    """True for cells in which the guide nowhere leaves the bilinear surface through its corners by more than _BENT."""
    inner = _pixels(guide, top, left, step)
    line = inner[:, [0, step, -1 - step, -1]] @ _weights(step)
    return np.asarray(np.abs(inner - line).max(axis=1, initial=0.0) <= _BENT * inner.max(axis=1, initial=0.0), bool)


def _even(key: np.ndarray, guide: np.ndarray, top: np.ndarray, left: np.ndarray, step: int, most: float) -> np.ndarray:
    """True for cells whose every surface has a corner, and a guide, not silent, that spreads by no more than `most` of its largest."""
    if most == 0.0 or step == LAST_STEP:
        return np.full(len(top), step == LAST_STEP)
    keys, inner = _pixels(key, top, left, step), _pixels(guide, top, left, step)
    corners = keys[:, [0, step, -1 - step, -1]]
    good = ((keys[:, :, None] == corners[:, None]).any(axis=2) | (keys < 0)).all(axis=1)
    for k in range(4):
        own = keys == corners[:, k : k + 1]
        low, high = np.where(own, inner, np.inf).min(axis=1, initial=np.inf), np.where(own, inner, 0.0).max(axis=1, initial=0.0)
        good &= (high - low <= most * high) & ((low > 0.0) | (corners[:, k] < 0))
    return np.asarray(good, bool)


def _fill(value: np.ndarray, filled: np.ndarray, guide: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> None:
    """Bilinear values inside cells, bent as the guide is; pixels on an edge that two cells share get the same from both."""
    i, j = np.mgrid[0 : step + 1, 0 : step + 1].reshape(2, -1)
    corners = np.stack([value[top + a, left + b] for a in (0, step) for b in (0, step)])
    pixel = (top[:, None] + i) * filled.shape[1] + left[:, None] + j
    fresh = ~filled.reshape(-1)[pixel]
    inner = guide.reshape(-1)[pixel]
    bent = _believed(inner, inner[:, [0, step, -1 - step, -1]] @ _weights(step))
    whole = np.einsum("kp,knc->npc", _weights(step), corners, optimize=True) * bent[..., None]
    value.reshape(-1, value.shape[2])[pixel[fresh]] = whole[fresh]
    filled.reshape(-1)[pixel] = True


def _all_filled(filled: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> np.ndarray:
    return np.asarray(_pixels(filled, top, left, step).all(axis=1), bool)


def _borrow(
    key: np.ndarray,
    value: np.ndarray,
    known: np.ndarray,
    filled: np.ndarray,
    guide: np.ndarray,
    top: np.ndarray,
    left: np.ndarray,
    step: int,
) -> None:
    """Pixels of small cells across an edge take a mean of those corners that lie on their own surface, nearer ones more.

    A pixel on an edge that two cells share takes that of the cell which begins there, unless none of its corners lies on its surface.
    Source: inverse-square weights, each corner's value bent as the guide is.
    """
    i, j = np.mgrid[0 : step + 1, 0 : step + 1].reshape(2, -1)
    pixel = (top[:, None] + i) * key.shape[1] + left[:, None] + j
    own, forecast = key.reshape(-1)[pixel], guide.reshape(-1)[pixel]
    total, weights = np.zeros((*pixel.shape, value.shape[2])), np.zeros(pixel.shape)
    for a in (0, step):
        for b in (0, step):
            corner = (top + a, left + b)
            good = (own == key[corner][:, None]) & known[corner][:, None]
            weight = good / np.maximum((a - i) ** 2 + (b - j) ** 2, 0.01)
            bent = _believed(forecast, np.broadcast_to(guide[corner][:, None], forecast.shape))
            total += (weight * bent)[..., None] * value[corner][:, None]
            weights += weight
    use = (
        (weights > 0.0) & ~filled.reshape(-1)[pixel]
    ).T  # pixel by pixel of all cells, so that of two cells the one is first that begins there
    wanted, mean = pixel.T[use], total.transpose(1, 0, 2)[use] / weights.T[use][:, None]
    wanted, first = np.unique(wanted, return_index=True)
    value.reshape(-1, value.shape[2])[wanted] = mean[first]
    filled.reshape(-1)[wanted] = True
