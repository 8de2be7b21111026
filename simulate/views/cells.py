"""Slowly changing light over an image: asked at few pixels, more where it changes, interpolated between."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

FIRST_STEP = 8
BORROW_STEP = 2
_ALIKE = {8: 0.15, 4: 0.20, 2: 0.30}  # largest relative difference of a cell's corners, by its size in pixels


def spread_over(key: np.ndarray, ask: Callable[[np.ndarray], np.ndarray], channels: int) -> tuple[np.ndarray, int]:
    """Values (H, W, channels) at all pixels whose key is not negative, in the unit of `ask`; 0 at the others.

    key  (H, W) int, H and W one more than a multiple of FIRST_STEP; pixels of one key lie on one smooth surface
    ask  values (n, channels), not negative, at flat pixel numbers (n,)
    returns  the values, and how many pixels were asked
    A cell of one key is interpolated bilinearly where its corners are alike, else cut in four; the error of a bilinear
    cell whose corners differ by d is about d^2 / 5 for light that falls as 1 / r^2 (derived), 0.5 % for d = 0.15.
    """
    height, width = key.shape
    value, known, filled = np.zeros((height, width, channels)), key < 0, key < 0
    asked = 0
    top, left = (a.ravel() for a in np.mgrid[0 : height - 1 : FIRST_STEP, 0 : width - 1 : FIRST_STEP])
    step = FIRST_STEP
    while len(top):
        corners = np.unique(np.concatenate([(top + a) * width + left + b for a in (0, step) for b in (0, step)]))
        asked += _ask(corners, value, known, ask)
        filled.reshape(-1)[corners] = True
        if step == 1:
            break
        smooth = _one_key(key, top, left, step) & _alike(value, top, left, step, _ALIKE[step])
        _fill(value, filled, top[smooth], left[smooth], step)
        top, left, half = top[~smooth], left[~smooth], step // 2
        if step <= BORROW_STEP:
            _borrow(key, value, known, filled, top, left, step)
            open_ = ~_all_filled(filled, top, left, step)
            top, left = top[open_], left[open_]
        top = np.concatenate([top + a for a in (0, half) for _ in (0, 1)])
        left = np.concatenate([left + b for _ in (0, 1) for b in (0, half)])
        step = half
        if step == 1:
            rest = np.flatnonzero(~filled)
            asked += _ask(rest, value, known, ask)
            break
    return value, asked


def _ask(pixels: np.ndarray, value: np.ndarray, known: np.ndarray, ask: Callable[[np.ndarray], np.ndarray]) -> int:
    new = pixels[~known.reshape(-1)[pixels]]
    if len(new):
        value.reshape(-1, value.shape[2])[new] = ask(new)
        known.reshape(-1)[new] = True
    return len(new)


def _one_key(key: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> np.ndarray:
    """True where all pixels of a cell, its far edges included, have one key that is not negative."""
    a, b = np.mgrid[0 : step + 1, 0 : step + 1].reshape(2, -1)
    keys = key[top[:, None] + a, left[:, None] + b]
    return (keys == keys[:, :1]).all(axis=1) & (keys[:, 0] >= 0)


def _alike(value: np.ndarray, top: np.ndarray, left: np.ndarray, step: int, most: float) -> np.ndarray:
    corners = np.stack([value[top + a, left + b].sum(axis=1) for a in (0, step) for b in (0, step)], axis=1)
    high = corners.max(axis=1)
    return high - corners.min(axis=1) <= most * high


def _fill(value: np.ndarray, filled: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> None:
    """Bilinear values inside cells; pixels on an edge that two cells share get the same from both."""
    i, j = np.mgrid[0 : step + 1, 0 : step + 1].reshape(2, -1)
    s, t = i / step, j / step
    weights = np.stack([(1 - s) * (1 - t), (1 - s) * t, s * (1 - t), s * t])
    corners = np.stack([value[top + a, left + b] for a in (0, step) for b in (0, step)])
    pixel = (top[:, None] + i) * filled.shape[1] + left[:, None] + j
    fresh = ~filled.reshape(-1)[pixel]
    value.reshape(-1, value.shape[2])[pixel[fresh]] = np.einsum("kp,knc->npc", weights, corners, optimize=True)[fresh]
    filled.reshape(-1)[pixel] = True


def _all_filled(filled: np.ndarray, top: np.ndarray, left: np.ndarray, step: int) -> np.ndarray:
    a, b = np.mgrid[0 : step + 1, 0 : step + 1].reshape(2, -1)
    return filled[top[:, None] + a, left[:, None] + b].all(axis=1)


def _borrow(
    key: np.ndarray, value: np.ndarray, known: np.ndarray, filled: np.ndarray, top: np.ndarray, left: np.ndarray, step: int
) -> None:
    """Pixels of small cells across an edge take a mean of those corners that lie on their own surface, nearer ones more.
    Source: inverse-square weights; what it errs by is the change of light within a few pixels.
    """
    mixed = ~_one_key(key, top, left, step)
    top, left = top[mixed], left[mixed]
    for i in range(step + 1):
        for j in range(step + 1):
            total, weights = np.zeros((len(top), value.shape[2])), np.zeros(len(top))
            for a in (0, step):
                for b in (0, step):
                    good = (key[top + a, left + b] == key[top + i, left + j]) & known[top + a, left + b]
                    weight = good / max((a - i) ** 2 + (b - j) ** 2, 0.01)
                    total += weight[:, None] * value[top + a, left + b]
                    weights += weight
            use = (weights > 0.0) & ~filled[top + i, left + j]
            value[top[use] + i, left[use] + j] = total[use] / weights[use][:, None]
            filled[top[use] + i, left[use] + j] = True
