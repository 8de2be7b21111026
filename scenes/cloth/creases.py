"""Creases: a line across the cloth, a train of them, and the V that a pull at the middle of the bar leaves."""

from __future__ import annotations

import math

import numpy as np

from ...materials.dataclass import dataclass
from .shape import Across, Growth, Heights, grown


def cusp(s: np.ndarray, width_m: float, rounding_m: float) -> tuple[np.ndarray, np.ndarray]:
    """A ridge of height 1 and its derivative: exp(-(sqrt(s^2 + r^2) - r) / b), b = width / 2.

    s        distance across the line [m], any shape;  width_m, rounding_m  2 b and r [m], above 0
    returns  height [1] and derivative [1/m], each of the shape of s
    Straight flanks of slope 1 / b beside the line, rounded over r, dying away over b.
    Source: piecewise-linear tilt with a crease, rounded over the draping length (derived).
    """
    b = 0.5 * width_m
    root = np.sqrt(s * s + rounding_m * rounding_m)
    value = np.exp(-(root - rounding_m) / b)
    return value, -value * s / (root * b)


@dataclass(frozen=True)
class Crease:
    """A straight crease, or with a spacing a train of parallel ones, as folding in storage leaves them.

    amplitude_m  height of the line over the cloth far from it [m]; negative: away from the seats
    width_m      twice the length over which the flanks die away [m];  rounding_m  radius-like smoothing of the line [m]
    spacing_m    distance between the creases of a train [m], None for a single one
    """

    amplitude_m: float
    width_m: float
    rounding_m: float
    across: Across
    growth: Growth
    spacing_m: float | None = None

    @property
    def finest_m(self) -> float:
        """Four times the rounding of the line, or the flanks if these are shorter [m]. Source: the four is our own choice."""
        return min(4.0 * self.rounding_m, self.width_m)

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """Heights [m] at places [m], any one shape.

        In a train |s| is (spacing / pi) |sin(pi s / spacing)|, which is smooth between the lines. Source: `cusp`, chain rule.
        """
        s, to_right, to_up = self.across.at(right_m, up_m)
        stretch: np.ndarray | float = 1.0
        if self.spacing_m is not None:
            turn = math.pi / self.spacing_m
            s, stretch = np.sin(turn * s) / turn, np.cos(turn * s)
        value, slope = cusp(s, self.width_m, self.rounding_m)
        slope = self.amplitude_m * slope * stretch
        return grown(self.amplitude_m * value, slope * to_right, slope * to_up, self.growth, up_m)


@dataclass(frozen=True)
class VGroove:
    """Two lines from a point of pull on the lower edge, leaning out to both sides: the V of a bar pulled at its middle.

    amplitude_m  depth of the lines at the lower edge [m], away from the seats
    width_m, rounding_m       as of a crease [m]
    pull_right_m, pull_up_m   the point of pull [m];  half_angle_rad  each line's lean from the vertical [rad]
    Source: shape by observation, common practice, no source; profile as a crease. The V is one smooth line, its tip rounded.
    """

    amplitude_m: float
    width_m: float
    rounding_m: float
    half_angle_rad: float
    pull_right_m: float
    pull_up_m: float
    growth: Growth

    @property
    def finest_m(self) -> float:
        """As a crease [m]. Source: `Crease.finest_m`."""
        return min(4.0 * self.rounding_m, self.width_m)

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """Heights [m] at places [m], any one shape.

        s = (sqrt(x^2 + r^2) - r) cos(a) - y sin(a) is the distance across the V's arms. Source: `cusp`, chain rule.
        """
        x, y = right_m - self.pull_right_m, up_m - self.pull_up_m
        root = np.sqrt(x * x + self.rounding_m * self.rounding_m)
        cosine, sine = math.cos(self.half_angle_rad), math.sin(self.half_angle_rad)
        value, slope = cusp((root - self.rounding_m) * cosine - y * sine, self.width_m, self.rounding_m)
        slope = -self.amplitude_m * slope
        return grown(-self.amplitude_m * value, slope * cosine * x / root, -slope * sine, self.growth, up_m)
