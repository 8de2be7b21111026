"""What would change the advice: where a choice turns with ambient light, lumens or the paint of one surface, computed."""

from __future__ import annotations

import numpy as np

from ...materials.dataclass import dataclass
from ..measuring.estimate import Estimate, estimate
from .aims import FabricEvidence
from .figures import contrast_in

CINEMA_CD_M2 = 48.0  # Source: SMPTE ST 431-1:2006, section 5 (second-hand)
CLASSES = (80.0, 50.0, 15.0)  # Source: ANSI/AVIXA V201.01 (second-hand)
_MOST_LX = 2000.0


@dataclass(frozen=True)
class AmbientFlip:
    """Below `screen_lx` [lx at the screen] the first fabric has more contrast at its worst seat, above it the second."""

    first: str
    second: str
    screen_lx: Estimate


def worst_contrast(evidence: FabricEvidence, screen_lx: float) -> np.ndarray:
    """Checkerboard contrast (R + 2,) [1] in even light of `screen_lx` [lx], at the seat that is worst in it. Source: `contrast_in`."""
    seats = evidence.paired.seats
    every = [contrast_in(seats, i, screen_lx) for i in range(len(seats.scene.seats))]
    return min(every, key=lambda stack: float(stack[0]))


def ambient_flip(one: FabricEvidence, other: FabricEvidence) -> AmbientFlip | None:
    """The ambient light at the screen [lx] at which two fabrics change places in contrast; None where one leads from 0 to 2000 lx.

    Source: bisection on a 40-step scan; its error by the derivative at the crossing (delta method) on paired replicates.
    """
    scan = np.concatenate([[0.0], np.geomspace(0.05, _MOST_LX, 40)])
    gaps = [_gap(one, other, lx)[0] for lx in scan]
    for low, high, before, after in zip(scan, scan[1:], gaps, gaps[1:], strict=False):
        if before * after < 0.0:
            at = _bisect(one, other, low, high)
            step = max(1e-3, 1e-3 * at)
            slope = (_gap(one, other, at + step)[0] - _gap(one, other, at - step if at > step else 0.0)[0]) / (
                2.0 * step if at > step else step + at
            )
            if slope == 0.0:
                return None
            lx = estimate(at - _gap(one, other, at) / slope)
            first, second = (one, other) if before > 0.0 else (other, one)
            return AmbientFlip(first.name, second.name, lx)
    return None


def _gap(one: FabricEvidence, other: FabricEvidence, screen_lx: float) -> np.ndarray:
    """Difference of contrast, relative to their mean: keeps its scale where both approach 1."""
    a, b = worst_contrast(one, screen_lx), worst_contrast(other, screen_lx)
    return (a - b) / (0.5 * (a[0] + b[0]) - 1.0)


def _bisect(one: FabricEvidence, other: FabricEvidence, low: float, high: float) -> float:
    start = _gap(one, other, low)[0]
    for _ in range(40):
        middle = 0.5 * (low + high)
        if _gap(one, other, middle)[0] * start > 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def class_limits(evidence: FabricEvidence) -> dict[float, float]:
    """Most ambient light [lx at the screen], 2000 lx at most, that leaves 80, 50 and 15 : 1 at the worst seat, by that contrast.

    A contrast that the dark fails is missing.
    Source: bisection; contrast falls with ambient light.
    """
    found = {}
    for limit in CLASSES:
        if worst_contrast(evidence, 0.0)[0] < limit:
            continue
        low, high = 0.0, _MOST_LX
        for _ in range(45):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if worst_contrast(evidence, middle)[0] >= limit else (low, middle)
        found[limit] = low
    return found


def lumens_for(evidence: FabricEvidence, white: Estimate, target_cd_m2: float = CINEMA_CD_M2) -> float:
    """Light output [lm] that gives a seat the target luminance [cd/m2]; in use, or rated where the scene states no in-use share.

    white  luminance at that seat now [cd/m2], the dimmest in advice
    Source: luminance is linear in lumens.
    """
    projector = evidence.paired.seats.scene.projector
    return projector.light_output_lm * (projector.in_use or 1.0) * target_cd_m2 / white.value
