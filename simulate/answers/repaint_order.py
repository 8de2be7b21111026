"""What to repaint first: one dark finish after the other, each time the one that gives the most contrast at the worst seat."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.finish import Finish
from ..measuring.estimate import Estimate, estimate
from .answers import Answers
from .repaint import Allowed, finishes_of

LEAST_GAIN = 0.03  # relative; a step that gives less is not worth a pot of paint (our own choice)
MOST_STEPS = 4


@dataclass(frozen=True)
class RepaintStep:
    """One surface repainted on top of the steps before; contrast: checkerboard at the worst seat afterwards, in the dark [1]."""

    surface: str
    before: Finish
    finish: Finish
    contrast: Estimate


def repaint_order(answers: Answers, allowed: Sequence[Allowed]) -> list[RepaintStep]:
    """Steps, the most useful first; none where nothing gives LEAST_GAIN more.

    allowed  finishes by surface; of each surface the darkest is tried
    Source: greedy choice on repaints of one ledger; contrast as `measure` has it, at the seat that has least.
    """
    now = finishes_of(answers)
    darkest: dict[str, Finish] = {}
    for each in allowed:
        if each.surface not in darkest or each.finish.luminous < darkest[each.surface].luminous:
            darkest[each.surface] = each.finish
    steps: list[RepaintStep] = []
    best = worst_contrast(answers).value
    while darkest and len(steps) < MOST_STEPS:
        found = {name: worst_contrast(answers.with_finish(name, finish)) for name, finish in darkest.items()}
        name = max(found, key=lambda each: found[each].value)
        if found[name].value < (1.0 + LEAST_GAIN) * best:
            break
        answers, best = answers.with_finish(name, darkest[name]), found[name].value
        steps.append(RepaintStep(name, now[name], darkest.pop(name), found[name]))
    return steps


def worst_contrast(answers: Answers) -> Estimate:
    """Checkerboard contrast [1] in the dark at the seat that has least, with its error. Source: `Answers.quick`."""
    contrast = answers.quick().checkerboard
    return estimate(contrast[:, int(np.argmin(contrast[0]))])
