"""From the two or three numbers of a specification sheet to a fabric."""
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from .fabric import ANGULAR, DIFFUSE, KINDS, RETRO, Fabric
from .judge import NO_FALL_OFF_DEG, Judgement, judge_pair
from .profile import MIRROR, SOURCE, Profile, cosine_power, ledge, mixed, standard, table_top
from .tint import luminance

DEFAULT_BASE_SHARE = 0.3  # common practice, no source
DEFAULT_ALBEDO_CAP = 0.95  # white pigments give back 0.95 to 0.99 (common practice, no source)
LARGEST_BASE_SHARE = 0.45  # towards 1/2 the lobe shrinks to a spike
NARROWEST_DEG = 0.01


@dataclass
class FabricError(ValueError):
    """A fabric that cannot be, in the user's words: which key, its value, what is allowed, and why."""

    key: str
    value: object
    allowed: str
    message: str

    def __str__(self) -> str:
        return f"{self.key}: {self.message} (got {self.value}; allowed {self.allowed})"


def fabric_from_pair(
    *,
    name: str,
    gain: float,
    half_gain_deg: float | None = None,
    kind: str | None = None,
    albedo: float | None = None,
    tint: tuple[float, float, float] = (1.0, 1.0, 1.0),
    open_area: float = 0.0,
    source: str = "",
) -> Fabric:
    """Fabric of a stated gain that falls to exactly half at the stated angle.

    gain           peak gain [1], light and view along the normal, holes included
    half_gain_deg  half-gain angle [deg], above 0 and below 90; None: diffuse
    kind           one of KINDS; None: diffuse without an angle, angular-reflective with one
    albedo         share given back at normal incidence [1]; None: a stated default
    tint           linear RGB, any scale; its luminance is set to 1
    open_area      share of holes [1]
    raises         FabricError for what energy or the words forbid
    Source: profile.py and judge.py.
    """
    notes: list[str] = []
    kind = _checked_kind(kind, half_gain_deg, notes)
    _check_numbers(gain, half_gain_deg, albedo, open_area)
    ceiling = 1.0 - open_area
    if open_area > 0.0:
        notes.append(
            f"open area {open_area:g}: the gain is that of the finished sheet; light through the holes is counted lost"
        )
    if half_gain_deg is None:
        _check_diffuse(gain, albedo, open_area)
        band, verdict, profile = (gain, gain), "possible", Profile(gain, ())
    else:
        judgement = _judged(gain, half_gain_deg, open_area, notes)
        band, verdict = (judgement.albedo_low, judgement.albedo_high), judgement.verdict
        unit = _unit_profile(gain, half_gain_deg, albedo, band, ceiling, notes)
        profile = unit.scaled(gain, SOURCE if kind == RETRO else MIRROR)
    return Fabric(
        name=name, kind=kind, gain=gain, half_gain_deg=half_gain_deg, albedo=profile.albedo, albedo_band=band,
        albedo_given=albedo is not None or kind == DIFFUSE, tint=_checked_tint(tint, profile.albedo, ceiling),
        open_area=open_area, source=source, notes=tuple(notes), verdict=verdict, base_gain=profile.base,
        lobes=profile.lobes,
    )  # fmt: skip


def profile_of_albedo(half_gain_rad: float, albedo: float) -> tuple[Profile, bool]:
    """Falling curve with peak 1, 1/2 at h and the asked albedo; True beside it where a smooth lobe does.

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


def _checked_kind(kind: str | None, half_gain_deg: float | None, notes: list[str]) -> str:
    if kind is None:
        if half_gain_deg is None:
            return DIFFUSE
        notes.append("kind left out: taken as angular-reflective, a lobe about the mirror direction")
        return ANGULAR
    if kind not in KINDS:
        raise FabricError("kind", kind, " | ".join(KINDS), "unknown kind of fabric")
    if kind != DIFFUSE and half_gain_deg is None:
        raise FabricError("half_gain_deg", None, "above 0, below 90", f"a fabric of kind {kind} needs this angle")
    if kind == DIFFUSE and half_gain_deg is not None:
        raise FabricError(
            "half_gain_deg", half_gain_deg, "none for a diffuse fabric",
            f"a diffuse fabric has no half-gain angle: leave it out, or name the kind {ANGULAR} or {RETRO}",
        )  # fmt: skip
    return kind


def _check_numbers(gain: float, half_gain_deg: float | None, albedo: float | None, open_area: float) -> None:
    if not (math.isfinite(gain) and gain > 0.0):
        raise FabricError("gain", gain, "above 0", "gain must be a number above 0")
    if half_gain_deg is not None and not NARROWEST_DEG <= half_gain_deg < 90.0:
        raise FabricError(
            "half_gain_deg", half_gain_deg, f"{NARROWEST_DEG:g} to below 90",
            "the half-gain angle is counted from the normal to one side; a full viewing cone is twice as wide",
        )  # fmt: skip
    if albedo is not None and not (math.isfinite(albedo) and albedo > 0.0):
        raise FabricError("albedo", albedo, "above 0, at most 1", "albedo must be a number above 0")
    if not 0.0 <= open_area < 1.0:
        raise FabricError("open_area", open_area, "0 to below 1", "the open area is a share of the sheet")


def _check_diffuse(gain: float, albedo: float | None, open_area: float) -> None:
    ceiling = 1.0 - open_area
    if gain > 1.0:
        raise FabricError(
            "gain", gain, "at most 1 for a diffuse fabric",
            "a diffuse surface cannot exceed a gain of 1: either its half-gain angle is missing, "
            "or it was measured against a reference tile that gives back less than 1",
        )  # fmt: skip
    if gain > ceiling + 1e-12:
        raise FabricError(
            "gain", gain, f"at most {ceiling:.4g} with an open area of {open_area:g}",
            "a diffuse sheet cannot give back light that goes through its holes",
        )  # fmt: skip
    if albedo is not None and abs(albedo - gain) > 1e-6:
        raise FabricError("albedo", albedo, f"{gain:g}", "the albedo of a diffuse fabric is its gain: leave it out")


def _judged(gain: float, half_gain_deg: float, open_area: float, notes: list[str]) -> Judgement:
    judgement = judge_pair(gain=gain, half_gain_deg=half_gain_deg, largest_albedo=1.0 - open_area)
    if judgement.verdict == "impossible":
        holes = f" with an open area of {open_area:g}" if open_area > 0.0 else ""
        raise FabricError(
            "gain", gain, f"at most {judgement.largest_gain:.4f} at half_gain_deg = {half_gain_deg:g}{holes}",
            f"impossible: it would give back more light than arrives; {judgement.reason}",
        )  # fmt: skip
    if judgement.verdict == "implausible":
        notes.append(f"implausible: {judgement.reason}")
    if half_gain_deg >= NO_FALL_OFF_DEG:
        notes.append(f"no measurable fall-off: half-gain angle {half_gain_deg:g} degrees")
    return judgement


def _unit_profile(
    gain: float, half_gain_deg: float, albedo: float | None, band: tuple[float, float], ceiling: float, notes: list[str]
) -> Profile:
    half_gain_rad = math.radians(half_gain_deg)
    low, high = band
    words = f"gain and half-gain angle leave {low:.3f} to {high:.3f} open"
    if albedo is None:
        usual = standard(half_gain_rad, DEFAULT_BASE_SHARE)
        cap = DEFAULT_ALBEDO_CAP * ceiling
        if gain * usual.albedo <= cap:
            profile, smooth = usual, True
        else:
            profile, smooth = profile_of_albedo(half_gain_rad, (cap if low <= cap else 0.5 * (low + ceiling)) / gain)
        notes.append(f"albedo not stated: {gain * profile.albedo:.3f} assumed (common practice, no source); {words}")
    elif not low - 1e-9 <= albedo <= high + 1e-9:
        raise FabricError(
            "albedo", albedo, f"{low:.4f} to {high:.4f}",
            f"no falling gain curve of gain {gain:g} and half-gain angle {half_gain_deg:g} degrees has this albedo",
        )  # fmt: skip
    else:
        profile, smooth = profile_of_albedo(half_gain_rad, min(max(albedo, low), high) / gain)
    if not smooth:
        usual_albedo = gain * standard(half_gain_rad, DEFAULT_BASE_SHARE).albedo
        shape = "a flat-topped lobe on a wide base" if gain * profile.albedo > usual_albedo else "a spike on a ledge"
        notes.append(f"an albedo of {gain * profile.albedo:.3f} is beyond the usual lobes: {shape} is assumed")
    return profile


def _checked_tint(tint: tuple[float, float, float], albedo: float, ceiling: float) -> tuple[float, float, float]:
    if len(tint) != 3 or not all(math.isfinite(c) and c >= 0.0 for c in tint) or luminance(tint) <= 0.0:
        raise FabricError("tint", list(tint), "three numbers from 0 up, not all 0", "tint is linear red, green, blue")
    scaled = tuple(c / luminance(tint) for c in tint)
    worst = max(range(3), key=lambda i: scaled[i])
    if albedo * scaled[worst] > ceiling + 1e-9 and max(tint) > min(tint):
        raise FabricError(
            "tint", list(tint), f"no channel above {ceiling / albedo:.4g} times its luminance",
            f"at this gain {('red', 'green', 'blue')[worst]} would give back {albedo * scaled[worst]:.3f} of its light",
        )  # fmt: skip
    return scaled[0], scaled[1], scaled[2]
