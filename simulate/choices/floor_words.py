"""A missed floor in words."""

from __future__ import annotations

from ...materials.hangs import OPPOSITE
from .floors import EVEN, WHITE, Floor, Shortfall


def shortfall_words(short: Shortfall) -> str:
    """Why a fabric does not serve, with the numbers, in one clause."""
    if short.floor is Floor.NO_OPEN_AREA:
        return "no sound passes: no open area"
    if short.floor is Floor.WRONG_SIDE:
        where = f"{-short.got:.0f} degrees {OPPOSITE[short.side]}" if short.got < 0.0 else "straight ahead"
        return f"wants its light from {short.side}, and here it comes from {where}"
    if short.floor is Floor.NO_HANG:
        return "a stiff sheet (common practice, no source), and no hang that is possible here takes one"
    got, least = _apart(short.got, short.least, 3 if short.floor is Floor.TOO_DARK else 2)
    if short.floor is Floor.TOO_DARK:
        return (
            f"too dark: {got} cd/m2 at {short.seat}, at least {least} is asked ({WHITE.source}); "
            f"{short.lacking_lm or 0.0:.0f} lm are missing"
        )
    return (
        f"hot spot: at {short.seat} the darkest of nine points has {got} % of the middle, at least {least} % "
        f"is asked ({EVEN.source}, for the sides)"
    )


def _apart(got: float, least: float, figures: int) -> tuple[str, str]:
    """Two numbers with so many significant figures, or as many more as tell them apart: no 68 that is below a 68."""
    texts = [(f"{got:.{n}g}", f"{least:.{n}g}") for n in range(figures, figures + 5)]
    return next((pair for pair in texts if pair[0] != pair[1]), texts[0])
