"""The cheapest set of finishes that reaches a contrast at every seat: best-first search with bounds that are proved, not guessed.

Returned light is a polynomial with coefficients >= 0 in the reflectances. So (1) it grows with each of them, and (2) what a
darker finish saves shrinks when others get darker. Hence, below a partial choice:
- no completion reaches the target if even the darkest one does not: light on black patches least, on white ones most;
- the savings that finishes have one at a time, all else at its lightest, add up to no less than they save together, so the
  cheapest way to make up the gap by those savings (a fractional knapsack) costs no more than any real way.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from .polynomial import ContrastPolynomial

MOST_NODES = 20_000
MOST_TIES = 2_000  # choices of the least cost among which the one of most contrast is sought
_SAME_COST = 1e-9  # below it two costs are the same: rounding of sums


class Option(NamedTuple):
    """A finish a surface may get: name, reflectance (C,) [1], cost in the list's currency or [m2]; 0 for what is there."""

    name: str
    reflectance: np.ndarray
    cost: float


class Found(NamedTuple):
    """Result of a search.

    choice    option number of each surface; None when nothing reaches the target
    cost      of the choice;  bound  no choice that reaches the target costs less;  exact  cost == bound is proved
    contrast  (T,) of the choice, or of the best there is [1]
    nodes     partial choices looked at
    """

    choice: tuple[int, ...] | None
    cost: float
    bound: float
    exact: bool
    contrast: np.ndarray
    nodes: int


def cheapest(
    polynomial: ContrastPolynomial,
    fixed: np.ndarray,
    surfaces: Sequence[int],
    options: Sequence[Sequence[Option]],
    target: float,
    *,
    most_nodes: int = MOST_NODES,
) -> Found:
    """Cheapest choice whose checkerboard contrast is at least `target` [1] at every seat.

    fixed     (surfaces, C) reflectances [1] of what stays as it is;  surfaces, options   what may change, and into what
    returns   Found; when `most_nodes` is reached first, the best choice found with the bound proved so far, exact False
    Source: branch and bound (Land and Doig 1960); bounds as in the head of this file.
    """
    problem = _Problem(polynomial, fixed, surfaces, options, target)
    darkest = problem.filled([int(np.argmin([o.reflectance.mean() for o in opts])) for opts in options])
    best_there_is = polynomial.contrast(darkest[None])[0]
    if not problem.may_reach(()):
        return Found(None, np.inf, np.inf, True, best_there_is, 1)
    if not surfaces:  # nothing may change, and the room reaches the target as it is
        return Found((), 0.0, 0.0, True, best_there_is, 1)
    counter = itertools.count()
    heap: list[tuple[float, int, tuple[int, ...]]] = [(problem.least_cost(()), next(counter), ())]
    best: tuple[float, tuple[int, ...] | None] = (np.inf, None)
    lead, nodes, ties = -np.inf, 0, 0  # least contrast over the seats of the best choice
    while heap:
        bound, _, choice = heapq.heappop(heap)
        if bound >= best[0]:  # proved: what is left can only cost the same, and is looked at for more contrast
            ties += 1
            if bound > best[0] + _SAME_COST or ties > MOST_TIES:
                break
        nodes += 1
        if nodes > most_nodes:
            return _found(problem, best, bound, bound >= best[0], nodes, best_there_is)
        for child in ((*choice, i) for i in range(len(options[len(choice)]))):
            if len(child) == len(surfaces):
                cost = problem.cost(child)
                if cost > best[0] + _SAME_COST:
                    continue
                contrast = problem.contrast(child)
                if bool((contrast >= target).all()) and (cost < best[0] - _SAME_COST or contrast.min() > lead):
                    best, lead = (min(cost, best[0]), child), float(contrast.min())
            elif problem.may_reach(child):
                least = max(problem.least_cost(child), bound)
                if least <= best[0] + _SAME_COST:
                    heapq.heappush(heap, (least, next(counter), child))
    return _found(problem, best, best[0], True, nodes, best_there_is)


def _found(
    problem: _Problem, best: tuple[float, tuple[int, ...] | None], bound: float, exact: bool, nodes: int, most: np.ndarray
) -> Found:
    cost, choice = best
    return Found(choice, cost, min(bound, cost), exact, most if choice is None else problem.contrast(choice), nodes)


class _Problem:
    """A search's data; a choice is a tuple of option numbers of the first surfaces."""

    def __init__(
        self,
        polynomial: ContrastPolynomial,
        fixed: np.ndarray,
        surfaces: Sequence[int],
        options: Sequence[Sequence[Option]],
        target: float,
    ) -> None:
        self.polynomial, self.fixed, self.surfaces, self.options, self.target = polynomial, fixed, surfaces, options, target
        self.lightest = [np.max([o.reflectance for o in opts], axis=0) for opts in options]
        self.darkest = [np.min([o.reflectance for o in opts], axis=0) for opts in options]
        self.cheapest = [min(o.cost for o in opts) for opts in options]

    def filled(self, choice: Sequence[int]) -> np.ndarray:
        """Reflectances (surfaces, C) [1] with a whole choice put in."""
        table = self.fixed.copy()
        for surface, opts, i in zip(self.surfaces, self.options, choice, strict=False):
            table[surface] = opts[i].reflectance
        return table

    def _rest(self, choice: Sequence[int], rest: list[np.ndarray]) -> np.ndarray:
        table = self.filled(choice)
        for k in range(len(choice), len(self.surfaces)):
            table[self.surfaces[k]] = rest[k]
        return table

    def contrast(self, choice: Sequence[int]) -> np.ndarray:
        """Contrast (T,) [1] of a whole choice. Source: `ContrastPolynomial`."""
        return self.polynomial.contrast(self.filled(choice)[None])[0]

    def cost(self, choice: Sequence[int]) -> float:
        """Cost of the surfaces chosen so far."""
        return float(sum(opts[i].cost for opts, i in zip(self.options, choice, strict=False)))

    def may_reach(self, choice: Sequence[int]) -> bool:
        """False only when no completion reaches the target at every seat: white patches lightest over black ones darkest.

        Source: returned light grows with each reflectance; head of this file.
        """
        tables = np.stack([self._rest(choice, self.lightest), self._rest(choice, self.darkest)])
        white, black = self.polynomial.returned(tables)
        return bool(((self.polynomial.lit + white[0]) / (self.polynomial.dark + black[1]) >= self.target).all())

    def least_cost(self, choice: Sequence[int]) -> float:
        """A cost that no completion undercuts: decided surfaces, and the knapsack of one-at-a-time savings, seat by seat.

        Source: head of this file; `_hull`, `_knapsack`.
        """
        base = self._rest(choice, self.lightest)
        free = range(len(choice), len(self.surfaces))
        tables = [base]
        for k in free:
            for option in self.options[k]:
                table = base.copy()
                table[self.surfaces[k]] = option.reflectance
                tables.append(table)
        white, black = self.polynomial.returned(np.stack(tables))
        allowed = (self.polynomial.lit + white[0]) / self.target - self.polynomial.dark  # white patches at their lightest
        needed = black[0] - allowed
        savings = black[0] - black[1:]
        floor = self.cost(choice) + sum(self.cheapest[k] for k in free)
        worst = 0.0
        for seat in np.flatnonzero(needed > 0.0):
            steps, at = [], 0
            for k in free:
                count = len(self.options[k])
                steps += _hull([o.cost - self.cheapest[k] for o in self.options[k]], savings[at : at + count, seat])
                at += count
            worst = max(worst, _knapsack(steps, float(needed[seat])))
        return floor + worst


def _hull(costs: list[float], savings: np.ndarray) -> list[tuple[float, float]]:
    """Steps (cost, saving) along the upper concave hull of one surface's options, from the cheapest on; free savings cost 0.

    Source: the linear relaxation of the multiple-choice knapsack (Sinha and Zoltners 1979) uses these points alone.
    """
    points = sorted(zip(costs, savings.tolist(), strict=True))
    hull: list[tuple[float, float]] = [(0.0, 0.0)]
    for cost, saving in points:
        if saving <= hull[-1][1]:
            continue
        while len(hull) > 1 and (saving - hull[-2][1]) * (hull[-1][0] - hull[-2][0]) >= (hull[-1][1] - hull[-2][1]) * (
            cost - hull[-2][0]
        ):
            hull.pop()
        hull.append((cost, saving))
    return [(b[0] - a[0], b[1] - a[1]) for a, b in itertools.pairwise(hull)]


def _knapsack(steps: list[tuple[float, float]], needed: float) -> float:
    """Least cost of steps, the last one in part, whose savings make up what is needed; infinite when all together do not."""
    spent = 0.0
    for cost, saving in sorted(steps, key=lambda step: step[0] / step[1]):
        if saving >= needed:
            return spent + cost * needed / saving
        spent, needed = spent + cost, needed - saving
    return np.inf if needed > 0.0 else spent
