"""Gain profiles G(t): a constant base plus lobes, each falling with the deviation t from its axis.

Plain Python and numpy, so that solving a fabric compiles nothing. The kernels in lobes.py hold the same shapes.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any, cast

import numpy as np
import numpy.typing as npt

from ..dataclass import dataclass
from .family import Family, LobeRow

if TYPE_CHECKING:
    from .shapes import AnyLobe

NO_TABLE = np.zeros(0)
GAUSSIAN = "gaussian"
PLATEAU = "plateau"
COSINE_POWER = "cosine-power"
MIRROR, SOURCE = 1, -1

_nodes, _weights = np.polynomial.legendre.leggauss(64)
_nodes, _weights = 0.5 * (_nodes + 1.0), 0.5 * _weights


@dataclass(frozen=True)
class Lobe:
    """One lobe about the mirror direction (axis +1) or about the incoming one (axis -1).

    gain        height on the axis [1]
    parameters  gaussian: (sigma [rad],); plateau: (inner, outer edge as v = 1 - cos t [1]); cosine-power: (exponent,)
    fall        q of the entrance fall-off exp(-q sin^2) of both angles [1]; 0: none
    """

    family: str
    gain: float
    parameters: tuple[float, ...]
    axis: int = MIRROR
    fall: float = 0.0

    def shape(self, view_rad: npt.ArrayLike, azimuth_rad: npt.ArrayLike = 0.0) -> npt.NDArray[np.float64]:
        """Height relative to the axis [1], light along the normal, at view angles [rad], any shape; alike at all azimuths.

        Source: axis.axis_shape and the entrance fall-off of lobes.py, the same formulas with wi = n.
        """
        if self.fall > 0.0:
            fall = np.exp(-self.fall * np.sin(np.asarray(view_rad, dtype=float)) ** 2)
            return np.asarray(fall * replace(self, fall=0.0).shape(view_rad))
        t = np.asarray(view_rad, dtype=float)
        if self.family == GAUSSIAN:
            return np.asarray(np.exp(-0.5 * (t / self.parameters[0]) ** 2))
        v = 2.0 * np.sin(0.5 * t) ** 2
        if self.family == PLATEAU:
            inner, outer = self.parameters
            x = np.clip((outer - v) / (outer - inner), 0.0, 1.0)
            return np.asarray(x * x * (3.0 - 2.0 * x))
        return np.where(v < 1.0, np.maximum(1.0 - v, 0.0) ** self.parameters[0], 0.0)

    def unit_albedo(self) -> float:
        """Albedo of the lobe at normal incidence for gain 1: integral of shape(t) sin 2t over 0..90 degrees [1].

        With an entrance fall-off always by quadrature.
        Source: definition of the albedo; cos^n gives 2 / (n + 2); the plateau's polynomial is derived here with
        v = 1 - cos t, sin 2t dt = 2 (1 - v) dv; the Gaussian by 64-point Gauss-Legendre over its reach.
        """
        if self.family == COSINE_POWER and self.fall == 0.0:
            return 2.0 / (self.parameters[0] + 2.0)
        if self.family == PLATEAU and self.fall == 0.0:
            return _plateau_albedo(*self.parameters)
        reach = min(0.5 * math.pi, 8.5 * self.parameters[0]) if self.family == GAUSSIAN else 0.5 * math.pi
        t = reach * _nodes
        return float(reach * np.sum(_weights * self.shape(t) * np.sin(2.0 * t)))

    def table(self) -> npt.NDArray[np.float64]:
        """Numbers [1] that do not fit into a row: none."""
        return NO_TABLE

    def row(self, start: int = 0) -> LobeRow:
        """The eight numbers [1] of this lobe in FabricArrays.lobes; `start` is where its table begins, if it has one.

        Source: head of axis.py.
        """
        head = float(self.axis), self.gain
        if self.family == GAUSSIAN:
            (sigma,) = self.parameters
            mass = -math.expm1(-0.5 * (math.pi / sigma) ** 2)
            return LobeRow(Family.GAUSSIAN, *head, 0.5 / sigma**2, 2.0 * sigma**2, mass, self.fall, self.unit_albedo())
        if self.family == PLATEAU:
            inner, outer = self.parameters
            return LobeRow(Family.PLATEAU, *head, inner, outer, 1.0 / (outer - inner), self.fall, self.unit_albedo())
        return LobeRow(Family.COSINE_POWER, *head, self.parameters[0], fall=self.fall, albedo=self.unit_albedo())


def _plateau_albedo(inner: float, outer: float) -> float:
    """Albedo of 1 up to `inner`, smooth step to 0 at `outer`, both v = 1 - cos t; beyond v = 1 lies the wall."""
    width = outer - inner
    flat = min(inner, 1.0)
    total = flat * (2.0 - flat)
    if inner < 1.0:
        cut = max(0.0, (outer - 1.0) / width)  # x at the horizon; x runs from 0 at the outer edge to 1 at the inner
        step = 0.5 - (cut**3 - 0.5 * cut**4)  # integral of 3 x^2 - 2 x^3
        moment = 0.35 - (0.75 * cut**4 - 0.4 * cut**5)  # the same times x
        total += 2.0 * width * ((1.0 - outer) * step + width * moment)
    return total


@dataclass(frozen=True)
class Profile:
    """G(t) = base + sum of lobes [1], light along the normal, t the view angle; base = gain of the diffuse part [1]."""

    base: float
    lobes: tuple[AnyLobe, ...]

    @property
    def albedo(self) -> float:
        """Share of the light that the profile gives back at normal incidence [1]. Source: sum of its parts."""
        return self.base + sum(lobe.gain * lobe.unit_albedo() for lobe in self.lobes)

    def gain(self, view_rad: npt.ArrayLike, azimuth_rad: npt.ArrayLike = 0.0) -> npt.NDArray[np.float64]:
        """G at a view angle [rad] and azimuth from the right [rad], light along the normal, any shapes [1]. Source: sum of its parts."""
        total = np.full(np.broadcast_shapes(np.shape(view_rad), np.shape(azimuth_rad)), self.base)
        for lobe in self.lobes:
            total = total + lobe.gain * lobe.shape(view_rad, azimuth_rad)
        return total

    def scaled(self, factor: float, axis: int = MIRROR) -> Profile:
        """The same profile with all gains times `factor` [1], its lobes about `axis`."""
        scaled = [replace(cast(Any, lobe), gain=lobe.gain * factor, axis=axis) for lobe in self.lobes]
        return Profile(self.base * factor, tuple(scaled))


def mixed(first: Profile, second: Profile, share: float) -> Profile:
    """(1 - share) first + share second, share [1] in 0 .. 1; outside it the nearer of the two.

    Keeps reciprocity and what both have in common of peak and half-gain angle; the albedo is mixed in the same shares.
    Source: derived; gain and albedo are linear in base and lobes.
    """
    if share <= 0.0:
        return first
    if share >= 1.0:
        return second
    one, two = first.scaled(1.0 - share), second.scaled(share)
    return Profile(one.base + two.base, one.lobes + two.lobes)


def fall_to_half(base_share: float) -> float:
    """-ln x [1] of what a lobe on a base share f [1] must fall to for half the peak: f + (1 - f) x = 1/2.

    raises  ValueError at a base share from 1/2 to below 1: no x does
    Source: elementary.
    """
    return -math.log((0.5 - base_share) / (1.0 - base_share))


def standard(half_gain_rad: float, base_share: float, fall: float = 0.0) -> Profile:
    """f + (1 - f) exp(-t^2 / 2 s^2 - q sin^2 t), 1/2 at `half_gain_rad` [rad]; f = `base_share`, 0 to below 1/2.

    Source: s solves f + (1 - f) exp(-h^2 / 2 s^2 - q sin^2 h) = 1/2.
    """
    left = fall_to_half(base_share) - fall * math.sin(half_gain_rad) ** 2
    sigma = half_gain_rad / math.sqrt(2.0 * left)
    return Profile(base_share, (Lobe(GAUSSIAN, 1.0 - base_share, (sigma,), fall=fall),))


def cosine_power(half_gain_rad: float, base_share: float = 0.0, fall: float = 0.0) -> Profile:
    """f + (1 - f) cos^n t exp(-q sin^2 t), 1/2 at `half_gain_rad` [rad]. Source: n = ln(1/2) / ln(cos h) for f = q = 0."""
    v = 2.0 * math.sin(0.5 * half_gain_rad) ** 2
    left = fall_to_half(base_share) - fall * math.sin(half_gain_rad) ** 2
    return Profile(base_share, (Lobe(COSINE_POWER, 1.0 - base_share, (-left / math.log1p(-v),), fall=fall),))


SHARPEST = 1e-8  # edge width over v_h: the step has slope 0 at h, so rounding in v (1e-16) hardly moves G(h)


def ledge(half_gain_rad: float, sharpness: float) -> Profile:
    """Spike on a plateau of 1/2 that ends beyond h [rad]; sharpness 0..1 [1]. At 1 it reaches the least albedo, sin^2 h / 2.

    Source: the curve at the hard limit (judge.largest_gain); the family towards it is made here.
    """
    v_half = 2.0 * math.sin(0.5 * half_gain_rad) ** 2
    width = v_half * max(1.0 - sharpness, SHARPEST)
    plateau = Lobe(PLATEAU, 0.5, (v_half, v_half + width))
    return Profile(0.0, (plateau, Lobe(PLATEAU, 0.5, (0.0, width))))


def table_top(half_gain_rad: float, sharpness: float) -> Profile:
    """1 near the axis, 1/2 from h [rad] on; sharpness 0..1 [1]. At 1 it reaches the largest albedo, (1 + sin^2 h) / 2.

    Source: the curve at the upper end of judge.albedo_band; the family towards it is made here.
    """
    v_half = 2.0 * math.sin(0.5 * half_gain_rad) ** 2
    width = v_half * max(1.0 - sharpness, SHARPEST)
    return Profile(0.5, (Lobe(PLATEAU, 0.5, (v_half - width, v_half)),))
