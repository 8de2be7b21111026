"""Photometric files against closed forms, against each other, and against independent readers."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from halfgain.scenes.lamps.eulumdat import read_eulumdat
from halfgain.scenes.lamps.generic import beam, beam_exponent, even
from halfgain.scenes.lamps.lm63 import read_lm63
from halfgain.scenes.lamps.photometry import Photometry, gamma_weights
from halfgain.scenes.lamps.read import read_photometry
from halfgain.scenes.lamps.unusable import UnusablePhotometry
from scipy.integrate import dblquad

from tests.needs import needs

from .photometric_files import GAMMA, ISYM, PARTS, eulumdat, lambertian, lm63, odd, symmetric


def value(found: Photometry, c: float, gamma: float) -> float:
    """Intensity [cd] by scipy-free interpolation of numpy, in both angles."""
    across = [np.interp(gamma, found.gamma_deg, row) for row in found.candela]
    return float(np.interp(c % 360.0, found.c_deg, across))


@pytest.mark.parametrize("symmetry", PARTS)
def test_both_forms_hold_the_whole_turn_of_every_symmetry(symmetry: str) -> None:
    """Expected: the function that the files were written from, at every plane of the turn."""
    intensity = symmetric(symmetry)
    found = (read_lm63(lm63(intensity, symmetry))[0], read_eulumdat(eulumdat(intensity, symmetry)))
    for each in found:
        assert each.c_deg[0] == 0.0
        assert each.c_deg[-1] == 360.0
        assert (np.diff(each.c_deg) > 0).all()
        for c in range(0, 360, 15):
            for gamma in (0.0, 35.0, 90.0, 145.0):
                assert value(each, c, gamma) == pytest.approx(intensity(c, gamma), rel=1e-6)


@pytest.mark.parametrize("symmetry", PARTS)
def test_lumens_are_the_integral_over_the_sphere(symmetry: str) -> None:
    """Source: scipy's quadrature of the function itself; 5 and 15 deg steps leave 0.4 % at most."""
    intensity = symmetric(symmetry)
    whole, _ = dblquad(
        lambda g, c: intensity(math.degrees(c), math.degrees(g)) * math.sin(g), 0, 2 * math.pi, 0, math.pi, epsabs=1e-3
    )
    assert read_lm63(lm63(intensity, symmetry))[0].flux_lm == pytest.approx(whole, rel=4e-3)
    assert read_eulumdat(eulumdat(intensity, symmetry)).flux_lm == pytest.approx(whole, rel=4e-3)


def test_what_is_interpolated_is_integrated_exactly() -> None:
    """Source: scipy's quadrature of the piecewise linear function."""
    gamma = np.array([0.0, 7.0, 30.0, 31.0, 90.0])
    heights = np.array([3.0, 5.0, 1.0, 0.0, 2.0])
    parts = [
        dblquad(lambda g, _: np.interp(g, np.radians(gamma), heights) * math.sin(g), 0, 1, a, b)[0]
        for a, b in zip(np.radians(gamma[:-1]), np.radians(gamma[1:]), strict=True)
    ]
    assert gamma_weights(gamma) @ heights == pytest.approx(sum(parts), rel=1e-12)


def test_a_lambertian_disc_has_pi_times_its_axial_intensity() -> None:
    """Source: Lambert's law, flux = pi I0; the file states it in 5 deg steps."""
    assert read_lm63(lm63(lambertian))[0].flux_lm == pytest.approx(1000.0, rel=1.5e-3)


def test_lumens_of_lamps_times_output_ratio_are_the_intensities_sum() -> None:
    """Source: definition of the light output ratio (EULUMDAT, lines 23 and 30)."""
    stated = 1250.0
    found = read_eulumdat(eulumdat(lambertian, flux_lm=stated, ratio=80.0, downward=100.0))
    assert found.lamps_lm == stated
    assert found.flux_lm == pytest.approx(0.8 * stated, rel=1.5e-3)
    assert found.remarks == ()


@pytest.mark.parametrize("beam_deg", [10.0, 38.0, 90.0, 120.0, 160.0])
def test_a_beam_halves_at_half_its_angle_and_has_its_lumens(beam_deg: float) -> None:
    """Source: definition of the beam angle; I0 = flux (n + 1) / 2 pi of cos^n."""
    found = beam(700.0, beam_deg)
    top = 700.0 * (beam_exponent(beam_deg) + 1.0) / (2.0 * math.pi)
    assert found.flux_lm == pytest.approx(700.0, rel=1e-12)
    assert value(found, 0.0, 0.0) == pytest.approx(top, rel=2e-4)
    assert value(found, 77.0, 0.5 * beam_deg) == pytest.approx(0.5 * top, rel=3e-4)
    assert value(found, 0.0, 90.0) == 0.0


def test_an_even_lamp_is_a_sphere() -> None:
    """Source: definition, I = flux / 4 pi."""
    assert even(806.0).flux_lm == pytest.approx(806.0, rel=1e-12)
    assert even(806.0).downward_share == pytest.approx(0.5, rel=1e-12)


@pytest.mark.parametrize(
    ("header", "ballast", "times"),
    [("", "0.9 0.8", 0.72), ("IESNA91", "0.9 0.8", 0.72), ("IESNA:LM-63-1995", "0.9 0.8", 0.72), ("IESNA:LM-63-2002", "0.9 1", 0.9),
     ("IES:LM-63-2019", "0.9 1.00001", 0.9), ("IES:LM-63-2019", "0.9 1.11", 0.9)],
)  # fmt: skip
def test_factors_count_as_each_revision_says(header: str, ballast: str, times: float) -> None:
    """Ballast factor always; the second number is a factor up to 1995 and a code of how the file was made in 2019 (from memory)."""
    found, _ = read_lm63(lm63(lambertian, header=header, ballast=ballast, multiplier=2.0))
    assert found.flux_lm == pytest.approx(times * read_lm63(lm63(lambertian))[0].flux_lm, rel=1e-4)


def test_angles_that_end_at_90_hold_no_light_above() -> None:
    down = np.linspace(0.0, 90.0, 19)
    found, _ = read_lm63(lm63(lambda c, g: 100.0, gamma=down))
    assert found.flux_lm == pytest.approx(2.0 * math.pi * 100.0, rel=1e-9)
    assert found.downward_share == 1.0


def test_values_may_stand_on_any_lines_with_commas_between() -> None:
    text = lm63(odd, "none")
    head, numbers = text.split("TILT=NONE\n")
    assert read_lm63(head + "tilt = none\r\n" + numbers.replace(" ", ",\r\n"))[0].flux_lm == read_lm63(text)[0].flux_lm


def test_tilt_factors_follow_the_aim() -> None:
    """Source: LM-63, TILT=INCLUDE; linear between the angles stated."""
    text = lm63(lambertian, tilt="INCLUDE\n1\n3\n0 45 90\n1.0 0.9 0.7")
    found, tilt = read_lm63(text)
    assert found.flux_lm == read_lm63(lm63(lambertian))[0].flux_lm
    assert [tilt.factor(each) for each in (0.0, 22.5, 90.0, 180.0)] == pytest.approx([1.0, 0.95, 0.7, 0.7])
    _, sideways = read_lm63(text.replace("INCLUDE\n1\n", "INCLUDE\n2\n"))
    assert sideways.factor(0.0) == 1.0
    with pytest.raises(UnusablePhotometry, match="geometry 2"):
        sideways.factor(30.0)


def test_decimal_commas_of_european_files_are_read() -> None:
    text = eulumdat(odd, "none")
    assert read_eulumdat(text.replace(".", ",")).flux_lm == read_eulumdat(text).flux_lm


def test_contradictions_are_told() -> None:
    found = read_eulumdat(eulumdat(lambertian, ratio=60.0, downward=40.0, sets=2))
    assert [line.split(",")[0].split(":")[0][:40] for line in found.remarks] == [
        "its intensities add up to 999 lm", "100 % of its light goes down", "it states 2 sets of lamps"
    ]  # fmt: skip
    more, _ = read_lm63(lm63(lambertian, lamps="1 500"))
    assert "more than the 500 lm of its lamps" in more.remarks[0]


LM63_FAULTS = [
    ("TILT=NONE", "TILTED", 0, "TILT", "no LM-63 file"),
    ("TILT=NONE", "TILT=lamp.tlt", 5, "TILT", "another file"),
    ("1 -1 1 37 1 1 2", "1 -1 1 37 1 2 2", 6, "photometric type", "type B"),
    ("1 -1 1 37 1 1 2", "1 -1 1 37 1 3 2", 6, "photometric type", "type A"),
    ("1 -1 1 37 1 1 2", "0 -1 1 37 1 1 2", 6, "number of lamps", "out of range"),
    ("1 -1 1 37 1 1 2", "1 0 1 37 1 1 2", 6, "lumens per lamp", "out of range"),
    ("1 -1 1 37 1 1 2", "1 -1 0 37 1 1 2", 6, "candela multiplier", "out of range"),
    ("1 -1 1 37 1 1 2", "1 -1 1 36.5 1 1 2", 6, "number of vertical angles", "whole"),
    ("1 -1 1 37 1 1 2", "1 -1 1 1000 1000 1 2", 6, "number of angles", "too many"),
    ("0 5 10 ", "5 6 10 ", 8, "vertical angle 1", "begin"),
    ("0 5 10 ", "0 5 5 ", 8, "vertical angle 3", "above the one before"),
    ("175 180", "175 179", 8, "vertical angle 37", "end"),
    ("\n0\n", "\n10\n", 9, "horizontal angle 1", "begin"),
    ("318.309886", "-318.3", 10, "candela of plane 1, angle 1", "out of range"),
    ("318.309886", "many", 10, "candela of plane 1, angle 1", "number"),
    ("318.309886", "nan", 10, "candela of plane 1, angle 1", "number"),
    ("318.309886", "318 319", 10, "", "1 planes of 37"),
    ("318.309886", "", 11, "candela of plane 1, angle 37", "ends before"),
]


@pytest.mark.parametrize(("old", "new", "line", "key", "words"), LM63_FAULTS)
def test_faults_of_lm63_name_line_key_and_what_is_allowed(old: str, new: str, line: int, key: str, words: str) -> None:
    text = lm63(lambertian)
    assert old in text
    with pytest.raises(UnusablePhotometry) as fault:
        read_lm63(text.replace(old, new, 1))
    assert (fault.value.line, fault.value.key) == (line, key)
    assert words in str(fault.value)


EULUMDAT_FAULTS = [
    (3, "5", "Isym, symmetry", "out of range"),
    (3, "1.5", "Isym, symmetry", "whole"),
    (4, "22", "Mc, number of C planes", "Isym = 4"),
    (6, "1", "Ng, intensities a plane", "out of range"),
    (24, "0", "conversion factor for intensities", "is 0"),
    (26, "0", "number of sets of lamps", "out of range"),
    (27, "0", "number of lamps", "is 0"),
    (29, "-5", "total luminous flux of the lamps", "out of range"),
    (43, "3", "C plane 1", "begin"),
    (44, "0", "C plane 2", "above the one before"),
    (49, "91", "C plane 7", "mirrors"),
    (103, "179", "gamma angle 37", "end"),
    (104, "-1", "intensity of plane 1, angle 1", "out of range"),
    (104, "x", "intensity of plane 1, angle 1", "number"),
    (104, "1 2", "", "7 planes of 37"),
]


@pytest.mark.parametrize(("line", "new", "key", "words"), EULUMDAT_FAULTS)
def test_faults_of_eulumdat_name_line_key_and_what_is_allowed(line: int, new: str, key: str, words: str) -> None:
    lines = eulumdat(symmetric("quadrant"), "quadrant").split("\r\n")
    lines[line - 1] = new
    with pytest.raises(UnusablePhotometry) as fault:
        read_eulumdat("\n".join(lines))
    assert (fault.value.line, fault.value.key) == (len(lines) - 1 if words.startswith("7") else line, key)
    assert words in str(fault.value)


def test_a_file_that_ends_early_is_refused() -> None:
    lines = eulumdat(odd, "none").split("\r\n")
    for count in (3, 30, 40, 60, 110, len(lines) - 2):
        with pytest.raises(UnusablePhotometry, match="ends before"):
            read_eulumdat("\n".join(lines[:count]))


def test_other_files_are_refused_by_their_ending(tmp_path: Path) -> None:
    (tmp_path / "lamp.pdf").write_text("x")
    for name, words in (("lamp.pdf", "another kind"), ("none.ies", "no such file")):
        with pytest.raises(UnusablePhotometry, match=words):
            read_photometry(tmp_path / name)


@pytest.mark.parametrize("symmetry", ISYM)
def test_an_independent_reader_finds_the_same_intensities_in_eulumdat(symmetry: str, tmp_path: Path) -> None:
    """Source: eulumdat-py, a reader of its own (MIT licence)."""
    pyldt = needs("pyldt")
    path = tmp_path / "lamp.ldt"
    path.write_bytes(eulumdat(symmetric(symmetry), symmetry, flux_lm=640.0).encode())
    other, ours = pyldt.LdtReader.read(path), read_photometry(path).photometry
    assert np.allclose(other.header.g_angles, ours.gamma_deg)
    for c, row in zip(other.header.c_angles, other.intensities, strict=True):
        assert [value(ours, c, g) for g in GAMMA] == pytest.approx([each * 0.64 for each in row], rel=1e-9)


@pytest.mark.filterwarnings("ignore::UserWarning")
def test_an_independent_reader_finds_the_same_intensities_in_lm63(tmp_path: Path) -> None:
    """Source: eulumdat-ies, a converter of its own (MIT licence), which knows the revision of 2002 without tilt."""
    other_form = needs("eulumdat_ies")
    path = tmp_path / "lamp.ies"
    path.write_text(lm63(odd, "none", lamps="2 400", multiplier=1.25))
    other, ours = other_form.ies_to_ldt(path), read_photometry(path).photometry
    for c, row in zip(other.header.c_angles, other.intensities, strict=True):
        assert [value(ours, c, g) for g in other.header.g_angles] == pytest.approx([each * 0.8 for each in row], rel=1e-9)
