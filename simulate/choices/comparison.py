"""A comparison: variants measured together, their differences from the first, and where rankings turn."""
from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ..solver import MOST_PATHS
from .axes import Axis
from .differences import Difference, differences
from .fold_sight import FoldSight, fold_sight, has_folds
from .together import Paired, measure_together
from .turns import Turn, turns
from .variants import Variant


@dataclass(frozen=True)
class Comparison:
    """Variants in the order of the grid; differences[i] are those of variant i from variant 0, empty for the first.

    folds  how visible each variant's folds are; empty where every cloth is flat
    """

    axes: tuple[Axis, ...]
    variants: tuple[Variant, ...]
    paired: tuple[Paired, ...]
    differences: tuple[tuple[Difference, ...], ...]
    turns: tuple[Turn, ...]
    folds: tuple[FoldSight, ...]
    seed: int
    error_asked: float
    elapsed_s: float

    @property
    def met(self) -> bool:
        """True where every variant reached the error asked."""
        return all(each.measurement.met for each in self.paired)

    @property
    def error_reached(self) -> float:
        """The worst error of all variants."""
        return max(each.measurement.error_reached for each in self.paired)


def compare(
    axes: Sequence[Axis],
    variants: Sequence[Variant],
    *,
    seed: int = 1,
    error: float = 0.01,
    threads: int = 1,
    most_paths: int = MOST_PATHS,
    progress: Callable[[int, float], None] | None = None,
) -> Comparison:
    """Measure variants on the same light paths and compare each with the first.

    variants  at least one; of a full grid of the axes' choices, the last axis fastest
    Source: see together.py and differences.py.
    """
    paired = measure_together(
        [variant.scene for variant in variants],
        seed=seed,
        error=error,
        threads=threads,
        most_paths=most_paths,
        progress=progress,
    )
    return Comparison(
        axes=tuple(axes),
        variants=tuple(variants),
        paired=tuple(paired),
        differences=((), *(tuple(differences(paired[0], other)) for other in paired[1:])),
        turns=tuple(turns(axes, paired)),
        folds=_folds(variants, paired, threads),
        seed=seed,
        error_asked=error,
        elapsed_s=max(each.measurement.elapsed_s for each in paired),
    )


def _folds(variants: Sequence[Variant], paired: Sequence[Paired], threads: int) -> tuple[FoldSight, ...]:
    """Fold visibility of every variant where one of them has folds."""
    if not any(has_folds(variant.scene) for variant in variants):
        return ()
    return tuple(
        fold_sight(
            each.scene,
            each.scene.screen.hang,
            each.scene.screen.fabric.name,
            [reading.white["mean"].value for reading in found.measurement.seats],
            threads=threads,
        )
        for each, found in zip(variants, paired, strict=True)
    )
