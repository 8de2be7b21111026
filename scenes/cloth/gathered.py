"""Upright waves of a sheet that its tube has gathered: highest in the upper middle, none at the tube and none further down."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from ...materials.dataclass import dataclass
from .shape import Heights


@dataclass(frozen=True)
class GatheredWaves:
    """Height = a cos(2 pi x / wavelength) cos^2(pi x / 2 w) sin^2(pi z / length) inside |x| < w, 0 < z < length; else none.

    amplitude_m   a [m];  wavelength_m  crest to crest [m];  half_width_m  w, of the gathered part [m]
    hold_up_m     up-coordinate of the tube [m];  length_m  from the tube to where the gathering ends [m]; z is the depth below it
    Source: waves across threads that are held flat at both ends of the gathered part; the squares, our own choice, let height
    and slope both end in nothing.
    """

    amplitude_m: float
    wavelength_m: float
    half_width_m: float
    hold_up_m: float
    length_m: float

    @property
    def finest_m(self) -> float:
        """The wavelength, or a whole hump of the envelope if that is shorter [m]. Source: definition."""
        return min(self.wavelength_m, self.length_m, 2.0 * self.half_width_m)

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """Heights [m] at places [m], any one shape. Source: the class's formula, product rule."""
        x, z = np.asarray(right_m, float), self.hold_up_m - np.asarray(up_m, float)
        inside = self._between(x) & self._below(z)  # often a small part of the cloth
        return _put(inside.shape, inside, self._inside(x[inside], z[inside]))

    def on_grid(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """Heights (rows, columns) [m] where rows of up_m (rows,) and columns of right_m (columns,) cross [m]; `at`, to the bit.

        Waves hang on the column alone and their fading on the row alone: few sines are asked for.
        """
        x, z = np.asarray(right_m, float), self.hold_up_m - np.asarray(up_m, float)
        columns, rows = self._between(x), self._below(z)
        return _put((len(z), len(x)), np.ix_(rows, columns), self._inside(x[None, columns], z[rows, None]))

    def _between(self, x: np.ndarray) -> np.ndarray:
        return np.abs(x) < self.half_width_m

    def _below(self, z: np.ndarray) -> np.ndarray:
        return (z > 0.0) & (z < self.length_m)

    def _inside(self, x: np.ndarray, z: np.ndarray) -> Heights:
        """The same in the gathered part alone: distance from the middle and depth below the tube [m], shapes that broadcast."""
        k, p, q = 2.0 * math.pi / self.wavelength_m, math.pi / self.half_width_m, 2.0 * math.pi / self.length_m
        across, down = 0.5 * (1.0 + np.cos(p * x)), 0.5 * (1.0 - np.cos(q * z))
        tall, wave = self.amplitude_m, np.cos(k * x)
        by_right = tall * down * (-k * np.sin(k * x) * across - 0.5 * p * wave * np.sin(p * x))
        by_up = -tall * wave * across * 0.5 * q * np.sin(q * z)
        return Heights(tall * wave * across * down, by_right, by_up)


def _put(shape: tuple[int, ...], where: Any, parts: Heights) -> Heights:
    """Heights of a shape that are nothing but in some places."""
    found = Heights(*(np.zeros(shape) for _ in parts))
    for whole, part in zip(found, parts, strict=True):
        whole[where] = part
    return found
