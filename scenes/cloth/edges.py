"""Folds that belong to edges and corners: tension lines, curl, a swung or bowed sheet, and edges that are not straight."""

from __future__ import annotations

import math

import numpy as np

from ...materials.dataclass import dataclass
from ...materials.text.word import check_word
from .shape import Heights, flat_heights

SIDES = ("left", "right", "top", "bottom")


@dataclass(frozen=True)
class TensionLines:
    """Wrinkles that fan out from a corner along the diagonal.

    amplitude_m   greatest height [m], reached at `reach_m` from the corner on the fan's middle line
    wavelength_m  distance between crests there [m]
    corner        (right, up) of the corner [m];  towards_rad  direction of the fan's middle line, from right to up [rad]
    reach_m       see amplitude_m [m];  spread_rad  half-width of the fan, at 1 / e [rad]
    Height = a q exp(1 - q) exp(-(t / spread)^2) cos(k t), q = r / reach, t the angle off the middle line.
    Source: shape by observation, common practice, no source; wrinkles of a pulled corner are radial as stress is.
    """

    amplitude_m: float
    wavelength_m: float
    reach_m: float
    spread_rad: float
    corner: tuple[float, float]
    towards_rad: float

    @property
    def finest_m(self) -> float:
        """Crests draw together towards the corner, where the height goes to nothing: half the wavelength stands for it [m].

        Source: the half is our own choice.
        """
        return 0.5 * self.wavelength_m

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """Heights [m] at places [m], any one shape. Source: the class's formula, in polar coordinates about the corner."""
        x, y = right_m - self.corner[0], up_m - self.corner[1]
        r = np.maximum(np.hypot(x, y), 1e-9)
        t = np.arctan2(y, x) - self.towards_rad
        t = (t + math.pi) % (2.0 * math.pi) - math.pi
        q, k = r / self.reach_m, 2.0 * math.pi * self.reach_m / self.wavelength_m
        radial = self.amplitude_m * q * np.exp(1.0 - q)
        fan = np.exp(-((t / self.spread_rad) ** 2))
        cosine, sine = np.cos(k * t), np.sin(k * t)
        by_r = self.amplitude_m * np.exp(1.0 - q) * (1.0 - q) / self.reach_m * fan * cosine
        by_t = radial * fan * (-2.0 * t / self.spread_rad**2 * cosine - k * sine)
        return Heights(radial * fan * cosine, by_r * x / r - by_t * y / r**2, by_r * y / r + by_t * x / r**2)


@dataclass(frozen=True)
class EdgeCurl:
    """Free edges that curl towards the seats: height = lift ((band - d) / band)^2 within a band of the edge.

    lift_m   at the edge [m];  band_m  width of the band [m];  sides  of "left", "right", "top", "bottom"
    half     (half width, half height) of the white area [m]
    raises   UnknownWord for another side
    Source: constant curvature of a layered sheet with mismatch strain (Timoshenko 1925), small slopes: lift = kappa band^2 / 2.
    """

    lift_m: float
    band_m: float
    sides: tuple[str, ...]
    half: tuple[float, float]

    def __post_init__(self) -> None:
        for side in self.sides:
            check_word("side", side, SIDES)

    @property
    def finest_m(self) -> float:
        """Width of the band [m]."""
        return self.band_m

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """Heights [m] at places [m], any one shape; beyond the edge the parabola goes on. Source: the class's formula."""
        total = flat_heights(right_m)
        for side in self.sides:
            sign = 1.0 if side in ("right", "top") else -1.0
            sideways = side in ("left", "right")
            place, half = (right_m, self.half[0]) if sideways else (up_m, self.half[1])
            inside = np.maximum(self.band_m - (half - sign * place), 0.0) / self.band_m
            total.height[...] += self.lift_m * inside**2
            slope = total.slope_right if sideways else total.slope_up
            slope[...] += sign * 2.0 * self.lift_m * inside / self.band_m
        return total


@dataclass(frozen=True)
class Swing:
    """A sheet that hangs straight but off the vertical: height grows linearly from its upper hold to `offset_m` at its bar.

    offset_m   of the bar towards the seats [m];  hold_up_m  up-coordinate of the hold [m];  drop_m  from hold to bar [m]
    Source: a pendulum's small swing; the sheet stays straight while the bar is heavy against it.
    """

    offset_m: float
    hold_up_m: float
    drop_m: float

    @property
    def finest_m(self) -> float:
        """A plane has no fine detail [m]."""
        return self.drop_m

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """Heights [m] at places [m], any one shape. Source: the class's straight line."""
        slope = -self.offset_m / self.drop_m
        flat = np.zeros(np.shape(right_m))
        return Heights(slope * (up_m - self.hold_up_m) + flat, flat, flat + slope)


@dataclass(frozen=True)
class Outline:
    """Edges of the white area that are not straight, as parabolas; none of them moves the picture, only where it ends.

    side_m    how far each side edge stands inwards at half height [m] (concave edges of a corded sheet)
    bottom_m  how far the ends of the lower edge stand above its middle [m] (a bar that sags)
    Source: a cord under even pull is a parabola for small depth.
    """

    side_m: float = 0.0
    bottom_m: float = 0.0

    @property
    def finest_m(self) -> float:
        """Outlines are long curves [m]."""
        return math.inf

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """No height [m], whatever the places."""
        return flat_heights(right_m)
