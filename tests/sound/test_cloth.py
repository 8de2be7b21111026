"""Sheets in the way of sound: inertance worked by hand, mass law, Poiseuille's flow, Maa's approximation, energy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from halfgain.materials.library import find_fabric
from halfgain.simulate.sound.bands import DENSITY_KG_M3, IMPEDANCE_PA_S_M, SPEED_M_S, VISCOSITY_PA_S
from halfgain.simulate.sound.cloth import (
    Sheet,
    before_wall,
    hole_impedance,
    hole_interaction,
    impedance,
    loss_db,
    passed,
    thrown_back,
)
from halfgain.simulate.sound.sheets import MASS, sheets_of
from halfgain.simulate.sound.through import GAPS_M, comb, response_db, ripple_db, through
from scipy.integrate import quad
from scipy.linalg import solve_banded

F = np.array([125.0, 500.0, 1000.0, 4000.0, 6000.0, 8000.0, 10_000.0, 16_000.0])
COARSE = Sheet(0.4, 0.045, 1.2, 0.35)
FINE = Sheet(0.3, 0.10, 0.5, 0.3)


@pytest.mark.parametrize(
    ("sheet", "expected"),
    [(COARSE, (0.175428, 3.951414, 5.608769, 7.094447, 10.626750)), (FINE, (0.010196, 0.352767, 0.608607, 0.916842, 2.045880))],
)
def test_inertance_of_holes_beside_the_sheet_s_mass(sheet: Sheet, expected: tuple[float, ...]) -> None:
    """Source: m_h = rho (t + 8 d psi / 3 pi) / sigma, m = m_h m_s / (m_h + m_s), 10 lg(1 + (omega m / 2 rho c)^2), worked apart."""
    found = loss_db([1000, 6000, 8000, 10_000, 16_000], sheet, viscosity_pa_s=0.0)
    assert found == pytest.approx(expected, abs=1e-6)


def test_a_sheet_without_holes_follows_the_mass_law() -> None:
    """Source: mass law at normal incidence, textbook; 0.4 kg/m2 has 10.1 dB at 1 kHz and 25.2 dB at 6 kHz."""
    law = 10.0 * np.log10(1.0 + (np.pi * F * 0.4 / (1.204 * 343.2)) ** 2)
    assert loss_db(F, Sheet(0.4)) == pytest.approx(law, rel=1e-12)
    assert loss_db([1000.0, 6000.0], Sheet(0.4)) == pytest.approx([10.1, 25.2], abs=0.05)


def test_few_holes_come_to_the_mass_law_and_all_holes_to_nothing() -> None:
    assert loss_db(F, Sheet(0.4, 1e-7, 0.5, 0.3)) == pytest.approx(loss_db(F, Sheet(0.4)), rel=2e-3)
    open_all = loss_db(F, Sheet(0.4, 1.0, 500.0, 1e-6), viscosity_pa_s=0.0)
    assert np.all(open_all < 0.02 * loss_db(F, Sheet(0.4)))
    # what is left when the sheet is all hole is its own thickness of air, and neighbours leave no end correction
    thick = loss_db(F, Sheet(1e6, 1.0, 1.0, 0.35), viscosity_pa_s=0.0)
    assert np.all(thick < 10.0 * np.log10(1.0 + (np.pi * F * (0.35e-3 + 0.02e-3) / SPEED_M_S) ** 2) + 1e-9)
    assert hole_interaction(0.0) == 1.0
    assert hole_interaction(0.88 * math.sqrt(4.0 / math.pi)) < 0.02


def test_slow_air_in_a_fine_hole_flows_as_poiseuille_has_it() -> None:
    """Source: 32 eta t / (sigma d^2), Hagen and Poiseuille; inertance then has 4/3 of the hole's air (Crandall)."""
    sheet = Sheet(1.0, 0.02, 0.05, 50.0)  # long, so that its ends do not count
    z = complex(hole_impedance(20.0, sheet))
    assert z.real == pytest.approx(32.0 * VISCOSITY_PA_S * 0.05 / (0.02 * 0.05e-3**2), rel=1e-3)
    assert z.imag == pytest.approx(2.0 * math.pi * 20.0 * DENSITY_KG_M3 * 0.05 * 4.0 / 3.0 / 0.02, rel=2e-3)


def hole_by_differences(frequency_hz: float, diameter_m: float, *, steps: int = 4000) -> complex:
    """Pressure gradient over mean velocity in a round hole [Pa s/m2]: the equation of motion on rings of air, no Bessel functions."""
    radius = 0.5 * diameter_m
    h = radius / steps
    middle, edge = (np.arange(steps) + 0.5) * h, np.arange(steps + 1) * h
    inner, outer = VISCOSITY_PA_S * edge[:-1] / (middle * h**2), VISCOSITY_PA_S * edge[1:] / (middle * h**2)
    outer[-1] *= 2.0  # air clings to the wall half a step away
    band = np.zeros((3, steps), complex)
    band[0, 1:], band[2, :-1] = -outer[:-1], -inner[1:]
    band[1] = 2j * math.pi * frequency_hz * DENSITY_KG_M3 + inner + outer
    velocity = solve_banded((1, 1), band, np.ones(steps))
    return complex(1.0 / (2.0 * (velocity * middle).sum() * h / radius**2))


def hole_ends(frequency_hz: float, diameter_m: float, psi: float) -> complex:
    """What both ends of a hole add [Pa s/m]: 8 d psi / 3 pi of moving air, and friction on the sheet (Maa 1998)."""
    omega = 2.0 * math.pi * frequency_hz
    moving = 1j * omega * DENSITY_KG_M3 * 8.0 * diameter_m * psi / (3.0 * math.pi)
    return moving + math.sqrt(0.5 * DENSITY_KG_M3 * VISCOSITY_PA_S * omega)


@pytest.mark.parametrize(("d_mm", "t_mm"), [(0.2, 1.0), (0.5, 0.35), (1.2, 0.35)])
def test_the_drag_in_a_hole_agrees_with_the_equation_of_motion_on_rings(d_mm: float, t_mm: float) -> None:
    """Source: Navier and Stokes by finite differences; the ends are added by hand."""
    psi = hole_interaction(0.88 * math.sqrt(4.0 * 0.05 / math.pi))
    for f in (125.0, 1000.0, 8000.0):
        expected = (1e-3 * t_mm * hole_by_differences(f, 1e-3 * d_mm) + hole_ends(f, 1e-3 * d_mm, psi)) / 0.05
        assert complex(hole_impedance(f, Sheet(1.0, 0.05, d_mm, t_mm))) == pytest.approx(expected, rel=1e-4)


def test_energy_is_kept_without_friction_and_lost_with_it() -> None:
    for sheet in (COARSE, FINE, Sheet(0.4)):
        z = impedance(F, sheet, viscosity_pa_s=0.0)
        assert np.abs(passed(z)) ** 2 + np.abs(thrown_back(z)) ** 2 == pytest.approx(np.ones(len(F)), abs=1e-12)
    z = impedance(F, FINE)
    assert np.all(np.abs(passed(z)) ** 2 + np.abs(thrown_back(z)) ** 2 < 1.0)


def test_smaller_holes_of_one_open_area_lose_less_treble_until_friction_takes_over() -> None:
    """Source: M. Rettinger, SMPTE J. 91 (1982): so until the diameter comes down to the thickness."""
    loss = [float(loss_db(8000.0, Sheet(0.4, 0.05, d, 0.35))) for d in (2.0, 1.2, 0.6, 0.35)]
    assert loss == sorted(loss, reverse=True)
    assert float(loss_db(8000.0, Sheet(0.4, 0.05, 0.05, 0.35))) > loss[-1]


def test_a_cloth_that_is_not_there_leaves_the_wall_its_absorption() -> None:
    for wall in (0.0, 0.02, 0.3, 0.9):
        found = before_wall(F, Sheet(1e-12), gap_m=0.1, wall_absorption=np.full(len(F), wall))
        assert found == pytest.approx(np.full(len(F), wall), abs=1e-6)
    hard = before_wall(F, Sheet(0.4), gap_m=0.1, wall_absorption=np.zeros(len(F)))
    assert hard == pytest.approx(np.zeros(len(F)), abs=1e-6)  # nothing to take sound
    swallowed = before_wall(F, FINE, gap_m=0.1, wall_absorption=np.full(len(F), 0.1))
    assert np.all((swallowed > 0.0) & (swallowed < 1.0))


def test_a_closed_cloth_before_nothing_passes_what_the_diffuse_mass_law_has() -> None:
    """Source: integral of sin 2t / (1 + a^2 cos^2 t) to 78 degrees, ln((1 + a^2) / (1 + a^2 c^2)) / (a^2 (1 - c^2)), a = omega m / 2 rho c."""
    c2 = math.cos(math.radians(78.0)) ** 2
    a2 = (np.pi * F * 0.4 / IMPEDANCE_PA_S_M) ** 2
    expected = np.log((1.0 + a2) / (1.0 + a2 * c2)) / (a2 * (1.0 - c2))
    assert before_wall(F, Sheet(0.4), gap_m=0.1, wall_absorption=np.ones(len(F))) == pytest.approx(expected, rel=1e-6)


def test_absorption_before_a_wall_agrees_with_transfer_matrices() -> None:
    """Source: sheet and layer of air as 2 x 2 matrices of pressure and velocity (Allard and Atalla, textbook), adaptive quadrature."""
    gap, wall = 0.12, 0.2
    for sheet in (Sheet(0.4), FINE, COARSE):
        for f in (200.0, 1000.0, 3000.0):

            def taken(theta: float, sheet: Sheet = sheet, f: float = f) -> float:
                air = IMPEDANCE_PA_S_M / math.cos(theta)
                phase = 2.0 * math.pi * f / SPEED_M_S * gap * math.cos(theta)
                layer = np.array([[math.cos(phase), 1j * air * math.sin(phase)], [1j * math.sin(phase) / air, math.cos(phase)]])
                cloth = np.array([[1.0, complex(impedance(f, sheet))], [0.0, 1.0]])
                back = math.sqrt(1.0 - wall)
                pressure, velocity = cloth @ layer @ np.array([1.0, (1.0 - back) / (air * (1.0 + back))])
                thrown = (pressure / velocity - air) / (pressure / velocity + air)
                return (1.0 - abs(thrown) ** 2) * math.sin(2.0 * theta)

            limit = math.radians(78.0)
            expected = quad(taken, 0.0, limit, limit=400)[0] / (math.sin(limit) ** 2)
            found = float(before_wall(np.array([f]), sheet, gap_m=gap, wall_absorption=np.array([wall]))[0])
            assert found == pytest.approx(expected, rel=1e-3)


def test_a_sheet_close_before_a_wall_rings_as_mass_on_air() -> None:
    """Source: c / 2 pi sqrt(rho / (m d)), about 60 / sqrt(m d), textbook; at normal incidence."""
    mass, gap = 0.4, 0.1
    f = np.geomspace(100.0, 800.0, 4001)
    turn = 0.999 * np.exp(-4j * np.pi * f * gap / SPEED_M_S)
    front = impedance(f, Sheet(mass)) + IMPEDANCE_PA_S_M * (1.0 + turn) / (1.0 - turn)
    rings = f[np.argmin(np.abs(front))]
    assert rings == pytest.approx(SPEED_M_S / (2.0 * math.pi) * math.sqrt(DENSITY_KG_M3 / (mass * gap)), rel=0.06)


def test_the_comb_peaks_where_the_round_trip_closes() -> None:
    """A sheet so heavy that it turns nearly all of the wave unshifted: peaks at c / 2 d, notches halfway. Source: organ pipe."""
    found = comb((Sheet(1000.0),), 0.5)
    assert found.peak_hz == pytest.approx(SPEED_M_S / 1.0, rel=2e-3)
    assert found.notch_hz == pytest.approx(SPEED_M_S / 2.0, rel=2e-3)


def test_ripple_is_crest_to_trough_of_the_response() -> None:
    f = np.geomspace(3000.0, 5000.0, 40_001)
    for front in (1.0, 0.3):
        level = response_db(f, COARSE, 0.3, front) + loss_db(f, COARSE)
        crest = ripple_db(front * np.abs(thrown_back(impedance(f, COARSE))))
        assert level.max() - level.min() == pytest.approx(float(crest.max()), rel=0.06)
        strength = front * np.abs(thrown_back(impedance(f, COARSE)))
        assert np.all(level <= -20.0 * np.log10(1.0 - strength) + 1e-9)
        assert np.all(level >= -20.0 * np.log10(1.0 + strength) - 1e-9)
    assert response_db(4000.0, COARSE, 0.2, 0.0) == pytest.approx(-loss_db(4000.0, COARSE), rel=1e-12)


def test_black_backing_takes_most_of_the_ripple() -> None:
    for found in through(find_fabric("perforated pearl")).combs:
        assert found.ripple_backed_db < 0.3 * found.ripple_hard_db


def test_library_fabrics_against_the_british_limits() -> None:
    """Source: BS 5382 as Rettinger quotes it: at most 3 dB at 6 kHz and 6 dB at 8 kHz over 500 Hz."""
    assert through(find_fabric("micro-perforated white")).meets is True
    assert through(find_fabric("matt white")).meets is False
    assert through(find_fabric("woven acoustic")).meets is True
    coarse = through(find_fabric("perforated pearl"))
    assert coarse.meets is (False if coarse.over_500_db[6000][0] > 3.0 or coarse.over_500_db[8000][0] > 6.0 else None)
    assert [each.gap_m for each in coarse.combs] == list(GAPS_M)


def test_what_a_fabric_does_not_state_has_two_ends() -> None:
    solid = sheets_of(find_fabric("matt white"))
    assert [sheet.mass_kg_m2 for sheet in solid] == list(MASS)
    assert sheets_of(find_fabric("matt white"), 0.33) == (Sheet(0.33),)
    weave = sheets_of(find_fabric("woven acoustic"), 0.3)
    assert [sheet.depth_mm for sheet in weave] == [0.38, 0.76]
    assert math.pi * weave[0].hole_mm ** 2 / 4.0 == pytest.approx((0.55 - 0.38) ** 2)
    white = through(find_fabric("matt white"))
    assert np.all(white.bands_db[0] < white.bands_db[1])
