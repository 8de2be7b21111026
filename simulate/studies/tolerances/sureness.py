"""How sure a scene's figures and its best fabric are, within tolerances: all of it in one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ....materials.dataclass import dataclass
from ....scenes.model import Scene
from ...answers.answers import Answers
from ...choices.figures import Figure
from ...choices.wishes import Wishes
from .bands import Band, bands_of
from .derivatives import derivatives
from .odds import FabricOdds, fabric_odds
from .uncertain import DEFAULTS, Group, Limits, Uncertain, uncertain_of

LEAST_ERROR = 0.02  # a band of several per cent needs no finer light


@dataclass(frozen=True)
class Sureness:
    """What is uncertain, bands of every figure, and how often the best fabric stays the best.

    left_out  what could not be moved in this scene, and why;  odds  None where they were not asked
    """

    scene: Scene
    limits: Mapping[Group, Limits]
    uncertain: tuple[Uncertain, ...]
    left_out: tuple[tuple[str, str], ...]
    bands: tuple[Band, ...]
    odds: FabricOdds | None

    def worst(self, figure: Figure, values: Mapping[str, float]) -> Band | None:
        """The band of a figure at the seat that has least of it, or most where less is better; None where there is none.

        values  the figure by seat, in its unit
        """
        found = [band for band in self.bands if band.figure == figure and band.seat in values]
        return min(found, key=lambda band: (figure.better or 1) * values[band.seat], default=None)

    def ranked(self, band: Band) -> list[tuple[Uncertain, float]]:
        """What a band hangs on, the largest share of its variance first [1]: what to measure better."""
        each = zip(self.uncertain, (share.value for share in band.shares), strict=True)
        return sorted(each, key=lambda pair: -pair[1])


def sureness(
    scene: Scene,
    *,
    limits: Mapping[Group, Limits] = DEFAULTS,
    fabrics: bool = True,
    names: Sequence[str] = (),
    wishes: Wishes | None = None,
    answers: Answers | None = None,
    error: float = LEAST_ERROR,
    seed: int = 1,
    threads: int = 1,
) -> Sureness:
    """Bands of a scene's figures and the odds of its fabrics.

    fabrics  False: no odds;  names  fabrics to look at, none: the library;  answers  a ledger of the scene, None: one is traced
    error    asked relative standard error of the scene's own figures [1], from LEAST_ERROR
    raises   SceneErrors for unknown fabrics
    Source: `derivatives`, `bands_of`, `fabric_odds`.
    """
    error = max(error, LEAST_ERROR)
    if answers is None:
        answers = Answers.of(scene, seed=seed, threads=threads).precise(error).answers
    found = derivatives(answers, uncertain_of(scene, limits))
    odds = None
    if fabrics:
        odds = fabric_odds(scene, wishes, names=names, limits=limits, error=error, seed=seed, threads=threads)
    return Sureness(scene, limits, found.uncertain, found.left_out, bands_of(found), odds)
