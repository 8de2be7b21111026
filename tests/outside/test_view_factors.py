"""Expected values: physics notes 5.2-5.4, from Howell's catalogue C-11, C-14 (numbers from memory), in double precision."""

import numpy as np
import pytest

from .view_factors import (
    parallel_exchange,
    parallel_rectangles,
    perpendicular_exchange,
    perpendicular_rectangles,
    point_facing,
    point_perpendicular,
)

PARALLEL = {
    (1, 1, 1): 0.19982490,
    (2, 1, 1): 0.28587538,
    (5, 4, 2.5): 0.37601251,
    (4, 2.5, 5): 0.10006365,
    (5, 2.5, 4): 0.16118289,
    (2, 1.125, 5): 0.02681555,
}
PERPENDICULAR = {
    (1, 1, 1): 0.20004378,
    (2, 1, 1): 0.23285260,
    (2.5, 5, 4): 0.17457000,
    (2.5, 4, 5): 0.13742374,
    (4, 2.5, 5): 0.14009655,
    (5, 2.5, 4): 0.17512069,
}


@pytest.mark.parametrize(("sides", "expected"), PARALLEL.items())
def test_parallel_rectangles_have_the_catalogue_value(sides: tuple[float, ...], expected: float) -> None:
    a, b, c = sides
    assert parallel_rectangles(a_m=a, b_m=b, c_m=c) == pytest.approx(expected, abs=6e-9)


@pytest.mark.parametrize(("sides", "expected"), PERPENDICULAR.items())
def test_perpendicular_rectangles_have_the_catalogue_value(sides: tuple[float, ...], expected: float) -> None:
    h, length, w = sides
    assert perpendicular_rectangles(h_m=h, l_m=length, w_m=w) == pytest.approx(expected, abs=6e-9)


def test_every_row_of_the_5_by_4_by_2_5_box_sums_to_one() -> None:
    """All light that leaves a wall of a closed box arrives on the other five (energy; joint check of C-11 and C-14)."""
    sides = (5.0, 4.0, 2.5)
    for apart in range(3):
        a, b = (sides[i] for i in range(3) if i != apart)
        facing = parallel_rectangles(a_m=a, b_m=b, c_m=sides[apart])
        along_a = perpendicular_rectangles(h_m=sides[apart], l_m=a, w_m=b)
        along_b = perpendicular_rectangles(h_m=sides[apart], l_m=b, w_m=a)
        assert facing + 2 * along_a + 2 * along_b == pytest.approx(1, abs=1e-14)


def test_point_under_a_corner_of_a_facing_rectangle() -> None:
    """Contour integral, Lambert (from memory); the value agrees with Gauss quadrature to 1e-14."""
    assert point_facing(a_m=2.0, b_m=1.125, c_m=3.0) == pytest.approx(0.0578858116, abs=6e-11)


def test_point_on_the_axis_of_a_screen() -> None:
    """Four corners; 100 cd/m2 over 2 x 1.125 m at 3 m gives 22.80 lx."""
    on_axis = 4 * point_facing(a_m=1.0, b_m=0.5625, c_m=3.0)
    assert on_axis == pytest.approx(0.0725836537, abs=6e-11)
    assert 100 * np.pi * on_axis == pytest.approx(22.8028273385, abs=6e-11)


def test_point_beside_a_perpendicular_rectangle() -> None:
    assert point_perpendicular(a_m=1.5, b_m=2.0, c_m=1.0) == pytest.approx(0.1022961062, abs=6e-11)


@pytest.mark.parametrize("sides", PARALLEL)
def test_exchange_area_derived_here_agrees_with_c_11(sides: tuple[float, ...]) -> None:
    a, b, c = sides
    x, y = np.array([0.3, 0.3 + a]), np.array([-0.2, b - 0.2])
    exchange = parallel_exchange(x, y, x, y, distance_m=c)
    assert exchange[0, 0] / (a * b) == pytest.approx(parallel_rectangles(a_m=a, b_m=b, c_m=c), rel=1e-12)


@pytest.mark.parametrize("sides", PERPENDICULAR)
def test_exchange_area_derived_here_agrees_with_c_14(sides: tuple[float, ...]) -> None:
    h, length, w = sides
    along = np.array([0.7, 0.7 + length])
    exchange = perpendicular_exchange(along, np.array([0.0, w]), along, np.array([0.0, h]))
    factor = exchange[0, 0] / (w * length)
    assert factor == pytest.approx(perpendicular_rectangles(h_m=h, l_m=length, w_m=w), rel=1e-12)


def test_exchange_areas_of_cells_add_up() -> None:
    """View-factor algebra: what a rectangle sends is the sum of what its parts send."""
    x1, y1, x2, y2 = (np.array(edges) for edges in ([0, 0.5, 2], [0, 1, 1.5], [-1, 0.2, 1], [0.4, 0.9]))
    parts = parallel_exchange(x1, y1, x2, y2, distance_m=0.8)
    whole = parallel_exchange(x1[[0, -1]], y1[[0, -1]], x2[[0, -1]], y2, distance_m=0.8)
    assert parts.shape == (4, 2)
    assert parts.sum() == pytest.approx(whole[0, 0], rel=1e-13)


def test_small_far_cells_exchange_what_the_cosine_law_gives() -> None:
    """For small cells far apart A F = cos cos A A / (pi r^2), in both orientations."""
    small = 1e-3
    x, y = np.array([0.0, small]), np.array([0.0, small])
    facing = parallel_exchange(x, y, x + 1.0, y + 2.0, distance_m=3.0)[0, 0]
    assert facing == pytest.approx(small**4 * 9 / (np.pi * 14**2), rel=1e-3)
    upright = perpendicular_exchange(x, np.array([2.0, 2 + small]), x + 1.0, np.array([3.0, 3 + small]))[0, 0]
    assert upright == pytest.approx(small**4 * 6 / (np.pi * 14**2), rel=1e-3)
