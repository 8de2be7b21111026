"""Folds in `compare`: brightness and geometry of every variant at its worst seat, as a table, as JSON entries and as CSV rows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ....scenes.cloth.surface import LEVELS
from ...choices.comparison import Comparison
from ...choices.fold_sight import NOT_JUDGED, FoldSight, Worst, times
from ...eye.verdict import STATED_FOR, verdict
from ..layout import grid, heading

if TYPE_CHECKING:
    from rich.console import RenderableType

NOTES = (
    "In brackets the worst seat. Brightness: the pattern over the eye's threshold at its worst place. Geometry: warp, peak to peak, less "
    "what a keystone and a smooth bow explain; one arc minute is the limit.",
    "A flat surface is the reference. Several shapes are our own scale estimates: no verdict from the typical value alone. The "
    "other figures are for typical folds.",
    f"Verdicts are {STATED_FOR}.",
)


def folds_part(comparison: Comparison) -> list[RenderableType]:
    """Section with a row a variant and level; nothing where every cloth is flat."""
    from rich.text import Text

    if not comparison.folds:
        return []
    table = grid()
    table.add_column("variant", overflow="fold", min_width=12)
    table.add_column("folds", no_wrap=True)
    table.add_column("brightness, in times\nthe eye's threshold", min_width=24)
    table.add_column("geometry, warp in\narc minutes", min_width=24)
    for variant, fold in zip(comparison.variants, comparison.folds, strict=True):
        if fold.flat:
            table.add_row(Text(variant.label), "", Text(f"the cloth {fold.flat_words}"), NOT_JUDGED)
            continue
        for i, level in enumerate(LEVELS):
            bright, warp = fold.brightness(level), fold.warp(level)
            table.add_row(
                Text(variant.label if i == 0 else ""),
                level,
                Text(f"{fold.word(level)}, {times(bright.value)}{_at(bright)}"),
                Text(f"{fold.geometry_word(level)}, {times(warp.value)}{_at(warp)}"),
            )
    return [heading("Folds"), table, *(Text(note, style="dim") for note in NOTES)]


def _at(worst: Worst) -> str:
    return f" ({worst.seat})" if worst.seat else ""


def fold_entry(fold: FoldSight) -> dict[str, Any]:
    """Fold visibility as the documents write it: at the worst seat and at every seat, by level."""
    bright: dict[str, Worst] = {level: fold.brightness(level) for level in LEVELS}
    warp: dict[str, Worst] = {level: fold.warp(level) for level in LEVELS}
    return {
        "hang": fold.hang,
        "fabric": fold.fabric,
        "flat": fold.flat,
        "threshold_ratio": {level: worst.value for level, worst in bright.items()},
        "seat": {level: worst.seat for level, worst in bright.items()},
        "verdict_luminance": {level: fold.word(level) for level in LEVELS},
        "margin_luminance": {level: verdict(fold.ratio[level]).margin for level in LEVELS},
        "threshold_ratio_by_seat": fold.by_seat,
        "warp_arcmin": {level: worst.value for level, worst in warp.items()},
        "warp_px": {level: fold.warp_px(level) for level in LEVELS},
        "warp_seat": {level: worst.seat for level, worst in warp.items()},
        "verdict_geometry": {level: fold.geometry_word(level) for level in LEVELS},
        "warp_arcmin_by_seat": fold.warp_by_seat,
    }


def fold_rows(fold: FoldSight, seat: str) -> list[tuple[str, float, str]]:
    """(figure, value, verdict) of a seat for compare.csv; units stand in the figures' names."""
    found = []
    for level in LEVELS:
        ratio, warp = fold.by_seat[level][seat], fold.warp_by_seat[level][seat]
        found.append((f"folds_{level}_threshold_ratio", ratio, NOT_JUDGED if fold.flat else verdict(ratio).word))
        found.append((f"folds_{level}_warp_arcmin", warp, NOT_JUDGED if fold.flat else verdict(warp).word))
    return found
