"""Textbook mechanics of a hung sheet: stiffness, excess length, wrinkles, roller tube, cords, pendulum. SI units throughout."""

from __future__ import annotations

import math

GRAVITY = 9.80665  # [m/s2], standard acceleration, ISO 80000-3


def bending_stiffness(*, modulus_pa: float, thickness_m: float, poisson: float) -> float:
    """Bending stiffness of a plate per width [N m]: E t^3 / (12 (1 - nu^2)).  Source: plate theory, any textbook."""
    return modulus_pa * thickness_m**3 / (12.0 * (1.0 - poisson**2))


def excess_length(*, amplitude_m: float, wavelength_m: float) -> float:
    """Length of a sine over that of its base, less 1 [1], exactly: (2 / pi) sqrt(1 + m) E(m / (1 + m)) - 1.

    m = (2 pi A / wavelength)^2, E the complete elliptic integral with that parameter.  Source: arc length of a sine.
    """
    from scipy.special import ellipe

    m = (2.0 * math.pi * amplitude_m / wavelength_m) ** 2
    return float(2.0 / math.pi * math.sqrt(1.0 + m) * ellipe(m / (1.0 + m)) - 1.0)


def amplitude_of_excess(*, excess: float, wavelength_m: float) -> float:
    """Amplitude [m] of the sine that takes up a small excess length: (wavelength / pi) sqrt(excess).

    Source: excess = (pi A / wavelength)^2 for small slopes; the peak slope is 2 sqrt(excess) at any wavelength.
    """
    return wavelength_m / math.pi * math.sqrt(max(excess, 0.0))


def wrinkle_wavelength_m(*, stiffness_nm: float, tension_n_per_m: float, length_m: float) -> float:
    """Wavelength [m] of a sheet under tension between holds `length_m` apart: 2 sqrt(pi) (B / T)^(1/4) sqrt(L).

    Source: derived. Waves a cos(k x) sin(q z), q = pi / L, that take up a given excess have k a given; bending and tension then
    cost B k^2 + T q^2 / k^2, least at k^4 = T q^2 / B. The law of Cerda and Mahadevan, PRL 90, 074302 (2003), prefactor too.
    A scaling law: for defaults, not for certified figures.
    """
    return 2.0 * math.sqrt(math.pi) * (stiffness_nm / tension_n_per_m) ** 0.25 * math.sqrt(length_m)


def draping_length_m(*, stiffness_nm: float, areal_weight_kg_m2: float, gravity: float = GRAVITY) -> float:
    """Length [m] at which a sheet's weight bends it noticeably: (B / (w g))^(1/3).

    Source: Cerda, Mahadevan and Pasini, PNAS 101, 1806 (2004); formula from memory.
    """
    return (stiffness_nm / (areal_weight_kg_m2 * gravity)) ** (1.0 / 3.0)


def tube_inertia_m4(*, diameter_m: float, wall_m: float) -> float:
    """Second moment of area of a round tube [m4].  Source: pi (D^4 - d^4) / 64, any textbook."""
    inner = max(diameter_m - 2.0 * wall_m, 0.0)
    return math.pi * (diameter_m**4 - inner**4) / 64.0


def tube_kg_per_m(*, diameter_m: float, wall_m: float, density_kg_m3: float) -> float:
    """Mass of a round tube per length [kg/m].  Source: pi (D^2 - d^2) / 4 times density."""
    inner = max(diameter_m - 2.0 * wall_m, 0.0)
    return math.pi * (diameter_m**2 - inner**2) / 4.0 * density_kg_m3


def beam_deflection_m(*, load_n_per_m: float, length_m: float, modulus_pa: float, inertia_m4: float) -> float:
    """Sag [m] of the middle of a simply supported beam under even load: 5 w L^4 / (384 E I).  Source: any textbook."""
    return 5.0 * load_n_per_m * length_m**4 / (384.0 * modulus_pa * inertia_m4)


def beam_end_slope(*, load_n_per_m: float, length_m: float, modulus_pa: float, inertia_m4: float) -> float:
    """Slope [1] of its ends: w L^3 / (24 E I).  Source: any textbook."""
    return load_n_per_m * length_m**3 / (24.0 * modulus_pa * inertia_m4)


def beam_curvature(*, load_n_per_m: float, length_m: float, modulus_pa: float, inertia_m4: float) -> float:
    """Curvature [1/m] of its middle: w L^2 / (8 E I).  Source: any textbook."""
    return load_n_per_m * length_m**2 / (8.0 * modulus_pa * inertia_m4)


def gathered_by_winding(*, curvature_per_m: float, drop_m: float, wound_m: float) -> float:
    """Sideways shortening [1] of a sheet's upper end, in the middle of a sagging tube that wound it up while it hung.

    curvature_per_m  of the tube's axis [1/m];  drop_m  H, what hangs [m];  wound_m  d, what was wound before that, from straight [m]
    Source: derived: curvature H ln(1 + d / H). A thread enters a tube square to its axis (rule of normal entry in web handling,
    Shelton 1968, from memory), so below a tube that sags it is laid further in: dy / ds = slope - y / z at a hanging length z,
    with y = 0 at H + d. Small d: curvature d. Unwinding gives back what was laid. Thread by thread, shear left out.
    """
    return curvature_per_m * drop_m * math.log1p(wound_m / drop_m)


def tab_reach_m(*, spacing_m: float, sideways_n_per_m: float, upright_n_per_m: float, stiffness_nm: float) -> float:
    """Length [m] over which a ripple of an edge, one wave from tab to tab, dies away inwards.

    sideways, upright  tensions of the sheet [N/m];  stiffness_nm  bending stiffness [N m]
    Source: derived: Nx h_xx = Ny k^2 h + B k^4 h, k = 2 pi / spacing, so 1 / r^2 = k^2 (Ny + B k^2) / Nx. No upright tension
    and no stiffness: the lines cross the whole sheet.
    """
    k = 2.0 * math.pi / spacing_m
    return math.sqrt(sideways_n_per_m / (upright_n_per_m + stiffness_nm * k * k)) / k


def cord_pull_n_per_m(*, tension_n: float, depth_m: float, height_m: float) -> float:
    """Sideways pull [N/m] of a cord in a concave edge: T / R, R = H^2 / (8 s) of the parabola.  Source: rope under even load."""
    return tension_n * 8.0 * depth_m / height_m**2


def curl_curvature(*, strain: float, thickness_m: float) -> float:
    """Curvature [1/m] of a sheet of two like layers that differ in length: 1.5 strain / thickness.

    Source: Timoshenko, J. Opt. Soc. Am. 11, 233 (1925), equal layers; from memory.
    """
    return 1.5 * strain / thickness_m


def pendulum_period_s(*, drop_m: float, sheet_kg: float, bar_kg: float, gravity: float = GRAVITY) -> float:
    """Period [s] of small swings of a straight uniform sheet with a bar at its end: 2 pi sqrt(I / (g sum m r)).

    I = m_sheet L^2 / 3 + m_bar L^2.  Source: physical pendulum, any textbook; the sheet stays straight (heavy bar).
    """
    inertia = sheet_kg * drop_m**2 / 3.0 + bar_kg * drop_m**2
    return 2.0 * math.pi * math.sqrt(inertia / (gravity * drop_m * (0.5 * sheet_kg + bar_kg)))
