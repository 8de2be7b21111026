"""Where a hung sheet is pressed together, by plane stress: what waves it can have, against the mechanics that estimates them."""

import numpy as np
import pytest
from halfgain.scenes.cloth import mechanics as m

from .hung_sheet import Sheet, forces, least_force, sagging

NONE = np.zeros(65)


def gathered(sheet: Sheet, strain: float) -> np.ndarray:
    """Sideways displacement of the upper edge's nodes for a shortening of `strain` in the middle that falls as the tube's curvature."""
    s = np.linspace(0.0, 1.0, 65)
    return strain * sheet.width / 3 * (1 - 6 * s**2 + 4 * s**3)


def test_a_sheet_that_narrows_freely_carries_what_hangs_below() -> None:
    """Statics: weight below plus bar; without Poisson's ratio nothing else acts."""
    sheet = Sheet(poisson=0.0)
    found = forces(sheet, NONE, NONE)
    below = (np.arange(40) + 0.5) * sheet.height / 40
    assert found[..., 1] == pytest.approx(np.repeat((sheet.bar + sheet.weight * below)[:, None], 64, 1), rel=1e-6)
    assert np.abs(found[..., [0, 2]]).max() < 1e-6


@pytest.mark.parametrize("sag", [0.0, 1e-3, 2.8e-3])
def test_a_sagging_tube_alone_presses_the_sheet_nowhere_together(sag: float) -> None:
    """Tension both ways in every cell: so no wave, upright or other, comes of the sag by itself; its middle is even pulled wider."""
    sheet = Sheet()
    found = forces(sheet, NONE, sagging(sheet, sag))
    assert least_force(found).min() > -1e-3 * sheet.bar
    assert found[20, 32, 0] >= forces(sheet, NONE, NONE)[20, 32, 0]


def test_a_gathered_upper_end_presses_it_together_from_the_strain_on_that_its_load_takes_up() -> None:
    """nu T / (E t) with the mean tension (6 % more, as the gathered middle draws more of the load); then in the upper middle alone."""
    sheet = Sheet()
    hung, drawn = forces(sheet, NONE, NONE), forces(sheet, gathered(sheet, 1e-3), NONE) - forces(sheet, NONE, NONE)
    at_tube = [1.5 * found[-1, 32, 0] - 0.5 * found[-2, 32, 0] for found in (hung, drawn)]
    turns = -1e-3 * at_tube[0] / at_tube[1]
    top = sheet.bar + sheet.weight * sheet.height
    assert turns == pytest.approx(sheet.poisson * top / sheet.stiffness, rel=0.1)
    least = least_force(forces(sheet, gathered(sheet, 2.0 * turns), NONE))
    row, column = np.unravel_index(least.argmin(), least.shape)
    assert row >= 38
    assert 28 <= column <= 35
    assert (least[-8:, 24:40] < 0.0).all()
    assert least[:12].min() > 0.01 * least.min(), "nowhere near the bar"
    assert least[:, :6].min() > 0.25 * least.min(), "much less at the sides"


def test_winding_gathers_what_is_laid_square_to_the_tube() -> None:
    """Turn by turn: a thread of hanging length z that lies y further in is laid by slope - y / z further in a wound length."""
    slope, drop, wound, steps = 3e-3, 1.6, 0.45, 200_000
    y = 0.0
    for i in range(steps):
        y += (slope - y / (drop + wound * (1 - i / steps))) * wound / steps
    got = m.gathered_by_winding(curvature_per_m=slope, drop_m=drop, wound_m=wound)
    assert got == pytest.approx(y, rel=1e-4)
    assert m.gathered_by_winding(curvature_per_m=slope, drop_m=drop, wound_m=1e-6) == pytest.approx(slope * 1e-6, rel=1e-5)
    assert m.gathered_by_winding(curvature_per_m=0.0, drop_m=drop, wound_m=wound) == 0.0


@pytest.mark.parametrize(("sideways", "upright", "stiffness"), [(1.0, 8.0, 0.0), (2.0, 2.0, 0.0), (1.0, 0.0, 1e-4)])
def test_the_lines_at_tabs_die_away_as_a_membrane_has_it(sideways: float, upright: float, stiffness: float) -> None:
    """Finite differences of Nx h_xx + Ny h_yy = B h_yyyy inwards from an edge held in a cosine, clamped far inside."""
    spacing, n = 0.25, 2000
    reach = m.tab_reach_m(spacing_m=spacing, sideways_n_per_m=sideways, upright_n_per_m=upright, stiffness_nm=stiffness)
    step = 12.0 * reach / n
    k = 2 * np.pi / spacing
    rows = np.diag(np.full(n - 1, -2 * sideways / step**2 - upright * k**2 - stiffness * k**4))
    rows += np.diag(np.full(n - 2, sideways / step**2), 1) + np.diag(np.full(n - 2, sideways / step**2), -1)
    right = np.zeros(n - 1)
    right[0] = -sideways / step**2
    height = np.linalg.solve(rows, right)
    assert np.interp(reach, step * np.arange(1, n), height) == pytest.approx(np.exp(-1), rel=1e-3)


def test_no_upright_tension_and_no_stiffness_let_tab_lines_cross_the_sheet() -> None:
    """Limits of the same equation: lines along the pull."""
    near = m.tab_reach_m(spacing_m=0.25, sideways_n_per_m=1.0, upright_n_per_m=1e-6, stiffness_nm=0.0)
    assert near > 10.0
