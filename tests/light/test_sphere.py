"""A spherical room on the production kernels: triangles, tree, ledger, screen re-hits and connections against closed forms.

Source: in a sphere every point sees every other with the same configuration factor dA / (4 pi R^2), so returned light is
uniform and E = rho_s Phi / (A (1 - mean reflectance)) (integrating-sphere theory; derivation in this docstring).
"""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from halfgain.materials.solve import fabric_from_pair
from halfgain.simulate.light.connect import connect, lit_patches
from halfgain.simulate.light.geometry import DIFFUSE, SCREEN
from halfgain.simulate.light.ledger import Starts, trace
from halfgain.simulate.light.patches import frozen, make_geometry
from halfgain.simulate.light.projector import Projector
from halfgain.simulate.light.vectors import screen_tangents
from halfgain.simulate.light.walk import Finishes

from tests.statistics import mean_and_error, within_standard_errors

RADIUS, SCREEN_AREA, GAIN, LUMENS, NATIVE = 2.2, 2.25, 0.9, 1000.0, 1000.0
NO_PROJECTOR = Projector(
    *(frozen(np.zeros(s)) for s in (3, (4, 3), 4, 4, 3)), frozen(np.zeros((0, 3))), frozen(np.zeros(2, np.uint8))
)


def sphere(subdivisions: int, wall: float, paths: int, survival: float = 0.6) -> tuple[np.ndarray, float, float]:
    """Returned illuminance (scrambles, 2) [lx] for the white and the half-lit cap, the cap's area, and the sphere's [m2]."""
    mesh = trimesh.creation.icosphere(subdivisions=subdivisions, radius=RADIUS)
    corners = mesh.triangles
    middle = corners.mean(axis=1)
    area = mesh.area_faces
    order = np.argsort(middle[:, 1] + 1e-9 * middle[:, 0])  # a cap about -y, facing +y, grown to the screen's area
    cap = np.zeros(len(corners), bool)
    cap[order[: np.searchsorted(np.cumsum(area[order]), SCREEN_AREA)]] = True
    geometry = make_geometry(
        corner=corners[:, 0],
        edge_u=corners[:, 2] - corners[:, 0],  # the inside reflects
        edge_v=corners[:, 1] - corners[:, 0],
        triangle=np.ones(len(corners)),
        surface=np.where(cap, 1, 0),
        role=np.where(cap, SCREEN, DIFFUSE),
    )
    patch = np.flatnonzero(cap)
    sector = np.floor(np.arctan2(middle[patch, 2], middle[patch, 0]) / (np.pi / 4)).astype(int) % 2
    half = np.where(sector == 0, 1.0, 0.0)
    half *= 0.5 * area[patch].sum() / (half * area[patch]).sum()  # exactly half the flux, wherever the triangles' edges run
    white = LUMENS / area[patch].sum()
    lux = np.stack([np.full(len(patch), white), white * half], axis=1)
    at = patch[np.linspace(0, len(patch) - 1, 9).astype(int)]
    frames = [screen_tangents(tuple(geometry.normal[i])) for i in at]
    starts = Starts(
        middle[at], np.array([f[0] for f in frames]), np.array([f[1] for f in frames]), geometry.normal[at], at.astype(np.int32)
    )
    fabric = fabric_from_pair(name="test", gain=GAIN, kind="diffuse").arrays()
    ledger = trace(geometry, starts, seed=3, scrambles=16, low_path=0, paths=paths, survival=survival, threads=2)
    seats = np.tile([0.0, 0.0, 1.0], (len(at), 1, 1))
    sums = connect(
        geometry, starts, seats, NO_PROJECTOR, lit_patches(geometry, kinds=2, lux=lux), np.ones((1, 2)),
        Finishes(np.array([[wall], [0.0]]), np.ones(1)), fabric, ledger, seed=3, low_path=0, self_lit=True, threads=2,
    )  # fmt: skip
    luminance = sums.reshape(16, len(at), 2, 2)  # scramble, start, surface, picture (one seat, one channel)
    return luminance.sum(axis=2).mean(axis=1) / paths * np.pi / GAIN, float(area[patch].sum()), float(area.sum())


@pytest.mark.long
@pytest.mark.parametrize(
    "wall, illuminance, contrast", [(0.05, 8.0628024, 53.190798), (0.20, 9.5673532, 45.347680), (0.50, 15.2639981, 29.265055)]
)
def test_checkerboard_contrast_of_a_spherical_room(wall: float, illuminance: float, contrast: float) -> None:
    # Expected: R 2.2 m, cap 2.25 m2 of reflectance 0.9, 1000 lm, native contrast 1000; closed form, recomputed here
    walls = 4 * np.pi * RADIUS**2
    mean = (GAIN * SCREEN_AREA + wall * (walls - SCREEN_AREA)) / walls
    white_lx = LUMENS / SCREEN_AREA
    exact = GAIN * LUMENS * (0.5 + 0.5 / NATIVE) / (walls * (1 - mean))
    assert exact == pytest.approx(illuminance, rel=1e-7)
    assert (white_lx + exact) / (white_lx / NATIVE + exact) == pytest.approx(contrast, rel=1e-7)

    found, errors, contrasts, contrast_errors = [], [], [], []
    for subdivisions in (4, 5):
        back, cap, _ = sphere(subdivisions, wall, 512)
        lit_lx = LUMENS / cap
        board = back[:, 1] + (back[:, 0] - back[:, 1]) / NATIVE
        mean_lx, error = mean_and_error(board)
        found.append(mean_lx)
        errors.append(error)
        ratio = (lit_lx + board) / (lit_lx / NATIVE + board)
        contrasts.append(ratio.mean())
        contrast_errors.append(ratio.std(ddof=1) / 4)
    # the facets' area, and with it the light, is off by a term in edge length squared: a quarter at each subdivision
    within_standard_errors((4 * found[1] - found[0]) / 3, np.hypot(4 * errors[1], errors[0]) / 3, exact, bias=1e-3 * exact)
    within_standard_errors(
        (4 * contrasts[1] - contrasts[0]) / 3,
        np.hypot(4 * contrast_errors[1], contrast_errors[0]) / 3,
        contrast,
        bias=1e-3 * contrast,
    )
    assert errors[1] < 0.01 * exact


def test_integrating_sphere_multiplier() -> None:
    # Expected: all surfaces alike, E = Phi rho / (4 pi R^2 (1 - rho)) (integrating-sphere textbook formula)
    back, _, area = sphere(4, GAIN, 128, survival=0.9)  # 0.9^2 / 0.6 > 1 would have no variance to speak of
    value, error = mean_and_error(back[:, 0])
    exact = LUMENS * GAIN / (area * (1 - GAIN))
    within_standard_errors(value, error, exact, bias=2e-3 * exact)  # facets of this mesh: 0.2 %
    assert error < 0.01 * exact
