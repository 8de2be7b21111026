"""A seat by its name or its place in the scene's order."""

from __future__ import annotations

from collections.abc import Sequence

from .changes import refuse


def which_seat(names: Sequence[str], seat: object) -> int:
    """The place, from 0, of a seat given by name or by place; places below 0 count from the end. raises SceneErrors"""
    if isinstance(seat, int) and not isinstance(seat, bool) and -len(names) <= seat < len(names):
        return seat % len(names)
    if isinstance(seat, str) and seat in names:
        return names.index(seat)
    raise refuse("seat", f"no seat {seat!r}", allowed=f"{', '.join(names)}; or 0 to {len(names) - 1}")
