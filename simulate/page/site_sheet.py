"""The sheet to print and fill in on site: every measure that `new` asks for, with two sketches that show where it is taken; one A4 page."""

from __future__ import annotations

from typing import Any

from ...scenes.survey.question import Question
from ...scenes.survey.questions import (
    FINISH_QUESTIONS,
    FURNITURE_ITEM,
    PROJECTOR_QUESTIONS,
    ROOM_QUESTIONS,
    SCREEN_QUESTIONS,
    SEAT,
    SHEET_QUESTIONS,
    WHERE_TO_HOLD_AMBIENT,
    WHERE_TO_HOLD_OUTPUT,
)
from .templating import environment

LETTERS = {  # of the sketches; what is not drawn has none
    "room_width": "A",
    "room_depth": "B",
    "room_height": "C",
    "picture_width": "D",
    "picture_bottom": "E",
    "screen_from_left": "F",
    "gap_to_wall": "G",
    "lens_from_left": "H",
    "lens_from_screen_wall": "I",
    "lens_height": "J",
    "from_left": "K",
    "from_screen_wall": "L",
    "eye_height": "M",
}
_LENGTH_KEYS = {*LETTERS, "border"}
SEAT_ROWS, FURNITURE_ROWS, LIGHT_ROWS = 5, 3, 3


def site_sheet_html(unit: str = "m") -> str:
    """The sheet as text.

    unit  of the blanks: m, cm, mm, or in and ft for feet and inches
    """
    feet = unit in ("in", "ft")
    return environment().get_template("site_sheet.html").render(
        unit="ft in" if feet else unit,
        feet=feet,
        groups=[
            ("Room, inside", [_row(question) for question in ROOM_QUESTIONS]),
            ("Screen", [_row(question) for question in SCREEN_QUESTIONS]),
            ("Projector: middle of the lens", [_row(question) for question in PROJECTOR_QUESTIONS]),
        ],
        sheet=[_row(question) for question in SHEET_QUESTIONS if question.key != "nine_lux_mean"],
        finishes=[question.ask for question in FINISH_QUESTIONS],
        seat=[_row(question) for question in SEAT],
        furniture=[_row(question) for question in FURNITURE_ITEM],
        seat_rows=range(SEAT_ROWS),
        furniture_rows=range(FURNITURE_ROWS),
        light_rows=range(LIGHT_ROWS),
        ambient=WHERE_TO_HOLD_AMBIENT,
        output=WHERE_TO_HOLD_OUTPUT,
    )  # fmt: skip


def _row(question: Question) -> dict[str, Any]:
    """A question as a blank: its letter, its words, whether a length is wanted."""
    return {
        "letter": LETTERS.get(question.key, ""),
        "ask": question.ask,
        "length": question.key in _LENGTH_KEYS,
        "key": question.key,
    }
