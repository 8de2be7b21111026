"""The film of a scene in words."""

from __future__ import annotations

from ...measuring.film import FilmReading
from ..units import brief


def film_words(found: FilmReading) -> str:
    """The film's own picture, its share of the light, and its bars."""
    area, film = found.area, found.film
    size = f"{area.width_m:.2f} x {area.height_m:.2f} m"
    said = f"{film.aspect:.2f}:1 {film.shown}, {size}, {100 * found.share:.0f} % of the raster; figures are its own"
    if not found.bars:
        return said
    onto = " and ".join(dict.fromkeys(str(bar.onto) for bar in found.bars))
    black = [black.value for bar in found.bars for black, _ in bar.seats]
    white = [white.value for bar in found.bars for _, white in bar.seats]
    return f"{said}. Bars on the {onto}: {brief(max(black))} cd/m2 in a black frame, {brief(max(white))} in a white one"
