"""A commented scene file from the answers of a survey: every length in the unit it was said in, every guess called one."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from ...materials.text.toml_text import toml_key
from ..model import SURFACES
from .lengths import Length
from .question import Given
from .questions import MIDDLE, in_use, picture_size

_DIGITS = {"_m": 9, "_cm": 7, "_mm": 6, "_in": 8}  # nearer than what the loader takes for a wall
_MARGIN = 38  # column at which comments begin, where the value leaves room


def scene_text(given: Given) -> str:
    """The scene as TOML text with comments; what is not answered yet stands as a placeholder that any room takes.

    given  answers by key; "seat", "furniture" and "light" lists of such
    """
    known = _filled(given)
    parts = [_head(known), _room(known), _furniture(known), _projector(known), _screen(known), _lights(known), _seats(known)]
    return "\n".join(part for part in parts if part).rstrip() + "\n"


def _metres(value: str) -> Length:
    return Length(Fraction(value), "_m", "")


def _filled(given: Given) -> dict[str, Any]:
    """Answers with placeholders for what is not asked yet: small, in the middle, far from one another."""
    known = dict(given)
    known.setdefault("title", "My room")
    for key, value in (("room_width", "4"), ("room_depth", "5"), ("room_height", "2.5")):
        known.setdefault(key, _metres(value))
    known.setdefault("aspect", "16:9")
    if known.get("picture_width") is None and known.get("picture_diagonal") is None:
        known["picture_width"] = _metres("0.3")
    known.setdefault("border", _metres("0"))
    known.setdefault("picture_bottom", known["border"])
    middle = Length(known["room_width"].metres / 2, known["room_width"].suffix, MIDDLE)
    known.setdefault("screen_from_left", middle)
    known.setdefault("gap_to_wall", _metres("0.001"))
    known.setdefault("fabric", "matt white")
    known.setdefault("hang", "fixed frame")
    depth, low = known["room_depth"].metres, _metres("1")
    known.setdefault("lens_from_left", middle)
    known.setdefault("lens_from_screen_wall", Length(depth - Fraction(1, 100), "_m", ""))
    known.setdefault("lens_height", low)
    if not known.get("seat"):
        known["seat"] = [
            {
                "name": "middle",
                "from_left": middle,
                "from_screen_wall": Length(depth - Fraction(2, 100), "_m", ""),
                "eye_height": low,
            }
        ]
    for surface in SURFACES:
        known.setdefault(f"finish_{surface}", 0.5)
    known.setdefault("light_output_lm", 1000.0)
    known.setdefault("native_contrast", 2000.0)
    return known


def _line(key: str, value: str, comment: str = "") -> str:
    text = f"{key} = {value}"
    return f"{text:{_MARGIN}} # {comment}" if comment else text


def _unit(lengths: Sequence[Length]) -> str:
    """The unit that all of them were said in; else metres."""
    suffixes = {each.suffix for each in lengths}
    return suffixes.pop() if len(suffixes) == 1 else "_m"


def _written(metres: Fraction, suffix: str) -> str:
    """A number in a unit, nearer than a nanometre."""
    value = round(float(Length(metres, suffix, "").in_unit(suffix)), _DIGITS[suffix]) + 0.0
    return f"{value:g}" if abs(value) < 1e5 and f"{value:g}" == repr(value).removesuffix(".0") else repr(value)


def _plain(value: float) -> str:
    """A number as it was said, all its digits."""
    short = f"{value:g}"
    return short if float(short) == value else repr(float(value))


def _length(key: str, given: Length, comment: str = "") -> str:
    said = f"{given.said}: " if given.said and comment and given.said != MIDDLE and given.suffix == "_in" else ""
    return _line(key + given.suffix, _written(given.metres, given.suffix), said + comment)


def _place(key: str, known: Given, across: Length, out: Length, up: Length, comment: str = "") -> str:
    """A place [right, out, up] from lengths off the left wall, the screen wall and the floor."""
    unit = _unit([across, out, up, known["room_width"]])
    right = across.metres - known["room_width"].metres / 2
    return _line(key + unit, f"[{', '.join(_written(x, unit) for x in (right, out.metres, up.metres))}]", comment)


def _head(known: Given) -> str:
    return f"""\
# Made by halfgain new from measures taken on site; change what you like, halfgain measure says what it makes.
# Places are [right of the middle of the screen wall as seen from the seats, out from that wall, up from the floor].
# Any length may be in _m, _cm, _mm, _in or _ft.
format = 1
title = {toml_key(known["title"])}
"""


def _room(known: Given) -> str:
    finishes = "\n".join(_line(surface, _finish(known[f"finish_{surface}"]), _SURFACE.get(surface, "")) for surface in SURFACES)
    return "\n".join([
        f"{'[room]':{_MARGIN}} # inside measures",
        _length("width", known["room_width"], "the wall the screen is on"),
        _length("depth", known["room_depth"], "from the screen wall to the back wall"),
        _length("height", known["room_height"], "floor to ceiling"),
        "",
        f"{'[room.finish]':{_MARGIN}} # a name of the library (halfgain materials), or a reflectance 0 to 1",
        finishes,
        "",
    ])  # fmt: skip


_SURFACE = {"front": "the screen wall", "back": "behind the seats", "left": "as seen from the seats"}


def _finish(value: str | float) -> str:
    return toml_key(value) if isinstance(value, str) else _plain(value)


def _furniture(known: Given) -> str:
    found = []
    for each in known.get("furniture", ()):
        half = known["room_width"].metres / 2
        lengths = [each[key] for key in ("left", "right", "near", "far", "bottom", "top")]
        unit = _unit([*lengths, known["room_width"]])
        low = ", ".join(_written(x, unit) for x in (each["left"].metres - half, each["near"].metres, each["bottom"].metres))
        high = ", ".join(_written(x, unit) for x in (each["right"].metres - half, each["far"].metres, each["top"].metres))
        box = f"{{ min{unit} = [{low}], max{unit} = [{high}] }}"
        found.append(f"[[room.object]]\nname = {toml_key(each['name'])}\nbox = {box}\nfinish = {_finish(each['finish'])}\n")
    return "\n".join(found)


def _projector(known: Given) -> str:
    lines = ["[projector]", _line("light_output_lm", _plain(known["light_output_lm"]), "from its sheet, ISO 21118")]
    if known.get("nine_lux_mean") is not None:
        share = in_use(known["nine_lux_mean"], known)
        lumens = share * known["light_output_lm"]
        if share > 1.0:
            lines[1] = _line(
                "light_output_lm", f"{lumens:.4g}", f"{known['nine_lux_mean']:g} lx measured, more than its sheet says"
            )
        said = f"{known['nine_lux_mean']:g} lx on the mean of nine points: {lumens:.0f} lm"
        lines.append(_line("in_use", f"{min(1.0, share):.3g}", said))
    else:
        lines.append(
            "# in_use = 0.7                        # not measured: what picture mode, zoom and age leave of it; without it the rated output counts"
        )
    lines.append(_line("native_contrast", _plain(known["native_contrast"]), "full on : full off"))
    own = known.get("checkerboard_contrast")
    if own is None:
        lines.append(
            "# checkerboard_contrast = 300           # its own, in a dark room, is not known: contrasts are upper bounds"
        )
    else:
        lines.append(_line("checkerboard_contrast", _plain(own), "its own, in a dark room"))
    lens = (known["lens_from_left"], known["lens_from_screen_wall"], known["lens_height"])
    lines.append(_place("lens", known, *lens, "middle of the lens"))
    for key, comment in (
        ("throw_ratio", "distance over picture width, zoom range"),
        ("lens_shift", "picture widths sideways, picture heights up or down"),
    ):
        if known.get(key) is not None:
            first, second = known[key]
            pair = sorted((first, second)) if key == "throw_ratio" else (first, second)
            lines.append(_line(key, f"[{_plain(pair[0])}, {_plain(pair[1])}]", comment))
    return "\n".join(lines) + "\n"


def _screen(known: Given) -> str:
    width, height = picture_size(known)
    size = known.get("picture_width")
    first = (
        _length("width", size, "the white picture area")
        if size is not None
        else _length("diagonal", known["picture_diagonal"], "of the white picture area")
    )
    lines = [
        "[screen]",
        first,
        _line("aspect", toml_key(known["aspect"]), f"{float(width):.3f} by {float(height):.3f} m"),
        _length("bottom", known["picture_bottom"], "floor to the lower edge of the picture"),
    ]
    across = known["screen_from_left"]
    right = across.metres - known["room_width"].metres / 2
    if right:
        unit = _unit([across, known["room_width"]])
        lines.append(_line("right" + unit, _written(right, unit), "its middle right of the middle of the wall"))
    lines += [
        _length("gap_to_wall", known["gap_to_wall"], "wall to the front of the cloth"),
        _length("border", known["border"], "frame or black border"),
        _line("fabric", toml_key(known["fabric"])),
        _line("hang", toml_key(known["hang"])),
    ]
    return "\n".join(lines) + "\n"


def _lights(known: Given) -> str:
    found = [
        f"[[light]]\nname = {toml_key(each['name'])}\n"
        + _line("screen_lx", _plain(each["lux"]), "at the screen, projector off")
        + "\n"
        for each in known.get("light", ())
    ]
    return "\n".join(found)


def _seats(known: Given) -> str:
    found = []
    for each in known["seat"]:
        place = _place("eye", known, each["from_left"], each["from_screen_wall"], each["eye_height"])
        found.append(f"[[seat]]\nname = {toml_key(each['name'])}\n{place}\n")
    return "\n".join(found)
