"""A measured surface as a fold: a map of heights over the white area, smooth between its samples."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from ...materials.dataclass import dataclass
from .shape import Heights
from .spline import spline_coefficients, spline_heights


@dataclass(frozen=True, eq=False)
class HeightMap:
    """Heights (rows, columns) [m], top row first as the seats see it, spread evenly from edge to edge of the white area.

    left_m, right_m, bottom_m, top_m  where the outermost samples lie [m] from the middle of the white area
    """

    heights: np.ndarray
    left_m: float
    right_m: float
    bottom_m: float
    top_m: float

    @property
    def step_m(self) -> tuple[float, float]:
        """Distance between samples to the right and up [m]."""
        rows, columns = self.heights.shape
        return (self.right_m - self.left_m) / (columns - 1), (self.top_m - self.bottom_m) / (rows - 1)

    @property
    def finest_m(self) -> float:
        """Four samples make the shortest wave that a map can show well [m]. Source: our own choice; Nyquist asks for two."""
        return 4.0 * min(self.step_m)

    @cached_property
    def _coefficients(self) -> np.ndarray:
        return spline_coefficients(self.heights)

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """Heights [m] at places; outside the map its edge goes on. Source: cubic B-spline through the samples."""
        shape = np.shape(right_m)
        step = self.step_m
        x = (np.ravel(np.asarray(right_m, float)) - self.left_m) / step[0]
        y = (self.top_m - np.ravel(np.asarray(up_m, float))) / step[1]
        out = np.empty((x.size, 3))
        spline_heights(self._coefficients, x, y, out)
        return Heights(out[:, 0].reshape(shape), (out[:, 1] / step[0]).reshape(shape), (-out[:, 2] / step[1]).reshape(shape))
