"""Seats as users name them on the command line."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING

from ...materials.text.plain import first_names, plain
from .errors import BadInput

if TYPE_CHECKING:
    from ...scenes.model import Scene


def seat_index(scene: Scene, wanted: str) -> int:
    """Place of a seat by its name, or by its number from 1; raises BadInput with the names there are."""
    names = [seat.name for seat in scene.seats]
    if wanted in names:
        return names.index(wanted)
    if wanted.isdecimal() and len(wanted) < 5 and 1 <= int(wanted) <= len(names):
        return int(wanted) - 1
    near = get_close_matches(wanted, names, n=1)
    hint = f', did you mean "{near[0]}"?' if near else ""
    raise BadInput(f'--seat: no seat "{plain(wanted)}"{hint} (seats: {first_names(names)}; or 1 to {len(names)})')
