"""What a study found: tidy rows, figures as arrays over the variants, what failed; read from the store, so that memory stays small."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from ...materials.dataclass import dataclass
from ..measuring.estimate import REPLICATIONS, Estimate
from ..measuring.showing import ShowingArrays
from .factors import Shown
from .outputs import OutputRow
from .plan import StudyPlan
from .store import Store, Stored


class StudyRow(NamedTuple):
    """One figure of one variant: number of the variant, its factors' values, where, and the value with its error."""

    variant: int
    factors: tuple[Shown, ...]
    seat: str
    state: str
    figure: str
    value: Estimate


@dataclass(frozen=True, eq=False, repr=False)
class StudyResult(ShowingArrays):
    """Everything a study found.

    keys    (variants,) content keys by number - 1, empty of those that failed
    failed  by number why there are no figures;  known  variants that were kept from before;  same  that equal another
    """

    plan: StudyPlan
    store: Store
    keys: np.ndarray
    failed: Mapping[int, str]
    known: int
    same: int
    elapsed_s: float

    def __repr__(self) -> str:
        words = f"{len(self.keys):,} variants, {len(self.failed):,} failed"
        return f"<StudyResult of {self.plan.study.title!r}: {words}; {', '.join(self.plan.study.outputs)}>"

    @property
    def factors(self) -> tuple[str, ...]:
        """Names of the factors' columns."""
        return tuple(factor.name for factor in self.plan.study.factors)

    @property
    def drawn(self) -> tuple[bool, ...]:
        """Whether the design drew a factor's values."""
        return tuple(i in self.plan.study.drawn for i in range(len(self.plan.study.factors)))

    @property
    def draws(self) -> np.ndarray:
        """As `Study.draws`."""
        return self.plan.study.draws()

    @property
    def title(self) -> str:
        """Of the study."""
        return self.plan.study.title

    @property
    def outputs(self) -> tuple[str, ...]:
        """Keys of the figures that were read."""
        return self.plan.study.outputs

    def rows(self) -> Iterator[StudyRow]:
        """Every figure of every variant that has any, in the plan's order. Source: one row an observation (Wickham 2014)."""
        for place in self.plan.order:
            if not self.keys[place]:
                continue
            part, where = self.store[self.keys[place].decode()]
            shown = self.plan.study.variant(int(place) + 1, self.plan.matrix[place]).shown
            for row, value in zip(part.rows(where), part.values[where], strict=False):
                yield StudyRow(int(place) + 1, shown, row.seat, row.state, row.key, Estimate(*(float(x) for x in value)))

    def labels(self) -> tuple[OutputRow, ...]:
        """All figures that any variant has, in the order in which they first come."""
        found: dict[OutputRow, None] = {}
        for place in self.plan.order:
            if self.keys[place]:
                part, where = self.store[self.keys[place].decode()]
                found.update(dict.fromkeys(part.rows(where)))
        return tuple(found)

    def figure(self, row: OutputRow) -> np.ndarray:
        """One figure over all variants as replicates (variants, REPLICATIONS + 2) in its unit; NaN where a variant lacks it.

        The mean, the means that leave one replication out, the mean without map extrapolation (value + bias bound); what is exact has
        replicates that are alike. Source: as `estimate.replicates` stacks them.
        """
        return stacked_figure([key.decode() for key in self.keys], self.store, row)

    def shown(self) -> list[tuple[Shown, ...]]:
        """The factors' values of every variant, by number - 1; empty texts where a variant could not be made."""
        study, found = self.plan.study, []
        for place, row in enumerate(self.plan.matrix):
            try:
                found.append(study.variant(place + 1, row).shown)
            except ValueError:
                found.append(("",) * len(study.factors))
        return found


def stacked_figure(keys: Sequence[str], store: Mapping[str, Stored], row: OutputRow) -> np.ndarray:
    """One figure of many variants as replicates (variants, REPLICATIONS + 2); NaN where a variant, "" as its key, lacks it.

    Source: as `estimate.replicates` stacks them; the last is the value and its bias bound, which is all that is kept of it.
    """
    found = np.full((len(keys), REPLICATIONS + 2), np.nan)
    for place, key in enumerate(keys):
        if not key:
            continue
        part, where = store[key]
        rows = part.rows(where)
        if row in rows:
            at = rows.index(row)
            value, _, bias = part.values[where, at]
            left_out = part.left_out[where, at]
            found[place, 0], found[place, -1] = value, value + bias
            found[place, 1:-1] = np.where(np.isnan(left_out), value, left_out)
    return found
