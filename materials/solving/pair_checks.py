"""What a sheet says of a fabric with a lobe, and what is refused at once: kinds, ranges, keys that do not go together."""

from __future__ import annotations

import math

from ..dataclass import dataclass
from ..fabric import ANGULAR, DIFFUSE, PAIR_KINDS, RETRO
from ..fabric_error import FabricError
from ..tint import luminance
from .pair import GAUSSIAN, HALF_VECTOR, HALF_VECTOR_LARGEST_DEG, LOBES, PairShape

NARROWEST_DEG = 0.01


@dataclass(frozen=True)
class StatedPair:
    """What a sheet says of a fabric with a lobe: see `fabric_from_pair`; `check_lobe` says whether it goes together.

    gain, albedo, base_gain          [1];  half_gain_deg, half_gain_up_deg  [deg]
    fall     q of the entrance fall-off, see `entrance_fall` [1];  ceiling  what the sheet can give back: 1 less its holes [1]
    """

    gain: float
    half_gain_deg: float
    half_gain_up_deg: float | None
    lobe: str
    fall: float
    albedo: float | None
    base_gain: float | None
    ceiling: float

    @property
    def shape(self) -> PairShape:
        """The lobe in radians."""
        up = math.radians(self.half_gain_up_deg) if self.half_gain_up_deg is not None else None
        return PairShape(math.radians(self.half_gain_deg), self.lobe, up, self.fall)

    @property
    def even_half_gain_deg(self) -> float:
        """Half-gain angle of the round lobe with the same solid angle [deg]. Source: ellipse in direction cosines."""
        if self.half_gain_up_deg is None:
            return self.half_gain_deg
        sines = math.sin(math.radians(self.half_gain_deg)) * math.sin(math.radians(self.half_gain_up_deg))
        return math.degrees(math.asin(math.sqrt(sines)))

    @property
    def angles(self) -> str:
        """The angles in words of the file."""
        up = f", half_gain_up_deg = {self.half_gain_up_deg:g}" if self.half_gain_up_deg is not None else ""
        return f"half_gain_deg = {self.half_gain_deg:g}{up}"


def checked_kind(kind: str | None, half_gain_deg: float | None) -> str:
    """The kind, or what its absence means: diffuse without a half-gain angle [deg], else angular-reflective.

    raises  FabricError for an unknown kind, and where kind and angle do not go together
    """
    if kind is None:
        return DIFFUSE if half_gain_deg is None else ANGULAR
    if kind not in (DIFFUSE, *PAIR_KINDS):
        raise FabricError("kind", kind, " | ".join((DIFFUSE, *PAIR_KINDS)), "unknown kind of fabric")
    if kind != DIFFUSE and half_gain_deg is None:
        raise FabricError("half_gain_deg", None, "above 0, below 90", f"a fabric of kind {kind} needs this angle")
    if kind == DIFFUSE and half_gain_deg is not None:
        raise FabricError(
            "half_gain_deg",
            half_gain_deg,
            "none for a diffuse fabric",
            f"a diffuse fabric has no half-gain angle: leave it out, or name the kind {ANGULAR} or {RETRO}",
        )
    return kind


def check_numbers(gain: float, half_gain_deg: float | None, albedo: float | None, open_area: float) -> None:
    """Ranges of single numbers: gain [1], half-gain angle [deg], albedo [1], open area [1].

    raises  FabricError at the first that is out of range; an albedo above 1 is left to `check_diffuse` and the albedo band
    """
    if not (math.isfinite(gain) and gain > 0.0):
        raise FabricError("gain", gain, "above 0", "gain must be a number above 0")
    if half_gain_deg is not None and not NARROWEST_DEG <= half_gain_deg < 90.0:
        raise FabricError(
            "half_gain_deg",
            half_gain_deg,
            f"{NARROWEST_DEG:g} to below 90",
            "the half-gain angle is counted from the normal to one side; a full viewing cone is twice as wide",
        )
    if albedo is not None and not (math.isfinite(albedo) and albedo > 0.0):
        raise FabricError("albedo", albedo, "above 0, at most 1", "albedo must be a number above 0")
    if not 0.0 <= open_area < 1.0:
        raise FabricError("open_area", open_area, "0 to below 1", "the open area is a share of the sheet")


def entrance_fall(kind: str, half_gain_deg: float, entrance_half_deg: float | None) -> float:
    """q [1] of the fall-off exp(-q sin^2) of both angles; 0 where no `entrance_half_deg` [deg] is given.

    raises  FabricError for a lobe that is not retro-reflective, and where the fall-off alone would all but halve the gain
            at the half-gain angle [deg]
    Source: exp(-2 q sin^2 e) = 1/2, seen from the light; that beads dim so is common practice, no source (lobes.py).
    """
    if entrance_half_deg is None:
        return 0.0
    if kind != RETRO:
        raise FabricError("entrance_half_deg", entrance_half_deg, "a retro-reflective fabric", "only beads have it")
    fall = 0.5 * math.log(2.0) / math.sin(math.radians(entrance_half_deg)) ** 2
    if fall * math.sin(math.radians(half_gain_deg)) ** 2 > 0.9 * math.log(2.0):
        least = math.degrees(math.asin(min(1.0, math.sin(math.radians(half_gain_deg)) / math.sqrt(1.8))))
        raise FabricError(
            "entrance_half_deg",
            entrance_half_deg,
            f"at least {least:.1f} at this half-gain angle",
            "the fall-off at entrance alone would halve the gain before the half-gain angle",
        )
    return fall


def check_lobe(pair: StatedPair) -> None:
    """What lobe, angles, base and entrance fall-off must agree on.

    raises  FabricError at the first of them that does not fit the others, or an unknown lobe
    """
    up = pair.half_gain_up_deg
    if up is not None and not 1.0 <= up < 90.0:
        raise FabricError("half_gain_up_deg", up, "1 to below 90", "the half-gain angle up and down is out of range")
    if up is not None and pair.half_gain_deg < 1.0:
        raise FabricError("half_gain_deg", pair.half_gain_deg, "1 to below 90", "an elliptic lobe cannot be narrower")
    if pair.lobe not in LOBES:
        raise FabricError("lobe", pair.lobe, " | ".join(LOBES), "unknown lobe")
    if up is not None and (pair.lobe not in (GAUSSIAN, HALF_VECTOR) or pair.fall > 0.0):
        raise FabricError(
            "half_gain_up_deg",
            up,
            "a gaussian or half-vector lobe without entrance fall-off",
            "this lobe has one half-gain angle",
        )
    if pair.lobe == HALF_VECTOR and max(pair.half_gain_deg, up or 0.0) > HALF_VECTOR_LARGEST_DEG:
        raise FabricError(
            "half_gain_deg",
            pair.half_gain_deg,
            f"at most {HALF_VECTOR_LARGEST_DEG:g} for half-vector",
            "wider half-vector lobes are not told apart by this angle",
        )
    if pair.lobe == HALF_VECTOR and pair.fall > 0.0:
        raise FabricError("entrance_half_deg", "given", "a gaussian or cosine-power lobe", "a half-vector lobe has none")
    if pair.base_gain is not None:
        if pair.albedo is not None:
            raise FabricError("base_gain", pair.base_gain, "one of both", "base_gain stands beside albedo: give one")
        if not 0.0 <= pair.base_gain < 0.5 * pair.gain:
            raise FabricError(
                "base_gain",
                pair.base_gain,
                f"0 to below {0.5 * pair.gain:g}",
                "a base of half the gain or more never falls to half",
            )


def check_diffuse(gain: float, albedo: float | None, open_area: float) -> None:
    """Energy of a diffuse sheet: gain [1], albedo [1] if stated, open area [1].

    raises  FabricError for a gain above 1 or above what the holes leave, or an albedo other than the gain
    Source: Lambert; gain and albedo of a diffuse surface are the same number.
    """
    ceiling = 1.0 - open_area
    if gain > 1.0:
        raise FabricError(
            "gain",
            gain,
            "at most 1 for a diffuse fabric",
            "a diffuse surface cannot exceed a gain of 1: either its half-gain angle is missing, "
            "or it was measured against a reference tile that gives back less than 1",
        )
    if gain > ceiling + 1e-12:
        raise FabricError(
            "gain",
            gain,
            f"at most {ceiling:.4g} with an open area of {open_area:g}",
            "a diffuse sheet cannot give back light that goes through its holes",
        )
    if albedo is not None and abs(albedo - gain) > 1e-6:
        raise FabricError("albedo", albedo, f"{gain:g}", "the albedo of a diffuse fabric is its gain: leave it out")


def checked_tint(tint: tuple[float, float, float], albedo: float, ceiling: float) -> tuple[float, float, float]:
    """The tint, linear red, green, blue in any scale, scaled to luminance 1.

    albedo, ceiling  share given back at luminance 1, and what the sheet can give back [1]
    raises           FabricError for no three numbers from 0 up, and where a channel would give back more than arrives
    Source: tint.luminance (ITU-R BT.709-6); energy holds for each channel.
    """
    if len(tint) != 3 or not all(math.isfinite(c) and c >= 0.0 for c in tint) or luminance(tint) <= 0.0:
        raise FabricError("tint", list(tint), "three numbers from 0 up, not all 0", "tint is linear red, green, blue")
    scaled = tuple(c / luminance(tint) for c in tint)
    worst = max(range(3), key=lambda i: scaled[i])
    if albedo * scaled[worst] > ceiling + 1e-9 and max(tint) > min(tint):
        raise FabricError(
            "tint",
            list(tint),
            f"no channel above {ceiling / albedo:.4g} times its luminance",
            f"at this gain {('red', 'green', 'blue')[worst]} would give back {albedo * scaled[worst]:.3f} of its light",
        )
    return scaled[0], scaled[1], scaled[2]
