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

    Source: Cerda and Mahadevan, PRL 90, 074302 (2003); prefactor from memory. A scaling law (arXiv 2012.13051 replaces
    one of its premises): for defaults, not for certified figures.
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


def mean_convergence(*, end_slope: float, length_m: float, depth_m: float) -> float:
    """Mean sideways compression [1] at a depth below a sagging tube: 2 (end slope) depth / length.

    Source: threads square to the tube's axis draw together at the mean rate of its curvature; our own estimate, unverified:
    the sign is open as statics, as the gathering happens while winding.
    """
    return 2.0 * end_slope * depth_m / length_m


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
