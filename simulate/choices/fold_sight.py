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

    ratio    modulation over threshold [1] at the worst seat, whose name is in seat
    by_seat  the ratio at every seat, by level and then by seat
    """

    hang: str
    fabric: str
    ratio: dict[str, float]
    seat: dict[str, str]
    by_seat: dict[str, dict[str, float]]

    def word(self, level: str) -> str:
        """The verdict of a level in words."""
        return verdict(self.ratio[level]).word

    @property
    def in_words(self) -> str:
        """Verdicts and ratios of the three levels."""
        words = " / ".join(self.word(level) for level in LEVELS)
        ratios = " / ".join(times(self.ratio[level]) for level in LEVELS)
        return f"low / typical / high folds {words} ({ratios} times the threshold)"


def times(ratio: float) -> str:
    """A ratio to the threshold as people read it."""
    return f"{ratio:.0f}" if ratio >= 9.5 else f"{ratio:.2g}"


def fold_sight(scene: Scene, hang: str, fabric: str, white_cd_m2: list[float], *, threads: int = 1) -> FoldSight:
    """Visibility of what the scene's hang does to its cloth, in full white.

    scene        with that hang and fabric;  white_cd_m2  mean luminance of the flat picture at each seat [cd/m2]
    Source: seat maps of the folded cloth (folds/maps.py), worst window (eye/threshold.py). Brightness only, no warp.
    """
    grid = picture_grid(scene, COLUMNS, ROWS)
    ratio, seat, by_seat = {}, {}, {}
    for level in LEVELS:
        cloth = cloth_of(scene.screen, level)
        if not cloth.folds:
            ratio[level], seat[level], by_seat[level] = 0.0, "", {each.name: 0.0 for each in scene.seats}
            continue
        found = []
        for each, white in zip(seat_maps(scene, cloth, grid, threads=threads), white_cd_m2, strict=True):
            sight = Sight(white, each.deg_per_m[..., 0], each.deg_per_m[..., 1])
            found.append(worst_window(each.luminance_ratio, sight, grid.right_m, grid.up_m).ratio)
        worst = int(np.argmax(found))
        ratio[level], seat[level] = float(found[worst]), scene.seats[worst].name
        by_seat[level] = {each.name: float(value) for each, value in zip(scene.seats, found, strict=True)}
    return FoldSight(hang, fabric, ratio, seat, by_seat)


def has_folds(scene: Scene) -> bool:
    """True where the scene's cloth is anything but flat at some level."""
    return any(cloth_of(scene.screen, level).folds for level in LEVELS)


def with_hang(scene: Scene, other: Scene) -> Scene:
    """`scene` with the hang and drape of another scene's screen."""
    screen = dataclasses.replace(scene.screen, hang=other.screen.hang, drape=other.screen.drape)
    return dataclasses.replace(scene, screen=screen)
