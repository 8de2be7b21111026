"""A gain curve measured at normal incidence, made into a lobe: ln G by monotone cubics, then an even table for the kernels.

A curve at normal incidence does not determine what happens off normal: the lobe's axis (mirror or source) is the user's
choice, and the spread between the two is part of what the model does not know.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from ..dataclass import dataclass
from .family import Family, LobeRow
from .profile import MIRROR

Array = npt.NDArray[np.float64]

CELLS = 256
LEAST_SHARE = 1e-6  # of the peak: a gain of 0 has no logarithm


@dataclass(frozen=True)
class MeasuredCurve:
    """Gain against view angle, light along the normal: angles [deg] rising from 0, gains [1] from 0 up."""

    view_deg: tuple[float, ...]
    gains: tuple[float, ...]

    def gain(self, view_rad: npt.ArrayLike) -> Array:
        """Gain at view angles [rad]; held beyond the last one.

        Source: Fritsch and Carlson, SIAM J. Numer. Anal. 17, 1980, with Butland's slopes (from memory): never a new hump.
        """
        x = np.radians(self.view_deg)
        y = np.log(np.maximum(self.gains, LEAST_SHARE * max(self.gains)))
        t = np.clip(np.asarray(view_rad, float), x[0], x[-1])
        return np.asarray(np.exp(_monotone(x, y, t)))

    @property
    def tail(self) -> float:
        """The least gain, which the fabric's diffuse base takes [1]. Source: definition."""
        return float(np.min(self.gain(np.radians(self.view_deg))))

    def albedo(self) -> float:
        """Integral of G sin 2t over 0..90 degrees [1]; the last gain is held to 90 degrees. Source: albedo of a curve about the normal, derived."""
        edges = np.unique(np.concatenate([np.radians(self.view_deg), [0.0, 0.5 * math.pi]]))
        y, w = np.polynomial.legendre.leggauss(16)
        half, middle = 0.5 * np.diff(edges)[:, None], 0.5 * (edges[1:] + edges[:-1])[:, None]
        t = middle + half * y
        return float(np.sum(half * w * self.gain(t) * np.sin(2.0 * t)))

    @property
    def falls(self) -> bool:
        """True where no gain is above the one before it."""
        return all(b <= a for a, b in pairwise(self.gains))

    def half_gain_deg(self) -> float | None:
        """Angle at which the curve first falls to half its gain at the normal [deg]; None where it does not. Source: definition."""
        t = np.linspace(0.0, math.radians(self.view_deg[-1]), 20_001)
        below = self.gain(t) <= 0.5 * self.gain(0.0)
        return float(np.degrees(t[np.argmax(below)])) if below.any() else None


def _slopes(x: Array, y: Array) -> Array:
    """Slopes of the monotone cubic at its nodes: weighted harmonic means inside, three-point rule at the ends."""
    step, rise = np.diff(x), np.diff(y) / np.diff(x)
    if len(x) == 2:
        return np.repeat(rise, 2)
    slope = np.zeros(len(x))
    same = rise[1:] * rise[:-1] > 0.0
    a, b = 2.0 * step[1:] + step[:-1], step[1:] + 2.0 * step[:-1]
    with np.errstate(divide="ignore", invalid="ignore"):
        slope[1:-1] = np.where(same, (a + b) / (a / rise[:-1] + b / rise[1:]), 0.0)
    for end, near, far in ((0, 0, 1), (-1, -1, -2)):
        d = ((2.0 * step[near] + step[far]) * rise[near] - step[near] * rise[far]) / (step[near] + step[far])
        if d * rise[near] <= 0.0:
            d = 0.0
        elif rise[near] * rise[far] <= 0.0 and abs(d) > 3.0 * abs(rise[near]):
            d = 3.0 * rise[near]
        slope[end] = d
    return slope


def _monotone(x: Array, y: Array, t: Array) -> Array:
    slope = _slopes(x, y)
    i = np.clip(np.searchsorted(x, t, side="right") - 1, 0, len(x) - 2)
    step = x[i + 1] - x[i]
    p = (t - x[i]) / step
    a, b = y[i], y[i + 1]
    m, n = slope[i] * step, slope[i + 1] * step
    return np.asarray(a + p * (m + p * (3.0 * (b - a) - 2.0 * m - n + p * (m + n - 2.0 * (b - a)))))


@dataclass(frozen=True)
class MeasuredLobe:
    """What a measured curve has above its least gain, about an axis.

    gain   its height at the normal [1];  axis  MIRROR or SOURCE
    fall   q of an entrance fall-off exp(-q sin^2) of both angles [1], see lobes.py; 0: none
    """

    gain: float
    curve: MeasuredCurve
    axis: int = MIRROR
    fall: float = 0.0

    def shape(self, view_rad: npt.ArrayLike, azimuth_rad: npt.ArrayLike = 0.0) -> Array:
        """Height relative to the axis, light along the normal [1]; alike at all azimuths. Source: the curve."""
        height = (self.curve.gain(view_rad) - self.curve.tail) / self._height
        return np.asarray(height * np.exp(-self.fall * np.sin(np.asarray(view_rad, float)) ** 2))

    @property
    def _height(self) -> float:
        return max(float(self.curve.gain(0.0)) - self.curve.tail, 1e-300)

    def unit_albedo(self) -> float:
        """Albedo at normal incidence for gain 1 [1]. Source: `MeasuredCurve.albedo`."""
        if self.fall == 0.0:
            return (self.curve.albedo() - self.curve.tail) / self._height
        y, w = np.polynomial.legendre.leggauss(512)
        t = 0.25 * math.pi * (y + 1.0)
        return float(0.25 * math.pi * np.sum(w * self.shape(t) * np.sin(2.0 * t)))

    def table(self) -> Array:
        """Table of axis.measured_shape, (3 CELLS + 4,) [1].

        Height and slope times step at CELLS + 1 nodes even in x = sin(t / 2); then the cumulated mass, 0 to 1, of the cells
        and of what lies beyond the last angle.
        Source: slopes of the monotone cubic, as in `MeasuredCurve.gain`; a cell's mass is its mean height times its width in v.
        """
        last = self._last
        x = last * np.arange(CELLS + 1) / CELLS
        plain = MeasuredLobe(self.gain, self.curve)
        height = plain.shape(2.0 * np.arcsin(x))
        slope = _slopes(x, height) * last / CELLS
        v = np.append(2.0 * x * x, 2.0)
        level = np.append(height, height[-1])
        mass = np.maximum(0.5 * (level[1:] + level[:-1]), 1e-9 * max(height)) * np.diff(v)
        mass[-1] = level[-1] * (2.0 - v[-2])
        summed = np.concatenate([[0.0], np.cumsum(mass)]) / np.sum(mass)
        return np.concatenate([np.column_stack([height, slope]).ravel(), summed])

    @property
    def _last(self) -> float:
        return math.sin(0.5 * math.radians(self.curve.view_deg[-1]))

    def row(self, start: int = 0) -> LobeRow:
        """The eight numbers [1] of FabricArrays.lobes. Source: head of axis.py."""
        return LobeRow(
            Family.MEASURED, self.axis, self.gain, float(start), float(CELLS), self._last, self.fall, self.unit_albedo()
        )
