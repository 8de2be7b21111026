"""The cloth of a screen at a level: its stated folds, or what its hang is estimated to make of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

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
    return cloth if cloth.flat or -cloth.lowest_m <= room else _times(cloth, room / -cloth.lowest_m)


def estimated_cloth(screen: Screen, level: Level) -> Cloth:
    """The cloth by its hang's estimate, amplitude_scale put in, whether a wall is in its way or not; flat where folds are stated.

    raises UnknownWord for another level
    """
    scale = 1.0 if screen.drape.hanging is None else screen.drape.hanging.amplitude_scale
    return _times(Cloth(screen.width_m, screen.height_m, folds_at(hang_effects(screen), level)), scale)


def _times(cloth: Cloth, factor: float) -> Cloth:
    if factor == 1.0:
        return cloth
    return replace(cloth, folds=tuple(Scaled(fold, factor) for fold in cloth.folds) if factor > 0.0 else ())
