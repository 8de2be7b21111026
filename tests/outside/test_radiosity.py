"""Box radiosity against six-patch values, a quadrature of one bounce, and energy. Sources beside each check."""

import numpy as np
import pytest

from .box_room import SURFACES, Room, Screen, Solid, checkerboard
from .radiosity import Wall, cut_walls, returned_irradiance, view_factor_matrix
from .view_factors import point_facing

GREY = {"front": 0.5, "back": 0.5, "left": 0.5, "right": 0.5, "ceiling": 0.7, "floor": 0.2}
BLACK = dict.fromkeys(SURFACES, 0.0)


def six_patches(reflectance: dict[str, float], exitance: dict[str, float]) -> tuple[dict[str, float], dict[str, float]]:
    """Radiosity and irradiance of the 5 x 4 x 2.5 m box with one patch a wall."""
    walls = cut_walls(Room(4, 5, 2.5, reflectance), None, patch_m=10)
    factors = view_factor_matrix(walls)
    rho = np.array([reflectance[name] for name in SURFACES])
    own = np.array([exitance.get(name, 0.0) for name in SURFACES])
    radiosity = np.linalg.solve(np.eye(6) - rho[:, None] * factors, own)
    irradiance = factors @ radiosity
    return dict(zip(SURFACES, radiosity, strict=True)), dict(zip(SURFACES, irradiance, strict=True))


def test_six_patch_box_lit_by_its_ceiling() -> None:
    """Physics notes 5.6: six flat patches, solved there in double precision."""
    radiosity, irradiance = six_patches(GREY, {"ceiling": 100.0})
    expected = {"floor": 11.22473091, "ceiling": 112.60292867, "front": 21.99835788, "left": 22.16117068}
    assert {name: radiosity[name] for name in expected} == pytest.approx(expected, abs=6e-9)
    expected = {"floor": 56.12365453, "ceiling": 18.00418381, "back": 43.99671575, "right": 44.32234137}
    assert {name: irradiance[name] for name in expected} == pytest.approx(expected, abs=6e-9)


@pytest.mark.parametrize(
    ("reflectance", "expected"),
    [
        (GREY, 5.42606949),
        (dict.fromkeys(SURFACES, 0.05), 0.35170856),
        ({**dict.fromkeys(SURFACES, 0.05), "back": 0.5}, 0.60819899),
    ],
)
def test_six_patch_light_returned_to_the_front_wall(reflectance: dict[str, float], expected: float) -> None:
    """Physics notes 5.6: 500 lm leave the whole front wall, 50 lm/m2; a check of the solver, not of a real room."""
    _, irradiance = six_patches(reflectance, {"front": 50.0})
    assert irradiance["front"] == pytest.approx(expected, abs=6e-9)


def test_six_patch_furnace_is_one_everywhere() -> None:
    """Emission 1 - rho in a closed room of reflectance rho gives radiosity 1 (energy)."""
    reflectance = {"front": 0.9, "back": 0.1, "left": 0.4, "right": 0.6, "ceiling": 0.8, "floor": 0.3}
    radiosity, _ = six_patches(reflectance, {name: 1 - rho for name, rho in reflectance.items()})
    assert list(radiosity.values()) == pytest.approx([1.0] * 6, abs=1e-14)


def test_rows_of_the_cut_room_sum_to_one() -> None:
    """Closed room: all light from a cell arrives on some other cell (energy)."""
    screen = Screen(2.4, 1.35, 0.75, 0.9, right_m=0.3, border_m=0.08)
    walls = cut_walls(Room(4, 6, 2.7, GREY), screen, patch_m=0.7)
    factors = view_factor_matrix(walls)
    assert np.abs(factors.sum(axis=1) - 1).max() < 1e-12
    areas = np.concatenate([walls[name].areas for name in SURFACES])
    assert areas.sum() == pytest.approx(2 * (4 * 6 + 4 * 2.7 + 6 * 2.7), rel=1e-13)


def test_halving_cuts_every_cell_in_two() -> None:
    """Richardson's extrapolation needs nested grids."""
    screen = Screen(2.4, 1.35, 0.75, 0.9, right_m=0.3)
    coarse, fine = (cut_walls(Room(4, 6, 2.7, GREY), screen, patch_m=0.6, halvings=k) for k in (0, 1))
    for name in SURFACES:
        one, two = coarse[name], fine[name]
        assert isinstance(one, Wall)
        for edges, finer in zip(one.edges, two.edges, strict=True):
            assert finer[::2] == pytest.approx(edges, abs=1e-12)


def test_one_bounce_off_the_back_wall_agrees_with_quadrature() -> None:
    """Black room, back wall 0.5: E = integral of rho E_back cos cos / (pi r^2), by 40 x 40 Gauss points."""
    room = Room(4, 3, 2.7, {**BLACK, "back": 0.5})
    screen = Screen(2.4, 1.35, 0.75, 0.0, right_m=0.3, radiance=checkerboard())
    points = screen.nine_points()
    nodes, weights = np.polynomial.legendre.leggauss(40)
    x, z = np.meshgrid(2 * nodes, 1.35 + 1.35 * nodes, indexing="ij")
    area = np.outer(2 * weights, 1.35 * weights)
    on_back = np.zeros_like(x)
    for row, column in np.argwhere(screen.radiance_map > 0):
        right, up = screen.edges_x_m[column : column + 2], screen.edges_z_m[3 - row : 5 - row]
        corners = point_facing(a_m=right[:, None, None, None] - x, b_m=up[None, :, None, None] - z, c_m=3.0)
        on_back += np.pi * np.abs(np.diff(np.diff(corners, axis=0), axis=1))[0, 0]
    squared = (x - points[:, 0, None, None]) ** 2 + (z - points[:, 2, None, None]) ** 2 + 9.0
    expected = (0.5 * on_back * area * 9.0 / (np.pi * squared**2)).sum(axis=(1, 2))
    assert returned_irradiance(room, screen, points).irradiance == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize("radiance", [1.0, checkerboard()])
def test_halving_the_patches_changes_the_answer_by_less_than_0_2_percent(radiance: float) -> None:
    screen = Screen(2.4, 1.35, 0.75, 0.9, right_m=0.3, radiance=radiance)
    room, points = Room(4, 6, 2.7, GREY), screen.zone_centres()
    solved = returned_irradiance(room, screen, points)
    assert solved.change < 0.002
    other_grid = returned_irradiance(room, screen, points, patch_m=0.8, tolerance=0.01)
    assert other_grid.irradiance == pytest.approx(solved.irradiance, rel=5e-4)


def test_cells_that_no_grid_resolves_end_in_an_error() -> None:
    screen = Screen(2.4, 1.35, 0.75, 0.9)
    points = screen.nine_points()[:1]
    with pytest.raises(ValueError, match="not converged"):
        returned_irradiance(Room(4, 6, 2.7, GREY), screen, points, patch_m=1.0, tolerance=1e-9, grids=3)


def test_what_radiosity_cannot_do_is_refused() -> None:
    screen = Screen(2.4, 1.35, 0.75, 0.9)
    furnished = Room(4, 6, 2.7, GREY, boxes=(Solid((-1, -4, 0), (1, -3, 0.8), 0.3),))
    coloured = Room(4, 6, 2.7, {**GREY, "back": (0.5, 0.4, 0.3)})
    with pytest.raises(ValueError, match="bare rooms"):
        returned_irradiance(furnished, screen, screen.nine_points())
    with pytest.raises(ValueError, match="grey"):
        returned_irradiance(coloured, screen, screen.nine_points())
    with pytest.raises(ValueError, match="front wall"):
        returned_irradiance(Room(2.3, 6, 2.7, GREY), screen, screen.nine_points())
