"""An empty file of site readings for a scene's seats and lights, in the order one takes them."""

from __future__ import annotations

from ....scenes.model import Scene
from ...commissioning.readings_csv import COLUMNS
from ...commissioning.site_reading import MIDDLE, NINE_PLACES, PATCHES, ShownPicture
from ...measuring.targets import DARK
from ..csv_text import csv_text

_TWO = ("r2c2", "r2c3")  # a white and a black patch beside the middle


def readings_form(scene: Scene) -> str:
    """CSV text with a row for each usual reading and no values; a row that stays empty is passed over.

    First the lux meter at the screen. Then a luminance meter from every seat: white and black, a white and a black patch; from the
    seat nearest to the middle all sixteen patches, since light from ceiling, floor and sides falls differently on each.
    Source: places as ISO/IEC 21118 has them.
    """
    lux = [(ShownPicture.WHITE, place, "", DARK, "lx") for place in NINE_PLACES]
    lux += [(ShownPicture.OFF, MIDDLE, "", light, "lx") for light in (DARK, *(each.name for each in scene.lights))]
    middle = min(scene.seats, key=lambda seat: abs(seat.eye_m[0] - scene.screen.right_m))
    seen = []
    for seat in scene.seats:
        seen += [(shown, MIDDLE, seat.name, DARK, "cd/m2") for shown in (ShownPicture.WHITE, ShownPicture.BLACK)]
        seen += [(ShownPicture.CHECKERBOARD, place, seat.name, DARK, "cd/m2") for place in (PATCHES if seat is middle else _TWO)]
    rows = [(shown.value, place, seat, light, "", unit, "", "", "") for shown, place, seat, light, unit in (*lux, *seen)]
    return csv_text([COLUMNS, *rows])
