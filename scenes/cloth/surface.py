"""The cloth of a screen at a level: its stated folds, or what its hang is estimated to make of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from .checks import CLEAR_M
from .cloth import Cloth
from .estimate import LEVELS, Effect, effects_of, folds_at
from .hanging import Hanging
from .shape import Fold, Heights

if TYPE_CHECKING:
    from ..model import Screen

__all__ = ["LEVELS", "Drape", "Scaled", "cloth_of", "hang_effects"]


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


def cloth_of(screen: Screen, level: str = "typical") -> Cloth:
    """The cloth at a level: "low", "typical" or "high", another word makes it flat; the same at all where folds are stated.

    An estimate that would press the cloth into the wall is scaled down to stay off it.
    """
    drape = screen.drape
    folds = drape.folds or folds_at(hang_effects(screen), level)
    cloth = Cloth(screen.width_m, screen.height_m, folds)
    room = screen.gap_to_wall_m - 2.0 * CLEAR_M
    if drape.folds or not folds or -cloth.lowest_m <= room:
        return cloth
    factor = max(room, 0.0) / -cloth.lowest_m
    return replace(cloth, folds=tuple(Scaled(fold, factor) for fold in folds))
