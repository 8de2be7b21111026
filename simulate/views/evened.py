"""Noise of cells evened out: neighbours share what they differ by, unless they differ by more than noise does."""

from __future__ import annotations

import numpy as np

from .joins import Joins

NOISE = 1.5  # differences from a line between neighbours up to about so many times their median on a patch count as noise
LEAST, MOST = 0.01, 0.08  # as shares of the light
_ALONE = 2.5  # a cell alone may be so much farther off than the mean of its neighbours along the line
_SWEEPS = 3


def evened(joins: Joins, value: np.ndarray) -> np.ndarray:
    """Values (T, C) of cells, in any unit, with less noise and the same slopes, at least 0.

    Along u and v in turn a cell takes half a line through its neighbours, the less the more it is off it: a bend that neighbours across
    share is no noise, so their mean decides. What the sweeps took is evened in its turn and given back (Tukey's twicing), which leaves
    bends as they are to third order. Source: robust weights of Tukey's biweight kind.
    """
    whole = value.sum(axis=1, keepdims=True)
    lines = [_line(joins, axis) for axis in (0, 1)]
    trust = [_trust(lines, axis, whole, joins.patches) for axis in (0, 1)]

    def sweeps(x: np.ndarray) -> np.ndarray:
        for _ in range(_SWEEPS):
            for axis in (0, 1):
                x = x - trust[axis] * _off(lines[axis], x)
        return x

    once = sweeps(value)
    return np.maximum(once + sweeps(value - once), 0.0)


Line = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]


def _line(joins: Joins, axis: int) -> Line:
    """Cells (n,) with joined neighbours on both sides, these (n,) and (n,), and the neighbours' weights (n, 1) in a line between them [1]."""
    at = np.flatnonzero(joins.before[:, axis] & joins.after[:, axis])
    step, place = joins.step[at, axis], joins.place[:, axis]
    share = ((place[at] - place[at - step]) / (place[at + step] - place[at - step]))[:, None]
    return at, at - step, at + step, 1.0 - share, share


def _off(line: Line, x: np.ndarray) -> np.ndarray:
    """By how much values (T, C) are off lines between their neighbours, 0 where there is none."""
    at, before, after, weight, other = line
    out = np.zeros_like(x)
    out[at] = x[at] - weight * x[before] - other * x[after]
    return out


def _trust(lines: list[Line], axis: int, whole: np.ndarray, patches: np.ndarray) -> np.ndarray:
    """How much of a line (T, 1) a cell takes in a sweep, 0 to 0.5 [1], from the sum of the channels (T, 1)."""
    off = np.divide(_off(lines[axis], whole), whole, out=np.zeros_like(whole), where=whole > 0.0)
    mean, (at, before, after, _, _) = off, lines[1 - axis]
    for _ in range(2):
        new = mean.copy()
        new[at] = 0.5 * mean[at] + 0.25 * (mean[before] + mean[after])
        mean = new
    noise = np.full_like(whole, LEAST)
    for first, end in patches:
        some = np.abs(off[first:end][off[first:end] != 0.0])
        noise[first:end] = np.clip(NOISE * np.median(some), LEAST, MOST) if len(some) else LEAST
    far = np.maximum(np.abs(mean), np.abs(off) / _ALONE) / noise
    return np.asarray(0.5 / (1.0 + np.minimum(far, 1e6) ** 2) ** 2)
