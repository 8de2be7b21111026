"""What two numbers, or a measured curve, say of a fabric: verdict, albedo, families, and a table for a library file."""

from __future__ import annotations

import math
from dataclasses import field
from typing import Any

import numpy as np

from ..dataclass import dataclass
from ..fabric import ANGULAR, DIFFUSE, Fabric
from ..fabric_error import FabricError
from ..fabric_table import FabricTable
from ..holes import Holes
from ..lobes.measured import MeasuredCurve
from ..lobes.profile import Lobe
from ..lobes.shapes import EllipticLobe, HalfVectorLobe
from ..text.problem import Problem
from .admissible import admissible_from_pair
from .curve import ALL_DARK, CurveErrors, GainCurve
from .curve_table import curve_table, half_gain_of_fit, points_table
from .fit import FamilyFit, fit_curve, misses
from .judge import judge_pair, largest_gain
from .pair_checks import check_numbers
from .solve import fabric_from_pair

POSSIBLE, IMPLAUSIBLE, IMPOSSIBLE = "possible", "implausible", "impossible"


@dataclass(frozen=True)
class FitLine:
    """One family: parameters by name, each a number or (value, low, high), units in the names.

    rms     of gain minus model [1];  aic  information criterion, see `fit.FamilyFit`
    albedo  share given back at normal incidence [1]
    """

    family: str
    parameters: dict[str, float | tuple[float, float, float]]
    rms: float
    aic: float
    albedo: float


@dataclass(frozen=True, eq=False)
class FitReport:
    """The answer of a fit.

    verdict, reason   possible | implausible | impossible, and why, one sentence
    gain, half_gain_deg   of the sheet; of a curve: of the named or best fit [1], [deg]
    largest_gain      that energy allows at this half-gain angle [1]; of a curve that does not fall to half: the gain at which
                      its measured angles alone would give back all that the sheet can
    albedo            low, value, high [1]
    fits              best first; empty where impossible
    table             keys of a [[fabric]] without its name; None where impossible
    """

    verdict: str
    reason: str
    gain: float
    half_gain_deg: float | None
    largest_gain: float
    albedo: tuple[float, float, float]
    fits: tuple[FitLine, ...]
    table: dict[str, Any] | None
    notes: tuple[str, ...]
    curve: GainCurve | None = None
    curve_fits: tuple[FamilyFit, ...] = field(default=(), repr=False)
    fabric: Fabric | None = None

    def to_fabric(self, name: str = "own fabric") -> Fabric:
        """The fabric that a file would hold; raises FabricError where the verdict is that there is none. Source: `table`."""
        if self.table is None:
            raise FabricError("gain", self.gain, f"up to {self.largest_gain:.4g}", self.reason)
        stated = {key: value for key, value in self.table.items() if value is not None}
        return FabricTable.model_validate({**stated, "name": name}).to_fabric()


def lobe_numbers(lobe: object) -> dict[str, float]:
    """Name and value of what shapes a lobe, units in the names."""
    if isinstance(lobe, HalfVectorLobe):
        return {"roughness_right": lobe.alpha_right, "roughness_up": lobe.alpha_up}
    if isinstance(lobe, EllipticLobe):
        return {"width_right_sine": lobe.width_right, "width_up_sine": lobe.width_up}
    if isinstance(lobe, Lobe):
        names = {"gaussian": ("sigma_deg",), "cosine-power": ("exponent",), "plateau": ("edge_inner", "edge_outer")}
        values = [math.degrees(p) if lobe.family == "gaussian" else p for p in lobe.parameters]
        found = dict(zip(names[lobe.family], values, strict=True))
        if lobe.fall > 0.0:
            found["entrance_half_deg"] = math.degrees(math.asin(math.sqrt(min(1.0, 0.5 * math.log(2.0) / lobe.fall))))
        return found
    return {}


def report_pair(
    *,
    gain: float,
    half_gain_deg: float | None,
    albedo: float | None = None,
    kind: str | None = None,
    half_gain_up_deg: float | None = None,
    open_area: float = 0.0,
    no_base: bool = False,
    notes: tuple[str, ...] = (),
) -> FitReport:
    """Verdict and families for the numbers of a sheet; see `fabric_from_pair`.

    gain, albedo, open_area  [1];  half_gain_deg, half_gain_up_deg  [deg]
    no_base  True where the half-gain angle holds for a lobe without a base only (an angle to a third of the gain)
    raises   FabricError for numbers out of range, or an albedo that no falling curve of this pair has
    returns  also for an impossible pair: that is a verdict, no error
    Source: judge.py, admissible.py.
    """
    check_numbers(gain, half_gain_deg, albedo, open_area)
    if half_gain_deg is None:
        return _report_diffuse(gain, albedo, kind, open_area, notes)
    ceiling = 1.0 - open_area
    even = half_gain_deg
    if half_gain_up_deg is not None:
        sines = math.sin(math.radians(half_gain_deg)) * math.sin(math.radians(half_gain_up_deg))
        even = math.degrees(math.asin(math.sqrt(sines)))
    judged = judge_pair(gain=gain, half_gain_deg=even, largest_albedo=ceiling)
    if judged.verdict == IMPOSSIBLE:
        band = (judged.albedo_low, judged.albedo_low, judged.albedo_low)
        return FitReport(IMPOSSIBLE, judged.reason, gain, half_gain_deg, judged.largest_gain, band, (), None, notes)
    table: dict[str, Any] = {
        "kind": kind or ANGULAR,
        "gain": gain,
        "half_gain_deg": half_gain_deg,
        "half_gain_up_deg": half_gain_up_deg,
        "albedo": albedo,
        "base_gain": 0.0 if no_base and albedo is None else None,
        "open_area": open_area or None,
    }
    stated = {key: value for key, value in table.items() if value is not None}
    own = fabric_from_pair(name="own fabric", **stated)
    others = admissible_from_pair(
        gain=gain,
        half_gain_deg=half_gain_deg,
        albedo=albedo,
        kind=kind,
        half_gain_up_deg=half_gain_up_deg,
        holes=Holes(open_area),
    )
    lines = [_pair_line(f"{own.kind}, as written to the file", own)]
    lines += [_pair_line(words, other) for words, other in others if other.lobes != own.lobes]
    return FitReport(
        judged.verdict,
        judged.reason,
        gain,
        half_gain_deg,
        judged.largest_gain,
        (judged.albedo_low, own.albedo, judged.albedo_high),
        tuple(lines),
        table,
        (*notes, *own.notes),
        fabric=own,
    )


def _pair_line(words: str, fabric: Fabric) -> FitLine:
    """A family that meets the two numbers exactly: no residual; the criterion counts its two numbers alone."""
    parameters: dict[str, float | tuple[float, float, float]] = {"base_gain": fabric.base_gain}
    for i, lobe in enumerate(fabric.lobes):
        mark = "" if i == 0 else f"_{i + 1}"
        parameters[f"lobe_gain{mark}"] = lobe.gain
        parameters.update({f"{key}{mark}": value for key, value in lobe_numbers(lobe).items()})
    return FitLine(words, parameters, 0.0, 4.0, fabric.albedo)


def _report_diffuse(gain: float, albedo: float | None, kind: str | None, open_area: float, notes: tuple[str, ...]) -> FitReport:
    if kind not in (None, DIFFUSE):
        raise FabricError("half_gain_deg", None, "above 0, below 90", f"a fabric of kind {kind} needs this angle")
    ceiling = 1.0 - open_area
    if gain > ceiling + 1e-12:
        reason = f"without a half-gain angle the fabric is diffuse, and a diffuse sheet reaches a gain of {ceiling:.4g} at most"
        return FitReport(IMPOSSIBLE, reason, gain, None, ceiling, (gain, gain, gain), (), None, notes)
    own = fabric_from_pair(name="own fabric", gain=gain, albedo=albedo, open_area=open_area)
    table = {"kind": DIFFUSE, "gain": gain, "open_area": open_area or None}
    reason = f"a diffuse sheet of this gain gives back {gain:.4g} of the light"
    line = FitLine(DIFFUSE, {"base_gain": gain}, 0.0, 2.0, gain)
    return FitReport(POSSIBLE, reason, gain, None, ceiling, (gain, gain, gain), (line,), table, notes, fabric=own)


def report_curve(
    curve: GainCurve, *, axis: int | None = None, open_area: float = 0.0, family: str | None = None, notes: tuple[str, ...] = ()
) -> FitReport:
    """Verdict and families for a measured curve.

    axis     MIRROR or SOURCE where the user named the kind;  open_area  share of holes [1]
    family   the family that the file gets; None: the one of the least criterion; "measured": the points themselves
    raises   CurveErrors where all gains are 0; FabricError for an unknown family, or "measured" without two points at normal incidence
    Source: fit.py; the integral of G sin 2t over the measured angles bounds what the sheet gives back.
    """
    if not np.any(curve.gain > 0.0):
        raise CurveErrors([Problem("curve", 0, *ALL_DARK)])
    ceiling = 1.0 - open_area
    fits, left_out = fit_curve(curve, largest_albedo=ceiling, axis=axis)
    chosen = _chosen(fits, family)
    best = chosen or fits[0]
    gain, half = _peak_and_half(curve, best)
    low, value, high, error = _albedo_band(curve, best, ceiling)
    limit = largest_gain(half_gain_deg=half, largest_albedo=ceiling) if half is not None else gain * ceiling / low
    verdict, reason = _verdict(gain, half, limit, low, error, ceiling, fits[0], missed=misses(fits[0], curve))
    said = (*notes, *curve.warnings, *(f"left out: {words}" for words in left_out))
    if verdict == IMPOSSIBLE:
        return FitReport(verdict, reason, gain, half, limit, (low, low, low), (), None, said, curve, tuple(fits))
    if family == "measured" or (chosen is None and family is not None):
        table = points_table(curve, axis)
    else:
        table = curve_table(best, open_area)
    lines = tuple(_curve_line(fit) for fit in ([best] + [fit for fit in fits if fit is not best] if chosen else fits))
    return FitReport(verdict, reason, gain, half, limit, (low, value, high), lines, table, said, curve, tuple(fits))


def _chosen(fits: list[FamilyFit], family: str | None) -> FamilyFit | None:
    if family is None or family == "measured":
        return None
    found = next((fit for fit in fits if fit.name == family), None)
    if found is None:
        allowed = " | ".join([*(fit.name for fit in fits), "measured"])
        raise FabricError("family", family, allowed, "is not among the families that this curve can be fitted with")
    return found


def _curve_line(fit: FamilyFit) -> FitLine:
    parameters: dict[str, float | tuple[float, float, float]] = {
        name: (found.value, found.low, found.high) for name, found in fit.parameters.items()
    }
    return FitLine(fit.name, parameters, fit.rms, fit.aic, fit.profile.albedo)


def _peak_and_half(curve: GainCurve, best: FamilyFit) -> tuple[float, float | None]:
    """Gain along the normal and half-gain angle [deg] of the best fit; None where it does not fall to half."""
    gain = float(best.profile.gain(0.0))
    return gain, half_gain_of_fit(best, 0.0)


def _albedo_band(curve: GainCurve, best: FamilyFit, ceiling: float) -> tuple[float, float, float, float]:
    """Least, likely and largest albedo at normal incidence, and the standard error of the least [1].

    The least counts nothing beyond the last angle, the largest holds the last gain to 90 degrees.
    """
    value = best.profile.albedo
    angles, gains = curve.at_normal()
    if len(angles) < 2:
        return 0.5 * value, value, min(ceiling, max(value, 1.5 * value)), 0.5 * value
    if angles[0] > 0.0:
        angles, gains = np.concatenate([[0.0], angles]), np.concatenate([gains[:1], gains])
    held = MeasuredCurve(tuple(angles), tuple(gains))
    high = held.albedo()
    low = high - float(gains[-1]) * math.cos(math.radians(float(angles[-1]))) ** 2
    t = np.radians(angles)
    share = np.gradient(np.sin(t) ** 2) if len(t) > 2 else np.full(len(t), 0.5)
    noise = float(np.median(curve.gain_sd)) if curve.gain_sd is not None else best.rms
    error = noise * float(np.sqrt(np.sum(share**2)))
    return low, min(max(value, low), max(high, low)), max(min(high, ceiling), low), error


def _verdict(
    gain: float, half: float | None, limit: float, low: float, error: float, ceiling: float, best: FamilyFit, *, missed: bool
) -> tuple[str, str]:
    if low - 2.0 * error > ceiling:
        return IMPOSSIBLE, (
            f"the measured angles alone give back {low:.3f} of the light: more than arrives, or passes no hole; "
            "a reference tile of less than full reflectance, or angles in another unit, would explain it"
        )
    judged = judge_pair(gain=gain, half_gain_deg=half, largest_albedo=ceiling) if half is not None else None
    if judged is not None and judged.verdict != POSSIBLE and low + 2.0 * error > 0.9 * ceiling:
        return IMPLAUSIBLE, judged.reason
    if missed:
        return (
            IMPLAUSIBLE,
            f"no family falls as the points do: the best misses them by {best.rms:.3g} in gain; more points tell more of them",
        )
    if best.at_limit:
        return IMPLAUSIBLE, f"only energy holds the best lobe down: it misses the points by {best.rms:.3g} in gain"
    if judged is not None and judged.verdict != POSSIBLE:
        return IMPLAUSIBLE, judged.reason
    at = f"falls to half at {half:.1f} degrees" if half is not None else "does not fall to half"
    return POSSIBLE, f"the curve {at} and gives back {best.profile.albedo:.3f} of the light; up to {limit:.4g} could be"
