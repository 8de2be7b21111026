"""The cloth of a screen at a level: its stated folds, or what its hang is estimated to make of it."""

from __future__ import annotations

from dataclasses import field, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from ...materials.dataclass import dataclass
from .checks import CLEAR_M
from .cloth import Cloth
from .estimate import Effect, effects_of, folds_at
from .hanging import Hanging
from .level import LEVELS, Level, check_level
from .shape import Fold, Heights

if TYPE_CHECKING:
    from ..model import Screen

__all__ = ["LEVELS", "Drape", "Level", "Scaled", "cloth_of", "estimated_cloth", "hang_effects"]


@dataclass(frozen=True)
class Drape:
    """How a screen's cloth lies: folds that the scene states, and the hanging its estimate starts from.

    Stated folds stand in place of the hang's own: what was seen or measured is not added to a guess of the same thing.
    """

    folds: tuple[Fold, ...] = ()
    hanging: Hanging | None = None
    files: tuple[str, ...] = field(default=())


@dataclass(frozen=True)
class Scaled:
    """A fold with its heights times a factor [1]."""

    fold: Fold
    factor: float

    @property
    def finest_m(self) -> float:
        """That of the fold [m]. Source: the fold."""
        return self.fold.finest_m

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """Heights [m] at places. Source: the folds' sum."""
        return Heights(*(self.factor * part for part in self.fold.at(right_m, up_m)))


def hang_effects(screen: Screen) -> tuple[Effect, ...]:
    """What the screen's hang does by estimate; nothing where folds are stated or the hang is flat."""
    drape = screen.drape
    if drape.folds or drape.hanging is None:
        return ()
    return effects_of(drape.hanging, width_m=screen.width_m, height_m=screen.height_m)


def cloth_of(screen: Screen, level: Level = "typical") -> Cloth:
    """The cloth at a level: "low", "typical" or "high"; the same at all where folds are stated.

    raises UnknownWord for another level
    An estimate is multiplied by the hanging's amplitude_scale; one that would press the cloth into the wall is scaled down to
    stay off it.
    """
    check_level(level)
    drape = screen.drape
    if drape.folds:
        return Cloth(screen.width_m, screen.height_m, drape.folds)
    cloth = estimated_cloth(screen, level)
    room = max(screen.gap_to_wall_m - 2.0 * CLEAR_M, 0.0)
    return cloth if cloth.flat or -cloth.lowest_m <= room else _pressed(cloth, room)


def estimated_cloth(screen: Screen, level: Level) -> Cloth:
    """The cloth by its hang's estimate, amplitude_scale put in, whether a wall is in its way or not; flat where folds are stated.

    raises UnknownWord for another level
    """
    hanging = None if screen.drape.folds else screen.drape.hanging
    return _estimated(hanging, screen.width_m, screen.height_m, level)


@lru_cache(maxsize=16)
def _estimated(hanging: Hanging | None, width_m: float, height_m: float, level: Level) -> Cloth:
    """Kept for the last cloths: a scene is asked for its own many times over, and what a cloth has worked out of itself stays with it."""
    if hanging is None:
        return Cloth(width_m, height_m)
    folds = folds_at(effects_of(hanging, width_m=width_m, height_m=height_m), level)
    return _times(Cloth(width_m, height_m, folds), hanging.amplitude_scale)


@lru_cache(maxsize=16)
def _pressed(cloth: Cloth, room_m: float) -> Cloth:
    return _times(cloth, room_m / -cloth.lowest_m)


def _times(cloth: Cloth, factor: float) -> Cloth:
    if factor == 1.0:
        return cloth
    return replace(cloth, folds=tuple(Scaled(fold, factor) for fold in cloth.folds) if factor > 0.0 else ())
