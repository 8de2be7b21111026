"""Wash-out of a checkerboard in a spherical room: exact, because a sphere's configuration factor is constant."""

from typing import NamedTuple

import numpy as np


class SphericalRoom(NamedTuple):
    """Exact answers; the screen is a cap of the sphere, its concavity included."""

    mean_reflectance: float
    illuminance_lx: float
    induced_lx: float
    contrast: float
    wall_elasticity: float


def spherical_room(
    radius_m: float, screen_area_m2: float, rho_screen: float, rho_wall: float, flux_lm: float, native: float
) -> SphericalRoom:
    """Returned light and contrast of a half-white checkerboard on a cap of a diffuse sphere.

    flux_lm    full-white flux on the cap; native   contrast of the projector alone, white : black
    returns    mean reflectance [1], illuminance of a white patch [lx], induced (returned) illuminance, the same
               everywhere [lx], contrast [1], d ln contrast / d ln rho_wall [1]
    raises     ValueError where the cap is larger than the sphere or a reflectance is outside 0 ... 1
    Source: derived: dF = dA / (4 pi R^2) in a sphere, so all orders are one geometric series.
    """
    area = 4 * np.pi * radius_m**2
    if not 0 < screen_area_m2 <= area:
        raise ValueError(f"screen_area_m2 must lie in 0 ... {area:.6g}, got {screen_area_m2}")
    if not (0 <= rho_screen <= 1 and 0 <= rho_wall <= 1):
        raise ValueError(f"reflectances must lie in 0 ... 1, got {rho_screen}, {rho_wall}")
    wall_area = area - screen_area_m2
    mean = (rho_screen * screen_area_m2 + rho_wall * wall_area) / area
    white = flux_lm / screen_area_m2
    lit_flux = white * screen_area_m2 / 2 * (1 + 1 / native)
    induced = rho_screen * lit_flux / (area * (1 - mean))
    share = rho_wall * wall_area / (area * (1 - mean))
    slope = induced * share * (1 / (white + induced) - 1 / (white / native + induced))
    contrast = (white + induced) / (white / native + induced)
    return SphericalRoom(float(mean), float(white), float(induced), float(contrast), float(slope))


def integrating_sphere_lx(*, radius_m: float, rho: float, flux_lm: float) -> float:
    """Induced illuminance in a diffuse sphere of one reflectance [lx]. Source: as above; textbook sphere equation."""
    return float(flux_lm * rho / (4 * np.pi * radius_m**2 * (1 - rho)))
