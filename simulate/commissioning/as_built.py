"""What stands in the scene as built: few values that together read as the meters do, all else as stated."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..measuring.targets import DARK
from .belief import Belief
from .parameter import ParameterKind
from .suspects import Explanation

if TYPE_CHECKING:
    from .check import Estimated

MOVED = 1.0  # standard deviations: what is nearer to what was stated stays as stated (own choice)
_ROUNDS = 4


def as_built(belief: Belief, finding: Explanation, estimates: Sequence[Estimated]) -> list[tuple[int, float]]:
    """Places of parameters that move, and their values in their units.

    The means after the readings move everything a little, also what no reading tells of; leaving that out of them would leave
    part of a difference unexplained. So those that move are fitted again with all else as stated, and what then hardly moves is
    put back.
    """
    meters = [i for i, each in enumerate(estimates) if each.parameter.kind is ParameterKind.METER]
    free = [i for i, each in enumerate(estimates) if i not in meters and (each.informed or each.only_with)]
    values: list[tuple[int, float]] = []
    for _ in range(_ROUNDS):
        after = belief.after_alone(finding.opened, [*free, *meters], finding.posterior.mean)
        t, deviation = after.mean[: len(free)], after.deviation[: len(free)]
        values = [(i, estimates[i].parameter.value(float(x))) for i, x in zip(free, t, strict=True)]
        kept = [i for i, x, width in zip(free, t, deviation, strict=True) if _moves(estimates[i], float(x), float(width))]
        if kept == free:
            break
        free, values = kept, [(i, value) for i, value in values if i in kept]
    return values


def _moves(each: Estimated, t: float, width: float) -> bool:
    """Whether a value is worth writing: farther from what is stated than it is sure."""
    parameter = each.parameter
    if parameter.stated is None:  # without a key light is taken as even
        return parameter.kind is not ParameterKind.EVENNESS or parameter.value(t + MOVED * width) < 1.0
    if parameter.kind is ParameterKind.AMBIENT and parameter.what == DARK and parameter.value(t - 2.0 * width) <= 0.0:
        return False  # there may be none
    ends = parameter.value(t - MOVED * width), parameter.value(t + MOVED * width)
    near = min(ends) <= parameter.stated <= max(ends)
    return not near and abs(parameter.value(t) - parameter.stated) > 1e-3 * max(abs(parameter.stated), 1e-3)
