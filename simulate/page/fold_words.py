"""What folds do at the worst seat, in words for a client; the figures behind them are over the eye's threshold."""

from __future__ import annotations

from ...scenes.cloth.surface import LEVELS
from ..choices.fold_sight import FoldSight, times
from ..eye.verdict import BORDERLINE, NOT_VISIBLE, VISIBLE

STRIPES, BENT = "stripes and shading in bright, even scenes", "bends in straight lines"


def fold_sentence(fold: FoldSight, *, stated: bool = False) -> str:
    """What is seen, first in words, then the figures with what they are times of. Source: the verdicts of `FoldSight` at each level.

    stated  True where the scene states its folds: all levels are one shape
    """
    return f"{_seen(fold, stated)} {fold_figures(fold, stated=stated)}"


def fold_figures(fold: FoldSight, *, stated: bool = False) -> str:
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
    bright, bent = fold.word(LEVELS[-1]) != NOT_VISIBLE, fold.geometry_word(LEVELS[-1]) != NOT_VISIBLE
    what = " and ".join(words for words, seen in ((STRIPES, bright), (BENT, bent)) if seen)
    seat = fold.brightness(LEVELS[-1]).seat if bright else fold.warp(LEVELS[-1]).seat
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
