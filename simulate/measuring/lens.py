"""What the projector makes of a picture's levels: its own black, and the even veil of the light that strays in its lens."""

from __future__ import annotations

from typing import TypeVar

import numpy as np

from ...materials.dataclass import dataclass
from ...scenes.geometry import film_area, raster
from ...scenes.model import Scene

Level = TypeVar("Level", float, np.ndarray)


@dataclass(frozen=True)
class Levels:
    """Zone levels of a picture's parts relative to white, and the lens's even veil.

    black   level of a black zone, 1 / native contrast [1]
    veil    added to black parts at an average picture level of one half, as the checkerboard has it [1]
    Source: derived: black is 1 / Cn at no picture level and 1 / Cc at one half, and a lens's stray light is linear in the
    picture, so veil = 2 APL (1/Cc - 1/Cn); the white level of a patch already holds its own veil.
    """

    black: float
    veil: float

    @property
    def board_black(self) -> float:
        """Level of a black patch of the checkerboard [1]: 1 / checkerboard contrast where it is given."""
        return self.black + self.veil

    def veil_at(self, average: Level) -> Level:
        """Level that the veil adds to black at an average picture level [1], any shape. Source: as the class."""
        return 2.0 * average * self.veil

    def floor(self, average: float | np.ndarray) -> np.ndarray:
        """Level of black [1], white = 1, at an average picture level [1]: the projector's own black and the lens's veil."""
        return self.black + self.veil_at(np.asarray(average))

    def shown(self, share: np.ndarray, average: float) -> np.ndarray:
        """Level that the projector makes of a share of white [1] in a picture of an average level [1].

        Source: b + (1 - b) share + (1 - share) veil, b the native black: white already holds its veil.
        """
        return self.black + (1.0 - self.black) * share + self.veil_at(average) * (1.0 - share)

    def board_and_complement(self, white: np.ndarray, board: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """What the plain checkerboard gives and what its complement does, any one shape and unit.

        white, board  what a full white picture gives, and the checkerboard's white patches alone
        Source: light is linear in the picture; black patches send `board_black` of white.
        """
        rest = white - board
        return board + self.board_black * rest, rest + self.board_black * board


def levels_of(scene: Scene) -> Levels:
    """Levels of a scene's projector [1], for the film's own picture where it has bars.

    Source: ISO/IEC 21118 contrasts as the scene states them. Black bars send no light through the lens, so its stray light is less
    by the film's share of the raster (linear in the picture).
    """
    projector = scene.projector
    black = 1.0 / projector.native_contrast
    if projector.checkerboard_contrast is None:
        return Levels(black, 0.0)
    share = 1.0 if projector.film is None else film_area(scene).area_m2 / raster(scene).area_m2
    return Levels(black, share * max(0.0, 1.0 / projector.checkerboard_contrast - black))
