"""Light against sound: what each allowed finish does to reverberation, and the sets of finishes that none beats in all respects."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.finish import Finish
from ...scenes.model import Scene
from ..answers.answers import Answers
from ..answers.repaint import Allowed, allowed_polynomial, surface_areas
from ..measuring.estimate import Estimate, estimate
from .areas import areas_of
from .bands import Array, by_band, mid
from .room import reverberation, room_size
from .surfaces import SoundSurface, surfaces_of
from .target import target

MOST_SETS = 10_000
HARD = 0.1
"""A finish that takes no more than this at mid bands is hard: paint on it leaves it so. Our own choice."""
SAME_CONTRAST, SAME_TIME_S = 0.005, 0.01
"""Sets that differ by less than this share of the contrast and of this time [s] are told once, by the cheaper one. Our own choice."""


@dataclass(frozen=True)
class FinishSet:
    """An allowed finish on one surface, all else as it is: mid-band reverberation, shortest and longest [s]."""

    entry: Allowed
    mid_s: tuple[float, float]


@dataclass(frozen=True)
class Set:
    """A set of finishes.

    changes   finish by surface;  cost   in the list's currency or [m2]
    contrast  checkerboard contrast [1] at the seat with the least
    measured, black   that contrast with its standard error, black patches there [cd/m2]; None until the set is found unbeaten
    mid_s     mid-band reverberation, shortest and longest [s];  off_s   their middle off the asked time [s]
    """

    changes: dict[str, Finish]
    cost: float
    contrast: float
    mid_s: tuple[float, float]
    off_s: float
    measured: Estimate | None = None
    black: Estimate | None = None


@dataclass(frozen=True)
class Sounding:
    """Reverberation by choice of finish: mid-band time as the room is, shortest and longest [s], the time asked [s], each choice alone."""

    now_s: tuple[float, float]
    asked_s: float
    choices: tuple[FinishSet, ...]


@dataclass(frozen=True)
class FinishTrade:
    """Light against sound in one room.

    asked_s   nominal reverberation time [s]
    sets      that none beats in contrast, in distance from the asked time and in cost, cheapest first; the room as it is among them
    tried, possible   number of sets;  priced   costs are prices, else repainted areas [m2]
    """

    asked_s: float
    sets: tuple[Set, ...]
    tried: int
    possible: int
    priced: bool


def sounding(scene: Scene, allowed: Sequence[Allowed]) -> Sounding:
    """Mid-band reverberation [s] of a scene as it is, and with each allowed finish alone."""
    room = _Room(scene)
    found = tuple(FinishSet(entry, room.mid_s({entry.surface: entry.finish})) for entry in allowed)
    return Sounding(room.mid_s({}), target(room.volume_m3).nominal_s, found)


def trade(answers: Answers, allowed: Sequence[Allowed]) -> FinishTrade:
    """Contrast [1] against reverberation [s] against cost over all sets of allowed finishes, at most MOST_SETS.

    Where there are more, the smallest surfaces keep their finish. Contrast is the ledger's own mean, measured again with its error for the
    sets that are left. Distance from the asked time is that of the middle between shortest and longest.
    """
    room, areas = _Room(answers.scene), surface_areas(answers)
    by_surface: dict[str, list[Allowed]] = {}
    for entry in allowed:
        by_surface.setdefault(entry.surface, []).append(entry)
    possible = math.prod(len(entries) + 1 for entries in by_surface.values())
    order = sorted(by_surface, key=lambda name: -areas[name])
    while math.prod(len(by_surface[name]) + 1 for name in order) > MOST_SETS:
        order.pop()
    picks = list(itertools.product(*(range(len(by_surface[name]) + 1) for name in order)))
    contrast = _contrasts(answers, by_surface, order, picks)
    priced = bool(allowed) and all(entry.price_per_m2 is not None for entry in allowed)
    asked = target(room.volume_m3).nominal_s
    sets = []
    for pick, least in zip(picks, contrast, strict=True):
        taken = [by_surface[name][i - 1] for name, i in zip(order, pick, strict=True) if i]
        changes = {entry.surface: entry.finish for entry in taken}
        cost = sum(areas[e.surface] * (1.0 if e.price_per_m2 is None else e.price_per_m2) for e in taken)
        ends = room.mid_s(changes)
        sets.append(Set(changes, float(cost), float(least), ends, abs(0.5 * (ends[0] + ends[1]) - asked)))
    best = tuple(_measured(answers, one) for one in unbeaten(sets))
    return FinishTrade(asked, best, len(sets), possible, priced)


def unbeaten(sets: Sequence[Set], steps: float = 1.0) -> tuple[Set, ...]:
    """Sets that no other equals or beats in contrast, distance from the asked time and cost, those alike told once; cheapest first.

    steps   1: contrast counts in steps of SAME_CONTRAST, time in steps of SAME_TIME_S; more: in steps so many times as wide
    Source: Pareto's definition.
    """

    def key(one: Set) -> tuple[int, int, float]:
        return -round(math.log(one.contrast) / (steps * SAME_CONTRAST)), round(one.off_s / (steps * SAME_TIME_S)), one.cost

    found: list[Set] = []
    kept = np.empty((0, 3))
    for one in sorted(sets, key=lambda each: (key(each)[2], *key(each)[:2], len(each.changes))):
        mine = np.array(key(one))
        if not (kept <= mine).all(axis=1).any():
            found.append(one)
            kept = np.vstack([kept, mine])
    return tuple(found)


def thinned(sets: Sequence[Set], most: int) -> tuple[Set, ...]:
    """At most so many of the sets, 3 or more, spread over all there is; cheapest first.

    The one of most contrast, the one nearest to the asked time, and of those that lie close the cheapest, in ever wider steps.
    """
    if len(sets) <= most:
        return tuple(sets)
    ends = [max(sets, key=lambda one: one.contrast), min(sets, key=lambda one: (one.off_s, -one.contrast))]
    found, steps = tuple(sets), 1.0
    while len(found) > most - len(ends):
        steps *= 1.5
        found = unbeaten(sets, steps)
    kept = {id(one) for one in (*found, *ends)}
    return tuple(one for one in sets if id(one) in kept)


def _measured(answers: Answers, one: Set) -> Set:
    """The set with contrast [1] and black patches [cd/m2] at the seat with the least contrast, with their standard errors."""
    quick = answers.with_finishes(one.changes).quick()
    seat = int(np.argmin(quick.checkerboard[0]))
    return replace(one, measured=estimate(quick.checkerboard[:, seat]), black=estimate(quick.black[:, seat]))


def _contrasts(answers: Answers, by_surface: dict[str, list[Allowed]], order: list[str], picks: list[tuple[int, ...]]) -> Array:
    """Least checkerboard contrast over the seats of each pick (n,) [1]. Source: `allowed_polynomial`."""
    every = [entry for entries in by_surface.values() for entry in entries]
    table, polynomial = allowed_polynomial(answers, every)
    channels = table.shape[1]
    places = [answers.arrays.surfaces.index(name) for name in order]
    folded = polynomial.folded(table, places)
    options = [
        np.array([table[place], *(np.array(entry.finish.reflectance)[:channels] for entry in by_surface[name])])
        for name, place in zip(order, places, strict=True)
    ]
    found = []
    for start in range(0, len(picks), 1000):
        some = np.array(picks[start : start + 1000], int).reshape(-1, len(order))
        tables = np.repeat(table[None], len(some), axis=0)
        for k, place in enumerate(places):
            tables[:, place] = options[k][some[:, k]]
        found.append(folded.contrast(tables).min(axis=1))
    return np.concatenate(found)


class _Room:
    """A scene's areas, kept, and its mid-band reverberation with other finishes; those alike to sound are asked once."""

    def __init__(self, scene: Scene) -> None:
        self._scene, self._areas = scene, areas_of(scene)
        self.volume_m3 = self._areas.volume_m3
        self._known: dict[tuple[str, Mapping[int, float]], tuple[SoundSurface, ...]] = {}
        self._times: dict[frozenset[tuple[str, Mapping[int, float]]], tuple[float, float]] = {}
        self._now = surfaces_of(scene, areas=self._areas)

    def mid_s(self, changes: Mapping[str, Finish]) -> tuple[float, float]:
        """Shortest and longest mid-band time [s] with finishes changed by surface."""
        key = frozenset((name, finish.absorption) for name, finish in changes.items())
        if key not in self._times:
            front = self._with("front", changes["front"]) if "front" in changes else self._now  # with it the cloth before it
            found = {surface.name: surface for surface in front}
            for name, finish in changes.items():
                found |= {
                    surface.name: surface for surface in self._with(name, finish) if surface.name == name
                }  # no one's clothes
            self._times[key] = reverberation(room_size(self._scene), self.volume_m3, tuple(found.values())).mid_s
        return self._times[key]

    def _with(self, name: str, finish: Finish) -> tuple[SoundSurface, ...]:
        key = name, finish.absorption
        if key not in self._known:
            self._known[key] = surfaces_of(repainted(self._scene, name, finish), areas=self._areas)
        return self._known[key]


def repainted(scene: Scene, name: str, finish: Finish) -> Scene:
    """A scene with another finish on a surface; paint, which states no absorption, leaves that of a hard surface under it."""
    room, screen = scene.room, scene.screen
    old = room.finishes.get(name, screen.border_finish)
    if not finish.absorption and old.absorption and _hard(old):
        finish = replace(finish, absorption=old.absorption)
    if name in room.finishes:
        return replace(scene, room=room.with_finishes({name: finish}))
    return replace(scene, screen=replace(screen, border_finish=finish))


def _hard(finish: Finish) -> bool:
    return bool(mid(by_band(finish.absorption)) <= HARD)
