"""Slowly changing light over an image: asked at few pixels, more where it changes, interpolated between."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import NamedTuple

import numpy as np

FIRST_STEP = 32
LAST_STEP = 2  # cells of this size across an edge are not cut any more
_ALIKE = {32: 0.01, 16: 0.10, 8: 0.15, 4: 0.20, 2: 0.30}  # largest difference of a cell's corners, by its size in pixels
_FOLLOWED = {32: 0.01, 16: 0.02, 8: 0.025, 4: 0.03, 2: 0.05}  # the same of what the forecast leaves of them
_BENT = 0.05  # largest difference of the forecast from straight lines between a cell's corners
_EVEN = {32: 0.0, 16: 0.04, 8: 0.06, 4: 0.12, 2: 1.0}  # largest spread of the forecast on each surface of a cell across an edge


class Forecast(NamedTuple):
    """What is known of an image before anything is asked; differences are judged as shares of all the light.

    light  (H, W, C) a rough forecast of the values, in their unit
    rest   (H, W) what comes to the values' sums from elsewhere, exactly, in the same unit
    told   (H, W) False where the forecast knows nothing
    """

    light: np.ndarray
    rest: np.ndarray
    told: np.ndarray

    @property
    def whole(self) -> np.ndarray:
        """All the light (H, W). Source: sum of channels."""
        return np.asarray(self.light @ np.ones(self.light.shape[2]) + self.rest)


def no_forecast(shape: tuple[int, ...], channels: int) -> Forecast:
    """The forecast of an image (H, W) of which nothing is known."""
    return Forecast(np.zeros((*shape, channels)), np.zeros(shape), np.zeros(shape, bool))


def spread_over(
    key: np.ndarray, ask: Callable[[np.ndarray], np.ndarray], channels: int, forecast: Forecast | None = None
) -> tuple[np.ndarray, int]:
    """Values (H, W, channels) at all pixels whose key is not negative, in the unit of `ask`; 0 at the others.

    key    (H, W) int, H and W one more than a multiple of FIRST_STEP; pixels of one key lie on one smooth surface
    ask    values (n, channels), not negative, at flat pixel numbers (n,)
    returns  the values, and how many pixels were asked
    What the forecast leaves of the values is interpolated bilinearly in a cell of one key where its corners are alike, or alike but for
    what the forecast tells, and the forecast is straight; else the cell is cut in four. The error of a bilinear cell whose corners
    differ by d is about d^2 / 5 for light that falls as 1 / r^2 (derived), 0.5 % for 0.15.
    """
    height, width = key.shape
    known, filled = key < 0, key < 0
    forecast = no_forecast(key.shape, channels) if forecast is None else forecast
    left_over = np.zeros((height, width, channels))  # of the values, once the forecast is taken off
    whole = forecast.whole
    asked = 0
    top, left = (a.ravel() for a in np.mgrid[0 : height - 1 : FIRST_STEP, 0 : width - 1 : FIRST_STEP])
    step = FIRST_STEP
    while len(top):
        corners = np.unique(np.concatenate([(top + a) * width + left + b for a in (0, step) for b in (0, step)]))
        asked += _ask(corners, left_over, known, ask, forecast.light)
        filled.reshape(-1)[corners] = True
        one = _one_key(key, top, left, step)
        smooth = _some(one, top, left, partial(_smooth, left_over, forecast.light, whole, step=step))
        _fill(left_over, filled, top[smooth], left[smooth], step)
        across = _some(~one, top, left, partial(_even, key, forecast, whole, step=step, most=_EVEN[step]))
        _borrow(key, left_over, known, filled, top[across], left[across], step)
        open_ = ~smooth & ~_all_filled(filled, top, left, step)
        top, left, half = top[open_], left[open_], step // 2
        top = np.concatenate([top + a for a in (0, half) for _ in (0, 1)])
        left = np.concatenate([left + b for _ in (0, 1) for b in (0, half)])
        if step == LAST_STEP:
            asked += _ask(np.flatnonzero(~filled), left_over, known, ask, forecast.light)
            break
        step = half
    left_over += forecast.light
    left_over[key < 0] = 0.0
    return np.maximum(left_over, 0.0, out=left_over), asked


def _ask(
    pixels: np.ndarray, left_over: np.ndarray, known: np.ndarray, ask: Callable[[np.ndarray], np.ndarray], light: np.ndarray
) -> int:
    new = pixels[~known.reshape(-1)[pixels]]
    if len(new):
        left_over.reshape(-1, left_over.shape[2])[new] = ask(new) - light.reshape(-1, light.shape[2])[new]
        known.reshape(-1)[new] = True
    return len(new)


def _some(
    which: np.ndarray, top: np.ndarray, left: np.ndarray, also: Callable[[np.ndarray, np.ndarray], np.ndarray]
) -> np.ndarray:
    """True for those cells of `which` (n,) for which also(top, left) holds: of the others it is not worked out."""
    out, at = np.zeros(len(which), bool), np.flatnonzero(which)
    out[at] = also(top[at], left[at])
    return out


def _smooth(
    left_over: np.ndarray, light: np.ndarray, whole: np.ndarray, top: np.ndarray, left: np.ndarray, step: int
) -> np.ndarray:
    """True for cells of one key that may be interpolated: corners alike, or as the forecast says, and the forecast straight."""
    at = [(top + a, left + b) for a in (0, step) for b in (0, step)]
    rest = np.stack([left_over[corner].sum(axis=1) for corner in at], axis=1)
    value = rest + np.stack([light[corner].sum(axis=1) for corner in at], axis=1)
    high = (rest + np.stack([whole[corner] for corner in at], axis=1)).max(axis=1)
    alike = (np.ptp(value, axis=1) <= _ALIKE[step] * high) | (np.ptp(rest, axis=1) <= _FOLLOWED[step] * high)
    return _some(alike, top, left, partial(_straight, whole, step=step))


def _one_key(key: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> np.ndarray:
    """True where all pixels of a cell, its far edges included, have one key that is not negative."""
    keys = _pixels(key, top, left, step)
    return (keys == keys[:, :1]).all(axis=1) & (keys[:, 0] >= 0)


def _pixels(image: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> np.ndarray:
    """Values (cells, (step + 1)^2) of an image at all pixels of cells, their far edges included."""
    a, b = np.mgrid[0 : step + 1, 0 : step + 1].reshape(2, -1)
    return image[top[:, None] + a, left[:, None] + b]


def _weights(step: int) -> np.ndarray:
    """Bilinear weights (4, (step + 1)^2) of a cell's corners at its pixels."""
    i, j = np.mgrid[0 : step + 1, 0 : step + 1].reshape(2, -1)
    s, t = i / step, j / step
    return np.stack([(1 - s) * (1 - t), (1 - s) * t, s * (1 - t), s * t])


def _straight(whole: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> np.ndarray:
    """True for cells in which the forecast nowhere leaves the bilinear surface through its corners by more than _BENT."""
    inner = _pixels(whole, top, left, step)
    line = inner[:, [0, step, -1 - step, -1]] @ _weights(step)
    return np.asarray(np.abs(inner - line).max(axis=1, initial=0.0) <= _BENT * inner.max(axis=1, initial=0.0), bool)


def _even(
    key: np.ndarray, forecast: Forecast, whole: np.ndarray, top: np.ndarray, left: np.ndarray, step: int, most: float
) -> np.ndarray:
    """True for cells whose every surface has a corner, and a forecast that spreads by no more than `most` of its largest light."""
    if most == 0.0 or step == LAST_STEP:
        return np.full(len(top), step == LAST_STEP)
    keys, told, everything = (_pixels(image, top, left, step) for image in (key, forecast.told, whole))
    inner = everything - _pixels(forecast.rest, top, left, step)
    corners = keys[:, [0, step, -1 - step, -1]]
    good = ((keys[:, :, None] == corners[:, None]).any(axis=2) | (keys < 0)).all(axis=1) & (told | (keys < 0)).all(axis=1)
    for k in range(4):
        own = keys == corners[:, k : k + 1]
        low, high = (
            np.where(own, inner, end).min(axis=1) if end > 0 else np.where(own, inner, end).max(axis=1)
            for end in (np.inf, -np.inf)
        )
        good &= (high - low <= most * np.where(own, everything, 0.0).max(axis=1)) | (corners[:, k] < 0)
    return np.asarray(good, bool)


def _fill(left_over: np.ndarray, filled: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> None:
    """Bilinear values inside cells; pixels on an edge that two cells share get the same from both."""
    (height, width), weights, inner = filled.shape, _weights(step).reshape(4, step + 1, step + 1), slice(1, step)
    corners = np.stack([left_over[top + a, left + b] for a in (0, step) for b in (0, step)])
    blocks = left_over[:-1, :-1].reshape(height // step, step, width // step, step, -1)
    whole = np.einsum("kij,knc->nijc", weights[:, inner, inner], corners, optimize=True)
    blocks[top // step, inner, left // step, inner] = whole
    filled[:-1, :-1].reshape(height // step, step, width // step, step)[top // step, inner, left // step, inner] = True
    i, j = np.mgrid[0 : step + 1, 0 : step + 1]
    rim = (i % step == 0) | (j % step == 0)
    i, j = i[rim], j[rim]
    pixel = (top[:, None] + i) * width + left[:, None] + j
    fresh = ~filled.reshape(-1)[pixel]
    whole = np.einsum("kp,knc->npc", weights[:, rim], corners, optimize=True)
    left_over.reshape(-1, left_over.shape[2])[pixel[fresh]] = whole[fresh]
    filled.reshape(-1)[pixel] = True


def _all_filled(filled: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> np.ndarray:
    return np.asarray(_pixels(filled, top, left, step).all(axis=1), bool)


def _borrow(
    key: np.ndarray, left_over: np.ndarray, known: np.ndarray, filled: np.ndarray, top: np.ndarray, left: np.ndarray, step: int
) -> None:
    """Pixels of small cells across an edge take a mean of those corners that lie on their own surface, nearer ones more.

    A pixel on an edge that two cells share takes that of the cell which begins there, unless none of its corners lies on its surface.
    Source: inverse-square weights.
    """
    i, j = np.mgrid[0 : step + 1, 0 : step + 1].reshape(2, -1)
    pixel = (top[:, None] + i) * key.shape[1] + left[:, None] + j
    own = key.reshape(-1)[pixel]
    total, weights = np.zeros((*pixel.shape, left_over.shape[2])), np.zeros(pixel.shape)
    for a in (0, step):
        for b in (0, step):
            corner = (top + a, left + b)
            good = (own == key[corner][:, None]) & known[corner][:, None]
            weight = good / np.maximum((a - i) ** 2 + (b - j) ** 2, 0.01)
            total += weight[..., None] * left_over[corner][:, None]
            weights += weight
    use = (
        (weights > 0.0) & ~filled.reshape(-1)[pixel]
    ).T  # pixel by pixel of all cells, so that of two cells the one is first that begins there
    wanted, mean = pixel.T[use], total.transpose(1, 0, 2)[use] / weights.T[use][:, None]
    wanted, first = np.unique(wanted, return_index=True)
    left_over.reshape(-1, left_over.shape[2])[wanted] = mean[first]
    filled.reshape(-1)[wanted] = True
