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
    if short.floor is Floor.TOO_DARK:
        return (
            f"too dark: {short.got:.3g} cd/m2 at {short.seat}, at least {short.least:.3g} is asked ({WHITE.source}); "
            f"{short.lacking_lm or 0.0:.0f} lm are missing"
        )
    return (
        f"hot spot: at {short.seat} the darkest of nine points has {short.got:.0f} % of the middle, at least {short.least:.0f} % "
        f"is asked ({EVEN.source}, for the sides)"
    )
