"""Fonts for the letters of users' names, and lines that fit a width."""

from __future__ import annotations

import warnings
from functools import cache
from typing import TYPE_CHECKING, Any

_DOTS_PER_INCH = 150.0  # as pictures have: letters are fitted to dots

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_NOT_FOR_TEXT = ("Last Resort", "STIXNonUnicode", "STIXSize", "cm")  # boxes for every letter; codes that are not Unicode


def fallback_families(text: str) -> list[str]:
    """Families of installed fonts, beside the usual one, for letters that it lacks; none where it has all, or nobody has.

    Source: matplotlib takes each letter from the first family of a list that has it.
    """
    from matplotlib.font_manager import FontProperties, findfont

    lacking = frozenset(map(ord, text.replace("\n", " "))) - _letters(findfont(FontProperties()))
    return list(_families_with(lacking)) if lacking else []


@cache
def _families_with(lacking: frozenset[int]) -> tuple[str, ...]:
    """Each time the first of the fonts, plain ones first, that has most of what still lacks."""
    from matplotlib.font_manager import fontManager

    fonts = sorted(
        fontManager.ttflist, key=lambda font: (font.style != "normal", str(font.weight) not in ("400", "normal"), font.name)
    )
    found: list[str] = []
    while lacking:
        most, family = frozenset[int](), ""
        for font in fonts:
            if font.name.startswith(_NOT_FOR_TEXT):
                continue
            has = lacking & _letters(font.fname)
            if len(has) > len(most):
                most, family = has, font.name
            if most == lacking:
                break
        if not most:
            break
        found.append(family)
        lacking -= most
    return tuple(found)


@cache
def _letters(file: str) -> frozenset[int]:
    """Code points that a font file can draw; none for a file that cannot be read, or holds pictures instead of outlines."""
    from matplotlib.ft2font import FT2Font

    try:
        font = FT2Font(file)
    except (OSError, RuntimeError):
        return frozenset()
    return frozenset(font.get_charmap()) if font.scalable else frozenset()


def give_fallbacks(figure: Figure) -> None:
    """Every text of a figure that has letters which its font lacks gets further families."""
    from matplotlib.text import Text

    for text in figure.findobj(Text):
        assert isinstance(text, Text)
        more = fallback_families(text.get_text())
        if more:
            text.set_fontfamily([*text.get_fontfamily(), *more])


@cache
def _renderer() -> Any:
    from matplotlib.backends.backend_agg import RendererAgg

    return RendererAgg(16, 16, _DOTS_PER_INCH)


def width_in(text: str, size_pt: float, weight: str = "normal") -> float:
    """Width [in] of a line of plain text in the usual font of a size [pt]. Source: matplotlib's Agg."""
    from matplotlib.font_manager import FontProperties

    usual = FontProperties().get_family()
    font = FontProperties(family=[*usual, *fallback_families(text)], size=size_pt, weight=weight)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # letters that no installed font has
        return float(_renderer().get_text_width_height_descent(text, font, False)[0]) / _DOTS_PER_INCH


def wrapped(text: str, size_pt: float, most_in: float) -> list[str]:
    """Lines no wider than `most_in` [in]: broken at blanks, inside a word only where the word alone is wider."""
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if width_in(longer, size_pt) <= most_in:
            lines[-1] = longer
            continue
        if lines[-1]:
            lines.append("")
        for letter in word:
            if lines[-1] and width_in(lines[-1] + letter, size_pt) > most_in:
                lines.append("")
            lines[-1] += letter
    return lines
