"""Contrast sensitivity of the eye by Barten's formula."""
from __future__ import annotations

import numpy as np

K, T_S, ETA, P_PHOTONS, PHI0, U0 = 3.0, 0.1, 0.03, 1.2274e6, 3e-8, 7.0
SIGMA0_ARCMIN, CAB_ARCMIN_PER_MM = 0.5, 0.08
X_MAX_DEG, N_MAX = 12.0, 15.0


def pupil_mm(luminance_cd_m2: np.ndarray, width_deg: np.ndarray, height_deg: np.ndarray) -> np.ndarray:
    """Diameter of the pupil [mm] in a field of a luminance: 5 - 3 tanh(0.4 log10(L X Y / 40^2)).

    Source: Barten, "Contrast sensitivity of the human eye and its effects on image quality", SPIE PM72 (1999), after de Groot
    and Gebhard; constants as an open colour-science library codes them.
    """
    return 5.0 - 3.0 * np.tanh(0.4 * np.log10(np.maximum(luminance_cd_m2 * width_deg * height_deg, 1e-30) / 40.0**2))


def contrast_sensitivity(
    cycles_per_deg: np.ndarray,
    *,
    luminance_cd_m2: np.ndarray | float,
    width_deg: np.ndarray | float,
    height_deg: np.ndarray | float,
    pupil: np.ndarray | float | None = None,
) -> np.ndarray:
    """Sensitivity 1 / (threshold modulation) [1] of both eyes to a sine grating; 0 at no frequency at all.

    cycles_per_deg  spatial frequency [1/deg];  luminance_cd_m2  mean luminance [cd/m2]
    width_deg, height_deg  extent of the grating [deg];  pupil  diameter [mm], None: `pupil_mm`
    returns         modulation is (max - min) / (max + min); shapes broadcast
    raises          ValueError for a field or luminance that is not positive
    Source: Barten (1999), in the (2 / T) form that an open colour-science library codes for two eyes, with its constants.
    """
    u = np.abs(np.asarray(cycles_per_deg, float))
    light, x0, y0 = (np.asarray(a, float) for a in (luminance_cd_m2, width_deg, height_deg))
    if not ((light > 0).all() and (x0 > 0).all() and (y0 > 0).all()):
        raise ValueError("luminance and field must be positive")
    d = pupil_mm(light, x0, y0) if pupil is None else np.asarray(pupil, float)
    sigma_deg = np.hypot(SIGMA0_ARCMIN, CAB_ARCMIN_PER_MM * d) / 60.0
    trolands = np.pi * d**2 / 4.0 * light * (1.0 - (d / 9.7) ** 2 + (d / 12.4) ** 4)
    optics = np.exp(-2.0 * np.pi**2 * sigma_deg**2 * u**2)
    x = 1.0 / np.sqrt(1.0 / x0**2 + 1.0 / X_MAX_DEG**2 + u**2 / N_MAX**2)
    y = 1.0 / np.sqrt(1.0 / y0**2 + 1.0 / X_MAX_DEG**2 + u**2 / N_MAX**2)
    with np.errstate(divide="ignore"):  # no frequency: lateral inhibition takes everything, infinite noise, no sensitivity
        noise = 1.0 / (ETA * P_PHOTONS * trolands) + PHI0 / -np.expm1(-((u / U0) ** 2))
    return optics / K / np.sqrt(2.0 / T_S / (x * y) * noise)
