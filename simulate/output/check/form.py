"""An empty file of site readings for a scene's seats and lights, in the order one takes them."""

from __future__ import annotations

from ....scenes.model import Scene
from ...commissioning.readings_csv import COLUMNS
from ...commissioning.site_reading import BLACK_PATCHES, MIDDLE, NINE_PLACES, WHITE_PATCHES, Shown
from ...measuring.targets import DARK
from ..csv_text import csv_text


def readings_form(scene: Scene) -> str:
    """CSV text with a row for each usual reading and no values; a row that stays empty is passed over.

    First the lux meter at the screen, then a luminance meter from every seat. Source: places as ISO/IEC 21118 has them.
    """
    lux = [(Shown.WHITE, place, "", DARK, "lx") for place in NINE_PLACES]
    lux += [(Shown.OFF, MIDDLE, "", light, "lx") for light in (DARK, *(each.name for each in scene.lights))]
    seen = [
        (shown, place, seat.name, DARK, "cd/m2")
        for seat in scene.seats
        for shown, place in (
            (Shown.WHITE, MIDDLE),
            (Shown.BLACK, MIDDLE),
            (Shown.CHECKERBOARD, WHITE_PATCHES),
            (Shown.CHECKERBOARD, BLACK_PATCHES),
        )
    ]
    rows = [(shown.value, place, seat, light, "", unit, "", "", "") for shown, place, seat, light, unit in (*lux, *seen)]
    return csv_text([COLUMNS, *rows])
