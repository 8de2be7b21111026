"""A comparison: variants measured together, their differences from the first, and where rankings turn."""

from __future__ import annotations

import time
from collections.abc import Sequence

from ...materials.dataclass import dataclass
from ..answers.ledger_file import Kept
from ..folds.multiples import Multiple, multiples
from ..light.progress import Progress
from ..measuring.showing import Showing
from ..measuring.solver import MOST_PATHS
from .axes import Axis
from .differences import Difference, differences
from .fold_sight import FoldSight, fold_sight, folds_are_estimates, has_folds, sight_of, without_estimates
from .from_ledger import LedgerUsed, answer_together
from .together import Paired, measure_together
from .turns import Turn, turns
from .variants import Variant


@dataclass(frozen=True, eq=False, repr=False)
class Comparison(Showing):
    """Variants in the order of the grid; differences[i] are those of variant i from variant 0, empty for the first.

    folds   how visible each variant's folds are; empty where every cloth is flat
    taken_flat  True where light was computed for flat cloths, as the folds are estimates and hangs are compared or rankings looked for
    error_asked  relative standard error [1];  elapsed_s  time of the measurement [s]
    ledger  the kept ledger that answered; None where the paths were traced for this comparison
    multiples  the same waves in many set-ups at the reference's seats and size; empty where no hang or fold is varied
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
    ledger: LedgerUsed | None = None
    multiples: tuple[Multiple, ...] = ()
    taken_flat: bool = False

    def __repr__(self) -> str:
        return f"<Comparison of {', '.join(variant.label for variant in self.variants)}>"

    @property
    def met(self) -> bool:
        """True where every variant reached the error asked."""
        return all(each.met for each in self.paired)

    @property
    def error_reached(self) -> float:
        """The worst relative standard error of all variants [1]."""
        return max(each.error_reached for each in self.paired)


def compare(
    axes: Sequence[Axis],
    variants: Sequence[Variant],
    *,
    seed: int = 1,
    error: float = 0.01,
    threads: int = 1,
    most_paths: int = MOST_PATHS,
    progress: Progress | None = None,
    ledger: tuple[Kept, str] | None = None,
    with_multiples: bool = False,
) -> Comparison:
    """Measure variants on the same light paths and compare each with the first.

    variants  at least one; of a full grid of the axes' choices, the last axis fastest
    error     asked relative standard error of each variant [1], 0 < error < 1
    progress  called after each round with a Step: the paths so far and the worst error reached [1]; not from a ledger
    ledger    a kept ledger and the name of its file, to answer from it with its own seed
    with_multiples  also see the same waves in many set-ups where variants differ in hang or folds
    Estimated folds are no ground for a ranking: where hangs are compared, or several things at once, light is computed for the flat
    cloth, and the folds are judged beside it; from a ledger of estimated folds no ranking is called turned.
    raises    LedgerError where the ledger has another geometry, FloatingPointError when a sum is not finite
    Source: see together.py, from_ledger.py and differences.py.
    """
    began = time.perf_counter()
    used: LedgerUsed | None = None
    guessed = any(folds_are_estimates(variant.scene) for variant in variants)
    taken_flat = guessed and ledger is None and (varies_cloth(variants) or len(axes) > 1)
    if ledger is not None:
        kept, where = ledger
        paired, used = answer_together(variants, kept, where=where, error=error, threads=threads, most_paths=most_paths)
        seed = kept.seed
    else:
        paired = measure_together(
            [without_estimates(variant.scene) if taken_flat else variant.scene for variant in variants],
            seed=seed,
            error=error,
            threads=threads,
            most_paths=most_paths,
            progress=progress,
        )
    for each in paired:  # all of them are told of: read here, where the clock still runs
        _ = each.measurement
    elapsed = time.perf_counter() - began
    return Comparison(
        axes=tuple(axes),
        variants=tuple(variants),
        paired=tuple(paired),
        differences=((), *(tuple(differences(paired[0], other)) for other in paired[1:])),
        turns=() if guessed and not taken_flat else tuple(turns(axes, paired)),
        folds=_folds(variants, paired, threads=threads, anew=taken_flat),
        seed=seed,
        error_asked=error,
        elapsed_s=elapsed,
        ledger=used,
        multiples=_multiples(variants, paired, threads) if with_multiples else (),
        taken_flat=taken_flat,
    )


def _folds(variants: Sequence[Variant], paired: Sequence[Paired], *, threads: int, anew: bool) -> tuple[FoldSight, ...]:
    """Fold visibility of every variant where one of them has folds; anew where light was computed for the flat cloth."""
    if not any(has_folds(variant.scene) for variant in variants):
        return ()
    if not anew:
        return tuple(sight_of(each.scene, found.measurement.folds) for each, found in zip(variants, paired, strict=True))
    white = [[reading.white["mean"].value for reading in found.measurement.seats] for found in paired]
    return tuple(fold_sight(each.scene, light, threads=threads) for each, light in zip(variants, white, strict=True))


def varies_cloth(variants: Sequence[Variant]) -> bool:
    """Whether variants change hang or folds."""
    varied = {change.path[1] for variant in variants for change in variant.changes if change.path[:1] == ("screen",)}
    return bool(varied & {"hang", "hanging", "fold"})


def _multiples(variants: Sequence[Variant], paired: Sequence[Paired], threads: int) -> tuple[Multiple, ...]:
    """The same waves in many set-ups, seen from the reference's seats, where variants differ in hang or folds."""
    if not varies_cloth(variants):
        return ()
    white = [reading.white["mean"].value for reading in paired[0].measurement.seats]
    return tuple(multiples(variants[0].scene, white, threads=threads))
