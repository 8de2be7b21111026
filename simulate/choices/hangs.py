"""Every hang in the room: can it be, its folds with each shortlisted fabric, and what speaks for and against it."""

from __future__ import annotations

from collections.abc import Sequence

from ...scenes.changes import Change
from ...scenes.cloth.notes import flat_words
from ...scenes.model import Scene
from .advised import HangAdvice
from .aims import FabricEvidence
from .floors import possible
from .fold_sight import FoldSight, fold_sight, with_hang
from .variants import VariantText
from .wishes import HANGS, Wishes


def hang_advice(document: VariantText, short: Sequence[FabricEvidence], wishes: Wishes, threads: int) -> list[HangAdvice]:
    """Every hang: is it possible, its folds with each shortlisted fabric, and its price."""
    found = []
    for hang in HANGS:
        scene = document.with_changes((Change(("screen", "hang"), hang, hang), Change(("screen", "fold"), [], hang)), hang)
        takes = [each for each in short if hang in each.fabric.hangs]
        folds = [_folds(scene, each, threads) for each in takes]
        can_be = possible(hang, wishes)
        reasons = [] if can_be else ["cannot be: the wall must be clear after use, and a frame stays"]
        if folds and all(fold.flat for fold in folds):
            reasons.append(f"the cloth {flat_words(scene.screen)}")
        elif folds:
            reasons += _fold_words(folds)
        stiff = [each.name for each in short if each not in takes]
        if stiff:
            reasons.append(f"not for {', '.join(stiff)}: stiff sheets want a frame or tension (common practice, no source)")
        if wishes.free_hanging and scene.screen.gap_to_wall_m < 0.1:
            reasons.append(f"said to hang free, yet the scene has it {1e3 * scene.screen.gap_to_wall_m:.0f} mm off the wall")
        found.append(HangAdvice(hang, can_be, tuple(reasons), tuple(folds)))
    return found


def _folds(scene: Scene, evidence: FabricEvidence, threads: int) -> FoldSight:
    flat = evidence.paired.measurement
    white = [reading.white["mean"].value for reading in flat.seats]
    return fold_sight(with_hang(flat.scene, scene), white, threads=threads)


def _fold_words(folds: Sequence[FoldSight]) -> list[str]:
    """Fold visibility with the fabric that shows them least and with the one that shows them most."""
    best, worst = min(folds, key=lambda f: f.ratio["high"]), max(folds, key=lambda f: f.ratio["high"])
    return [f"with {each.fabric}: {each.in_words}" for each in ((worst,) if best is worst else (best, worst))]
