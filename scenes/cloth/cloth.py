"""The whole cloth: the sum of its folds over a white area, with its outline and its extremes."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

import numpy as np

from ...materials.dataclass import dataclass
from .edges import Outline
from .shape import Fold, Heights, flat_heights, on_grid

_ACROSS, _UP = 385, 217  # places at which extremes are looked for


@dataclass(frozen=True)
class Cloth:
    """A white area of width_m x height_m [m] with folds; no folds: the flat nominal screen."""

    width_m: float
    height_m: float
    folds: tuple[Fold, ...] = ()

    @cached_property
    def flat(self) -> bool:
        """True where the cloth is the nominal plane with straight edges."""
        return not self.folds

    @cached_property
    def smooth(self) -> bool:
        """True where the heights are nothing, whatever the outline."""
        return all(isinstance(fold, Outline) for fold in self.folds)

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """Height [m] and slopes [1] at places [m], any one shape. Source: heights add."""
        right_m, up_m = np.asarray(right_m, float), np.asarray(up_m, float)
        return self._sum(lambda fold: fold.at(right_m, up_m), np.shape(right_m))

    def on_grid(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """The same (rows, columns) where rows of up_m (rows,) and columns of right_m (columns,) cross [m]; `at`, to the bit."""
        return self._sum(lambda fold: on_grid(fold, right_m, up_m), (len(up_m), len(right_m)))

    def _sum(self, heights_of: Callable[[Fold], Heights], shape: tuple[int, ...]) -> Heights:
        total: Heights | None = None
        for fold in self.folds:
            if isinstance(fold, Outline):
                continue
            part = heights_of(fold)
            total = part if total is None else Heights(*(a + b for a, b in zip(total, part, strict=True)))
        return flat_heights(np.empty(shape)) if total is None else total

    def half_width_m(self, up_m: np.ndarray) -> np.ndarray:
        """Distance [m] of either side edge from the middle at a height. Source: `Outline`."""
        depth = sum(fold.side_m for fold in self.folds if isinstance(fold, Outline))
        return 0.5 * self.width_m - depth * np.maximum(0.0, 1.0 - (2.0 * np.asarray(up_m, float) / self.height_m) ** 2)

    def lower_edge_m(self, right_m: np.ndarray) -> np.ndarray:
        """Up-coordinate [m] of the lower edge. Source: `Outline`."""
        rise = sum(fold.bottom_m for fold in self.folds if isinstance(fold, Outline))
        return -0.5 * self.height_m + rise * (2.0 * np.asarray(right_m, float) / self.width_m) ** 2

    def covers(self, right_m: np.ndarray, up_m: np.ndarray) -> np.ndarray:
        """True at places [m], any one shape, where the cloth is, seen along the normal; its edge belongs to it."""
        hair = 1e-9 * self.width_m
        return (
            (np.abs(right_m) <= self.half_width_m(up_m) + hair)
            & (up_m <= 0.5 * self.height_m + hair)
            & (up_m >= self.lower_edge_m(right_m) - hair)
        )

    @cached_property
    def finest_m(self) -> float:
        """The shortest length that meshes and pictures must resolve [m]; infinite for a flat cloth."""
        return min((fold.finest_m for fold in self.folds), default=float("inf"))

    @cached_property
    def _looked_at(self) -> Heights:
        right = np.linspace(-0.5 * self.width_m, 0.5 * self.width_m, _ACROSS)
        up = np.linspace(-0.5 * self.height_m, 0.5 * self.height_m, _UP)
        return self.on_grid(right, up)

    @cached_property
    def lowest_m(self) -> float:
        """Least height [m], on a grid of places."""
        return float(self._looked_at.height.min())

    @cached_property
    def highest_m(self) -> float:
        """Greatest height [m], on a grid of places."""
        return float(self._looked_at.height.max())

    @cached_property
    def steepest(self) -> float:
        """Greatest slope [1], on a grid of places."""
        return float(np.hypot(self._looked_at.slope_right, self._looked_at.slope_up).max())
