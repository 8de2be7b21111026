"""Checks against known answers: photometry, configuration factors, albedo bounds, spherical rooms."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from halfgain.materials.lobes.brdf import directional_albedo
from halfgain.materials.solving.judge import albedo_band, largest_gain, largest_gain_gaussian
from halfgain.materials.solving.solve import fabric_from_pair
from halfgain.scenes.load import load_scene
from halfgain.simulate.measuring.measure import measure
from scipy.integrate import quad

from benchmarks.check import Check
from tests.light import test_closed_rooms as closed
from tests.light.test_sphere import (
    GAIN,
    LUMENS,
    NATIVE,
    RADIUS,
    SCREEN_AREA,
    WALLS,
    integrating_sphere,
    sphere,
    without_own_light,
)
from tests.materials.test_materials_energy import albedo_ends
from tests.outside.spherical_room import spherical_room
from tests.outside.view_factors import parallel_rectangles, perpendicular_rectangles
from tests.statistics import mean_and_error


def photometry() -> Iterator[Check]:
    """Luminance and limits that need no random number."""
    seat = measure(load_scene("black-box")).seats[0]
    luminance = seat.white["centre"].value
    yield Check(
        "1000 lm on 2.0 x 1.125 m, gain 1: luminance, cd/m2",
        1000 / 2.25 / np.pi,
        luminance,
        0.0,
        "L = gain E / pi, definition of the luminance factor (CIE S 017)",
    )
    yield Check(
        "the same in foot-lamberts",
        1000 / (2.25 / 0.3048**2),
        luminance / (1 / np.pi / 0.3048**2),
        0.0,
        "lumens over square feet, definition of the unit",
    )
    yield Check(
        "checkerboard contrast of a lens of 1000:1 in a black room",
        1000.0,
        seat.checkerboard.value,
        seat.checkerboard.standard_error,
        "nothing comes back: the lens's own",
    )
    yield Check(
        "largest gain for a half-gain angle of 30 degrees",
        2 / np.sin(np.pi / 6) ** 2,
        float(largest_gain(half_gain_deg=30.0)),
        0.0,
        "energy conservation, 2 / sin^2 h (derived)",
    )
    yield Check(
        "the same for a Gaussian lobe",
        3.26725,
        float(largest_gain_gaussian(half_gain_deg=30.0)),
        0.0,
        "quadrature in double precision, computed apart",
    )


def albedo_bounds() -> Iterator[Check]:
    """Ends of the albedo band of one pair, and the fabrics made there."""
    gain, half_gain_deg = 1.3, 40.0
    h = math.radians(half_gain_deg)
    pair = f"gain {gain:g}, half-gain angle of {half_gain_deg:g} degrees"
    # gain curve of each end: up to h and beyond it
    for end, (title, inside, beyond) in enumerate((("least", gain / 2, 0.0), ("largest", gain, gain / 2))):
        parts = ((inside, 0.0, h), (beyond, h, math.pi / 2))
        yield Check(
            f"{pair}: {title} albedo",
            sum(quad(lambda t, g=g: 2 * g * math.sin(t) * math.cos(t), low, high)[0] for g, low, high in parts),
            albedo_band(gain=gain, half_gain_deg=half_gain_deg)[end],
            0.0,
            "scipy's quadrature of the extreme falling gain curve (derived)",
        )
        albedo = albedo_ends(gain, half_gain_deg)[end]
        fabric = fabric_from_pair(name="end", gain=gain, half_gain_deg=half_gain_deg, albedo=albedo)
        yield Check(
            "light that the fabric made at this end gives back at normal incidence",
            albedo,
            directional_albedo(fabric.arrays(), (0.0, 0.0, 1.0)),
            0.0,
            "energy: G sin^2 h / 2 and G (1 + sin^2 h) / 2 (derived)",
        )


def factors() -> Iterator[Check]:
    """Configuration factors counted by traced paths."""
    arrays = closed.bare_box()
    for start, end, name, expected, source in (
        (5, 4, "floor to ceiling", parallel_rectangles(a_m=5, b_m=4, c_m=2.5), "C-11"),
        (5, 0, "floor to front wall", perpendicular_rectangles(h_m=2.5, l_m=5, w_m=4), "C-14"),
    ):
        mean, error = closed.traced_shares(arrays, closed.starts_on(arrays.geometry, start, 48), 32)
        yield Check(
            f"room 5 x 4 x 2.5 m, first hits from {name}",
            expected,
            mean[end],
            error[end],
            f"Howell's catalogue {source} (number from memory)",
        )
    mean, error = closed.traced_from_the_point(65536)
    for end, name in ((4, "ceiling"), (0, "front wall"), (3, "right wall")):
        yield Check(
            f"the same from a point of the floor to the {name}",
            closed.POINT_FACTORS[end],
            mean[end],
            error[end],
            "point to rectangle, Lambert's contour integral (textbook, from memory)",
        )
    ratios = closed.wall_map_over_the_point_factor()
    yield Check(
        f"illuminance of the back wall from a white screen over pi L F; worst of {len(ratios)} points",
        1.0,
        ratios[np.argmax(np.abs(ratios - 1))],
        0.0,
        "point to rectangle, the same",
    )


def spheres() -> Iterator[Check]:
    """An integrating sphere; spherical rooms with a half-lit screen cap, two meshes extrapolated."""
    (coarse, coarse_error, _), (fine, fine_error, _) = (integrating_sphere(subdivisions) for subdivisions in (4, 5))
    yield Check(
        f"integrating sphere of reflectance {GAIN:g}: returned illuminance, lx",
        LUMENS * GAIN / (4 * math.pi * RADIUS**2 * (1 - GAIN)),
        (4 * fine - coarse) / 3,
        float(np.hypot(4 * fine_error, coarse_error) / 3),
        "E = Phi rho / (A (1 - rho)) (textbook)",
    )
    for channel, wall in enumerate(WALLS):
        ratios = []
        for subdivisions in (4, 5):
            every, cap, _ = sphere(subdivisions, 2048)
            back = every[..., channel]
            board = back[:, 1] + (back[:, 0] - back[:, 1]) / NATIVE
            ratios.append((LUMENS / cap + board) / (LUMENS / cap / NATIVE + board))
        (coarse, coarse_error), (fine, fine_error) = (mean_and_error(r) for r in ratios)
        exact = spherical_room(
            radius_m=RADIUS, screen_area_m2=SCREEN_AREA, rho_screen=GAIN, rho_wall=wall, flux_lm=LUMENS, native=NATIVE
        ).contrast
        yield Check(
            f"spherical room, walls of {wall:g}: checkerboard contrast",
            exact,
            (4 * fine - coarse) / 3,
            np.hypot(4 * fine_error, coarse_error) / 3,
            "integrating-sphere theory, closed form (derived)",
        )
        value, error, exact = without_own_light(wall, 256)
        yield Check(
            "the same by map and walk: returned illuminance without the hollow cap's own light, half lit, lx",
            0.5 * exact,
            value[1],
            error[1],
            "the same theory (derived)",
        )
