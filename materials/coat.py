"""A fabric's clear top coat as data: the lobes beneath it, and its glint. Plain numpy, so that solving a fabric compiles nothing."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import numpy.typing as npt

from .dataclass import dataclass
from .fabric import Fabric
from .fabric_error import FabricError
from .lobes.family import LobeRow
from .lobes.profile import MIRROR, Lobe
from .lobes.shapes import AnyLobe, GrooveLobe, HalfVectorLobe, HoleLobe, RoughLobe

Array = npt.NDArray[np.float64]
ROUGHNESS = 0.1  # of a satin coat: half its glint within some 7 degrees (common practice, no source)

_turns = (np.arange(16) + 0.5) * np.pi / 8.0


@cache
def _rule() -> tuple[Array, Array]:
    """Nodes over the view angle [rad] and weights (200,) of Gauss and Legendre's rule. Source: numpy; 4 ms, for coats alone."""
    y, w = np.polynomial.legendre.leggauss(200)
    return 0.25 * np.pi * (y + 1.0), 0.25 * np.pi * w


def fresnel(index: float, cosine: npt.ArrayLike) -> Array:
    """Share [1] of unpolarised light sent back by a smooth coat of refractive index [1], any shape. Source: coat.fresnel, the same formula."""
    c = np.clip(np.asarray(cosine, float), 0.0, 1.0)
    inner = np.sqrt(index * index - 1.0 + c * c)
    across, along = (c - inner) / (c + inner), (index * index * c - inner) / (index * index * c + inner)
    return np.asarray(0.5 * (across**2 + along**2))


def _albedo(lobe: AnyLobe) -> float:
    """Albedo of a lobe at normal incidence for gain 1 [1]. Source: definition; Gauss-Legendre in the view angle, even turns."""
    nodes, weights = _rule()
    t, p = nodes[:, None], _turns
    return float((weights @ (np.broadcast_to(lobe.shape(t, p), (len(nodes), len(p))) * np.sin(2.0 * t))).mean())


@dataclass(frozen=True)
class CoatedLobe:
    """A lobe beneath a coat of refractive index `index` [1]."""

    inner: AnyLobe
    index: float

    @property
    def gain(self) -> float:
        """Height on the axis at normal incidence [1]: that of the finished sheet."""
        return self.inner.gain

    @property
    def axis(self) -> int:
        """MIRROR or SOURCE, as beneath."""
        return self.inner.axis

    def shape(self, view_rad: npt.ArrayLike, azimuth_rad: npt.ArrayLike = 0.0) -> Array:
        """Height relative to the axis [1], light along the normal. Source: coat.through_coat with wi = n."""
        t = np.minimum(np.asarray(view_rad, float), 0.5 * np.pi)
        passed = (1.0 - fresnel(self.index, np.cos(t))) / (1.0 - fresnel(self.index, 1.0))
        return np.asarray(self.inner.shape(view_rad, azimuth_rad) * passed)

    def unit_albedo(self) -> float:
        """Albedo at normal incidence for gain 1 [1]. Source: `_albedo`."""
        return _albedo(self)

    def table(self) -> Array:
        """Numbers [1] that do not fit into a row, those of the lobe beneath."""
        return self.inner.table()

    def row(self, start: int = 0) -> LobeRow:
        """The eight numbers [1] of FabricArrays.lobes. Source: the head of lobes/coat.py."""
        return self.inner.row(start)._replace(fall=-self.index, albedo=self.unit_albedo())


@dataclass(frozen=True)
class GlintLobe(HalfVectorLobe):
    """The coat's own reflection: a GGX lobe whose facets send back what Fresnel's law says."""

    index: float = 1.5

    def shape(self, view_rad: npt.ArrayLike, azimuth_rad: npt.ArrayLike = 0.0) -> Array:
        """Height relative to the axis [1], light along the normal. Source: coat.glint with wi = n: the half-vector's angle is half the view's."""
        there = fresnel(self.index, np.cos(0.5 * np.asarray(view_rad, float))) / fresnel(self.index, 1.0)
        return np.asarray(super().shape(view_rad, azimuth_rad) * there)

    def unit_albedo(self) -> float:
        """Albedo at normal incidence for gain 1 [1]. Source: `_albedo`."""
        return _albedo(self)

    def row(self, start: int = 0) -> LobeRow:
        """The eight numbers [1] of FabricArrays.lobes. Source: the head of lobes/coat.py."""
        return super().row(start)._replace(p2=self.index, albedo=self.unit_albedo())


def with_coat(fabric: Fabric, index: float, roughness: float | None) -> Fabric:
    """The fabric beneath a clear coat; its stated gain is that beside the coat's own glint.

    index      refractive index [1];  roughness  GGX alpha of its surface [1], None: ROUGHNESS
    raises     FabricError for grooves, for beads with an entrance fall-off, and where more would come back than arrives
    Source: lobes/coat.py.
    """
    alpha = ROUGHNESS if roughness is None else roughness
    for lobe in fabric.lobes:
        if isinstance(lobe, GrooveLobe):
            raise FabricError(
                "coat_index", index, "leave it out", "a louvred fabric's facets would each have a coat of their own"
            )
        if isinstance(lobe, RoughLobe):
            raise FabricError("coat_index", index, "leave it out", "a rough-diffuse ground under a coat is not served")
        if isinstance(lobe, Lobe) and lobe.fall > 0.0:
            raise FabricError("coat_index", index, "one of the two", "does not go together with an entrance fall-off")
    beneath: list[AnyLobe] = [lobe if isinstance(lobe, HoleLobe) else CoatedLobe(lobe, index) for lobe in fabric.lobes]
    if fabric.base_gain > 0.0:
        beneath.append(CoatedLobe(RoughLobe(fabric.base_gain, 0.0), index))
    own = GlintLobe(float(fresnel(index, 1.0)) / (4.0 * alpha * alpha), alpha, alpha, MIRROR, index)
    lobes = (*beneath, own)
    albedo = sum(lobe.gain * lobe.unit_albedo() for lobe in lobes)
    if albedo > 1.0:
        raise FabricError("coat_index", index, "less, or a lower gain", "more light comes back than arrives")
    taken = f"roughness {alpha:g}" + (" (common practice, no source)" if roughness is None else "")
    at_65 = 100.0 * float(fresnel(index, np.cos(np.radians(65.0))))
    note = f"clear coat of refractive index {index:g}, {taken}: it mirrors {at_65:.0f} % at 65 degrees; the stated gain is that beside its glint"
    return replace(
        fabric, base_gain=0.0, lobes=lobes, albedo=albedo, albedo_band=(albedo, albedo), assumed=(*fabric.assumed, note)
    )


def finest_deg(fabric: Fabric) -> float:
    """Half-gain angle of the narrowest part of a fabric [deg], 90 for a diffuse one: how finely its light must be sampled.

    Source: a GGX lobe of roughness a falls to half at a half-vector tilt of tan t = a sqrt(sqrt 2 - 1), seen at twice that.
    """
    own = [2.0 * float(np.degrees(np.arctan(0.6436 * lobe.alpha_up))) for lobe in fabric.lobes if isinstance(lobe, GlintLobe)]
    return min([fabric.half_gain_deg or 90.0, *own])
