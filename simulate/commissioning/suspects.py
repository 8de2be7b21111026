"""What may be other than stated: one finish, one paint wherever it is, or one reading; told by Bayes factors, one at a time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum

import numpy as np
from scipy.special import chdtrc

from ...materials.dataclass import dataclass
from .belief import SLIP, Belief, Opened
from .parameter import Parameter, ParameterKind
from .parameters import OTHER_PAINT
from .posterior import Posterior

MOST_FOUND = 3
STAYS_STRAINED = 0.01  # chance of readings as far off as these, below which they stay unexplained
LIKELY = 0.5  # probability from which a suspect is taken to be it
NONE, FINISH, READING = 0.8, 0.1, 0.1  # chance beforehand that nothing, one finish, or one reading is wrong (own choice)
_NEAR = 10.0  # ln of evidence by a straight line: suspects farther behind the best one are not worked out
_MOST_TRIED = 8
_TOLD = 0.05
A_WITNESS_OF = 5  # readings that it takes to call one of them wrong (own choice)


class What(StrEnum):
    """What a suspect is."""

    FINISH = "finish"
    READING = "reading"


@dataclass(frozen=True)
class Suspect:
    """Something that may be other than stated.

    what;  places  of parameters that move together, or of the one reading;  probability  given that at most one more is wrong [1]
    """

    what: What
    places: tuple[int, ...]
    probability: float


@dataclass(frozen=True)
class Explanation:
    """What was taken to be other than stated, what else may be, and beliefs with it.

    opened;  found  suspects taken, in their order;  others  what may still be, likely first
    posterior  averaged over what may still be, by its probability;  alone  with what was taken, and nothing more
    chance   that readings are as far off as these where all else is as stated [1]: at first, and in the end
    """

    opened: Opened
    posterior: Posterior
    alone: Posterior
    found: tuple[Suspect, ...]
    others: tuple[Suspect, ...]
    chance: tuple[float, float]


def look_for(belief: Belief) -> Explanation:
    """Beliefs after the readings, with finishes and readings opened as long as that explains what nothing else does."""
    opened = Opened()
    found: list[Suspect] = []
    after = belief.after(opened)
    first = _chance(after)
    while True:
        tried = _tried(belief, opened, after)
        suspects = _suspects(belief, after, tried)
        others = tuple(each for each in suspects if each.probability > _TOLD)
        if len(found) == MOST_FOUND or not suspects or suspects[0].probability < LIKELY:
            averaged = _averaged(
                belief, opened, after, [(each.probability, tried[each.what, each.places][1]) for each in suspects]
            )
            return Explanation(opened, averaged, after, tuple(found), others, (first, _chance(after)))
        opened, after = tried[suspects[0].what, suspects[0].places]
        found.append(suspects[0])


def _averaged(belief: Belief, opened: Opened, after: Posterior, others: Sequence[tuple[float, Posterior]]) -> Posterior:
    """The posterior over all that may be, as a normal of the same mean and covariance.

    others  probability and posterior of what else may be; `after` has what is left
    Where no suspect is likely enough to be taken, the interval of a finish must still hold what it would be were it the one.
    Source: law of total covariance; Bayesian model averaging (Hoeting et al. 1999, Statistical Science 14, 382).
    """
    parts = [(1.0 - sum(weight for weight, _ in others), after), *others]
    mean = np.sum([weight * each.mean for weight, each in parts], axis=0)
    covariance = np.sum(
        [weight * (each.covariance + np.outer(each.mean - mean, each.mean - mean)) for weight, each in parts], axis=0
    )
    linear = belief.linear(mean, opened)
    return replace(after, mean=mean, covariance=covariance, predicted=linear.value, jacobian=linear.jacobian, noise=linear.noise)


def _chance(after: Posterior) -> float:
    """Source: the misfit about what the prior expects is chi-square, one degree of freedom a reading."""
    return float(chdtrc(len(after.predicted), after.misfit))


def _candidates(belief: Belief, opened: Opened) -> list[tuple[What, tuple[int, ...], float]]:
    """What may be wrong beside what is known to be, with its chance beforehand."""
    paints, count = paints_of(belief.parameters), len(belief.read)
    judged = [] if len(opened.readings) >= count // A_WITNESS_OF else [i for i in range(count) if i not in opened.readings]
    finishes = [(What.FINISH, places, FINISH / len(paints)) for places in paints if places not in opened.paints]
    return finishes + [(What.READING, (i,), READING / count) for i in judged]


def _tried(belief: Belief, opened: Opened, after: Posterior) -> dict[tuple[What, tuple[int, ...]], tuple[Opened, Posterior]]:
    """Posteriors with one more thing opened, for those that straight lines say may be it."""
    expected = after.jacobian @ belief.before(opened) @ after.jacobian.T + after.noise
    away = belief.read - after.predicted + after.jacobian @ (after.mean - belief.mean)
    candidates = _candidates(belief, opened)
    lines = [_line(belief, after, what, places) for what, places, _ in candidates]
    gains = _gains(expected, away, lines) + np.log([chance / NONE for *_, chance in candidates])
    worth = max(math.log(_TOLD), float(gains.max(initial=-math.inf)) - _NEAR)
    found = {}
    for i in np.argsort(-gains)[:_MOST_TRIED]:
        if gains[i] < worth:
            break
        what, places, _ = candidates[i]
        wider = (
            Opened((*opened.paints, places), opened.readings)
            if what is What.FINISH
            else Opened(opened.paints, (*opened.readings, *places))
        )
        found[what, places] = (wider, belief.after(wider, after.mean))
    return found


def _line(belief: Belief, after: Posterior, what: What, places: tuple[int, ...]) -> np.ndarray:
    """How readings (n,) move with one standard deviation of a thing opened."""
    if what is What.FINISH:
        return after.jacobian[:, list(places)].sum(axis=1) * OTHER_PAINT
    line = np.zeros(len(belief.read))
    line[places[0]] = SLIP * max(abs(after.predicted[places[0]]), abs(belief.read[places[0]]))
    return line


def paints_of(parameters: Sequence[Parameter]) -> list[tuple[int, ...]]:
    """Every surface alone, and all surfaces of one finish where there are several, by places of their parameters."""
    surfaces = [i for i, each in enumerate(parameters) if each.kind is ParameterKind.REFLECTANCE]
    groups = {parameters[i].paint: tuple(j for j in surfaces if parameters[j].paint == parameters[i].paint) for i in surfaces}
    return [*((i,) for i in surfaces), *(group for group in groups.values() if len(group) > 1)]


def _gains(expected: np.ndarray, away: np.ndarray, lines: Sequence[np.ndarray]) -> np.ndarray:
    """By how much the addition of v v' to the expected covariance raises the ln of the evidence, for each line v.

    Source: Sherman-Morrison and the matrix determinant lemma.
    """
    solved = np.linalg.solve(expected, np.stack([away, *lines], axis=1))
    spread = 1.0 + np.array([line @ back for line, back in zip(lines, solved.T[1:], strict=True)])
    along = np.array([line @ solved[:, 0] for line in lines])
    return np.asarray(0.5 * along**2 / spread - 0.5 * np.log(spread))


def _suspects(
    belief: Belief, base: Posterior, tried: dict[tuple[What, tuple[int, ...]], tuple[Opened, Posterior]]
) -> list[Suspect]:
    """Probabilities of the suspects, likely first. Source: Bayes' theorem with NONE, FINISH and READING beforehand."""
    each_finish, each_reading = FINISH / max(1, len(paints_of(belief.parameters))), READING / len(belief.read)
    chance = {What.FINISH: each_finish, What.READING: each_reading}
    logs = {key: math.log(chance[key[0]] / NONE) + after.evidence - base.evidence for key, (_, after) in tried.items()}
    top = max(0.0, *logs.values()) if logs else 0.0
    whole = math.exp(-top) + sum(math.exp(each - top) for each in logs.values())
    found = [Suspect(what, places, math.exp(logs[what, places] - top) / whole) for what, places in logs]
    return sorted(found, key=lambda each: -each.probability)
