"""What the folds of a cloth do, first in words, then over the eye's threshold, low to high: a line for designers, sentences for clients."""

from __future__ import annotations

from ....scenes.cloth.surface import LEVELS
from ...choices.fold_sight import FoldSight, times
from ...eye.verdict import BORDERLINE, NOT_VISIBLE, VISIBLE, verdict

STRIPES, BENT = "stripes and shading in bright, even scenes", "bends in straight lines"


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
    return f"{_from_seats(fold)} ({figures})"


def _from_seats(fold: FoldSight) -> str:
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


def client_sentence(fold: FoldSight, *, stated: bool = False) -> str:
    """What the seat that sees most sees, first in words, then the figures with what they are times of.

    stated  True where the scene states its folds: all levels are one shape
    Source: the verdicts of `FoldSight` at each level.
    """
    return f"{_seen(fold, stated)} {_figures(fold, stated=stated)}"


def _figures(fold: FoldSight, *, stated: bool = False) -> str:
    """The figures of the worst seat, in parts of what the eye can just see."""
    levels = ("typical",) if stated else LEVELS
    bright = " / ".join(times(fold.brightness(level).value) for level in levels)
    warp = " / ".join(times(fold.warp(level).value) for level in levels)
    which = "" if stated else " if it hangs well / as usual / badly"
    return (
        f"Its brightness varies by {bright} times the least an eye can see{which}; straight lines bend by {warp} arc minutes"
        f"{'' if stated else ', in the same order'}."
    )


def _seen(fold: FoldSight, stated: bool) -> str:
    """One sentence on what is seen from the seat that sees most, and how far that hangs on how the cloth does."""
    best, worst = fold.whole_word(LEVELS[0]), fold.whole_word(LEVELS[-1])
    if worst == NOT_VISIBLE:
        return f"No seat sees the folds of the cloth{'' if stated else ', even if it hangs badly'}."
    bright, bent = fold.word(LEVELS[-1]), fold.geometry_word(LEVELS[-1])
    ways = ((STRIPES, bright), (BENT, bent))
    what = " and ".join(words for words, word in ways if word == worst)
    for words, word in ways:
        if word not in (worst, NOT_VISIBLE):  # at the limit, where the other way is seen
            what += f" and perhaps as {words}"
    seat = fold.brightness(LEVELS[-1]).seat if bright == worst else fold.warp(LEVELS[-1]).seat
    start = f"From {seat}, the worst seat, the folds "
    just = f"{start}may just be seen, as {what}"
    if stated:
        return f"{start}are seen, as {what}." if worst == VISIBLE else f"{just}."
    if worst != VISIBLE:
        return f"{just}{', if the cloth hangs badly' if best == NOT_VISIBLE else ', however the cloth hangs'}."
    rest = {
        NOT_VISIBLE: "if the cloth hangs badly, and not if it hangs well",
        BORDERLINE: "if the cloth hangs badly, and just so if it hangs well",
        VISIBLE: "even if the cloth hangs as well as can be expected",
    }
    return f"{start}are seen, as {what}, {rest[best]}."
