"""Fit of the families to a measured curve: least squares that keep heights from being negative and energy from growing.

The heights (base and lobe) enter linearly: for each shape they are solved exactly, within b >= 0, g >= 0 and
b + g rho <= what the sheet can give back. scipy's least squares then moves the shape alone (variable projection, Golub and
Pereyra 1973, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import field, replace
from functools import lru_cache
from typing import Any, cast

import numpy as np
import numpy.typing as npt

from ..dataclass import dataclass
from ..lobes.profile import MIRROR, SOURCE, Profile
from ..lobes.shapes import AnyLobe
from .curve import GainCurve
from .families import BASE, DIFFUSE_FAMILY, FAMILIES, LOBE, CurveFamily, lobe_gains

Array = npt.NDArray[np.float64]

JOINT_CONFIDENCE = 0.99  # all intervals of a family together
STARTS = 24
MOST_MISS = 0.15
MOST_KEPT = 16  # curves whose fits are remembered


@dataclass(frozen=True)
class Interval:
    """A fitted number with the ends of its interval, in the unit that its name in FamilyFit.parameters says.

    All intervals of a family hold together with 99 percent.
    """

    value: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class FamilyFit:
    """One family at its best.

    parameters by name, units in the names; those without a unit [1]
    rms        root mean square of gain minus model [1]
    aic        information criterion, with the correction for few points; the smallest is the best trade
    residuals  (n,) gain minus model [1]
    at_limit   True where energy held the heights down
    profile    gain at normal incidence
    axis       MIRROR or SOURCE, about which the lobe was fitted
    """

    family: CurveFamily
    parameters: dict[str, Interval]
    rms: float
    aic: float
    residuals: Array = field(repr=False)
    at_limit: bool
    profile: Profile
    axis: int

    @property
    def name(self) -> str:
        """Name of the family."""
        return self.family.name


def fit_curve(curve: GainCurve, *, largest_albedo: float = 1.0, axis: int | None = None) -> tuple[list[FamilyFit], list[str]]:
    """Every family that the curve can tell, best first, and a sentence on each that was left out.

    largest_albedo  what the sheet can give back [1]: 1 less its open area
    axis            MIRROR or SOURCE where the user said which; None: both where light off the normal tells them apart
    What was fitted to the same points a moment ago is not fitted again: each family is asked for in turn by who compares them.
    Source: Akaike 1974; correction for few points by Hurvich and Tsai 1989 (from memory).
    """
    columns = (curve.view_deg, curve.gain, curve.incidence_deg, curve.azimuth_deg)
    points = tuple(np.asarray(column, np.float64).tobytes() for column in columns)
    fits, left_out = _fits(
        points, None if curve.gain_sd is None else np.asarray(curve.gain_sd, np.float64).tobytes(), largest_albedo, axis
    )
    return list(fits), list(left_out)


@lru_cache(maxsize=MOST_KEPT)
def _fits(
    points: tuple[bytes, ...], gain_sd: bytes | None, largest_albedo: float, axis: int | None
) -> tuple[list[FamilyFit], list[str]]:
    """`fit_curve` of the columns of a curve as bytes."""
    view, gain, incidence, azimuth = map(np.frombuffer, points)
    curve = GainCurve(view, gain, incidence, azimuth, None if gain_sd is None else np.frombuffer(gain_sd), angles="degrees")
    fits, left_out = [], []
    for family in FAMILIES:
        why = _unsuited(family, curve, axis)
        if why is None:
            fits.append(_fitted(family, curve, largest_albedo, family.axis if curve.oblique else axis or MIRROR))
        elif why:
            left_out.append(f"{family.name}: {why}")
    return sorted(fits, key=lambda fit: (misses(fit, curve), fit.aic)), left_out


def misses(fit: FamilyFit, curve: GainCurve) -> bool:
    """True where a fit is beside the points by more than any reading is: with very few of them the criterion alone would take it.

    Source: MOST_MISS of the greatest gain, common practice, no source; where the points' own spread is known the criterion tells.
    """
    return curve.gain_sd is None and fit.rms > MOST_MISS * float(np.max(curve.gain))


def _unsuited(family: CurveFamily, curve: GainCurve, axis: int | None) -> str | None:
    """Why a family is not fitted: None where it is, "" where that goes without saying."""
    if family.lobe is not None and family.needs != "oblique" and family.axis == SOURCE and not curve.oblique:
        return ""  # at normal incidence the two axes are one
    lobed = family.lobe is not None and family.name != "rough-diffuse"
    if curve.oblique and axis is not None and lobed and family.axis != axis:
        return ""
    if family.needs == "oblique" and not curve.oblique:
        return ""
    if family.needs == "two planes" and not curve.two_planes:
        return ""
    need, have = len(family.parameters) + 2, len(curve.gain)
    if have < need and family is not DIFFUSE_FAMILY:
        return f"{have} points are too few for {len(family.parameters)} parameters and their intervals ({need})"
    return None


def _fitted(family: CurveFamily, curve: GainCurve, limit: float, axis: int) -> FamilyFit:
    wi, wo = curve.directions()
    weight = 1.0 / curve.gain_sd if curve.gain_sd is not None else np.ones(len(curve.gain))

    def solved(shape: Array) -> tuple[Array, Array, AnyLobe | None, bool]:
        """Heights, model gains, lobe and whether energy held them down, for a shape."""
        columns, albedos, lobe = _columns(family, shape, axis, wi, wo)
        heights, held = bounded_heights(columns, curve.gain, weight, albedos, limit)
        return heights, columns @ heights, lobe, held

    shape = _best_shape(family, lambda p: (solved(p)[1] - curve.gain) * weight)
    heights, model, lobe, held = solved(shape)
    values = np.concatenate([heights, shape])
    jacobian = _jacobian(family, values, axis, wi, wo)
    spread = _standard_errors(jacobian * weight[:, None], (curve.gain - model) * weight, curve.gain_sd is not None)
    residuals = curve.gain - model
    residuals.flags.writeable = False  # fits are remembered
    lobes = () if lobe is None else (_raised(lobe, float(heights[-1])),)
    base = float(heights[0]) if family.with_base else 0.0
    return FamilyFit(
        family,
        _intervals(family, values, spread, len(residuals), curve.gain_sd is not None),
        float(np.sqrt(np.mean(residuals**2))),
        _criterion(residuals * weight, len(values), curve),
        residuals,
        held,
        Profile(base, lobes),
        axis,
    )


def _raised(lobe: AnyLobe, gain: float) -> AnyLobe:
    return cast(AnyLobe, replace(cast(Any, lobe), gain=gain))


def _columns(family: CurveFamily, shape: Array, axis: int, wi: Array, wo: Array) -> tuple[Array, Array, AnyLobe | None]:
    """What each height multiplies, (n, heights), and the albedo of each at height 1."""
    columns, albedos, lobe = [], [], None
    if family.with_base:
        columns.append(np.ones(len(wi)))
        albedos.append(1.0)
    if family.lobe is not None:
        lobe = family.lobe(shape, axis)
        columns.append(lobe_gains(lobe, wi, wo))
        albedos.append(lobe.unit_albedo())
    return np.stack(columns, axis=1), np.array(albedos), lobe


def bounded_heights(columns: Array, gain: Array, weight: Array, albedos: Array, limit: float) -> tuple[Array, bool]:
    """Heights x that minimise |weight (columns x - gain)| within x >= 0 and albedos . x <= limit; True if energy held.

    columns  (n, 1) or (n, 2), gain by each height of 1 [1];  gain  (n,) [1];  weight  (n,), 1 / uncertainty, or 1 [1]
    albedos  (1,) or (2,), by each height of 1 [1];  limit  what the sheet can give back [1]
    returns  heights (1,) or (2,) [1], and whether energy held them down
    Source: a convex problem in the plane: its minimum is inside, or the best of its three edges.
    """
    a, b = columns * weight[:, None], gain * weight
    free = np.asarray(np.linalg.lstsq(a, b, rcond=None)[0], dtype=np.float64)
    if bool(np.all(free >= 0.0)) and float(albedos @ free) <= limit:
        return free, False
    corners = np.vstack([np.zeros(len(free)), np.diag(limit / albedos)])
    best, least = corners[0], float(b @ b)
    for i in range(len(corners)):
        for j in range(i):
            start, step = corners[i], corners[j] - corners[i]
            along = a @ step
            part = float(np.clip(along @ (b - a @ start) / max(float(along @ along), 1e-300), 0.0, 1.0))
            miss = a @ (start + part * step) - b
            if float(miss @ miss) < least:
                best, least = start + part * step, float(miss @ miss)
    return best, bool(float(albedos @ best) >= limit * (1.0 - 1e-9))


def _best_shape(family: CurveFamily, residual: Callable[[Array], Array]) -> Array:
    """Shape at the least sum of squares: the best of even starts, then scipy's bounded least squares on logarithms."""
    if not family.shape:
        return np.zeros(0)
    from scipy.optimize import least_squares

    low = np.array([max(one[1], 1e-3) for one in family.shape])
    high = np.array([one[2] for one in family.shape])
    count = STARTS if len(low) == 1 else 8
    axes = [np.exp(np.linspace(math.log(a), math.log(b), count + 2)[1:-1]) for a, b in zip(low, high, strict=True)]
    starts = np.stack([mesh.ravel() for mesh in np.meshgrid(*axes)], axis=1)
    best = min(starts, key=lambda p: float(np.sum(residual(p) ** 2)))
    found = least_squares(
        lambda p: residual(np.exp(p)), np.log(best), bounds=(np.log(low), np.log(high)), xtol=1e-12, ftol=1e-12, gtol=1e-12
    )
    return np.exp(found.x)


def _jacobian(family: CurveFamily, values: Array, axis: int, wi: Array, wo: Array) -> Array:
    """Slopes of the model in all parameters, heights first, (n, k), by central differences inside the bounds."""
    heights = len(values) - len(family.shape)

    def model(p: Array) -> Array:
        return np.asarray(_columns(family, p[heights:], axis, wi, wo)[0] @ p[:heights])

    slopes = []
    for i in range(len(values)):
        step = 1e-5 * max(abs(float(values[i])), 1e-3)
        up, down = values.copy(), values.copy()
        up[i] += step
        down[i] -= step
        if i >= heights:
            low, high = family.shape[i - heights][1:]
            up[i], down[i] = min(up[i], high), max(down[i], low)
        slopes.append((model(up) - model(down)) / (up[i] - down[i]))
    return np.stack(slopes, axis=1)


def _standard_errors(jacobian: Array, residuals: Array, known: bool) -> Array:
    """Standard errors of the parameters. Source: (J' J)^-1, times the residual variance where none was given."""
    freedom = max(1, len(residuals) - jacobian.shape[1])
    variance = 1.0 if known else float(residuals @ residuals) / freedom
    covariance = np.linalg.pinv(jacobian.T @ jacobian, rcond=1e-14) * variance
    return np.sqrt(np.maximum(np.diag(covariance), 0.0))


def _intervals(family: CurveFamily, values: Array, spread: Array, points: int, known: bool) -> dict[str, Interval]:
    """Intervals that hold together: each at 1 - 0.01 / k (Bonferroni), by Student's t where the spread is the fit's own."""
    from scipy.special import ndtri, stdtrit  # what scipy.stats calls, half a second sooner

    tail = 0.5 * (1.0 - JOINT_CONFIDENCE) / len(values)
    reach = -float(ndtri(tail) if known else stdtrit(max(1, points - len(values)), tail))
    bounds = {BASE: (0.0, math.inf), LOBE: (0.0, math.inf), **{name: (low, high) for name, low, high in family.shape}}
    found = {}
    for name, value, error in zip(family.parameters, values, spread, strict=True):
        low, high = bounds[name]
        found[name] = Interval(float(value), max(low, float(value - reach * error)), min(high, float(value + reach * error)))
    return found


def _criterion(weighted: Array, parameters: int, curve: GainCurve) -> float:
    """Akaike's criterion: chi^2 + 2 k with known spread, else n ln(S / n) + 2 (k + 1); each with 2 k (k + 1) / (n - k - 1)."""
    n, total = len(weighted), float(weighted @ weighted)
    k = parameters if curve.gain_sd is not None else parameters + 1
    few = 2.0 * k * (k + 1) / max(n - k - 1, 0.5)
    if curve.gain_sd is not None:
        return total + 2.0 * k + few
    floor = n * (1e-9 * float(np.max(curve.gain))) ** 2
    return n * math.log(max(total, floor) / n) + 2.0 * k + few
