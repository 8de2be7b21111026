"""How often the advised fabric stays the best when everything is only known within tolerances."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np

from ....materials.dataclass import dataclass
from ....materials.fabric import Fabric
from ....scenes.cloth.hanging import Hang
from ....scenes.model import Scene
from ...answers.answers import Answers
from ...choices.advice import candidates
from ...choices.aims import TOLERANCE, Aim, aims_of
from ...choices.choosing import kind_of
from ...choices.floors import EVEN, WHITE
from ...choices.variants import document_of_scene
from ...choices.wishes import Wishes
from ...measuring.estimate import Estimate, jackknife_error
from ...measuring.readings import CENTRE, NINE, Seats
from ..amounts import Amount
from .bands import SAMPLES, deviations
from .derivatives import Key, derivatives, figure_at
from .uncertain import DEFAULTS, Group, Limits, Uncertain, uncertain_of


@dataclass(frozen=True)
class FabricOdds:
    """How often each fabric is the one that the rule of advice takes, within the tolerances.

    best    in the room as the scene has it;  stays  how often it is still that [1]
    others  other fabrics that are taken at times, most often first, and how often [1]
    alone   how often it stays where one kind alone is uncertain and all else is known [1]: the least is what to measure
    looked_at  fabrics that can be here at all
    """

    best: str
    stays: Estimate
    others: tuple[tuple[str, float], ...]
    alone: Mapping[Group, float]
    looked_at: int


@dataclass(frozen=True)
class _Candidates:
    """ln of every fabric's aims at its worst seats, and how they lean on what is uncertain.

    logs    (fabrics, aims, R + 2);  shared  (fabrics, things, aims, R + 2) slopes
    gain    of each fabric nodes (m,) of its deviation and changes of ln aim there (aims, m, R + 2)
    even    (fabrics,) least evenness that is asked of each [1]
    """

    names: tuple[str, ...]
    things: tuple[Uncertain, ...]
    gains: tuple[Uncertain, ...]
    logs: np.ndarray
    shared: np.ndarray
    gain: tuple[tuple[np.ndarray, np.ndarray], ...]
    even: np.ndarray


def fabric_odds(
    scene: Scene,
    wishes: Wishes | None = None,
    *,
    names: Sequence[str] = (),
    limits: Mapping[Group, Limits] = DEFAULTS,
    error: float = 0.02,
    seed: int = 1,
    threads: int = 1,
) -> FabricOdds:
    """Odds of the fabrics of the library, hung flat, from one ledger.

    names  fabrics to look at, as for `advise`;  error  asked relative standard error of the scene's own figures [1]
    raises SceneErrors for unknown fabrics
    Paint, lumens and contrasts are off for all fabrics alike, each fabric's gain by itself; the room's measures move all alike and
    are left out. Floors come first, then the least of the greatest weighted losses, as in `advise`; the worst seat of each aim
    stays the one it is. Source: floors.py and choosing.weighed on ln aim = its value + sum of slope x deviation.
    """
    wishes = wishes or Wishes()
    flat = scene.change({"screen.hang": Hang.FIXED_FRAME.value, "screen.fold": []})
    chosen, _ = candidates(document_of_scene(scene), names, wishes)
    aims = aims_of([light.name for light in sorted(scene.lights, key=lambda light: light.screen_lx)])
    first = Answers.of(flat, seed=seed, threads=threads).precise(error).answers
    found = _read(first, chosen, aims, limits)
    deviation = deviations([*found.things, *found.gains], SAMPLES)
    return _odds(found, deviation, aims, wishes)


def _read(first: Answers, chosen: Mapping[str, Fabric], aims: Sequence[Aim], limits: Mapping[Group, Limits]) -> _Candidates:
    own = {**limits, Group.ROOM: Limits(Amount(0.0), Amount(0.0))}
    logs, shared, gain, gains, even = [], [], [], [], []
    things: tuple[Uncertain, ...] = ()
    for fabric in chosen.values():
        answers = first.with_scene(first.scene.with_fabric(fabric))
        uncertain = uncertain_of(answers.scene, own)
        seats = answers.seats(answers.stack(pooling=False), whole=False)
        keys = [_worst(seats, aim) for aim in aims]
        found = derivatives(answers, uncertain, dict.fromkeys(keys))
        things = tuple(each for each in found.uncertain if each.group is not Group.GAIN)
        logs.append([found.logs[key] for key in keys])
        shared.append(
            [[found.slopes[key][i] for key in keys] for i, each in enumerate(found.uncertain) if each.group is not Group.GAIN]
        )
        gain.append((found.nodes, np.array([found.curves[key] for key in keys])))
        gains += [each for each in uncertain if each.group is Group.GAIN]
        lux = answers.points.direct_lx
        even.append(0.01 * (EVEN.low or 0.0) * min(1.0, float(lux[NINE].min() / lux[CENTRE])))
    return _Candidates(tuple(chosen), things, tuple(gains), np.array(logs), np.array(shared), tuple(gain), np.array(even))


def _worst(seats: Seats, aim: Aim) -> Key:
    """The seat that has least of an aim."""
    return min(((i, aim.figure) for i in range(len(seats.scene.seats))), key=lambda key: float(figure_at(seats, key)[0]))


def _odds(found: _Candidates, deviation: np.ndarray, aims: Sequence[Aim], wishes: Wishes) -> FabricOdds:
    nominal = int(_taken(found, np.zeros((1, deviation.shape[1])), aims, wishes, 0)[0])
    stays = np.array([(_taken(found, deviation, aims, wishes, r) == nominal).mean() for r in range(found.logs.shape[-1])])
    taken = Counter(int(each) for each in _taken(found, deviation, aims, wishes, 0))
    others = tuple((found.names[i], count / len(deviation)) for i, count in taken.most_common() if i != nominal)
    alone = {}
    kinds = np.array([*(each.group for each in found.things), *(each.group for each in found.gains)])
    for group in dict.fromkeys(kinds):
        only = np.where(kinds == group, deviation, 0.0)
        alone[Group(group)] = float((_taken(found, only, aims, wishes, 0) == nominal).mean())
    chance = np.sqrt(max(stays[0] * (1.0 - stays[0]), 0.25 / len(deviation)) / len(deviation))
    return FabricOdds(
        found.names[nominal],
        Estimate(float(stays[0]), float(np.hypot(jackknife_error(stays), chance))),
        others,
        alone,
        len(found.names),
    )


def _taken(found: _Candidates, deviation: np.ndarray, aims: Sequence[Aim], wishes: Wishes, replicate: int) -> np.ndarray:
    """The fabric that the rule takes in each sample (samples,): floors, then the first aim, then the least of the greatest losses."""
    count = len(found.things)
    shared = np.tensordot(deviation[:, :count], found.shared[..., replicate], axes=(1, 1))  # (samples, fabrics, aims)
    own = np.stack(
        [
            np.stack([np.interp(deviation[:, count + i], nodes, change[:, replicate]) for change in changes], axis=1)
            for i, (nodes, changes) in enumerate(found.gain)
        ],
        axis=1,
    )
    value = np.exp(found.logs[None, :, :, replicate] + shared + own)  # (samples, fabrics, aims)
    bright, even = value[:, :, 0] >= (WHITE.low or 0.0), value[:, :, 1] >= found.even
    serve = bright & even
    serve = np.where(serve.any(axis=1, keepdims=True), serve, even)  # too little light is waived first, then the hot spot
    serve = np.where(serve.any(axis=1, keepdims=True), serve, True)
    if wishes.first_aim is not None:
        kind = wishes.first_aim
        place = [i for i, aim in enumerate(aims) if kind_of(aim) == kind] or [
            i for i, aim in enumerate(aims) if kind_of(aim) == "contrast"
        ]
        ahead = np.where(serve, value[:, :, place[-1]], 0.0)
        serve &= ahead.max(axis=1, keepdims=True) <= (1.0 + TOLERANCE) * ahead
    best = np.where(serve[:, :, None], value, 0.0).max(axis=1, keepdims=True)
    weights = np.array([wishes.weights.get(kind_of(aim), 1.0) for aim in aims])
    loss = (weights * (1.0 - value / best)).max(axis=2)
    return np.where(serve, loss, np.inf).argmin(axis=1)
