"""Main effects: what a figure does on the mean as one factor goes through its values, and what share of its variance that is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from ..measuring.estimate import Estimate, jackknife_error
from .factors import Shown
from .indices import LEAST_SPREAD

BINS = 8  # of a factor that was drawn; fewer where there are few variants
LEAST_IN_A_BIN = 4


class LevelMean(NamedTuple):
    """Mean over the variants at a level, in the figure's unit: with the error of its light paths and, of drawn variants, of the draw.

    shown  the level, or the middle of a bin of values;  variants  how many
    """

    shown: Shown
    variants: int
    mean: Estimate


class MainEffect(NamedTuple):
    """A factor's main effect.

    share  of the figure's variance over all variants that goes with this factor alone [1]: its first-order Sobol index
    """

    factor: str
    levels: tuple[LevelMean, ...]
    share: Estimate


def main_effects(
    names: Sequence[str],
    columns: Sequence[Sequence[Shown]],
    drawn: Sequence[bool],
    stack: np.ndarray,
    draws: np.ndarray | None = None,
) -> list[MainEffect]:
    """The effect of every factor, the largest share first.

    columns  a factor's values, one a variant;  drawn  whether the design drew them, so that others differ by chance between its levels
    stack    (variants, R + 2) replicates of the figure; variants without it are left out
    draws    (variants, factors) as `Study.draws`; None: what was drawn are the values themselves
    Source: analysis of variance. Of combined levels, all of which meet the same draws, the share is that of these variants; of what
    was drawn, what chance alone would give is taken off (epsilon squared, Kelley 1935), and the error is that of such a fit.
    """
    there = np.isfinite(stack[:, 0])
    columns = [[value for value, has in zip(column, there, strict=True) if has] for column in columns]
    shares = np.full((len(there), len(columns)), np.nan)[there] if draws is None else draws[there]
    found = [groups(*each) for each in zip(columns, drawn, shares.T, strict=True)]
    stack = stack[there]
    level = stack.mean(axis=0)
    combined = sum(
        (_means(group, shown, stack) - level)[group] for (group, shown), spread in zip(found, drawn, strict=True) if not spread
    )
    every = sum((_means(group, shown, stack) - level)[group] for group, shown in found)
    chance = stack - combined  # what one drawn factor's levels differ by beside itself: the others that were drawn
    rest = float(np.std(stack[:, 0] - every[:, 0])) if any(drawn) and len(stack) > 1 else 0.0
    effects = [
        _effect(name, group, shown, stack, chance if spread else None, rest)
        for name, (group, shown), spread in zip(names, found, drawn, strict=True)
    ]
    return sorted(effects, key=lambda effect: -effect.share.value)


def _means(group: np.ndarray, shown: Sequence[Shown], stack: np.ndarray) -> np.ndarray:
    """Means (levels, R + 2) over the variants of each level."""
    counts = np.maximum(np.bincount(group, minlength=len(shown)), 1)
    total = np.zeros((len(shown), stack.shape[1]))
    np.add.at(total, group, stack)
    return total / counts[:, None]


def groups(column: Sequence[Shown], drawn: bool, draws: np.ndarray) -> tuple[np.ndarray, list[Shown]]:
    """Place of each variant's level, and what the levels are called; many drawn numbers are put in bins of as many variants each.

    draws  (variants,) shares of the spread [1]: a tolerance is about what each variant has, so the like of two variants is the same draw,
           not the same number; NaN: the numbers themselves
    """
    names = list(dict.fromkeys(column))
    numbers = all(isinstance(name, float) for name in names)
    if not (drawn and numbers):
        if numbers:
            names.sort(key=float)
        place = {name: i for i, name in enumerate(names)}
        return np.array([place[value] for value in column], int), names
    values = np.array(column, float)
    below = np.where(np.isnan(draws), values, draws)
    steps, group = np.unique(below, return_inverse=True)
    count = len(steps)
    if count > BINS:
        count = max(1, min(BINS, len(values) // LEAST_IN_A_BIN))
        group[np.argsort(below, kind="stable")] = np.arange(len(values)) * count // len(values)
    return group, [float(values[group == i].mean()) for i in range(count)]


def _effect(
    name: str, group: np.ndarray, shown: list[Shown], stack: np.ndarray, chance: np.ndarray | None, rest: float
) -> MainEffect:
    """chance  what varies between a drawn factor's levels by chance, None of a combined one;  rest  what no main effect explains."""
    counts, means = np.bincount(group, minlength=len(shown)), _means(group, shown, stack)
    spread = np.full(len(shown), rest)
    if chance is not None:
        inside = chance[:, 0] - _means(group, shown, chance)[group, 0]
        spread = np.full(len(shown), float(np.std(inside)))
    levels = []
    for i, level in enumerate(shown):
        error = float(np.hypot(jackknife_error(means[i]), spread[i] / np.sqrt(max(1, counts[i]))))
        levels.append(
            LevelMean(level, int(counts[i]), Estimate(float(means[i, 0]), error, float(abs(means[i, 0] - means[i, -1]))))
        )
    return MainEffect(name, tuple(levels), _share(group, counts, means, stack, chance))


def _share(group: np.ndarray, counts: np.ndarray, means: np.ndarray, stack: np.ndarray, chance: np.ndarray | None) -> Estimate:
    """Share of the variance between levels, by replicate; chance taken off where the factor was drawn."""
    whole = ((stack - stack.mean(axis=0)) ** 2).sum(axis=0)
    still = np.sqrt(whole / len(stack)) <= LEAST_SPREAD * np.abs(stack.mean(axis=0))  # rounding alone
    whole = np.where(still, 0.0, whole)
    between = (counts[:, None] * (means - stack.mean(axis=0)) ** 2).sum(axis=0)
    levels, variants, inside = len(counts), len(group), np.zeros_like(whole)
    if chance is not None:
        left = chance - _means(group, range(levels), chance)[group]
        inside = (left**2).sum(axis=0) / max(1, variants - levels)
        between = between - (levels - 1) * inside
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(whole > 0.0, np.clip(between / whole, 0.0, 1.0), 0.0)
    value = float(share[0])
    if chance is None or not whole[0] > 0.0:
        return Estimate(value, float(jackknife_error(share)))
    lot = np.sqrt(2.0 * (levels - 1)) * inside[0] / whole[0]
    fit = 2.0 * np.sqrt(value / variants) * (1.0 - value)  # of a squared correlation, in large samples
    return Estimate(value, float(np.sqrt(jackknife_error(share) ** 2 + lot**2 + fit**2)))
