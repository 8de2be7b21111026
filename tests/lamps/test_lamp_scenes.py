"""Lamps, windows and light states of a scene file: what is made of them, and the message each mistake must give."""

from __future__ import annotations

import math
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from halfgain.materials.tint import LUMINANCE_WEIGHTS
from halfgain.scenes.errors import SceneErrors
from halfgain.scenes.lamps.colour import of_temperature, planckian_xy
from halfgain.scenes.load import load_scene, scene_from_text
from halfgain.scenes.model import Light, Scene
from halfgain.scenes.recheck import check_scene
from halfgain.simulate.measuring.flatten import flatten

from tests.needs import needs

from .lit_scene import lit
from .photometric_files import eulumdat, lambertian, lm63

BROKEN = tomllib.loads(Path(__file__).with_name("broken_lights.toml").read_text(encoding="utf-8"))["case"]


@pytest.mark.parametrize("case", BROKEN, ids=[str(i) for i in range(len(BROKEN))])
def test_each_broken_scene_gives_its_message(case: dict) -> None:
    with pytest.raises(SceneErrors) as caught:
        scene_from_text(lit((case["old"], case["new"])), "scene.toml")
    assert str(caught.value).splitlines() == [f"scene.toml:{line}" for line in case["says"]]


def test_a_scene_holds_its_lamps_windows_and_states() -> None:
    scene = scene_from_text(lit())
    assert [lamp.photometry.flux_lm for lamp in scene.lamps] == pytest.approx([470.0, 350.0, 1200.0])
    assert [lamp.aim for lamp in scene.lamps] == [(0.0, 0.0, -1.0), (0.0, 0.3, -1.0), (0.0, -0.2, 1.0)]
    assert scene.windows[0].luminance_cd_m2 == pytest.approx(0.7 * 5000.0 / math.pi)  # an even half-space, E = pi L
    assert [light.words for light in scene.lights] == [
        "12 lx on the screen",
        "table lamp at 10 %, cornice at 5 %",
        "0.5 lx on the screen, spot, garden behind its blind",
    ]
    assert [light.traced for light in scene.lights] == [False, True, True]


@pytest.mark.parametrize(("name", "text"), [("lamp.ies", lm63(lambertian)), ("LAMP.LDT", eulumdat(lambertian))])
def test_a_photometric_file_is_read_beside_the_scene_and_is_part_of_its_hash(name: str, text: str, tmp_path: Path) -> None:
    changed = lit(('kind = "bulb"', f'photometry = "{name}"'), ("light_output_lm = 470\n", ""))
    (tmp_path / name).write_text(text)
    (tmp_path / "scene.toml").write_text(changed)
    scene = load_scene(tmp_path / "scene.toml")
    assert scene.lamps[0].photometry.flux_lm == pytest.approx(1000.0, rel=2e-3)
    assert tmp_path / name in scene.files
    own = load_scene(tmp_path / "scene.toml").change(
        "lamp.table lamp.light_output_lm".replace("table lamp", '"table lamp"'), 250.0
    )
    assert own.lamps[0].photometry.flux_lm == pytest.approx(250.0)
    (tmp_path / name).write_text(text.replace("made for a test", "made for the tests"))
    assert load_scene(tmp_path / "scene.toml").sha256 != scene.sha256


def test_a_fault_in_a_photometric_file_names_that_file_and_its_line(tmp_path: Path) -> None:
    (tmp_path / "lamp.ies").write_text(lm63(lambertian).replace("318.309886", "-1", 1))
    text = lit(('kind = "bulb"', 'photometry = "lamp.ies"'), ("light_output_lm = 470\n", ""))
    with pytest.raises(SceneErrors) as caught:
        scene_from_text(text, "scene.toml", tmp_path)
    assert str(caught.value) == (
        f'{tmp_path / "lamp.ies"}:10: candela of plane 1, angle 1: is out of range (got "-1"; allowed 0 to 1e+07)'
    )


def test_tilt_factors_count_by_the_aim(tmp_path: Path) -> None:
    (tmp_path / "lamp.ies").write_text(lm63(lambertian, tilt="INCLUDE\n1\n2\n0 90\n1.0 0.6"))
    text = lit(('kind = "bulb"', 'photometry = "lamp.ies"\naim = [1, 0, -1]'), ("light_output_lm = 470\n", ""))
    whole = scene_from_text(lit(('kind = "bulb"', 'photometry = "lamp.ies"'), ("light_output_lm = 470\n", "")), folder=tmp_path)
    tilted = scene_from_text(text, folder=tmp_path)
    assert tilted.lamps[0].photometry.flux_lm == pytest.approx(0.8 * whole.lamps[0].photometry.flux_lm)


def test_contradictions_of_a_file_are_notes_of_the_scene(tmp_path: Path) -> None:
    (tmp_path / "lamp.ldt").write_text(eulumdat(lambertian, ratio=50.0))
    text = lit(('kind = "bulb"', 'photometry = "lamp.ldt"'), ("light_output_lm = 470\n", ""))
    notes = scene_from_text(text, folder=tmp_path).notes
    assert (
        'lamp "table lamp": its intensities add up to 999 lm, its light output ratio says 500 lm: the intensities are used'
        in notes
    )


@pytest.mark.parametrize("kelvin", [1700.0, 2222.0, 2700.0, 4000.0, 6500.0, 20000.0])
def test_colours_of_black_bodies_are_those_of_an_integration(kelvin: float) -> None:
    """Source: colour-science, Planck's law over the CIE 1931 observer; the splines are good to 0.0008 in x and y."""
    colour = needs("colour")
    shape = colour.SpectralShape(360, 780, 5)
    xyz = colour.sd_to_XYZ(
        colour.sd_blackbody(kelvin, shape), colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape)
    )
    assert planckian_xy(kelvin) == pytest.approx(xyz[:2] / xyz.sum(), abs=8e-4)
    assert np.array(of_temperature(kelvin)) @ LUMINANCE_WEIGHTS == pytest.approx(1.0)


def test_a_state_put_together_in_code_is_checked() -> None:
    scene: Scene = scene_from_text(lit())
    good = replace(scene, lights=(Light("mine", lamps={"spot": 0.5}),))
    check_scene(good)
    for wrong, words in ((Light("mine", lamps={"spt": 0.5}), "is no lamp"), (Light("mine", lamps={"spot": 1.5}), "out of range")):
        with pytest.raises(SceneErrors, match=words):
            check_scene(replace(scene, lights=(wrong,)))


def test_lamps_and_levels_can_be_changed_by_key() -> None:
    scene = scene_from_text(lit()).change(
        {"light.film.lamps.cornice": 1.0, "lamp.spot.beam_deg": 60, "window.garden.outdoor_lx": 100}
    )
    assert scene.lights[1].lamps["cornice"] == 1.0
    assert scene.windows[0].luminance_cd_m2 == pytest.approx(70.0 / math.pi)


def test_a_lamp_file_of_no_lamps_flux_is_refused_and_one_at_the_ends_can_be_changed_in_code(tmp_path: Path) -> None:
    """What loads passes the check of a scene changed in code as well."""
    bulb = ('kind = "bulb"', 'photometry = "lamp.ies"')
    for flux, kept in ((2e6, False), (9e5, True), (0.02, True), (0.002, False)):
        (tmp_path / "lamp.ies").write_text(lm63(lambda c, gamma, times=flux / 1000.0: times * lambertian(c, gamma)))
        if kept:
            scene = scene_from_text(lit(bulb, ("light_output_lm = 470\n", "")), folder=tmp_path)
            flatten(replace(scene, title="another"))
            continue
        with pytest.raises(SceneErrors, match=r"lamp\[1\]\.photometry: gives .* lm: .* allowed 0\.01 to 1 000 000 lm\)"):
            scene_from_text(lit(bulb, ("light_output_lm = 470\n", "")), folder=tmp_path)
    scene_from_text(lit(bulb), folder=tmp_path)  # with an output of its own stated


STRIP = (
    'kind = "strip"\nplace_m = [-2.0, 5.9, 2.3]\nend_m = [2.0, 5.9, 2.3]\naim = [0.0, -0.2, 1.0]',
    'kind = "strip"\nplace_m = [-1.0, 0.05, 1.4]\nend_m = [1.0, 0.05, 1.4]\naim = [0.0, -1.0, 0.0]',
)
HOLES = ('fabric = "matt white"', 'fabric = "micro-perforated white"')


def test_a_backed_cloth_with_holes_and_a_closed_one_hide_what_is_behind() -> None:
    backed = scene_from_text(lit(STRIP, HOLES, ("gap_to_wall_m = 0.10", "gap_to_wall_m = 0.10\nbacked = true")))
    assert not any("behind the screen" in note for note in backed.notes)
    closed = scene_from_text(lit(STRIP))
    assert "cornice behind the screen: its cloth is taken to let no light through" in closed.notes
    beside = ('surface = "left"\nout_m = [1.0, 2.4]', 'surface = "front"\nright_m = [1.4, 2.0]')
    scene_from_text(lit(beside, HOLES))  # beside the screen: nothing to come through
