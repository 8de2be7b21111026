"""What is asked, in the order one walks through a room with a tape: room, screen, projector, seats, furniture, finishes, light, sheet."""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction

from ...materials.hangs import HANGS
from ..model import SURFACES
from .lengths import Length, length_words
from .question import Given, Limit, Question, RefusedAnswer, contrast, finish, length, name, number, one_of, pair

MIDDLE = "middle"
FIRST_SEAT = "middle seat"
LEAST_IN_USE, MOST_IN_USE = 0.05, 1.2  # share of the sheet that a reading may make: wrong beyond (own choice)
NEAR = Fraction(1, 1000)  # lens and eyes stay this far from walls, as the scene file asks
ROOM, SCREEN, PROJECTOR, SEATS, FURNITURE, FINISHES, LIGHT, SHEET = (
    "The room, inside",
    "The screen",
    "The projector's lens",
    "The seats",
    "Furniture",
    "Finishes",
    "Light",
    "The projector's sheet",
)
WHERE_TO_HOLD_AMBIENT = (
    "Projector off or its lens covered, the room lit as it will be when you watch. Hold the lux meter flat on the screen, or on the wall where "
    "the middle of the picture will be, facing the seats; stand aside, so that you throw no shadow and your clothes no light. Read when it rests."
)
WHERE_TO_HOLD_OUTPUT = (
    "All lamps off, the projector warm (20 minutes), in the picture mode and zoom it will have, a full white picture. Hold the lux meter flat on "
    "the screen facing the lens at the middles of three rows of three; the mean of the nine. "
    "What a bright room sends back is in it: 1 to 5 % too much."
)


def _of(given: Given, key: str) -> Fraction:
    return Fraction(given[key].metres)


def _side(given: Given) -> Fraction:
    """From a side wall to the middle of screen and border at least."""
    return picture_size(given)[0] / 2 + _of(given, "border")


def _bottom(given: Given) -> str:
    """80 cm, or as high as it may be."""
    highest = _of(given, "room_height") - picture_size(given)[1] - _of(given, "border")
    return length_words(min(Fraction(4, 5), Fraction(math.floor(highest * 1000), 1000)), "_m")


def aspect_of(text: str) -> Fraction:
    """Width over height of "16:9" or "2.35:1"."""
    width, height = text.split(":")
    return Fraction(width) / Fraction(height)


def picture_size(given: Given) -> tuple[Fraction, Fraction]:
    """Width and height of the picture [m]."""
    aspect = aspect_of(given["aspect"])
    if "picture_width" in given and given["picture_width"] is not None:
        width = _of(given, "picture_width")
    else:
        diagonal = _of(given, "picture_diagonal")
        width = Fraction(float(diagonal) * float(aspect) / (1.0 + float(aspect) ** 2) ** 0.5).limit_denominator(10**7)
    return width, width / aspect


def _diagonal_limit(given: Given) -> Fraction:
    """The largest diagonal that fits the wall."""
    aspect = float(aspect_of(given["aspect"]))
    width = min(float(_of(given, "room_width")), aspect * float(_of(given, "room_height")))
    return Fraction(width * (1.0 + 1.0 / aspect**2) ** 0.5).limit_denominator(10**4)


def _aspect(text: str, _: str, __: Given) -> str:
    try:
        ratio = aspect_of(text.replace(" ", ""))
    except (ValueError, ZeroDivisionError):
        raise RefusedAnswer("is no shape of a picture", "such as 16:9 or 2.35:1") from None
    if not 0.3 <= ratio <= 5:
        raise RefusedAnswer("is no shape of a picture", "0.3:1 to 5:1")
    return text.replace(" ", "")


def _nine_lux(text: str, unit: str, given: Given) -> float:
    """Reads lux on the white screen; what comes out must be a projector's share of its sheet."""
    value = number(0.1, 1e6, "lx")(text, unit, given)
    share = in_use(value, given)
    if not LEAST_IN_USE <= share <= MOST_IN_USE:
        lumens = share * given["light_output_lm"]
        raise RefusedAnswer(
            f"makes {lumens:.0f} lm on this picture, {100 * share:.0f} % of its sheet",
            f"{100 * LEAST_IN_USE:g} to {100 * MOST_IN_USE:g} %",
        )
    return value


def in_use(nine_lux_mean: float, given: Given) -> float:
    """Share of the sheet's light output that is on the picture [1]. Source: light output is the mean of nine times the area, ISO 21118."""
    width, height = picture_size(given)
    return nine_lux_mean * float(width * height) / float(given["light_output_lm"])


def _hangs() -> tuple[str, ...]:
    return tuple(hang.value for hang in HANGS)


def _fabrics() -> dict[str, object]:
    from ...materials.library import load_library

    return dict.fromkeys(load_library().fabrics)


def _across(low: Limit, high: Limit) -> Callable[[str, str, Given], Length]:
    """Reads a length from the left wall; "middle" is half the room's width, exactly."""
    plain = length(low, high)

    def read(text: str, unit: str, given: Given) -> Length:
        if text.casefold() != MIDDLE:
            return plain(text, unit, given)
        return Length(_of(given, "room_width") / 2, given["room_width"].suffix, MIDDLE)

    return read


TITLE = Question("title", "What is the room called", name, default="My room")

ROOM_QUESTIONS = (
    Question("room_width", "Width of the wall the screen is on", length(1, 100), "wall to wall, where the screen will hang"),
    Question("room_depth", "From the screen wall to the back wall", length(1, 100), "along the floor, at the middle"),
    Question("room_height", "Floor to ceiling", length(Fraction(3, 2), 50)),
)
SCREEN_QUESTIONS = (
    Question("aspect", "Shape of the white picture area", _aspect, "width to height", default="16:9"),
    Question(
        "picture_width",
        "Width of the white picture area",
        length(Fraction(1, 5), lambda g: min(_of(g, "room_width"), _of(g, "room_height") * aspect_of(g["aspect"]))),
        "without frame or border; leave empty to give the diagonal instead",
        empty="the diagonal instead",
    ),
    Question("border", "Width of the frame or black border around it", length(0, Fraction(1, 2)), default="8 cm"),
    Question(
        "picture_bottom",
        "From the floor up to the lower edge of the picture",
        length(lambda g: _of(g, "border"), lambda g: _of(g, "room_height") - picture_size(g)[1] - _of(g, "border")),
        default=_bottom,
    ),
    Question(
        "screen_from_left",
        "From the left wall to the middle of the picture",
        _across(_side, lambda g: _of(g, "room_width") - _side(g)),
        "left as you sit and look at the screen",
        default=MIDDLE,
    ),
    Question(
        "gap_to_wall",
        "From the wall to the front of the cloth",
        length(NEAR, lambda g: _of(g, "room_depth") / 2),
        default="10 cm",
    ),
    Question("fabric", "Fabric", one_of(_fabrics, "fabric of the library"), "halfgain fabric lists all", default="matt white"),
    Question("hang", "How it hangs", one_of(_hangs, "way to hang"), ", ".join(_hangs()), default="fixed frame"),
)
DIAGONAL = Question("picture_diagonal", "Diagonal of the white picture area", length(Fraction(1, 4), _diagonal_limit))
PROJECTOR_QUESTIONS = (
    Question(
        "lens_from_left",
        "From the left wall to the middle of the lens",
        _across(NEAR, lambda g: _of(g, "room_width") - NEAR),
        default=lambda g: g["screen_from_left"].said,
    ),
    Question(
        "lens_from_screen_wall",
        "From the screen wall to the front of the lens",
        length(lambda g: _of(g, "gap_to_wall") + NEAR, lambda g: _of(g, "room_depth") - NEAR),
        "along the floor, plumb under the lens",
    ),
    Question("lens_height", "From the floor up to the middle of the lens", length(NEAR, lambda g: _of(g, "room_height") - NEAR)),
)
SEAT = (
    Question("name", "Name of a seat", name, "as it will stand in every table: sofa left, rear row", empty="no more seats"),
    Question(
        "from_left",
        "From the left wall to the middle of the head",
        _across(NEAR, lambda g: _of(g, "room_width") - NEAR),
        default=MIDDLE,
    ),
    Question(
        "from_screen_wall",
        "From the screen wall to the eye",
        length(lambda g: _of(g, "gap_to_wall") + NEAR, lambda g: _of(g, "room_depth") - NEAR),
        "sit down, lean back",
    ),
    Question("eye_height", "From the floor up to the eye", length(NEAR, lambda g: _of(g, "room_height") - NEAR), default="1.1 m"),
)
FURNITURE_ITEM = (
    Question("name", "A large thing in the room", name, "sofa, sideboard, riser: its closed box counts", empty="nothing more"),
    Question("left", "From the left wall to its left side", length(0, lambda g: _of(g, "room_width"))),
    Question(
        "right", "From the left wall to its right side", length(lambda g: _of(g, "left") + NEAR, lambda g: _of(g, "room_width"))
    ),
    Question("near", "From the screen wall to its nearest side", length(0, lambda g: _of(g, "room_depth"))),
    Question(
        "far",
        "From the screen wall to its farthest side",
        length(lambda g: _of(g, "near") + NEAR, lambda g: _of(g, "room_depth")),
    ),
    Question("bottom", "From the floor up to its underside", length(0, lambda g: _of(g, "room_height")), default="0 m"),
    Question("top", "From the floor up to its top", length(lambda g: _of(g, "bottom") + NEAR, lambda g: _of(g, "room_height"))),
    Question("finish", "What it is made of", finish, default="dark upholstery"),
)
_USUAL = {"front": "warm white emulsion", "ceiling": "white ceiling paint", "floor": "oak boards"}
_CALLED = {
    "front": "The wall the screen is on",
    "back": "The wall behind the seats",
    "left": "The wall on the left, as you look at the screen",
    "right": "The wall on the right",
    "ceiling": "The ceiling",
    "floor": "The floor",
}


def _like_front(given: Given) -> str:
    return str(given["finish_front"])


FINISH_QUESTIONS = tuple(
    Question(
        f"finish_{surface}",
        _CALLED[surface],
        finish,
        "a name, an everyday word, or a reflectance 0 (black) to 1 (white)" if surface == "front" else "",
        default=_USUAL.get(surface, _like_front),
    )
    for surface in SURFACES
)
LIGHT_ITEM = (
    Question(
        "name",
        "Name of a light that will be on while you watch",
        name,
        "lamps on, day with curtains drawn",
        empty="no more lights",
    ),
    Question("lux", "Lux at the screen with it", number(0, 100_000, "lx"), WHERE_TO_HOLD_AMBIENT),
)
SHEET_QUESTIONS = (
    Question("light_output_lm", "Light output on its sheet, lumens (ISO 21118)", number(1, 200_000, "lm")),
    Question("native_contrast", "Native contrast, full on : full off", contrast(1.1, 1e9), default="2000"),
    Question(
        "checkerboard_contrast",
        "Its own checkerboard (ANSI) contrast",
        contrast(1.1, 1e9),
        empty="not known: contrasts are then upper bounds",
    ),
    Question("nine_lux_mean", "Lux on the white screen, mean of nine", _nine_lux, WHERE_TO_HOLD_OUTPUT, empty="not measured"),
    Question(
        "throw_ratio", "Throw ratio, zoomed out and in", pair(0.05, 20, "two numbers such as 1.3 to 2.1"), empty="not known"
    ),
    Question(
        "lens_shift",
        "Lens shift, sideways and up or down",
        pair(0, 3, "two numbers in picture widths and heights, such as 0.2 0.6 or 20 % 60 %", shares=True),
        empty="not known",
    ),
)
GROUPS = (
    (ROOM, ROOM_QUESTIONS),
    (SCREEN, SCREEN_QUESTIONS),
    (PROJECTOR, PROJECTOR_QUESTIONS),
    (SEATS, SEAT),
    (FURNITURE, FURNITURE_ITEM),
    (FINISHES, FINISH_QUESTIONS),
    (LIGHT, LIGHT_ITEM),
    (SHEET, SHEET_QUESTIONS),
)
LISTS = {SEATS: "seat", FURNITURE: "furniture", LIGHT: "light"}  # asked again until a name is left empty
