"""What to change first in a room: the one surface whose dark finish helps the worst seat most, told from a measurement alone."""

from __future__ import annotations

import math

from ...materials.dataclass import dataclass
from ...scenes.model import Scene
from .measure import Measurement
from .readings import SeatReading, levels_of

DARK_REFLECTANCE = 0.05  # of a dark matt paint, carpet or cover (common practice, no source)
WORTH_IT = 0.1  # a gain in contrast below this is not worth new paint; our own choice


@dataclass(frozen=True)
class Darkened:
    """One surface in a dark finish, at the seat whose checkerboard contrast is then the least.

    surface    its name in the scene;  share  of the wash-out that leaves it last for the screen, mean over the seats [1]
    contrast   least of the seats as the room is [:1]
    then       least of the seats with the surface dark; at least so much, as light that meets it twice is not counted [:1]
    """

    surface: str
    share: float
    contrast: float
    then: float


def darkened(measurement: Measurement) -> tuple[Darkened, ...]:
    """Every wall and object that sends light back and is not dark yet, the one that helps most first; nothing is traced.

    Source: derived in `_then`.
    """
    now = [seat.checkerboard.value for seat in measurement.seats]
    if not all(math.isfinite(value) and value > 0.0 for value in now):
        return ()
    black = levels_of(measurement.scene).board_black
    found = []
    for surface, reflectance in _reflectances(measurement.scene).items():
        if reflectance <= DARK_REFLECTANCE:
            continue
        kept = DARK_REFLECTANCE / reflectance
        shares = [seat.share[surface].value if surface in seat.share else 0.0 for seat in measurement.seats]
        then = [_then(seat, black, share * (1.0 - kept)) for seat, share in zip(measurement.seats, shares, strict=True)]
        found.append(Darkened(surface, sum(shares) / len(shares), min(now), min(then)))
    return tuple(sorted((each for each in found if math.isfinite(each.share)), key=lambda each: -each.then))


def worth_it(found: tuple[Darkened, ...]) -> Darkened | None:
    """The surface to begin with; None where no single one lifts the worst seat's contrast by `WORTH_IT`."""
    return found[0] if found and found[0].then >= (1.0 + WORTH_IT) * found[0].contrast else None


def _reflectances(scene: Scene) -> dict[str, float]:
    """Reflectance [1] of what can have another finish: walls, ceiling, floor, objects and parts."""
    return {name: finish.luminous for name, finish in scene.room.finishes.items()}


def _then(seat: SeatReading, board_black: float, saved: float) -> float:
    """Checkerboard contrast [1] with a share `saved` of the wash-out gone from white and black patches alike.

    Source: derived. Black is board_black D + w and white D + w, with D the projector's own light and w the wash-out, so
    white = w (1 - board_black) / (1 / C - board_black). Every path that left the surface last carries its reflectance at least
    once, so the wash-out falls at least by that share: a lower bound, for white patches that get back what black ones do.
    """
    own, washout = 1.0 / seat.checkerboard.value, seat.washout.value
    if not own > board_black or not washout > 0.0:
        return seat.checkerboard.value
    white = washout * (1.0 - board_black) / (own - board_black)
    return (white - saved * washout) / (white * own - saved * washout)
