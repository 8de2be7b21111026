"""One reading of a meter on site, and where in the picture it was taken."""

from __future__ import annotations

from enum import StrEnum
from functools import cached_property

from ...materials.dataclass import dataclass
from ..measuring.solver import BOARD_POINTS, CENTRE, NINE, board_patches
from ..measuring.targets import DARK
from .meters import ASSUMED_CALIBRATION, CALIBRATION_SOURCE, SI, Meter, digit_uncertainty


class ShownPicture(StrEnum):
    """What the projector shows; off: it is switched off or its lens covered. Checkerboard: 4 x 4, top left white."""

    WHITE = "white"
    BLACK = "black"
    CHECKERBOARD = "checkerboard"
    COMPLEMENT = "complement"
    OFF = "off"


BOARDS = (ShownPicture.CHECKERBOARD, ShownPicture.COMPLEMENT)
WHITE_PATCHES, BLACK_PATCHES, MIDDLE = "white patches", "black patches", "centre"
NINE_PLACES = tuple(str(i) for i in range(1, 10))
PATCHES = tuple(f"r{row}c{column}" for row in range(1, 5) for column in range(1, 5))
PLACES_OF_BOARD = (WHITE_PATCHES, BLACK_PATCHES, *PATCHES)
PLACES = (MIDDLE, *NINE_PLACES)


@dataclass(frozen=True)
class SiteReading:
    """What a meter read.

    meter   illuminance: flat on the screen, facing the seats [lx];  luminance: from a seat's eye, at the picture [cd/m2]
    shown   the picture;  place  of PLACES, or of PLACES_OF_BOARD for a checkerboard;  seat  of a luminance, else ""
    light   "dark" or a light state of the scene
    value   [lx] or [cd/m2];  repeat  relative standard uncertainty of a repetition [1];  digit  the display's last digit, as value
    line    of the file it stands in, 0: none
    """

    meter: Meter
    shown: ShownPicture
    place: str
    seat: str
    light: str
    value: float
    repeat: float
    digit: float = 0.0
    line: int = 0

    @property
    def unit(self) -> str:
        """lx or cd/m2."""
        return SI[self.meter]

    @cached_property
    def points(self) -> tuple[int, ...]:
        """Which of the 25 measuring points the reading is of, or is the mean of. Source: ISO/IEC 21118, as `measuring_points`."""
        if self.shown not in BOARDS:
            return (CENTRE if self.place == MIDDLE else NINE.start + int(self.place) - 1,)
        if self.place in PATCHES:
            return (PATCHES.index(self.place),)
        wanted = self.place == WHITE_PATCHES
        return tuple(i for i in range(BOARD_POINTS.start, BOARD_POINTS.stop) if self.is_white(i) == wanted)

    @cached_property
    def on_white(self) -> bool:
        """Whether its points lie on white in the picture shown: all do, or none. Source: `points`."""
        return self.is_white(self.points[0])

    def is_white(self, point: int) -> bool:
        """Whether a measuring point lies on white in the picture shown."""
        if self.shown not in BOARDS:
            return self.shown is ShownPicture.WHITE
        return bool(board_patches()[point]) == (self.shown is ShownPicture.CHECKERBOARD)

    def own_uncertainty(self, expected: float) -> float:
        """Standard uncertainty of this reading alone, calibration apart, where `expected` is to be read [as value].

        Repetition goes with what is there, not with what was read: else low readings would weigh more (Peelle's puzzle).
        """
        return float(((self.repeat * expected) ** 2 + digit_uncertainty(self.digit) ** 2) ** 0.5)

    @property
    def name(self) -> str:
        """In words: "white at 5, front row"."""
        where = "" if self.shown is ShownPicture.OFF and self.place == MIDDLE else f" at {self.place}"
        seen = f", {self.seat}" if self.seat else ", at the screen"
        lit = "" if self.light == DARK else f", {self.light}"
        return f"{self.shown.value}{where}{seen}{lit}"


@dataclass(frozen=True)
class Calibration:
    """Relative standard uncertainty [1] that all readings of a meter share, and where it is from."""

    uncertainty: float = ASSUMED_CALIBRATION
    source: str = CALIBRATION_SOURCE


@dataclass(frozen=True)
class SiteReadings:
    """Readings in their order, the calibration of each meter in use, and the file's name; `blank` rows had no value."""

    readings: tuple[SiteReading, ...]
    calibration: dict[Meter, Calibration]
    file: str = ""
    blank: int = 0
