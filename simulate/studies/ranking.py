"""Which variants are best, and which of them are surely behind; and those that no other beats in two figures at once."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..measuring.estimate import T_95, jackknife_error

ROUNDING = 1e-9  # figures of which one factor moves nothing differ by this much of themselves at most: they are the same


class Ranking(NamedTuple):
    """Variants from best to worst.

    order   places of variants that have the figure;  low, high  95 % intervals with bias bound, in the figure's unit
    behind  True where a variant is surely behind the best, the two taken on the same paths
    """

    order: np.ndarray
    low: np.ndarray
    high: np.ndarray
    behind: np.ndarray


def ranked(stack: np.ndarray, better: int) -> Ranking:
    """Variants by a figure (variants, R + 2); better: +1 more, -1 less, 0 as +1.

    Source: the difference from the best is jackknifed replicate by replicate, never from two errors (Glasserman and Yao 1992).
    """
    there = np.flatnonzero(np.isfinite(stack[:, 0]))
    sign = -1.0 if better < 0 else 1.0
    order = there[np.argsort(-sign * stack[there, 0], kind="stable")]
    half = half_interval(stack[order])
    gap = sign * (stack[order[:1]] - stack[order])
    behind = gap[:, 0] > half_interval(gap) + ROUNDING * np.abs(stack[order, 0])
    return Ranking(order, stack[order, 0] - half, stack[order, 0] + half, behind)


def half_interval(stack: np.ndarray) -> np.ndarray:
    """Half of a 95 % interval with bias bound of replicates (n, R + 2), in their unit. Source: Student's t, 15 degrees of freedom."""
    return T_95 * jackknife_error(stack.T) + np.abs(stack[:, 0] - stack[:, -1])


class Front(NamedTuple):
    """Variants that none beats in both figures, along the first of them, and those that may be such within their errors."""

    front: np.ndarray
    near: np.ndarray


def pareto_front(one: np.ndarray, other: np.ndarray, better: tuple[int, int]) -> Front:
    """Pareto front of two figures, each (variants, R + 2); better: +1 more, -1 less, each.

    Source: Pareto efficiency by the values; a variant is near where no one on the front is surely ahead of it, in both or in one
    with the other the same.
    """
    signs = [-1.0 if each < 0 else 1.0 for each in better]
    there = np.flatnonzero(np.isfinite(one[:, 0]) & np.isfinite(other[:, 0]))
    a, b = signs[0] * one[there], signs[1] * other[there]
    front: list[int] = []
    best = -np.inf
    for i in np.lexsort([-b[:, 0], -a[:, 0]]):
        if not front or b[i, 0] > best + ROUNDING * abs(best):
            while front and a[front[-1], 0] - a[i, 0] <= ROUNDING * abs(a[i, 0]):
                front.pop()
            front.append(i)
            best = b[i, 0]
    beaten = np.zeros(len(there), bool)
    for i in front:
        gaps = (a[i] - a, b[i] - b)
        ahead = [gap[:, 0] > half_interval(gap) for gap in gaps]
        same = [np.all(np.abs(gap) <= ROUNDING * np.abs(each[i]), axis=1) for gap, each in zip(gaps, (a, b), strict=True)]
        beaten |= (ahead[0] & (ahead[1] | same[1])) | (ahead[1] & same[0])
    near = np.setdiff1d(np.flatnonzero(~beaten), front)
    return Front(there[np.array(front, int)], there[near])
