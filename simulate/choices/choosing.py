"""From evidence to one answer: the fabric by weighed aims, the hang by its folds, the price of the two."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from ...materials.dataclass import dataclass
from ...materials.hangs import Hang
from ...scenes.cloth.surface import LEVELS
from ..eye.verdict import VISIBLE, verdict
from ..measuring.targets import DARK
from .aims import Aim, FabricEvidence, better, shares_of_best
from .fold_sight import FoldSight
from .wishes import Wishes

if TYPE_CHECKING:
    from .advised import HangAdvice


@dataclass(frozen=True)
class FabricOnHang:
    """A fabric on a hang; price of both in the list's currency, None where the list lacks either."""

    fabric: str
    hang: Hang
    price: float | None


def kind_of(aim: Aim) -> str:
    """The word by which wishes call an aim, one of AIM_WORDS. Source: the order of `aims_of`."""
    if aim.figure.key == "checkerboard_ratio":
        return "contrast" if aim.figure.state == DARK else "lights-on"
    return {"white_cd_m2": "white", "uniformity_ratio": "evenness"}[aim.figure.key]


def weighed(evidence: Sequence[FabricEvidence], aims: Sequence[Aim], wishes: Wishes) -> FabricEvidence:
    """The fabric that gives up least where it counts; with a first aim, among those that nothing surely beats in it.

    Source: least of the greatest weighted loss, weight x (1 - share of the best) (Savage's minimax of regret); weights of 1 make it
    Wald's maximin of shares. With lights-on first the brightest light state counts; without light states the dark does.
    """
    chosen = list(evidence)
    if wishes.first_aim is not None:
        of_kind = [aim for aim in aims if kind_of(aim) == wishes.first_aim] or [aim for aim in aims if kind_of(aim) == "contrast"]
        first = of_kind[-1]
        best = max(chosen, key=lambda each: float(each.worst[first][0]))
        chosen = [each for each in chosen if not better(best, each, first)]
    shares = shares_of_best(chosen, aims)

    def loss(each: FabricEvidence) -> float:
        return max(wishes.weights.get(kind_of(aim), 1.0) * (1.0 - share) for aim, share in shares[each.name].items())

    return min(chosen, key=loss)


def pair_for(fabric: str, hangs: Sequence[HangAdvice], planned: Hang, wishes: Wishes) -> FabricOnHang:
    """The hang for a fabric: the one whose folds show least, at equal words the cheaper, then the planned, then as listed.

    hangs  those that are possible and that the fabric is made for
    Source: our own rule; how many of the low, typical and high shapes are visible from the worst seat, either way, decides.
    raises ValueError without a hang
    """

    def order(each: HangAdvice) -> tuple[int, float, bool]:
        price = wishes.price(each.hang, fabric)
        return seen_levels(fold_on(each, fabric)), price if price is not None else 0.0, each.hang != planned

    best = min(hangs, key=order)
    return FabricOnHang(fabric, best.hang, wishes.price(best.hang, fabric))


def fold_on(hang: HangAdvice, fabric: str) -> FoldSight | None:
    """Folds of a fabric on a hang; None where they were not looked at."""
    return next((fold for fold in hang.folds if fold.fabric == fabric), None)


def seen_levels(fold: FoldSight | None) -> int:
    """At how many of the low, typical and high shapes folds are visible, as brightness or as warp; 0 for none or a flat cloth."""
    if fold is None or fold.flat:
        return 0
    return sum(verdict(worst_ratio(fold, level)).word == VISIBLE for level in LEVELS)


def worst_ratio(fold: FoldSight, level: str) -> float:
    """The larger of brightness over the eye's threshold and warp over its limit at the worst seat [1]."""
    warp: Mapping[str, float] = fold.at_seats(level, lambda each: each.geometry.ratio)
    return max(fold.ratio[level], *warp.values())
