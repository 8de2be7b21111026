"""A scene from a short form: a room, a screen size, a projector and rows of seats; the rest are everyday values, and said to be so."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from ...materials.text.error import Error
from ...materials.text.toml_text import toml_key

# everyday values; common practice, no source
EYE_M, LENS_BELOW_CEILING_M, GAP_M, BORDER_M, THROW = 1.1, 0.25, 0.08, 0.06, 1.45
LEAST_BOTTOM_M, ROW_PITCH_M, SEAT_PITCH_M, WIDTHS_TO_FIRST_ROW = 0.6, 1.0, 0.65, 1.35
PAINTS = {
    "light": ("warm white emulsion", "white ceiling paint", "oak boards"),
    "middle": ("mid grey matt paint", "light grey emulsion", "mid grey carpet"),
    "dark": ("charcoal matt paint", "charcoal matt paint", "dark carpet"),
}
ROWS = ("front", "middle", "back")
_RANGES = {  # what the form takes
    "width_m": (2.0, 30.0), "depth_m": (2.5, 40.0), "height_m": (2.0, 12.0), "screen_width_m": (0.8, 15.0), "light_output_lm": (50.0, 60000.0),
    "rows": (1, 3), "seats_a_row": (1, 7),
}  # fmt: skip


class FormFault(Error):
    """What a form cannot have; str() is one line."""


def new_room(form: Mapping[str, Any]) -> str:
    """The text of a new scene, lengths in metres. raises FormFault

    form  the keys of the ranges above, "paint" (light, middle or dark) and "title"
    The first row sits 1.35 picture widths from the screen, or as far as the room lets it; common practice, no source.
    """
    given = {key: _number(form, key) for key in _RANGES}
    paint, title = form.get("paint", "middle"), form.get("title") or "New room"
    if paint not in PAINTS:
        raise FormFault(f"paint: allowed {', '.join(PAINTS)}")
    if not isinstance(title, str) or len(title) > 200:
        raise FormFault("title: allowed a text of at most 200 letters")
    width, depth, height = given["width_m"], given["depth_m"], given["height_m"]
    screen = min(given["screen_width_m"], width - 2.0 * BORDER_M - 0.1, (height - LEAST_BOTTOM_M - 0.2) * 16.0 / 9.0)
    picture_height = screen * 9.0 / 16.0
    bottom = max(LEAST_BOTTOM_M, min(0.9, EYE_M - picture_height / 3.0))
    bottom = round(min(bottom, height - picture_height - BORDER_M - 0.05), 2)
    lens_out = round(min(GAP_M + THROW * screen, depth - 0.2), 2)
    wall, ceiling, floor = PAINTS[paint]
    lines = [
        "# Made from a short form. Put in what is known: finishes, furniture, the lens's place, contrasts as measured.",
        "format = 1", f"title = {toml_key(title)}", "",
        "[room]", f"width_m = {width:g}", f"depth_m = {depth:g}", f"height_m = {height:g}", "",
        "[room.finish]", *(f'{side} = "{wall}"' for side in ("front", "back", "left", "right")), f'ceiling = "{ceiling}"', f'floor = "{floor}"', "",
        "[projector]", f"light_output_lm = {given['light_output_lm']:g}", 
        "native_contrast = 2000                # an everyday value: put in the sheet's",
        f"lens_m = [0, {lens_out:g}, {round(height - LENS_BELOW_CEILING_M, 2):g}]", "pixels = [3840, 2160]", "",
        "[screen]", f"width_m = {math.floor(screen * 100) / 100:g}", 'aspect = "16:9"', f"bottom_m = {bottom:g}", f"gap_to_wall_m = {GAP_M:g}",
        f"border_m = {BORDER_M:g}", 'fabric = "matt white"', 'hang = "fixed frame"',
    ]  # fmt: skip
    return "\n".join([*lines, *_seats(given, screen)]) + "\n"


def _number(form: Mapping[str, Any], key: str) -> float:
    value, (low, high) = form.get(key), _RANGES[key]
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise FormFault(f"{key}: {value!r} is not allowed; allowed {low:g} to {high:g}")
    return float(value)


def _seats(given: Mapping[str, float], screen: float) -> list[str]:
    """Rows of seats about the middle, each in the room and a little off its walls."""
    rows, many = int(given["rows"]), int(given["seats_a_row"])
    last = given["depth_m"] - 0.4
    first = min(max(WIDTHS_TO_FIRST_ROW * screen, 1.2), last)
    pitch_out = min(ROW_PITCH_M, (last - first) / (rows - 1)) if rows > 1 else 0.0
    if rows > 1 and pitch_out < 0.5:
        first, pitch_out = max(1.0, last - 0.9 * (rows - 1)), min(0.9, (last - 1.0) / (rows - 1))
    pitch = min(SEAT_PITCH_M, (given["width_m"] - 0.5) / many)
    names = ROWS if rows == 3 else (ROWS[0], ROWS[2])
    lines = []
    for row in range(rows):
        for k in range(many):
            right = round((k - (many - 1) / 2.0) * pitch, 2)
            name = f"{names[row]} {k + 1}" if rows > 1 else f"seat {k + 1}"
            out, up = round(first + row * pitch_out, 2), round(EYE_M + 0.15 * row, 2)
            lines += ["", "[[seat]]", f'name = "{name}"', f"eye_m = [{right:g}, {out:g}, {up:g}]"]
    return lines
