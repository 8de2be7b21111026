"""Where a ranking turns: two choices that change places when something else in the room changes."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np

from ...materials.dataclass import dataclass
from ..measuring.estimate import Estimate, estimate
from .axes import Axis
from .differences import is_found, relative_difference
from .figures import Figure, seat_figures
from .together import Paired

LEAST = 0.005  # relative; a ranking that turns by less is of no use to anybody (our own choice)


@dataclass(frozen=True)
class Turn:
    """On `axis`, `first` beats `second` in one context and loses in another, both beyond doubt and by LEAST at least.

    ahead, behind  labels of the contexts where `first` has more, and less, of the figure
    by_ahead, by_behind  second / first - 1 there [1]
    """

    axis: str
    seat: str
    figure: Figure
    first: str
    second: str
    ahead: str
    behind: str
    by_ahead: Estimate
    by_behind: Estimate


def turns(axes: Sequence[Axis], paired: Sequence[Paired]) -> list[Turn]:
    """Every turned pair, for all axes, seats and figures of a full grid (last axis fastest).

    Of several contexts the ones with the largest difference each way are told; a seat or state that not all have is left out.
    Source: pairwise comparison with the error of paired differences, see differences.py.
    """
    shape = [len(axis.choices) for axis in axes]
    if sum(size > 1 for size in shape) < 2 or math.prod(shape) != len(paired):
        return []
    stacks = [
        {
            (seat.name, figure): stack
            for i, seat in enumerate(each.seats.scene.seats)
            for figure, stack in seat_figures(each.seats, i).items()
            if figure.better
        }
        for each in paired
    ]
    shared = [key for key in stacks[0] if all(key in other for other in stacks)]
    numbers = np.arange(len(paired)).reshape(shape)
    found = []
    for which, axis in enumerate(axes):
        rows = np.moveaxis(numbers, which, 0).reshape(len(axis.choices), -1)
        contexts = _contexts(axes, which)
        for a, b in itertools.combinations(range(len(axis.choices)), 2):
            for seat, figure in shared:
                pair = [
                    _against(stacks[rows[a, k]][seat, figure], stacks[rows[b, k]][seat, figure]) for k in range(rows.shape[1])
                ]
                turn = _turn(pair)
                if turn is not None:
                    low, high = turn
                    labels = (axis.choices[a].label, axis.choices[b].label, contexts[low], contexts[high])
                    found.append(Turn(axis.name, seat, figure, *labels, pair[low][0], pair[high][0]))
    return found


def _contexts(axes: Sequence[Axis], which: int) -> list[str]:
    """Labels of all combinations of the other axes, in the grid's order."""
    others = [axis for i, axis in enumerate(axes) if i != which]
    return [
        ", ".join(f"{axis.name} {choice.label}" for axis, choice in zip(others, picks, strict=True))
        for picks in itertools.product(*(axis.choices for axis in others))
    ]


def _against(first: np.ndarray, second: np.ndarray) -> tuple[Estimate, bool]:
    absolute = estimate(second - first)
    return relative_difference(first, second), is_found(absolute, float(max(abs(first[0]), abs(second[0]))))


def _turn(pairs: list[tuple[Estimate, bool]]) -> tuple[int, int] | None:
    """Contexts where second has least and most against first; None where they do not lie surely on both sides."""
    sure = [(by.value, k) for k, (by, found) in enumerate(pairs) if found and abs(by.value) >= LEAST]
    if not sure or not min(sure)[0] < 0.0 < max(sure)[0]:
        return None
    return min(sure)[1], max(sure)[1]
