"""The lobes that are no plain functions of a deviation, as data: half-vector, elliptic, rough, holes, grooves.

Each has what `profile.Lobe` has: gain, axis, the shape at normal incidence, the albedo there, a row and a table for the
kernels. Plain numpy, so that solving a fabric compiles nothing.
"""

from __future__ import annotations

import math
from typing import Protocol

import numpy as np
import numpy.typing as npt

from ..dataclass import dataclass
from .family import Family, LobeRow
from .groove_table import Groove, groove_table
from .profile import MIRROR, NO_TABLE

Array = npt.NDArray[np.float64]

_y, _w = np.polynomial.legendre.leggauss(64)
_nodes, _weights = 0.5 * (_y + 1.0), 0.5 * _w
_turns = (np.arange(64) + 0.5) * math.pi / 32.0


class AnyLobe(Protocol):
    """What every lobe offers."""

    @property
    def gain(self) -> float:
        """Height on the axis at normal incidence [1]. Source: definition of gain, CIE S 017."""

    @property
    def axis(self) -> int:
        """MIRROR or SOURCE: the direction about which the lobe stands off normal."""

    def shape(self, view_rad: npt.ArrayLike, azimuth_rad: npt.ArrayLike = 0.0) -> Array:
        """Height relative to the axis [1], light along the normal, any shapes; view angle [rad], azimuth from the right [rad]."""

    def unit_albedo(self) -> float:
        """Albedo at normal incidence for gain 1 [1]."""

    def table(self) -> Array:
        """Numbers [1] that do not fit into a row, (m,); empty for most lobes."""

    def row(self, start: int = 0) -> LobeRow:
        """The eight numbers [1] of FabricArrays.lobes; `start`: where the table begins."""


class _WithoutTable:
    def table(self) -> Array:
        """Numbers [1] that do not fit into a row: none."""
        return NO_TABLE


@dataclass(frozen=True)
class HalfVectorLobe(_WithoutTable):
    """A GGX lobe, see microfacet.py; alpha = roughness to the right and up [1]."""

    gain: float
    alpha_right: float
    alpha_up: float
    axis: int = MIRROR

    @property
    def reflectance(self) -> float:
        """F, what the facets give back [1]. Source: gain on the axis = F / (4 a_right a_up)."""
        return 4.0 * self.alpha_right * self.alpha_up * self.gain

    def shape(self, view_rad: npt.ArrayLike, azimuth_rad: npt.ArrayLike = 0.0) -> Array:
        """Height relative to the axis, light along the normal [1]. Source: microfacet.py with wi = n."""
        t, p = np.broadcast_arrays(np.asarray(view_rad, float), np.asarray(azimuth_rad, float))
        ax, ay = self.alpha_right, self.alpha_up
        tangent = np.tan(0.5 * t) ** 2
        steep = tangent * ((np.cos(p) / ax) ** 2 + (np.sin(p) / ay) ** 2)
        cosine = np.maximum(np.cos(t), 1e-300)
        spread = (ax * np.cos(p)) ** 2 + (ay * np.sin(p)) ** 2
        seen = cosine + np.sqrt(cosine**2 + spread * np.sin(t) ** 2)
        return np.asarray(2.0 * ((1.0 + tangent) / (1.0 + steep)) ** 2 / seen)

    def unit_albedo(self) -> float:
        """Albedo at normal incidence for gain 1 [1].

        Source: facets drawn by D cos: tan = a sqrt(u / (1 - u)); the mean of 1 / (1 + L(wo)) over u and turn is the
        albedo for F = 1; a facet steeper than 45 degrees sends light below.
        """
        ax, ay = self.alpha_right, self.alpha_up
        p = (_turns if ax != ay else _turns[:1])[:, None]
        square = 1.0 / ((np.cos(p) / ax) ** 2 + (np.sin(p) / ay) ** 2)  # along this turn of the sheet, a^2
        last = 1.0 / (1.0 + square)
        u = last * _nodes
        slope = np.sqrt(square * u / (1.0 - u))
        spread = np.hypot(ax * np.cos(p), ay * np.sin(p)) * 2.0 * slope / (1.0 - slope**2)
        shade = 0.5 * (np.sqrt(1.0 + spread**2) - 1.0)
        return float(4.0 * np.sum(square * last * _weights / (1.0 + shade)) / len(p))

    def row(self, start: int = 0) -> LobeRow:
        """The eight numbers [1] of FabricArrays.lobes. Source: the head of the family's file."""
        return LobeRow(Family.GGX, self.axis, self.gain, self.alpha_right, self.alpha_up, albedo=self.unit_albedo())


@dataclass(frozen=True)
class EllipticLobe(_WithoutTable):
    """A Gaussian in the direction cosines, see cloth.py; widths in sines [1]."""

    gain: float
    width_right: float
    width_up: float
    axis: int = MIRROR

    def _steepness(self, azimuth: npt.ArrayLike) -> Array:
        p = np.asarray(azimuth, float)
        return np.asarray(0.5 * ((np.cos(p) / self.width_right) ** 2 + (np.sin(p) / self.width_up) ** 2))

    def shape(self, view_rad: npt.ArrayLike, azimuth_rad: npt.ArrayLike = 0.0) -> Array:
        """Height relative to the axis, light along the normal [1]. Source: sheet.ellipse_value."""
        t = np.asarray(view_rad, float)
        return np.where(t <= 0.5 * math.pi, np.exp(-self._steepness(azimuth_rad) * np.sin(t) ** 2), 0.0)

    def unit_albedo(self) -> float:
        """Mass over the unit disc / pi [1]. Source: integral of exp(-e r^2) r dr = (1 - exp(-e)) / 2 e, then the turn."""
        e = self._steepness(2.0 * math.pi * np.arange(1024) / 1024)
        return float(np.mean(-np.expm1(-e) / e))

    def row(self, start: int = 0) -> LobeRow:
        """The eight numbers [1] of FabricArrays.lobes. Source: the head of the family's file."""
        mass = -math.expm1(-2.0 / min(self.width_right, self.width_up) ** 2)
        widths = self.width_right, self.width_up
        return LobeRow(Family.ELLIPSE, self.axis, self.gain, *widths, mass, albedo=self.unit_albedo())


@dataclass(frozen=True)
class RoughLobe(_WithoutTable):
    """Rough diffuse cloth, see cloth.py: gain at normal incidence [1], b [1], and 0 or 1 for the variant."""

    gain: float
    b: float
    under: float = 0.0
    axis: int = MIRROR

    def shape(self, view_rad: npt.ArrayLike, azimuth_rad: npt.ArrayLike = 0.0) -> Array:
        """Height [1]: 1 wherever the light comes along the normal. Source: sheet.rough_value at that incidence."""
        return np.ones(np.broadcast_shapes(np.shape(view_rad), np.shape(azimuth_rad)))

    def unit_albedo(self) -> float:
        """Albedo at normal incidence for gain 1 [1]: it is diffuse there. Source: Lambert."""
        return 1.0

    def albedo(self, incidence_rad: npt.ArrayLike) -> Array:
        """Directional albedo of the lobe [1]. Source: sheet.rough_albedo, the same integrals."""
        t = np.minimum(np.asarray(incidence_rad, float), 0.5 * math.pi - 1e-9)
        sine, cosine = np.sin(t), np.cos(t)
        more = sine * (t - sine * cosine) + 2.0 * np.tan(t) * (1.0 - sine**3) / 3.0
        return np.asarray(self.gain * (1.0 + self.b * (more - 2.0 / 3.0 * self.under * sine) / math.pi))

    def row(self, start: int = 0) -> LobeRow:
        """The eight numbers [1] of FabricArrays.lobes. Source: the head of the family's file."""
        return LobeRow(Family.ROUGH, self.axis, self.gain, self.b, self.under, albedo=1.0)


@dataclass(frozen=True)
class HoleLobe(_WithoutTable):
    """Light that comes back through the holes: gain at normal incidence [1], and depth or threads [1] as in cloth.open_share."""

    gain: float
    depth: float = 0.0
    thread_right: float = 0.0
    thread_up: float = 0.0
    axis: int = MIRROR

    def shape(self, view_rad: npt.ArrayLike, azimuth_rad: npt.ArrayLike = 0.0) -> Array:
        """Height relative to the normal, light along the normal [1]. Source: `open_share`."""
        from .perforation import open_share

        return open_share(view_rad, azimuth_rad, self.depth, self.thread_right, self.thread_up)

    def unit_albedo(self) -> float:
        """Mean of the open share over the half-space by the cosine law [1]. Source: definition; Gauss in sin^2, even turns."""
        t = np.arcsin(np.sqrt(_nodes))[:, None]
        return float(np.sum(_weights[:, None] * self.shape(t, _turns)) / len(_turns))

    def row(self, start: int = 0) -> LobeRow:
        """The eight numbers [1] of FabricArrays.lobes. Source: the head of the family's file."""
        holes = self.depth, self.thread_right, self.thread_up
        return LobeRow(Family.HOLES, self.axis, self.gain, *holes, albedo=self.unit_albedo())


@dataclass(frozen=True)
class GrooveLobe:
    """A saw-tooth groove, see groove.py; gain scales it (1: the groove as it is)."""

    gain: float
    groove: Groove
    axis: int = MIRROR

    def shape(self, view_rad: npt.ArrayLike, azimuth_rad: npt.ArrayLike = 0.0) -> Array:
        """Gain of the groove, light along the normal [1]; not 1 on the axis. Source: groove_table.py."""
        t, p = np.broadcast_arrays(np.asarray(view_rad, float), np.asarray(azimuth_rad, float))
        right, up = self.groove.across
        tangent = np.tan(np.minimum(t, 0.5 * math.pi - 1e-9)) * (np.cos(p) * right + np.sin(p) * up)
        flat = self.groove.gain(np.zeros(tangent.size), tangent.ravel())
        return np.where(t < 0.5 * math.pi, flat.reshape(tangent.shape), 0.0)

    def unit_albedo(self) -> float:
        """Albedo of the groove at normal incidence [1]. Source: groove_table.py."""
        return float(self.groove.albedo(0.0)[0])

    def table(self) -> Array:
        """The table of groove.py [1]. Source: `groove_table`."""
        return groove_table(self.groove)

    def row(self, start: int = 0) -> LobeRow:
        """The eight numbers [1] of FabricArrays.lobes. Source: the head of the family's file."""
        return LobeRow(Family.GROOVE, self.axis, self.gain, float(start), albedo=self.unit_albedo())
