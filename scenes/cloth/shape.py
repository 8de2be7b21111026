"""Heights of folds over the nominal screen plane, with exact slopes: what every kind of fold is made of.

Coordinates are metres right of and up from the middle of the white area; a height is positive towards the seats. A fold is
a height field, so the cloth never folds over itself; `checks.py` of this folder says up to which slope that is meant.
"""

from __future__ import annotations

from typing import NamedTuple, Protocol

import numpy as np

from ...materials.dataclass import dataclass


class Heights(NamedTuple):
    """Height [m] and its derivatives to the right and up [1], all of one shape."""

    height: np.ndarray
    slope_right: np.ndarray
    slope_up: np.ndarray


class Fold(Protocol):
    """One fold or system of folds.

    finest_m   the shortest length over which its height changes noticeably [m]; meshes and pictures must resolve it
    """

    @property
    def finest_m(self) -> float: ...

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """Heights [m] at places of the screen."""
        ...


@dataclass(frozen=True)
class Growth:
    """A factor that grows with depth below the tube or bar the cloth hangs from: ((depth + lead) / (whole + lead))^power.

    top_m   up-coordinate of the white area's top edge [m];  height_m  its height [m]
    power   0: even; 0.5: amplitude of a compression that grows linearly; 1: linear
    lead_m  cloth between its upper hold and the white area [m]
    The factor is 1 at the lower edge. Source: amplitude of a sine is (wavelength / pi) sqrt(excess length), small slopes.
    """

    top_m: float
    height_m: float
    power: float = 0.0
    lead_m: float = 0.1

    def at(self, up_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The factor [1] and its derivative upwards [1/m], of the shape of up_m [m]. Source: the class's formula."""
        if self.power == 0.0:
            return np.ones_like(up_m), np.zeros_like(up_m)
        depth = np.maximum(self.top_m - up_m + self.lead_m, 1e-6)
        factor = (depth / (self.height_m + self.lead_m)) ** self.power
        return factor, -self.power * factor / depth


@dataclass(frozen=True)
class Across:
    """The coordinate across straight crests: s = right cos(t) + up sin(t) - offset.

    angle_rad  crests turned from the vertical, counter-clockwise as seen from the seats [rad]: 0 vertical, pi / 2 horizontal
    offset_m   distance of the line s = 0 from the middle of the white area [m]
    """

    angle_rad: float = 0.0
    offset_m: float = 0.0

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> tuple[np.ndarray, float, float]:
        """s [m] at places [m], any one shape, and its constant derivatives to the right and up [1]. Source: turned axes."""
        cosine, sine = float(np.cos(self.angle_rad)), float(np.sin(self.angle_rad))
        return right_m * cosine + up_m * sine - self.offset_m, cosine, sine


def grown(profile: np.ndarray, d_right: np.ndarray, d_up: np.ndarray, growth: Growth, up_m: np.ndarray) -> Heights:
    """A height [m] and its slopes [1] at up-coordinates [m], one shape, times a growth factor. Source: product rule."""
    factor, d_factor = growth.at(up_m)
    return Heights(profile * factor, d_right * factor, d_up * factor + profile * d_factor)


def on_grid(fold: Fold, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
    """Heights (rows, columns) [m] of a fold where rows of up_m (rows,) and columns of right_m (columns,) cross [m].

    Source: `at`; a fold that has an `on_grid` of its own knows a quicker way to the same bits.
    """
    quicker = getattr(fold, "on_grid", None)
    return quicker(right_m, up_m) if quicker is not None else fold.at(*np.meshgrid(right_m, up_m))


def flat_heights(right_m: np.ndarray) -> Heights:
    """Heights [m] of no fold at all. Source: definition."""
    zero = np.zeros(np.shape(right_m))
    return Heights(zero, zero.copy(), zero.copy())
