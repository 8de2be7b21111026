"""Contrast sensitivity of the eye by Barten's formula, and the parts it is made of."""

from __future__ import annotations

import numpy as np

K, T_S, ETA, P_PHOTONS, PHI0, U0 = 3.0, 0.1, 0.03, 1.2274e6, 3e-8, 7.0
SIGMA0_ARCMIN, CAB_ARCMIN_PER_MM = 0.5, 0.08
X_MAX_DEG, N_MAX = 12.0, 15.0


def pupil_mm(luminance_cd_m2: np.ndarray | float, width_deg: np.ndarray | float, height_deg: np.ndarray | float) -> np.ndarray:
    """Diameter of the pupil [mm] in a field of a luminance: 5 - 3 tanh(0.4 log10(L X Y / 40^2)).

    Source: Barten, "Contrast sensitivity of the human eye and its effects on image quality", SPIE PM72 (1999), after de Groot
    and Gebhard; constants as an open colour-science library codes them.
    """
    field = np.asarray(luminance_cd_m2 * width_deg * height_deg, float)
    return 5.0 - 3.0 * np.tanh(0.4 * np.log10(np.maximum(field, 1e-30) / 40.0**2))


def detectability(cycles_per_deg: np.ndarray, *, luminance_cd_m2: np.ndarray | float, pupil: np.ndarray | float) -> np.ndarray:
    """M^2 T / (k^2 Phi) [1/deg^2]: what a pattern's energy per square degree counts at a frequency, in squared thresholds.

    cycles_per_deg  spatial frequency [1/deg];  luminance_cd_m2  mean luminance [cd/m2];  pupil  diameter [mm]
    returns         shapes broadcast; 0 at no frequency at all, where lateral inhibition takes everything
    M is the optics' transfer, Phi the noise per square degree and second (photons, and neural noise that lateral inhibition
    raises at low frequencies), T the time and k the signal to noise of a threshold. A grating of modulation m has the energy
    m^2 / 2 a square degree, so over X x Y its squared ratio to the threshold is this times m^2 X Y / 2: Barten's m S.
    Source: Barten (1999), in the (2 / T) form that an open colour-science library codes for two eyes, with its constants.
    """
    u, light, d = (np.asarray(a, float) for a in (cycles_per_deg, luminance_cd_m2, pupil))
    sigma_deg = np.hypot(SIGMA0_ARCMIN, CAB_ARCMIN_PER_MM * d) / 60.0
    trolands = np.pi * d**2 / 4.0 * light * (1.0 - (d / 9.7) ** 2 + (d / 12.4) ** 4)
    optics = np.exp(-2.0 * np.pi**2 * sigma_deg**2 * u**2)
    with np.errstate(divide="ignore"):
        noise = 1.0 / (ETA * P_PHOTONS * trolands) + PHI0 / -np.expm1(-((u / U0) ** 2))
    return (optics / K) ** 2 * T_S / noise


def reach_deg(cycles_per_deg: np.ndarray | float) -> np.ndarray:
    """Length over which the eye puts waves of a frequency together, however large their field [deg]: 12 degrees or 15 cycles.

    cycles_per_deg  spatial frequency [1/deg], any shape
    Source: Barten (1999), 1 / X^2 = 1 / X0^2 + 1 / Xmax^2 + u^2 / Nmax^2 for a field X0 without bounds.
    """
    return 1.0 / np.sqrt(1.0 / X_MAX_DEG**2 + (np.asarray(cycles_per_deg, float) / N_MAX) ** 2)


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
    Source: `detectability`, `reach_deg`.
    """
    u = np.abs(np.asarray(cycles_per_deg, float))
    light, x0, y0 = (np.asarray(a, float) for a in (luminance_cd_m2, width_deg, height_deg))
    if not ((light > 0).all() and (x0 > 0).all() and (y0 > 0).all()):
        raise ValueError("luminance and field must be positive")
    reach = reach_deg(u)
    x, y = (1.0 / np.sqrt(1.0 / side**2 + 1.0 / reach**2) for side in (x0, y0))
    square = detectability(u, luminance_cd_m2=light, pupil=pupil_mm(light, x0, y0) if pupil is None else pupil)
    return np.sqrt(square * x * y / 2.0)
