"""Lamps without a photometric file: their distribution from a beam angle alone."""

from __future__ import annotations

import math

import numpy as np

from .photometry import Photometry

_STEP_DEG = 0.5


def even(flux_lm: float) -> Photometry:
    """A point that shines alike in all directions [lm]: I = flux / 4 pi. Source: definition."""
    return Photometry(np.array([0.0, 360.0]), np.array([0.0, 180.0]), np.full((2, 2), flux_lm / (4.0 * math.pi)), None)


def beam_exponent(beam_deg: float) -> float:
    """n of I = I0 cos^n [1] that falls to half at half the beam angle [deg]; a beam of 120 deg is a Lambertian disc's.

    Source: definition of the beam angle (between directions of half the axial intensity, CIE S 017 ILV 17-27-026, from memory).
    """
    return math.log(0.5) / math.log(math.cos(math.radians(0.5 * beam_deg)))


def beam(flux_lm: float, beam_deg: float) -> Photometry:
    """A lamp that shines along its axis, I = I0 cos^n [cd], by its flux [lm] and beam angle [deg].

    Steps are fine enough that between them the interpolated flux is that asked, exactly, and intensities are within 2e-4 of I0.
    Source: integral of cos^n over the half-space = 2 pi / (n + 1); scaled so that the flux is exact.
    """
    n = beam_exponent(beam_deg)
    step = min(_STEP_DEG, beam_deg / 100.0)
    wide = 90.0 - 10.0 * np.linspace(0.0, 1.0, 41) ** 3  # beams above 120 deg fall steeply at the very end
    gamma = np.unique(np.concatenate([np.linspace(0.0, 90.0, math.ceil(90.0 / step) + 1), wide]))
    shape = np.maximum(np.cos(np.radians(gamma)), 0.0) ** n
    shape[-1] = 0.0
    made = Photometry(np.array([0.0, 360.0]), gamma, np.stack([shape, shape]))
    return made.scaled(flux_lm / made.flux_lm)
