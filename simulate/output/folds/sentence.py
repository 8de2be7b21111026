"""What the folds of a cloth do, first in words, from how many seats, then over the eye's threshold, low to high."""

from __future__ import annotations

from ....scenes.cloth.surface import LEVELS
from ...choices.fold_sight import FoldSight, times
from ...eye.verdict import NOT_VISIBLE, VISIBLE, verdict


def fold_sentence(fold: FoldSight | None) -> str:
    """One sentence without its full stop: what is seen from where at low, typical and high folds, and by how much at the worst seat."""
    if fold is None:
        return "Its folds were not looked at"
    if fold.flat:
        return f"The cloth {fold.flat_words or 'is flat: no folds'}"
    figures = (
        f"{' / '.join(times(fold.ratio[level]) for level in LEVELS)} times what an eye can just see, low / typical / high folds"
    )
    if any(fold.warp(level).value >= 1.0 for level in LEVELS):
        figures += f"; lines bend by {' / '.join(times(fold.warp(level).value) for level in LEVELS)} arc minutes"
    return f"{_seen(fold)} ({figures})"


def _seen(fold: FoldSight) -> str:
    counts = [_seats_that_see(fold, level) for level in LEVELS]
    everyone = len(fold.seats)
    if counts[0]:
        where = "every seat" if counts[0] == everyone else f"{counts[0]} of {everyone} seats"
        return f"From {where} folds show in bright scenes, however well it hangs"
    if counts[-1]:
        where = "every seat" if counts[-1] == everyone else f"{counts[-1]} of {everyone} seats"
        usual = "and as it usually hangs" if counts[1] else "and not as it usually hangs"
        return f"From {where} folds show in bright scenes if it hangs badly, {usual}"
    if fold.whole_word("high") == NOT_VISIBLE:
        return "No seat sees folds, however badly it hangs"
    return "Folds stay at the limit of what a seat sees, at worst"


def _seats_that_see(fold: FoldSight, level: str) -> int:
    """Seats where folds of a level are visible, as brightness or as warp."""
    bright = fold.by_seat[level]
    warp = fold.at_seats(level, lambda each: each.geometry.ratio)
    return sum(verdict(max(bright[name], warp[name])).word == VISIBLE for name in bright)
