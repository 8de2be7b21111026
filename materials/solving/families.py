"""The families of lobes that a curve is fitted with: what each has to be found, and the lobe that follows."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from ..dataclass import dataclass
from ..lobes.axis import FabricArrays
from ..lobes.brdf import fabric_gains
from ..lobes.profile import COSINE_POWER, GAUSSIAN, MIRROR, SOURCE, Lobe
from ..lobes.shapes import AnyLobe, EllipticLobe, HalfVectorLobe, RoughLobe

Array = npt.NDArray[np.float64]

BASE, LOBE = "base_gain", "lobe_gain"


@dataclass(frozen=True)
class CurveFamily:
    """A sort of lobe, with or without a diffuse base.

    shape      names of what sets its shape, with units; each with its least and largest value
    lobe       unit lobe from those values and an axis; None: diffuse base alone
    axis       MIRROR or SOURCE; counts where some light does not come along the normal
    with_base  True where a diffuse base is fitted beside the lobe
    needs      "oblique": only told from others by light off the normal; "two planes": by views in two planes; "": always
    """

    name: str
    shape: tuple[tuple[str, float, float], ...]
    lobe: Callable[[Array, int], AnyLobe] | None
    axis: int = MIRROR
    with_base: bool = True
    needs: str = ""

    @property
    def parameters(self) -> tuple[str, ...]:
        """Names of all that is fitted, heights first."""
        heights = ((BASE,) if self.with_base else ()) + ((LOBE,) if self.lobe is not None else ())
        return heights + tuple(name for name, _, _ in self.shape)


def _gaussian(p: Array, axis: int) -> AnyLobe:
    return Lobe(GAUSSIAN, 1.0, (math.radians(p[0]),), axis)


def _beads(p: Array, axis: int) -> AnyLobe:
    fall = 0.5 * math.log(2.0) / math.sin(math.radians(p[1])) ** 2
    return Lobe(GAUSSIAN, 1.0, (math.radians(p[0]),), axis, fall)


def _cosine(p: Array, axis: int) -> AnyLobe:
    return Lobe(COSINE_POWER, 1.0, (float(p[0]),), axis)


def _half_vector(p: Array, axis: int) -> AnyLobe:
    return HalfVectorLobe(1.0, float(p[0]), float(p[0]), axis)


def _elliptic(p: Array, axis: int) -> AnyLobe:
    return EllipticLobe(1.0, float(p[0]), float(p[1]), axis)


def _rough(p: Array, axis: int) -> AnyLobe:
    square = math.radians(p[0]) ** 2
    return RoughLobe(1.0, 0.45 * square / (square + 0.09) / (1.0 - 0.5 * square / (square + 0.33)))


_SIGMA = ("sigma_deg", 1.0, 75.0)
_WIDTHS = (("width_right_sine", 0.02, 3.0), ("width_up_sine", 0.02, 3.0))
_ENTRANCE = ("entrance_half_deg", 5.0, 89.0)

DIFFUSE_FAMILY = CurveFamily("diffuse", (), None)
_LOBES = (
    CurveFamily("gaussian", (_SIGMA,), _gaussian),
    CurveFamily("cosine-power", (("exponent", 0.05, 2000.0),), _cosine),
    CurveFamily("half-vector", (("roughness", 0.01, 0.48),), _half_vector),
    CurveFamily("elliptic gaussian", _WIDTHS, _elliptic, needs="two planes"),
)
FAMILIES: tuple[CurveFamily, ...] = (
    DIFFUSE_FAMILY,
    CurveFamily("rough-diffuse", (("roughness_deg", 0.0, 57.0),), _rough, with_base=False, needs="oblique"),
    *(
        CurveFamily(
            ("retro " if axis == SOURCE else "") + family.name + (" on a base" if base else ""),
            family.shape,
            family.lobe,
            axis,
            base,
            family.needs,
        )
        for axis in (MIRROR, SOURCE)
        for family in _LOBES
        for base in (False, True)
    ),
    CurveFamily("retro gaussian on a base, entrance fall-off", (_SIGMA, _ENTRANCE), _beads, SOURCE, True, "oblique"),
)


def lobe_gains(lobe: AnyLobe, wi: Array, wo: Array) -> Array:
    """Height of a lobe between directions (n, 3), its own gain included, (n,) [1]. Source: the kernels that scenes use."""
    arrays = FabricArrays(np.zeros(1), np.array(lobe.row(0), dtype=float).reshape(1, -1), np.ones(3), np.array(lobe.table()))
    for array in arrays:
        array.flags.writeable = False
    return np.asarray(fabric_gains(arrays, wi, wo))
