"""From a fitted curve to the keys of a fabric table: exact where the keys can say it, else as points of the curve."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from ..fabric import ANGULAR, DIFFUSE, MEASURED, RETRO, ROUGH
from ..fabric_error import FabricError
from ..lobes.profile import SOURCE, Lobe
from ..lobes.shapes import EllipticLobe, HalfVectorLobe
from .curve import GainCurve
from .families import DIFFUSE_FAMILY
from .fit import FamilyFit


def curve_table(fit: FamilyFit, open_area: float = 0.0) -> dict[str, Any]:
    """Keys of a [[fabric]] that is this fit: exact where the keys can say it, else its curve as points.

    open_area  share of holes [1]; 0: the key stays empty
    returns    key to value, units in the keys; None for what is left out
    """
    gain, base = float(fit.profile.gain(0.0)), fit.profile.base
    common: dict[str, Any] = {"open_area": open_area or None}
    if fit.family is DIFFUSE_FAMILY or not fit.profile.lobes or gain - base < 1e-6 * gain:
        return {"kind": DIFFUSE, "gain": gain, **common}
    if fit.name == "rough-diffuse":
        return {"kind": ROUGH, "gain": gain, "roughness_deg": fit.parameters["roughness_deg"].value, **common}
    half = half_gain_of_fit(fit, 0.0)
    lobe = fit.profile.lobes[0]
    kind = RETRO if fit.axis == SOURCE else ANGULAR
    widest = 60.0 if isinstance(lobe, HalfVectorLobe) else 89.9
    if half is None or base >= 0.49 * gain or half > widest or base + lobe.gain * lobe.unit_albedo() > 1.0:
        return {**_model_points(fit), **common}
    table = {"kind": kind, "gain": gain, "half_gain_deg": half, "base_gain": base, **common}
    if isinstance(lobe, HalfVectorLobe):
        table["lobe"] = "half-vector"
    elif isinstance(lobe, EllipticLobe):
        table["half_gain_up_deg"] = half_gain_of_fit(fit, 0.5 * math.pi)
        if table["half_gain_up_deg"] is None:
            return {**_model_points(fit), **common}
    elif isinstance(lobe, Lobe) and lobe.family == "cosine-power":
        table["lobe"] = "cosine-power"
    if isinstance(lobe, Lobe) and lobe.fall > 0.0:
        table["entrance_half_deg"] = fit.parameters["entrance_half_deg"].value
    return table


def _model_points(fit: FamilyFit) -> dict[str, Any]:
    """The fit as a measured curve, every 2.5 degrees: where base and lobe are outside what the other keys take."""
    angles = np.arange(0.0, 88.0, 2.5)
    gains = fit.profile.gain(np.radians(angles))
    about = "source" if fit.axis == SOURCE else "mirror"
    return {"kind": MEASURED, "curve": [[float(a), float(g)] for a, g in zip(angles, gains, strict=True)], "lobe_about": about}


def points_table(curve: GainCurve, axis: int | None) -> dict[str, Any]:
    """The measured points at normal incidence as pairs [angle [deg], gain [1]]; the first gain is held to the normal.

    axis    SOURCE: about the light; else about the mirror direction
    raises  FabricError where fewer than two points are at normal incidence
    """
    angles, gains = curve.at_normal()
    if len(angles) < 2:
        raise FabricError("family", "measured", "a fitted family", "there are not two points at normal incidence")
    if angles[0] > 0.0:
        angles, gains = np.concatenate([[0.0], angles]), np.concatenate([gains[:1], gains])
    about = "source" if axis == SOURCE else "mirror"
    return {"kind": MEASURED, "curve": [[float(a), float(g)] for a, g in zip(angles, gains, strict=True)], "lobe_about": about}


def half_gain_of_fit(fit: FamilyFit, azimuth_rad: float) -> float | None:
    """Half-gain angle of a fit [deg] in the plane at an azimuth from the right [rad]; None where it does not fall to half.

    Source: first crossing on a grid of 0.01 degrees, then bisection.
    """
    t = np.radians(np.linspace(0.0, 89.9, 9000))
    gains = fit.profile.gain(t, azimuth_rad)
    below = gains <= 0.5 * gains[0]
    if not below.any() or gains[0] <= 0.0:
        return None
    i = int(np.argmax(below))
    low, high = float(t[i - 1]), float(t[i])
    for _ in range(60):
        middle = 0.5 * (low + high)
        if float(fit.profile.gain(middle, azimuth_rad)) > 0.5 * gains[0]:
            low = middle
        else:
            high = middle
    return math.degrees(high)
