"""Profiles of peak 1 that fall to half at stated angles, with the albedo or the diffuse base one asks for."""

from __future__ import annotations

import math
from collections.abc import Callable

from ..dataclass import dataclass
from ..fabric_error import FabricError
from ..lobes.profile import Profile, cosine_power, fall_to_half, ledge, mixed, standard, table_top
from ..lobes.shapes import EllipticLobe, HalfVectorLobe
from ..text.word import check_word

GAUSSIAN, COSINE_POWER, HALF_VECTOR = "gaussian", "cosine-power", "half-vector"
LOBES = (GAUSSIAN, COSINE_POWER, HALF_VECTOR)

DEFAULT_BASE_SHARE = 0.3  # common practice, no source
DEFAULT_ALBEDO_CAP = 0.95  # white pigments give back 0.95 to 0.99 (common practice, no source)
LARGEST_BASE_SHARE = 0.45  # towards 1/2 the lobe shrinks to a spike
HALF_VECTOR_LARGEST_DEG = 60.0  # roughness against half-gain angle turns back near 70 degrees


@dataclass(frozen=True)
class PairShape:
    """What fixes a profile besides its base share: lobe, half-gain angles across and up [rad], entrance fall-off q [1].

    raises  UnknownWord for a lobe that is none of LOBES
    """

    half_gain_rad: float
    lobe: str = GAUSSIAN
    half_gain_up_rad: float | None = None
    fall: float = 0.0

    def __post_init__(self) -> None:
        check_word("lobe", self.lobe, LOBES)

    @property
    def plain(self) -> bool:
        """True for the usual round Gaussian, which reaches every albedo that energy allows (see `profile_of_albedo`)."""
        return self.lobe == GAUSSIAN and self.half_gain_up_rad is None and self.fall == 0.0

    def profile(self, base_share: float) -> Profile:
        """f + (1 - f) lobe, 1/2 at the half-gain angles; f = base share, 0 to below 1/2 [1].

        raises  ValueError at a base share from 1/2 to below 1: such a profile never falls to half
        Source: `standard`, `cosine_power`, `ggx_roughness`; the ellipse's widths in sines so that each plane falls to half.
        """
        up = self.half_gain_up_rad
        if self.lobe == HALF_VECTOR:
            right = ggx_roughness(self.half_gain_rad, base_share)
            other = right if up is None else ggx_roughness(up, base_share)
            return Profile(base_share, (HalfVectorLobe(1.0 - base_share, right, other),))
        if up is not None:
            width = math.sqrt(2.0 * fall_to_half(base_share))
            sines = math.sin(self.half_gain_rad) / width, math.sin(up) / width
            return Profile(base_share, (EllipticLobe(1.0 - base_share, *sines),))
        if self.lobe == COSINE_POWER:
            return cosine_power(self.half_gain_rad, base_share, self.fall)
        return standard(self.half_gain_rad, base_share, self.fall)

    def of_albedo(self, albedo: float, gain: float) -> Profile:
        """The profile of peak 1 whose albedo is `albedo` [1], found by its base share.

        gain    only for the words of the error [1]
        raises  FabricError where no base share up to LARGEST_BASE_SHARE does
        Source: bisection between ten base shares.
        """
        shares = [LARGEST_BASE_SHARE * i / 9.0 for i in range(10)]
        values = [self.profile(f).albedo for f in shares]
        for i in range(9):
            if min(values[i], values[i + 1]) <= albedo <= max(values[i], values[i + 1]):
                return self.profile(_bisected(lambda f: self.profile(f).albedo, albedo, shares[i], shares[i + 1]))
        raise FabricError(
            "albedo",
            f"{gain * albedo:.6g}",
            f"{gain * min(values):.4f} to {gain * max(values):.4f}",
            f"a lobe of this sort ({self.lobe}) on a diffuse base does not reach this albedo",
        )


def ggx_roughness(half_gain_rad: float, base_share: float) -> float:
    """Roughness a [1] of the GGX lobe that falls with its base to half at this view angle [rad], light along the normal.

    base_share  0 to below 1/2 [1]
    Source: bisection on the lobe's formula (microfacet.py), rising in a up to the largest half-gain angle allowed.
    """
    target = math.exp(-fall_to_half(base_share))
    return _bisected(
        lambda a: float(HalfVectorLobe(1.0, a, a).shape(half_gain_rad)), target, 1e-6, 2.0 * math.tan(0.5 * half_gain_rad)
    )


def profile_of_albedo(half_gain_rad: float, albedo: float) -> tuple[Profile, bool]:
    """Falling curve with peak 1, 1/2 at h [rad] and the asked albedo [1]; True beside it where a smooth lobe does.

    Base plus Gaussian where that reaches; then a blend with cos^n; beyond, a blend with a curve on the way to the
    extreme ones, and only past that sharper edges. Albedo outside the band gives the nearest end.
    Source: made here; a blend keeps peak and half-gain angle, and its albedo is linear in the share.
    """
    shares = [LARGEST_BASE_SHARE * i / 9.0 for i in range(10)]
    values = [standard(half_gain_rad, f).albedo for f in shares]
    for i in range(9):
        if min(values[i], values[i + 1]) <= albedo <= max(values[i], values[i + 1]):
            share = _bisected(lambda f: standard(half_gain_rad, f).albedo, albedo, shares[i], shares[i + 1])
            return standard(half_gain_rad, share), True
    smooth = [standard(half_gain_rad, f) for f in shares] + [cosine_power(half_gain_rad)]
    below, above = min(smooth, key=lambda p: p.albedo), max(smooth, key=lambda p: p.albedo)
    if below.albedo <= albedo <= above.albedo:
        return _blend(below, above, albedo), True
    extreme, start = (ledge, below) if albedo < below.albedo else (table_top, above)
    soft = extreme(half_gain_rad, 0.0)
    if min(soft.albedo, start.albedo) <= albedo <= max(soft.albedo, start.albedo):
        return _blend(start, soft, albedo), False
    sharpness = _bisected(lambda x: extreme(half_gain_rad, x).albedo, albedo, 0.0, 1.0)
    return extreme(half_gain_rad, sharpness), False


def _blend(first: Profile, second: Profile, albedo: float) -> Profile:
    return mixed(first, second, (albedo - first.albedo) / (second.albedo - first.albedo))


def _bisected(function: Callable[[float], float], target: float, low: float, high: float) -> float:
    """Where a monotone function meets the target; the nearer end if it does not."""
    rising = function(high) >= function(low)
    for _ in range(60):
        middle = 0.5 * (low + high)
        if (function(middle) < target) == rising:
            low = middle
        else:
            high = middle
    return high if rising == (target >= function(high)) else low
