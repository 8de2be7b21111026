"""How visible the folds of a hang are with a fabric: ratio to the threshold at the worst seat, low, typical and high folds."""
from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from ...scenes.cloth.surface import LEVELS, cloth_of
from ...scenes.model import Scene
from ..eye.threshold import Sight, worst_window
from ..eye.verdict import verdict
from ..folds.maps import picture_grid, seat_maps

COLUMNS, ROWS = 240, 135  # within 1 % of a grid of 320 x 180 in the library's scenes


@dataclass(frozen=True)
class FoldSight:
    """Brightness of folds over the threshold at the worst seat, by level; seat and verdict likewise.

    ratio  modulation over threshold [1];  word  "not visible", "borderline", "visible"
    """

    hang: str
    fabric: str
    ratio: dict[str, float]
    seat: dict[str, str]

    def word(self, level: str) -> str:
        """The verdict of a level in words."""
        return verdict(self.ratio[level]).word

    @property
    def in_words(self) -> str:
        """Verdicts and ratios of the three levels."""
        words = " / ".join(self.word(level) for level in LEVELS)
        ratios = " / ".join(_plain(self.ratio[level]) for level in LEVELS)
        return f"low / typical / high folds {words} ({ratios} times the threshold)"


def _plain(ratio: float) -> str:
    return f"{ratio:.0f}" if ratio >= 9.5 else f"{ratio:.2g}"


def fold_sight(scene: Scene, hang: str, fabric: str, white_cd_m2: list[float], *, threads: int = 1) -> FoldSight:
    """Visibility of what the scene's hang does to its cloth, in full white.

    scene        with that hang and fabric;  white_cd_m2  mean luminance of the flat picture at each seat [cd/m2]
    Source: seat maps of the folded cloth (folds/maps.py), worst window (eye/threshold.py). Brightness only, no warp.
    """
    grid = picture_grid(scene, COLUMNS, ROWS)
    ratio, seat = {}, {}
    for level in LEVELS:
        cloth = cloth_of(scene.screen, level)
        if not cloth.folds:
            ratio[level], seat[level] = 0.0, ""
            continue
        found = []
        for each, white in zip(seat_maps(scene, cloth, grid, threads=threads), white_cd_m2, strict=True):
            sight = Sight(white, each.deg_per_m[..., 0], each.deg_per_m[..., 1])
            found.append(worst_window(each.luminance_ratio, sight, grid.right_m, grid.up_m).ratio)
        worst = int(np.argmax(found))
        ratio[level], seat[level] = float(found[worst]), scene.seats[worst].name
    return FoldSight(hang, fabric, ratio, seat)


def with_hang(scene: Scene, other: Scene) -> Scene:
    """`scene` with the hang and drape of another scene's screen."""
    screen = dataclasses.replace(scene.screen, hang=other.screen.hang, drape=other.screen.drape)
    return dataclasses.replace(scene, screen=screen)
