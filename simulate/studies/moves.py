"""What a factor moves: paint alone, the fabric, seats and lens, or light paths; a plan is made by it, no figure hangs on it."""

from __future__ import annotations

from enum import IntEnum
from typing import NamedTuple

import numpy as np

from ...scenes.errors import SceneErrors
from ...scenes.model import Scene
from ..answers.geometry_match import differences, geometry_of
from ..measuring.flatten import SceneArrays, flatten
from ..measuring.solver import survival_for
from .factors import Factor
from .study import Base
from .trial import tried, tried_scene


class Moves(IntEnum):
    """The dearest thing that has to be made anew: nothing of a ledger, its fabric, its map of the lit room, its paths."""

    PAINT = 0
    FABRIC = 1
    PLACES = 2
    PATHS = 3


class Lowered(NamedTuple):
    """A scene and its arrays."""

    scene: Scene
    arrays: SceneArrays


def lowered(scene: Scene) -> Lowered:
    """A scene with its arrays, places in [m]. Source: `flatten`."""
    return Lowered(scene, flatten(scene))


def moves_between(one: Lowered, other: Lowered) -> Moves:
    """What differs between two scenes. Source: `belongs.differences` for paths; arrays compared for the rest."""
    if differences(geometry_of(*one), geometry_of(*other)):
        return Moves.PATHS
    a, b = one.arrays, other.arrays
    if a.eyes.shape != b.eyes.shape or not (
        np.array_equal(a.eyes, b.eyes) and np.array_equal(a.projector.lens, b.projector.lens)
    ):
        return Moves.PLACES
    if (
        not all(np.array_equal(x, y) for x, y in zip(a.fabric, b.fabric, strict=True))
        or a.projector.light[1] != b.projector.light[1]
    ):
        return Moves.FABRIC
    return Moves.PAINT


class FactorMoves(NamedTuple):
    """What trying a factor told: what it moves, and the survival its lightest finish asks for [1]."""

    moves: Moves
    survival: float


def moves_of(factor: Factor, base: Base) -> FactorMoves:
    """What a factor moves in a base scene, tried at its ends and some levels between; paths where it cannot be tried alone."""
    reference = lowered(base.document.scene)
    found, survival, loaded = Moves.PAINT, survival_for(reference.arrays.reflectance), False
    for number in tried(factor):
        try:
            new = lowered(tried_scene(factor, number, base))
        except (SceneErrors, ValueError):
            continue
        loaded = True
        found = max(found, moves_between(reference, new))
        survival = max(survival, survival_for(new.arrays.reflectance))
    return FactorMoves(found if loaded else Moves.PATHS, survival)
