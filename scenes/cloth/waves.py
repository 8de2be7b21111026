"""Waves: straight crests over the whole cloth, and a seeded mix of many."""

from __future__ import annotations

import math
import random

import numpy as np

from ...materials.dataclass import dataclass
from .shape import Across, Growth, Heights, flat_heights, grown


@dataclass(frozen=True)
class Wave:
    """Height = amplitude cos(2 pi s / wavelength + phase), times a growth with depth.

    amplitude_m  half of crest to trough [m], at the lower edge of the white area where it grows
    wavelength_m  crest to crest [m];  phase_rad  0: a crest at s = 0 [rad]
    Source: the project's own form; a thread of excess length buckles into a sine (elastica of small slope).
    """

    amplitude_m: float
    wavelength_m: float
    across: Across
    growth: Growth
    phase_rad: float = 0.0

    @property
    def finest_m(self) -> float:
        """The wavelength [m]. Source: definition."""
        return self.wavelength_m

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """Heights [m] at places. Source: see the class."""
        s, to_right, to_up = self.across.at(right_m, up_m)
        k = 2.0 * math.pi / self.wavelength_m
        angle = k * s + self.phase_rad
        slope = -self.amplitude_m * k * np.sin(angle)
        return grown(self.amplitude_m * np.cos(angle), slope * to_right, slope * to_up, self.growth, up_m)


@dataclass(frozen=True)
class Mix:
    """Many waves whose directions, lengths and phases are drawn once from a seed; its rms height is that of one such wave."""

    waves: tuple[Wave, ...]

    @property
    def finest_m(self) -> float:
        """The shortest wavelength [m]. Source: definition."""
        return min(wave.wavelength_m for wave in self.waves)

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """Heights [m] at places: the sum of the waves. Source: superposition."""
        total = flat_heights(right_m)
        for wave in self.waves:
            for whole, part in zip(total, wave.at(right_m, up_m), strict=True):
                whole += part
        return total


MIX_WAVES = 24


def seeded_mix(
    *, amplitude_m: float, shortest_m: float, longest_m: float, angle_rad: float, spread_rad: float, growth: Growth, seed: int
) -> Mix:
    """A mix of MIX_WAVES waves: lengths even in their logarithm, directions even within +- spread of `angle_rad` [rad].

    shortest_m, longest_m  range of the wavelengths [m];  seed  any whole number: the same seed, the same mix
    Each has amplitude / sqrt(MIX_WAVES), so that the mix has the rms height of a single wave of `amplitude_m`.
    Source: sum of independent waves, variances add; the generator is Python's own, whose stream is fixed by its documentation.
    """
    draw = random.Random(seed)
    each = amplitude_m / math.sqrt(MIX_WAVES)
    waves = []
    for _ in range(MIX_WAVES):
        length = shortest_m * (longest_m / shortest_m) ** draw.random()
        angle = angle_rad + spread_rad * (2.0 * draw.random() - 1.0)
        waves.append(Wave(each, length, Across(angle), growth, 2.0 * math.pi * draw.random()))
    return Mix(tuple(waves))
