"""A study as it was read: base scenes, factors, design, outputs; and its variants, made one at a time."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from pathlib import Path as FilePath
from typing import NamedTuple

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.library import Library
from ...scenes.changes import Change
from ..choices.variants import VariantText
from .designs import Method, unit_points
from .factors import Factor, LevelFactor, Shown, SpreadFactor

SCENE = "scene"  # column of the base scenes, where there are several


class StudyVariant(NamedTuple):
    """One variant, not loaded yet.

    number   from 1, in the design's order;  base  which base scene, from 0
    changes  of the scene file;  shown  what stands in the factors' columns
    """

    number: int
    base: int
    changes: tuple[Change, ...]
    shown: tuple[Shown, ...]


@dataclass(frozen=True)
class Base:
    """A base scene: its file as a document that changes, its name, the libraries it looks into."""

    name: str
    document: VariantText
    library: Library


@dataclass(frozen=True)
class Design:
    """How factors make variants.

    combine  "all" combinations of levels, "rows" (first levels together, second levels together ...), or "sampled" like spreads
    method   of drawing;  samples  drawn for each combination;  seed  of the draws
    """

    combine: str = "all"
    method: Method = "latin hypercube"
    samples: int = 1
    seed: int = 1


@dataclass(frozen=True)
class Study:
    """What is to be varied, and what is to be read.

    factors  in the file's order; where there are several base scenes the first is that of the scenes
    outputs  keys of the registry;  states  "dark" and names of light states, None: all that a scene has
    error    asked relative standard error of the outputs [1];  seed  of the light paths
    name     file as the user named it;  files  that were read;  sha256  of the study file
    """

    title: str
    bases: tuple[Base, ...]
    factors: tuple[Factor, ...]
    outputs: tuple[str, ...]
    states: tuple[str, ...] | None
    error: float
    seed: int
    design: Design
    name: str
    files: tuple[FilePath, ...]
    sha256: str

    @property
    def spreads(self) -> list[int]:
        """Places of the factors that are drawn from a spread."""
        return [i for i, factor in enumerate(self.factors) if isinstance(factor, SpreadFactor)]

    @property
    def drawn(self) -> list[int]:
        """Places of the factors whose numbers the design draws: spreads, and levels where these are sampled too."""
        return list(range(len(self.factors))) if self.design.combine == "sampled" else self.spreads

    @property
    def count(self) -> int:
        """How many variants there are, before any is made."""
        return self._combinations() * self.draws_each

    def _combinations(self) -> int:
        counts = [factor.count for factor in self.factors if isinstance(factor, LevelFactor)]
        if self.design.combine == "sampled" or not counts:
            return 1
        return counts[0] if self.design.combine == "rows" else int(np.prod(counts, dtype=object))

    @property
    def draws_each(self) -> int:
        """Draws that each combination of levels has."""
        if not self.drawn:
            return 1
        return self.design.samples * (len(self.drawn) + 2 if self.design.method == "sobol indices" else 1)

    def matrix(self) -> np.ndarray:
        """The design (variants, factors): a level's place from 0, or a share of a spread [1]. Draws run fastest.

        Every combination of levels has the same draws, so that differences between levels are paired.
        """
        drawn = self.drawn
        points = unit_points(self.design.method, self.design.samples, len(drawn), self.design.seed)
        held = [i for i in range(len(self.factors)) if i not in drawn]
        rows = self._rows([self.factors[i] for i in held])
        found = np.empty((len(rows) * len(points), len(self.factors)))
        found[:, held] = np.repeat(rows, len(points), axis=0)
        found[:, drawn] = np.tile(points, (len(rows), 1))
        for i in drawn:
            factor = self.factors[i]
            if isinstance(factor, LevelFactor):
                found[:, i] = np.minimum(np.floor(found[:, i] * factor.count), factor.count - 1)
        return found

    def draws(self) -> np.ndarray:
        """The shares of their spreads that were drawn (variants, factors) [1]; NaN for levels. Source: `matrix`."""
        found = self.matrix()
        found[:, [i for i in range(len(self.factors)) if i not in self.spreads]] = np.nan
        return found

    def _rows(self, held: Sequence[Factor]) -> np.ndarray:
        counts = [factor.count for factor in held if isinstance(factor, LevelFactor)]
        if not counts:
            return np.zeros((1, 0))
        if self.design.combine == "rows":
            return np.repeat(np.arange(counts[0])[:, None], len(counts), axis=1).astype(float)
        return np.array(list(itertools.product(*(range(count) for count in counts))), float)

    def variant(self, number: int, row: np.ndarray) -> StudyVariant:
        """The variant of a row of the matrix. Levels come first: a tolerance is about what the variant has.

        raises  NoNumber, ValueError as `SpreadFactor.made`
        """
        base = self.base_of(row)
        scene, library = self.bases[base].document.scene, self.bases[base].library
        changes: list[Change] = []
        shown: list[Shown] = [""] * len(self.factors)
        order = sorted(range(len(self.factors)), key=lambda i: isinstance(self.factors[i], SpreadFactor))
        for i in order:
            made = self.factors[i].made(float(row[i]), scene, library, changes)
            changes += made.changes
            shown[i] = made.shown
        return StudyVariant(number, base, tuple(changes), tuple(shown))

    def base_of(self, row: np.ndarray) -> int:
        """Which base scene a row of the matrix is of, from 0."""
        return int(row[0]) if len(self.bases) > 1 else 0

    def variants(self) -> Iterator[StudyVariant]:
        """All variants in the design's order; see `variant`."""
        for i, row in enumerate(self.matrix()):
            yield self.variant(i + 1, row)
