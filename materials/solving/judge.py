"""What a pair of gain and half-gain angle can be: energy limits, the albedo it leaves open, and a plain verdict."""

from __future__ import annotations

import math

from ..dataclass import dataclass
from ..lobes.profile import cosine_power, ledge, standard

NO_FALL_OFF_DEG = 80.0  # from here on "no measurable fall-off" (common practice, no source)
UNSTATED_FROM_DEG = 60.0  # a sheet states smaller half-gain angles; a wider lobe may go without (common practice, no source)
MOST_WHITE = (
    0.97  # more than any cloth gives back; laboratory paints reach 0.95 to 0.99 (Noble 2008, Grum and Luckey 1968: abstracts)
)


def largest_gain(*, half_gain_deg: float, largest_albedo: float = 1.0) -> float:
    """Hard limit on the gain of any curve that falls to half at this angle, 2 rho / sin^2 h [1].

    half_gain_deg   half-gain angle [deg], above 0, below 90
    largest_albedo  what the sheet can give back at most [1]: 1 less its open area
    raises          ValueError outside 0 .. 90
    Source: derived from energy alone: G >= G0 / 2 up to h, so rho >= (G0 / 2) sin^2 h.
    """
    return 2.0 * largest_albedo / math.sin(_half_gain_rad(half_gain_deg)) ** 2


def largest_gain_cosine_power(*, half_gain_deg: float) -> float:
    """Largest gain of a cos^n lobe that gives back all light, 1 + n / 2 [1].

    half_gain_deg   half-gain angle [deg]
    raises          ValueError outside 0 .. 90
    Source: derived; rho = 2 G0 / (n + 2) with n = ln(1/2) / ln(cos h).
    """
    return 1.0 / cosine_power(_half_gain_rad(half_gain_deg)).albedo


def largest_gain_gaussian(*, half_gain_deg: float) -> float:
    """Largest gain of a Gaussian lobe exp(-t^2 / 2 s^2) that gives back all light [1].

    half_gain_deg   half-gain angle [deg]
    raises          ValueError outside 0 .. 90
    Source: derived; its albedo is 1 there, by quadrature (profile.py), with s = h / sqrt(2 ln 2).
    """
    return 1.0 / standard(_half_gain_rad(half_gain_deg), 0.0).albedo


def largest_gain_smooth(*, half_gain_deg: float, largest_albedo: float = 1.0) -> float:
    """Largest gain of a smooth lobe [1]: of cos^n and the Gaussian, the one that allows more.

    half_gain_deg   half-gain angle [deg]
    largest_albedo  what the sheet can give back at most [1]: 1 less its open area
    raises          ValueError outside 0 .. 90
    Source: derived from their albedos, which grow with the gain in proportion.
    """
    cosine = largest_gain_cosine_power(half_gain_deg=half_gain_deg)
    return largest_albedo * max(cosine, largest_gain_gaussian(half_gain_deg=half_gain_deg))


def albedo_band(*, gain: float, half_gain_deg: float, largest_albedo: float = 1.0) -> tuple[float, float]:
    """Ends of the albedo that a falling gain curve of this pair can have [1].

    They are G sin^2 h / 2 and min(largest_albedo, G (1 + sin^2 h) / 2), gain G [1], half-gain angle h [deg].
    raises  ValueError where h lies outside 0 .. 90
    Source: derived from energy: the curve is at least G / 2 up to h and at most G there, and at most G / 2 beyond.
    """
    square = math.sin(_half_gain_rad(half_gain_deg)) ** 2
    return 0.5 * gain * square, min(largest_albedo, 0.5 * gain * (1.0 + square))


def open_diffuse_band(*, gain: float, largest_albedo: float = 1.0) -> tuple[float, float]:
    """Ends of the albedo [1] of a fabric of which a gain alone is known, and so taken as diffuse.

    Upper end: a falling gain curve never exceeds its peak, so the albedo is at most the gain [1]. Lower end: a smooth lobe that
    halves at UNSTATED_FROM_DEG and was not stated.
    Source: derived; the angle is common practice, no source.
    """
    return gain / largest_gain_smooth(half_gain_deg=UNSTATED_FROM_DEG), min(gain, largest_albedo)


@dataclass(frozen=True)
class Judgement:
    """What energy says of a pair.

    verdict     "possible", "implausible" or "impossible";  reason  one sentence
    largest_gain, largest_gain_smooth   the hard limit and that of smooth lobes at this half-gain angle [1]
    albedo_low, albedo_high             ends of `albedo_band` [1]
    """

    verdict: str
    reason: str
    largest_gain: float
    largest_gain_smooth: float
    albedo_low: float
    albedo_high: float


def judge_pair(*, gain: float, half_gain_deg: float, largest_albedo: float = 1.0) -> Judgement:
    """Judge gain [1] and half-gain angle [deg] against conservation of energy.

    largest_albedo  what the sheet can give back at most [1]: 1 less its open area
    raises          ValueError where gain <= 0 or the angle lies outside 0 .. 90
    Source: `largest_gain`, `largest_gain_smooth` and `albedo_band`.
    """
    if not gain > 0.0:
        raise ValueError("gain must be above 0")
    hard = largest_gain(half_gain_deg=half_gain_deg, largest_albedo=largest_albedo)
    smooth = largest_gain_smooth(half_gain_deg=half_gain_deg, largest_albedo=largest_albedo)
    low, high = albedo_band(gain=gain, half_gain_deg=half_gain_deg, largest_albedo=largest_albedo)
    # The sharpest curve we can draw misses the limit by about 1e-8; a gain closer to it than that is on it.
    sharpest = largest_albedo / ledge(_half_gain_rad(half_gain_deg), 1.0).albedo
    if gain > sharpest:
        verdict = "impossible"
        reason = f"no surface that falls to half at {half_gain_deg:g} degrees can exceed a gain of {hard:.4g}"
    elif gain > smooth:
        verdict = "implausible"
        reason = (
            f"a smooth lobe that falls to half at {half_gain_deg:g} degrees reaches a gain of {smooth:.4g} at most; "
            f"up to {hard:.4g} only an odd-shaped lobe would do"
        )
    else:
        verdict = "possible"
        reason = f"a smooth lobe that falls to half at {half_gain_deg:g} degrees reaches a gain of {smooth:.4g}"
    return Judgement(verdict, reason, hard, smooth, low, high)


def _half_gain_rad(half_gain_deg: float) -> float:
    if not 0.0 < half_gain_deg < 90.0:
        raise ValueError("half-gain angle must be above 0 and below 90 degrees")
    return math.radians(half_gain_deg)
