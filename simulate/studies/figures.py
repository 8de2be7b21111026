"""One figure over all variants of a study, at one seat or at the worst of them, as replicates."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, Protocol

import numpy as np

from ...materials.text.nearest import nearest
from ...scenes.errors import SceneError, SceneErrors
from ..measuring.quantities import BY_KEY
from ..measuring.targets import DARK
from .factors import Shown
from .outputs import OutputRow


class Findings(Protocol):
    """What pictures and effects are made of: a study just run, or one read from its folder."""

    @property
    def factors(self) -> tuple[str, ...]:
        """Names of the factors."""
        ...

    @property
    def drawn(self) -> tuple[bool, ...]:
        """Whether the design drew a factor's values."""
        ...

    @property
    def draws(self) -> np.ndarray:
        """(variants, factors) shares of spreads that were drawn [1], NaN for levels."""
        ...

    @property
    def title(self) -> str:
        """Of the study."""
        ...

    @property
    def outputs(self) -> tuple[str, ...]:
        """Keys of the figures that were read."""
        ...

    def shown(self) -> list[tuple[Shown, ...]]:
        """The factors' values of every variant, by number - 1."""
        ...

    def labels(self) -> tuple[OutputRow, ...]:
        """All figures that any variant has."""
        ...

    def figure(self, row: OutputRow) -> np.ndarray:
        """One figure as replicates (variants, R + 2) in its unit, NaN where a variant lacks it."""
        ...


class StudyFigure(NamedTuple):
    """A figure over the variants.

    stack   (variants, R + 2) replicates in the figure's unit, NaN where a variant has none
    seat    its name, "" for the worst seat of each variant (the mean over seats where neither more nor less is better)
    better  +1 where more is better, -1 where less is, 0 where neither
    """

    key: str
    state: str
    seat: str
    title: str
    unit: str
    better: int
    stack: np.ndarray


def figure_over_variants(found: Findings, key: str, *, state: str = DARK, seat: str = "") -> StudyFigure:
    """A figure of a study. raises SceneErrors for a key, state or seat that the study did not read"""
    labels = found.labels()
    _known("figure", key, dict.fromkeys(row.key for row in labels))
    _known("light state", state, dict.fromkeys(row.state for row in labels if row.key == key))
    rows = [row for row in labels if row.key == key and row.state == state]
    if seat:
        _known("seat", seat, dict.fromkeys(row.seat for row in rows))
        rows = [row for row in rows if row.seat == seat]
    quantity = BY_KEY[key]
    stacks = np.stack([found.figure(row) for row in rows])  # (seats, variants, R + 2)
    return StudyFigure(key, state, seat, quantity.title, quantity.unit, quantity.better, worst(stacks, quantity.better))


def worst(stacks: np.ndarray, better: int) -> np.ndarray:
    """The worst of several seats (seats, variants, R + 2) for each variant, by the mean; the mean over seats where `better` is 0.

    Source: as `aims.gather`: the seat that is worst by the mean keeps its replicates, so that errors hold.
    """
    if len(stacks) == 1:
        return stacks[0]
    with np.errstate(invalid="ignore"):
        if better == 0:
            there = ~np.isnan(stacks)
            return np.where(
                there.any(axis=0), np.where(there, stacks, 0.0).sum(axis=0) / np.maximum(there.sum(axis=0), 1), np.nan
            )
        value = np.where(np.isnan(stacks[:, :, 0]), np.inf, better * stacks[:, :, 0])
    return np.take_along_axis(stacks, value.argmin(axis=0)[None, :, None], axis=0)[0]


def _known(what: str, name: str, known: Sequence[str] | dict[str, None]) -> None:
    if name not in known:
        close = nearest(name, known)
        hint = f", did you mean {' or '.join(close[:2])}?" if close else ""
        raise SceneErrors([SceneError("study", 0, what, name, f"was not read{hint}", ", ".join(known))])
