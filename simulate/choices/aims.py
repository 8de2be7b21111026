"""The aims that advice weighs: figures at the worst seat of each fabric, as replicates."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.fabric import Fabric
from ..measuring.estimate import Estimate, estimate
from ..measuring.targets import DARK
from .differences import is_found
from .figures import Figure, figure_of, seat_figures
from .together import Paired

_MOST_ROLES = 5
TOLERANCE = 0.02  # relative; smaller advantages are no reason to choose (our own choice)


@dataclass(frozen=True)
class Aim:
    """Something to have much of at the seat that has least; `title` reads for a client."""

    figure: Figure
    title: str


class RoleKind(StrEnum):
    """Why a fabric is on the short list."""

    BALANCED = "balanced"
    MOST = "most"


@dataclass(frozen=True)
class Role:
    """A fabric's part on the short list: the balanced one (`aim` None), or the one with the most of an aim."""

    kind: RoleKind
    aim: Aim | None = None


@dataclass(frozen=True)
class FabricEvidence:
    """A fabric measured flat in the user's room.

    worst  replicates (R + 2,) at the worst seat by aim: luminances [cd/m2], ratios as plain numbers [1]
    seat   name of that seat by aim
    """

    name: str
    fabric: Fabric
    paired: Paired
    worst: dict[Aim, np.ndarray]
    seat: dict[Aim, str]

    def value(self, aim: Aim) -> Estimate:
        """The figure at the worst seat with its error, in the unit of `worst`. raises KeyError for an aim that was not gathered"""
        return estimate(self.worst[aim])


def aims_of(states: Sequence[str]) -> list[Aim]:
    """Luminance, evenness, contrast in the dark, then contrast in each light state; callers count on this order.

    states  names of the light states, the brightest last
    Source: the project's list for advice.
    """
    found = [
        Aim(figure_of("white_cd_m2"), "luminance at the dimmest seat"),
        Aim(figure_of("uniformity_ratio"), "evenness at the worst seat"),
        Aim(figure_of("checkerboard_ratio"), "contrast in the dark at the worst seat"),
    ]
    return found + [Aim(figure_of("checkerboard_ratio", s), f"contrast with {s} at the worst seat") for s in states if s != DARK]


def gather(name: str, paired: Paired, aims: Sequence[Aim]) -> FabricEvidence:
    """The worst seat of each aim. Source: the seat that is worst by the mean keeps its replicates, so that errors hold."""
    scene = paired.seats.scene
    every = [seat_figures(paired.seats, i) for i in range(len(scene.seats))]
    worst, seat = {}, {}
    for aim in aims:
        least = min(range(len(every)), key=lambda i: float(every[i][aim.figure][0]))
        worst[aim], seat[aim] = every[least][aim.figure], scene.seats[least].name
    return FabricEvidence(name, scene.screen.fabric, paired, worst, seat)


def better(one: FabricEvidence, other: FabricEvidence, aim: Aim) -> bool:
    """True where `one` is surely ahead by more than TOLERANCE [1]. Source: paired difference, its error and bias bound."""
    a, b = one.worst[aim], other.worst[aim]
    gap = estimate(a - (1.0 + TOLERANCE) * b)
    return gap.value > 0.0 and is_found(gap, float(max(abs(a[0]), abs(b[0]))))


def pareto(evidence: Sequence[FabricEvidence], aims: Sequence[Aim]) -> list[FabricEvidence]:
    """Fabrics to which no other is surely ahead in one aim and nowhere surely behind.

    Source: Pareto efficiency with the margin of `better`; where margins make a ring, all of it stays.
    """
    kept = [each for each in evidence if not any(beats(other, each, aims) for other in evidence if other is not each)]
    return kept or list(evidence)


def beats(one: FabricEvidence, other: FabricEvidence, aims: Sequence[Aim]) -> bool:
    """True where `one` is surely ahead in some aim and surely behind in none. Source: Pareto dominance, with the margin of `better`."""
    return any(better(one, other, aim) for aim in aims) and not any(better(other, one, aim) for aim in aims)


def shares_of_best(evidence: Sequence[FabricEvidence], aims: Sequence[Aim]) -> dict[str, dict[Aim, float]]:
    """Each fabric's figure over the best fabric's, by name and aim [1]; 1 where the best is 0. Source: definition."""
    best = {aim: max(float(each.worst[aim][0]) for each in evidence) for aim in aims}
    return {each.name: {aim: float(each.worst[aim][0]) / best[aim] if best[aim] else 1.0 for aim in aims} for each in evidence}


def balanced(evidence: Sequence[FabricEvidence], aims: Sequence[Aim]) -> FabricEvidence:
    """The fabric that gives up least in its weakest aim. Source: maximin of shares of the best (Wald 1945)."""
    shares = shares_of_best(evidence, aims)
    return max(evidence, key=lambda each: min(shares[each.name].values()))


def roles_of(good: Sequence[FabricEvidence], middle: FabricEvidence, aims: Sequence[Aim]) -> dict[str, tuple[Role, ...]]:
    """What at most five shortlisted fabrics are best at, the balanced one first; a tie goes to one that is on the list already.

    Source: our own rule; a tie is what `better` calls none ahead.
    """
    found: dict[str, list[Role]] = {middle.name: [Role(RoleKind.BALANCED)]}
    for aim in aims:
        best = max(good, key=lambda each: float(each.worst[aim][0]))
        level = [each for each in good if each.name in found and not better(best, each, aim)]
        name = max(level, key=lambda each: float(each.worst[aim][0])).name if level else best.name
        found.setdefault(name, []).append(Role(RoleKind.MOST, aim))
    return {name: tuple(roles) for name, roles in list(found.items())[:_MOST_ROLES]}
