"""A finished room checked against its scene: reading by reading, then what explains the differences, and how surely."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.model import Scene
from ..answers.answers import Answers
from ..measuring.showing import Showing
from ..measuring.solver import survival_for
from .as_built import as_built
from .belief import Belief, path_covariance
from .correction import Correction, corrected
from .parameter import Parameter, ParameterKind
from .parameters import OTHER_PAINT, parameters_of
from .predictor import Predictor
from .site_reading import SiteReading, SiteReadings
from .suspects import STAYS_STRAINED, Explanation, Suspect, What, look_for
from .told_apart import INFORMED, Direction, Pair, directions, narrowed, pairs

LIGHTEST = 0.85  # reflectance that a finish may be found to have [1]
INTERVAL = 1.959963984540054  # standard deviations to either side of a normal mean that hold 95 %


@dataclass(frozen=True)
class Compared:
    """A reading beside what the scene promised, all [lx] or [cd/m2].

    predicted, predicted_uncertainty   by the scene as stated; standard uncertainty of light paths and map
    uncertainty   standard uncertainty of the reading, calibration included
    score         E_n: difference over the root of the squares of both expanded uncertainties (k = 2) [1]
    explained, explained_uncertainty   what the meter should read with the estimates; standard uncertainty of the reading about it
    doubted       True where the reading itself was taken to be wrong, and left out of the estimates
    """

    reading: SiteReading
    predicted: float
    predicted_uncertainty: float
    uncertainty: float
    score: float
    explained: float
    explained_uncertainty: float
    doubted: bool

    @property
    def agrees(self) -> bool:
        """Whether reading and promise agree within both uncertainties. Source: ISO 13528:2015, E_n scores: |E_n| at most 1 (from memory)."""
        return abs(self.score) <= 1.0

    @property
    def agrees_after(self) -> bool:
        """Whether the reading agrees with the estimates, within two standard uncertainties."""
        return abs(self.reading.value - self.explained) <= 2.0 * self.explained_uncertainty


@dataclass(frozen=True)
class Estimated:
    """What is held of a parameter before and after the readings; values in its unit, intervals of 95 %.

    before    its interval beforehand;  value, low, high  after
    narrowed  standard deviation after over before [1];  informed  False: the readings do not tell, value is no estimate
    opened    True where its finish was found to be another
    only_with keys of parameters with which alone it is known
    """

    parameter: Parameter
    before: tuple[float, float]
    value: float
    low: float
    high: float
    narrowed: float
    informed: bool
    opened: bool
    only_with: tuple[str, ...]

    @property
    def differs(self) -> bool:
        """Whether the stated value lies outside the interval, of what is estimated by itself."""
        stated = self.parameter.stated
        return self.informed and not self.only_with and stated is not None and not self.low <= stated <= self.high


@dataclass(frozen=True)
class SeatFigures:
    """White at the picture's centre [cd/m2] and checkerboard contrast [1] of a seat in the dark: promised, and as built."""

    name: str
    white: tuple[float, float]
    checkerboard: tuple[float, float]


@dataclass(frozen=True, eq=False, repr=False)
class Check(Showing):
    """Everything `check` found.

    scene       as it was designed;  site  the readings;  compared  one a reading, in their order
    estimates   one a parameter;  mean (k,), covariance (k, k)  of the parameters' t after the readings
    pairs       known only together;  directions  combinations, the best known first
    finding     what was found to be other than stated, what else may be, how likely such readings are
    correction  the scene as built;  seats  what each seat was promised, and what it has by that
    paths, seed of the ledger it was answered from
    """

    scene: Scene
    site: SiteReadings
    compared: tuple[Compared, ...]
    estimates: tuple[Estimated, ...]
    mean: np.ndarray
    covariance: np.ndarray
    pairs: tuple[Pair, ...]
    directions: tuple[Direction, ...]
    finding: Explanation
    correction: Correction
    seats: tuple[SeatFigures, ...]
    paths: int
    seed: int

    @property
    def corrected(self) -> Scene:
        """The scene as built: what the readings tell, in place of what was stated."""
        return self.correction.scene

    @property
    def strained(self) -> bool:
        """True where even the estimates leave readings unexplained, so that intervals are too short."""
        return self.finding.chance[1] < STAYS_STRAINED

    @property
    def by_key(self) -> Mapping[str, Estimated]:
        """Estimates by the parameter's key."""
        return {each.parameter.key: each for each in self.estimates}

    def named(self, suspect: Suspect) -> str:
        """A suspect in words: its surfaces, or its reading."""
        if suspect.what is What.READING:
            return self.site.readings[suspect.places[0]].name
        return ", ".join(self.estimates[i].parameter.what for i in suspect.places)

    def __repr__(self) -> str:
        agree = sum(each.agrees for each in self.compared)
        return f"<Check of {self.scene.title!r}: {agree} of {len(self.compared)} readings as promised>"


def check(answers: Answers, site: SiteReadings) -> Check:
    """Site readings against a scene, and what explains them.

    answers  the scene on a kept ledger, with paths enough
    raises   FloatingPointError when a sum is not finite
    Source: `estimate`, `as_built`, `corrected`.
    """
    answers = _ready(answers)
    belief, promised, finding, together, estimates = estimate(answers, site)
    after = finding.posterior
    correction = corrected(answers.scene, [(estimates[i], value) for i, value in as_built(belief, finding, estimates)])
    return Check(
        scene=answers.scene,
        site=site,
        compared=tuple(_compared(belief, finding, promised, site)),
        estimates=estimates,
        mean=after.mean,
        covariance=after.covariance,
        pairs=together,
        directions=tuple(directions(finding.alone.covariance, belief.before(finding.opened))),
        finding=finding,
        correction=correction,
        seats=_seats(answers, correction.scene),
        paths=answers.stage.kept.paths,
        seed=answers.stage.kept.seed,
    )


class Held(NamedTuple):
    """What is held of a scene after readings, and what it is held by.

    belief;  promised (R + 2, n)  by the scene as stated [lx] or [cd/m2];  finding
    pairs  known only together;  estimates  one a parameter
    """

    belief: Belief
    promised: np.ndarray
    finding: Explanation
    pairs: tuple[Pair, ...]
    estimates: tuple[Estimated, ...]


def estimate(answers: Answers, site: SiteReadings) -> Held:
    """The part of `check` that asks what explains the readings; what is to be written down is left out.

    answers  the scene on paths that go on long enough, with paths enough
    raises   FloatingPointError when a sum is not finite
    Source: `Predictor`, `posterior`, `look_for`, `pairs`.
    """
    predictor = Predictor(answers, site.readings)
    belief = Belief(predictor, parameters_of(predictor, site), np.array([each.value for each in site.readings]), OTHER_PAINT)
    promised = predictor.predict(predictor.stated)
    if not np.isfinite(promised).all():
        raise FloatingPointError("the ledger's sums are not finite")
    finding = look_for(belief)
    before = belief.before(finding.opened)
    together = tuple(_pairs(belief, finding.alone.covariance, before))
    return Held(belief, promised, finding, together, _estimates(belief, finding, before, together))


def _ready(answers: Answers) -> Answers:
    """The same on paths that go on long enough for a finish as light as any that may be found. Source: `survival_for`."""
    survival = survival_for(np.array([LIGHTEST]))
    if answers.stage.kept.survival >= survival:
        return answers
    return answers.with_paths(int(answers.stage.ledger.paths[0]), survival=survival)


def _seats(answers: Answers, built: Scene) -> tuple[SeatFigures, ...]:
    """Source: `Answers.quick`, of both scenes on the same paths; a state of its own for stray light is not the dark room's."""
    promised, now = answers.quick(), answers.with_scene(built).quick()
    return tuple(
        SeatFigures(
            seat.name,
            (float(promised.white[0, i]), float(now.white[0, i])),
            (float(promised.checkerboard[0, i]), float(now.checkerboard[0, i])),
        )
        for i, seat in enumerate(answers.scene.seats)
    )


def _compared(belief: Belief, finding: Explanation, promised: np.ndarray, site: SiteReadings) -> list[Compared]:
    ours = np.sqrt(np.diag(path_covariance(promised)))
    theirs = np.sqrt(np.diag(finding.posterior.noise))
    found = []
    for i, reading in enumerate(site.readings):
        calibration = site.calibration[reading.meter].uncertainty * abs(reading.value)
        own = float(np.hypot(reading.own_uncertainty(reading.value), calibration))
        both = 2.0 * float(np.hypot(own, ours[i]))
        away = reading.value - promised[0, i]
        found.append(
            Compared(
                reading,
                float(promised[0, i]),
                float(ours[i]),
                own,
                float(away / both) if both > 0.0 else float(np.sign(away) * np.inf if away else 0.0),
                float(finding.posterior.predicted[i]),
                float(theirs[i]),
                i in finding.opened.readings,
            )
        )
    return found


def _estimates(belief: Belief, finding: Explanation, before: np.ndarray, together: tuple[Pair, ...]) -> tuple[Estimated, ...]:
    after, ratio = finding.posterior, narrowed(finding.posterior.covariance, before)
    suspected = {place for each in finding.others if each.what is What.FINISH for place in each.places}
    opened = {place for places in finding.opened.paints for place in places}
    keys = [each.key for each in belief.parameters]
    found = []
    for i, parameter in enumerate(belief.parameters):
        wide, narrow = INTERVAL * parameter.deviation, INTERVAL * float(after.deviation[i])
        with_others = tuple(
            keys[pair.second if pair.first == i else pair.first] for pair in together if i in (pair.first, pair.second)
        )
        found.append(
            Estimated(
                parameter,
                _ordered(parameter, parameter.mean, wide),
                parameter.value(float(after.mean[i])),
                *_ordered(parameter, float(after.mean[i]), narrow),
                float(ratio[i]),
                bool(ratio[i] < INFORMED) or i in suspected,
                i in opened,
                with_others,
            )
        )
    return tuple(found)


def _pairs(belief: Belief, covariance: np.ndarray, before: np.ndarray) -> list[Pair]:
    """Pairs known only together, meters apart: what a calibration leaves open is in every interval already."""
    meters = [each.kind is ParameterKind.METER for each in belief.parameters]
    return [pair for pair in pairs(covariance, before) if not meters[pair.first] and not meters[pair.second]]


def _ordered(parameter: Parameter, t: float, away: float) -> tuple[float, float]:
    """Ends of an interval in the parameter's unit; a contrast falls where its veil rises."""
    low, high = sorted((parameter.value(t - away), parameter.value(t + away)))
    return low, high
