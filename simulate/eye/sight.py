"""What goes into a verdict on a pattern of brightness and what comes out of it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ...materials.dataclass import dataclass

NONE, WAVES, SINGLE = "none", "waves", "single feature"  # the channel that decided


class Angles(NamedTuple):
    """deg_right, deg_up  (rows, columns) visual angle that a metre of the screen takes up, to the right and up [deg/m]."""

    deg_right: np.ndarray
    deg_up: np.ndarray


class Sight(NamedTuple):
    """How a seat sees the picture.

    luminance_cd_m2     mean of the picture [cd/m2]
    deg_right, deg_up   (rows, columns) visual angle that a metre of the screen takes up, to the right and up [deg/m]
    """

    luminance_cd_m2: float
    deg_right: np.ndarray
    deg_up: np.ndarray

    @property
    def angles(self) -> Angles:
        """The scale alone, which does not hang on the picture. Source: definition."""
        return Angles(self.deg_right, self.deg_up)


class Grid(NamedTuple):
    """Places of a pattern: right_m (columns,) rising, up_m (rows,) falling, evenly spaced [m]."""

    right_m: np.ndarray
    up_m: np.ndarray

    @property
    def pitch_m(self) -> tuple[float, float]:
        """Distance of neighbours to the right and up [m]. Source: definition."""
        return float(self.right_m[1] - self.right_m[0]), float(self.up_m[0] - self.up_m[1])

    def whole_deg(self, sight: Sight | Angles) -> tuple[float, float]:
        """Width and height of the picture as the seat sees it [deg]. Source: the mean scale times the size."""
        pitch = self.pitch_m
        return (
            float(sight.deg_right.mean() * pitch[0] * len(self.right_m)),
            float(sight.deg_up.mean() * pitch[1] * len(self.up_m)),
        )

    def box_m(self, row: float, column: float, rows: float, columns: float) -> tuple[tuple[float, float], tuple[float, float]]:
        """Middle (right, up) and size (width, height) [m] of a box of cells as far as it lies in the picture.

        row, column  its first cell;  rows, columns  its size in cells; it may reach beyond the picture
        Source: definition.
        """
        pitch = self.pitch_m
        left, right = max(column, 0.0), min(column + columns, len(self.right_m))
        top, bottom = max(row, 0.0), min(row + rows, len(self.up_m))
        middle = (
            float(self.right_m[0]) + (0.5 * (left + right) - 0.5) * pitch[0],
            float(self.up_m[0]) - (0.5 * (top + bottom) - 0.5) * pitch[1],
        )
        return middle, ((right - left) * pitch[0], (bottom - top) * pitch[1])


@dataclass(frozen=True)
class Visible:
    """The place where a pattern is furthest over threshold.

    ratio                 to the threshold [1]; below 1 it is not seen
    channel               which of the two decided: WAVES (a window of three waves or more), SINGLE (one feature), NONE
    modulation            half peak-to-peak over mean: of the strongest component (WAVES), of the feature (SINGLE) [1]
    cycles_per_deg        of that component, or mean over what the eye takes of the feature [1/deg]; 0 where there is none
    place_m               (right, up) of the box's middle from the screen's [m];  side_m (width, height) of the box [m]
    field_deg             (width, height) of the part of the picture where the pattern exceeds half its peak [deg]
    at_edge               True where that box touches the picture's edge, beside the dark border
    peak_to_peak, rms     of the whole pattern after taking out its smooth part [1]
    """

    ratio: float
    channel: str
    modulation: float
    cycles_per_deg: float
    place_m: tuple[float, float]
    side_m: tuple[float, float]
    field_deg: tuple[float, float]
    at_edge: bool
    peak_to_peak: float
    rms: float
