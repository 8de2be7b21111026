"""One thing that a hang does to its cloth, as an estimate tells it."""

from __future__ import annotations

from ...materials.dataclass import dataclass
from .level import Level
from .shape import Fold


@dataclass(frozen=True)
class Effect:
    """One thing a hang does: a sentence for the user, figures by name, and folds by level.

    figures  the unit stands in the name, none: [1];  folds  a level at which nothing happens has no entry
    """

    name: str
    sentence: str
    figures: dict[str, float]
    folds: dict[Level, tuple[Fold, ...]]
