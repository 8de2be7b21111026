"""Curves that are refused or warned of; fits that find planted numbers; verdicts; fabric files."""

from __future__ import annotations

import math
import tomllib

import numpy as np
import pytest
from halfgain.materials.fabric_error import FabricError
from halfgain.materials.fabric_file import FabricFileError, fabric_toml, library_with
from halfgain.materials.fabric_table import FabricTable
from halfgain.materials.library import find_fabric, load_library
from halfgain.materials.lobes.brdf import fabric_gains, fabric_value
from halfgain.materials.lobes.profile import standard
from halfgain.materials.solving.admissible import admissible_fabrics, admissible_from_pair
from halfgain.materials.solving.curve import CurveErrors, GainCurve, curve_from_text, read_curve
from halfgain.materials.solving.families import FAMILIES
from halfgain.materials.solving.fit import bounded_heights, fit_curve
from halfgain.materials.solving.fit_report import report_curve, report_pair
from halfgain.materials.solving.solve import fabric_from_pair
from halfgain.materials.solving.viewing_angle import half_gain_of

VIEWS = np.arange(0.0, 81.0, 5.0)


def curve_of(gains, views=VIEWS, incidence=0.0, azimuth=0.0, sd=None):
    n = len(views)
    error = None if sd is None else np.full(n, sd)
    return GainCurve(np.asarray(views, float), np.asarray(gains, float), np.full(n, incidence), np.full(n, azimuth), error)


BAD_CURVES = [
    ("", "the curve is empty"),
    ("view_deg;gain\n0;1\n", "separated by commas"),
    ("view,gain\n0,1\n", 'unknown column, did you mean "view_deg"?'),
    ("view_deg\n0\n", "missing column"),
    ("view_deg,gain,gain\n0,1,1\n", "stands there twice"),
    ("view_deg,gain\n0,1.2\n10,nan\n20,0.8\n", ":3: gain: not a finite number"),
    ("view_deg,gain\n0,1.2\n10,inf\n", ":3: gain: not a finite number"),
    ("view_deg,gain\n0,1.2\n10,-0.1\n", ":3: gain: out of range (got -0.1; allowed: a number from 0 up)"),
    ("view_deg,gain\n0,1.2\n95,0.1\n", ":3: view_deg: out of range"),
    ("view_deg,gain\n0,1.2\n10\n", ":3: wrong number of columns"),
    ("view_deg,gain\n0,1.2\n10,x\n", ':3: gain: not a number (got "x"'),
    ("view_deg,gain\n0,1.2\n10,1\n20,0.8\n10,0.9\n", ":5: view_deg: the same angles as in line 3"),
    ("view_deg,gain,azimuth_deg\n-10,1.2,0\n10,1,180\n20,1,0\n", "the same angles as in line 2"),
    ("view_deg,gain\n0,1.2\n", "too few points"),
    ("view_deg,gain\n0,0\n30,0\n", "all gains are 0"),
    ("view_deg,gain\n0,1.2\n0.3,1.1\n0.7,0.8\n1.2,0.4\n", "are they radians?"),
    ("view_deg,gain,gain_sd\n0,1.2,0\n30,1,0.1\n", ":2: gain_sd: out of range"),
    ("view_deg,gain,incidence_deg\n0,1.2,-5\n30,1,0\n", ":2: incidence_deg: out of range"),
    ('view_deg,gain\n"0,1.2\n', "not CSV"),
]


@pytest.mark.parametrize(("text", "words"), BAD_CURVES)
def test_bad_curve_is_one_clear_line_for_each_mistake(text, words):
    with pytest.raises(CurveErrors) as refusal:
        curve_from_text(text, "c.csv")
    said = str(refusal.value)
    assert words in said
    assert all(line.startswith("c.csv") for line in said.splitlines())


def test_all_mistakes_of_a_curve_come_at_once():
    with pytest.raises(CurveErrors) as refusal:
        curve_from_text("view_deg,gain\n0,-1\n5,nan\n99,1\n", "c.csv")
    assert [problem.line for problem in refusal.value.problems] == [2, 3, 4]


def test_radians_are_read_when_said_so():
    text = "view_deg,gain\n0,1.2\n0.3,1.1\n0.7,0.8\n1.2,0.4\n"
    assert curve_from_text(text, angles="radians").view_deg == pytest.approx(np.degrees([0, 0.3, 0.7, 1.2]))
    assert curve_from_text(text, angles="degrees").view_deg[-1] == 1.2
    with pytest.raises(CurveErrors, match="beyond 90 degrees, read as radians"):
        curve_from_text("view_deg,gain\n0,1.2\n30,1.1\n", angles="radians")


def test_missing_and_broken_files(tmp_path):
    for path, words in ((tmp_path / "none.csv", "no such file"), (tmp_path, "is a directory, not a gain curve")):
        with pytest.raises(CurveErrors, match=words):
            read_curve(path)
    (tmp_path / "b.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(CurveErrors, match="not a UTF-8 text"):
        read_curve(tmp_path / "b.csv")
    (tmp_path / "g.csv").write_text("\ufeff# measured\nview_deg, gain\n\n0, 1.2\n30, 0.8\n")
    assert list(read_curve(tmp_path / "g.csv").gain) == [1.2, 0.8]


def test_rising_curve_is_warned_of_at_normal_incidence_only():
    rising = "view_deg,gain,incidence_deg\n" + "".join(f"{v},{g},{{i}}\n" for v, g in ((0, 1), (10, 0.8), (20, 0.9), (40, 0.5)))
    assert any("rises again at 20 degrees" in words for words in curve_from_text(rising.replace("{i}", "0")).warnings)
    oblique = rising.replace("{i}", "30") + "0,1,0\n30,0.8,0\n"
    assert not any("rises" in words for words in curve_from_text(oblique).warnings)


def test_too_few_points_leave_out_the_families_they_cannot_settle():
    fits, left_out = fit_curve(curve_of([1.2, 0.9, 0.5], [0, 20, 40]))
    assert [fit.name for fit in fits] == ["diffuse"]
    assert any("3 points are too few for 3 parameters" in words for words in left_out)


def test_bounded_heights_against_a_general_solver():
    """Source: scipy's SLSQP on the same bounded least squares."""
    from scipy.optimize import minimize

    rng = np.random.default_rng(4)
    for _ in range(60):
        columns = np.stack([np.ones(12), rng.random(12)], axis=1)
        gain, weight, albedos = rng.normal(0.6, 0.6, 12), rng.uniform(0.5, 2.0, 12), np.array([1.0, rng.uniform(0.1, 0.6)])
        found, _ = bounded_heights(columns, gain, weight, albedos, 1.0)

        def loss(x, a=columns, g=gain, w=weight):
            return float(np.sum((w * (a @ x - g)) ** 2))

        assert np.all(found >= -1e-12)
        assert albedos @ found <= 1.0 + 1e-12
        other = minimize(
            loss,
            [0.3, 0.3],
            bounds=[(0, None)] * 2,
            method="SLSQP",
            tol=1e-12,
            constraints={"type": "ineq", "fun": lambda x, r=albedos: 1.0 - r @ x},
        )
        assert loss(found) <= other.fun + 1e-6


PLANTED = [
    ("gaussian on a base", {"base_gain": 0.42, "lobe_gain": 0.98, "sigma_deg": 22.1}),
    ("cosine-power on a base", {"base_gain": 0.30, "lobe_gain": 0.90, "exponent": 6.0}),
    ("half-vector", {"lobe_gain": 1.3, "roughness": 0.35}),
]


@pytest.mark.parametrize("known", [False, True], ids=["spread from the fit", "spread given"])
@pytest.mark.parametrize(("name", "truth"), PLANTED)
def test_fit_recovers_planted_parameters_in_18_of_20_noisy_trials(name, truth, known):
    """Source: the planted numbers; noise of 1 percent of the peak, seed fixed; the intervals claim 99 percent."""
    family = next(family for family in FAMILIES if family.name == name)
    shape = np.array([truth[key] for key, _, _ in family.shape])
    lobe = family.lobe(shape, 1)
    clean = truth.get("base_gain", 0.0) + truth["lobe_gain"] * lobe.shape(np.radians(VIEWS))
    rng = np.random.default_rng(12)
    noise = 0.01 * float(clean.max())
    hits = 0
    for _ in range(20):
        gains = clean + rng.normal(0.0, noise, len(clean))
        fit = next(fit for fit in _only(family, curve_of(gains, sd=noise if known else None)))
        hits += all(fit.parameters[key].low <= value <= fit.parameters[key].high for key, value in truth.items())
    assert hits >= 18


def _only(family, curve):
    from halfgain.materials.solving.fit import _fitted

    yield _fitted(family, curve, 1.0, 1)


def test_criterion_finds_the_planted_family():
    rng = np.random.default_rng(8)
    clean = standard(math.radians(25), 0.35).scaled(1.6).gain(np.radians(VIEWS))
    fits, _ = fit_curve(curve_of(clean + rng.normal(0, 0.004, len(clean)), sd=0.004))
    assert fits[0].name == "gaussian on a base"
    assert fits[0].aic < fits[1].aic
    assert fits[0].rms == pytest.approx(float(np.sqrt(np.mean(fits[0].residuals ** 2))))


def measured_of(fabric, incidences, views, noise, seed, azimuths=(0.0,)):
    rng = np.random.default_rng(seed)
    view, light, turn = (mesh.ravel() for mesh in np.meshgrid(views, incidences, azimuths))
    curve = GainCurve(view.astype(float), np.ones(view.size), light.astype(float), turn.astype(float), None)
    gains = fabric_gains(fabric.arrays(), *curve.directions()) * (1.0 + noise * rng.normal(size=view.size))
    return GainCurve(curve.view_deg, gains, curve.incidence_deg, curve.azimuth_deg, None)


def test_oblique_light_tells_beads_from_a_mirror_lobe():
    beads = measured_of(find_fabric("beaded"), [0, 20, 40], np.arange(-70, 71, 10), 0.01, 2)
    fits, _ = fit_curve(beads)
    assert fits[0].name == "retro gaussian on a base, entrance fall-off"
    assert fits[0].parameters["entrance_half_deg"].low < 35.0 < fits[0].parameters["entrance_half_deg"].high
    table = report_curve(beads).table
    assert (table["kind"], round(table["entrance_half_deg"])) == ("retro-reflective", 35)
    pearl = measured_of(find_fabric("pearl"), [0, 30], np.arange(-70, 71, 10), 0.003, 3)
    assert fit_curve(pearl)[0][0].name == "gaussian on a base"


def test_two_planes_find_an_elliptic_lobe():
    fabric = find_fabric("lenticular pearl")
    curve = measured_of(fabric, [0], np.arange(5, 80, 5), 0.005, 5, azimuths=(0.0, 90.0))
    report = report_curve(curve)
    assert report.fits[0].family == "elliptic gaussian on a base"
    assert report.table["half_gain_deg"] == pytest.approx(45, abs=1.5)
    assert report.table["half_gain_up_deg"] == pytest.approx(20, abs=1.5)


def test_curve_above_the_limit_is_impossible():
    """Source: energy; a Gaussian of gain 5 that halves at 40 degrees gives back 5 / 2.21153 of the light."""
    report = report_curve(curve_of(standard(math.radians(40), 0.0).scaled(5.0).gain(np.radians(VIEWS))))
    assert report.verdict == "impossible"
    assert report.table is None
    assert report.albedo[0] == pytest.approx(5.0 / 2.21153, rel=0.01)
    assert "more than arrives" in report.reason


def test_possible_curve_gives_its_albedo_and_a_fabric_that_is_the_curve():
    fabric = fabric_from_pair(name="x", gain=1.4, half_gain_deg=35, albedo=0.70)
    report = report_curve(curve_of(fabric.profile.gain(np.radians(VIEWS))))
    assert report.verdict == "possible"
    assert report.albedo[1] == pytest.approx(0.70, abs=1e-4)
    assert report.albedo[0] <= report.albedo[1] <= report.albedo[2]
    again = FabricTable.model_validate({k: v for k, v in report.table.items() if v is not None}).to_fabric()
    light, eye = (0.6, 0.0, 0.8), (-0.28, 0.0, 0.96)
    assert fabric_value(again.arrays(), light, eye) == pytest.approx(fabric_value(fabric.arrays(), light, eye), rel=1e-4)
    # a diffuse sheet of 0.9 against a tile of 0.9: quoted gain 1
    assert report_curve(curve_of(np.ones(len(VIEWS))).scaled(0.9)).gain == pytest.approx(0.9, abs=1e-6)


def test_named_family_and_the_points_themselves():
    curve = curve_of(standard(math.radians(30), 0.3).scaled(1.2).gain(np.radians(VIEWS)))
    assert report_curve(curve, family="cosine-power on a base").table["lobe"] == "cosine-power"
    points = report_curve(curve, family="measured").table
    assert points["curve"][0] == [0.0, pytest.approx(1.2)]
    assert FabricTable.model_validate(points).to_fabric().kind == "measured"
    with pytest.raises(FabricError, match="gaussian on a base"):
        report_curve(curve, family="gausian")


@pytest.mark.parametrize("share", [0.6, 0.8])
def test_fit_whose_base_is_too_large_for_a_pair_becomes_points(share):
    clean = share + (1.0 - share) * np.exp(-0.5 * (VIEWS / 12.0) ** 2)
    table = report_curve(curve_of(0.9 * clean)).table
    assert table["kind"] == "measured"
    fabric = FabricTable.model_validate({k: v for k, v in table.items() if v is not None}).to_fabric()
    assert fabric.curve.gain(np.radians(VIEWS)) == pytest.approx(0.9 * clean, abs=2e-3)


def test_pair_report():
    report = report_pair(gain=1.4, half_gain_deg=35)
    assert (report.verdict, report.largest_gain) == ("possible", pytest.approx(6.0792, abs=1e-4))  # 2 / sin^2 35
    square = math.sin(math.radians(35)) ** 2
    assert report.albedo[0] == pytest.approx(0.7 * square)
    assert report.albedo[2] == pytest.approx(0.7 * (1.0 + square))
    assert len(report.fits) > 5
    assert report_pair(gain=4.0, half_gain_deg=35).verdict == "implausible"
    assert report_pair(gain=9.0, half_gain_deg=35).verdict == "impossible"
    assert report_pair(gain=1.2, half_gain_deg=None).verdict == "impossible"
    assert report_pair(gain=0.8, half_gain_deg=None).table["kind"] == "diffuse"
    with pytest.raises(FabricError, match="albedo"):
        report_pair(gain=1.0, half_gain_deg=30, albedo=0.9)


def test_viewing_angle_of_a_sheet_must_be_explained():
    with pytest.raises(FabricError, match="which viewing angle does the sheet mean"):
        half_gain_of(60.0, None)
    assert half_gain_of(60.0, "half-gain").half_gain_deg == 60.0
    assert half_gain_of(60.0, "full-cone").half_gain_deg == 30.0
    assert "up and down" in half_gain_of(60.0, "one-plane").notes[1]
    third = half_gain_of(60.0, "third")
    # Source: exp(-t^2 / 2 s^2) is 1/2 and 1/3 at angles in the ratio sqrt(ln 2 / ln 3), elementary
    assert third.half_gain_deg == pytest.approx(60.0 * math.sqrt(math.log(2) / math.log(3)))
    assert half_gain_of(120.0, "full-cone-third").half_gain_deg == pytest.approx(third.half_gain_deg)
    fabric = report_pair(gain=1.3, half_gain_deg=third.half_gain_deg, no_base=third.no_base).fabric
    assert float(fabric.profile.gain(math.radians(60))) == pytest.approx(1.3 / 3.0, rel=1e-12)
    with pytest.raises(FabricError, match="out of range"):
        half_gain_of(100.0, "half-gain")


@pytest.mark.parametrize("albedo", [None, 0.65])
@pytest.mark.parametrize("kind", [None, "angular-reflective", "retro-reflective"])
def test_admissible_families_all_meet_the_numbers(albedo, kind):
    models = admissible_from_pair(gain=1.4, half_gain_deg=35, albedo=albedo, kind=kind)
    assert len({words for words, _ in models}) == len(models)
    assert len(models) >= (3 if kind else 6)
    up, eye = (0.0, 0.0, 1.0), (0.0, math.sin(math.radians(35)), math.cos(math.radians(35)))
    for words, fabric in models:
        assert math.pi * fabric_value(fabric.arrays(), up, up) == pytest.approx(1.4, rel=1e-9), words
        assert math.pi * fabric_value(fabric.arrays(), up, eye) == pytest.approx(0.7, rel=1e-9), words
        if albedo is not None:
            assert fabric.albedo == pytest.approx(albedo, abs=1e-6)


def test_admissible_fabrics_of_a_solved_one():
    pearl = find_fabric("pearl")
    others = admissible_fabrics(pearl)
    assert [fabric.albedo for _, fabric in others] == pytest.approx([0.72] * len(others), abs=1e-6)
    assert len(others) >= 3
    assert admissible_fabrics(find_fabric("perfect diffuser")) == []
    (_, diffuse), (_, soft) = admissible_fabrics(find_fabric("matt white"))
    assert (diffuse.gain, soft.gain, soft.half_gain_deg) == (0.92, 0.92, 60.0)
    assert soft.albedo == pytest.approx(diffuse.albedo_band[0], abs=1e-6)
    assert admissible_fabrics(find_fabric("louvred short-throw")) == []
    curve = FabricTable.model_validate({"kind": "measured", "curve": [[0, 1.2], [30, 0.7], [60, 0.4]]}).to_fabric()
    assert {fabric.axis for _, fabric in admissible_fabrics(curve)} == {1, -1}
    unsaid = fabric_from_pair(name="x", gain=1.4, half_gain_deg=35)
    assert any(words.startswith("retro-reflective") for words, _ in admissible_fabrics(unsaid))


def test_fabric_file_is_added_to_and_read_back(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_bytes(library_with(path, {"name": 'the "pearl"', "kind": None, "gain": 1.4, "half_gain_deg": 35.0}))
    path.write_bytes(library_with(path, {"name": "two", "kind": "measured", "curve": [[0.0, 1.0], [30.0, 0.8]]}))
    library = load_library(path)
    assert library.find_fabric('the "pearl"').gain == 1.4
    assert library.find_fabric("two").curve.gains == (1.0, 0.8)
    with pytest.raises(FabricFileError, match="stands there already"):
        library_with(path, {"name": "two", "gain": 0.5})
    with pytest.raises(FabricError):
        fabric_toml({"name": "no", "gain": 9.0, "half_gain_deg": 35.0})
    (tmp_path / "bad.toml").write_text("[[fabric]]\ngian = 1\n")
    with pytest.raises(FabricFileError, match="nothing is added"):
        library_with(tmp_path / "bad.toml", {"name": "x", "gain": 0.5})
    assert tomllib.loads(fabric_toml({"name": "a", "gain": 0.5}))["fabric"][0] == {"name": "a", "gain": 0.5}


def few_points(view: tuple[float, ...], gain: tuple[float, ...]) -> GainCurve:
    return curve_from_text("view_deg,gain\n" + "".join(f"{v},{g}\n" for v, g in zip(view, gain, strict=True)), "curve.csv")


@pytest.mark.parametrize(("view", "gain"), [((0, 20, 40, 60), (1.4, 1.0, 0.5, 0.3)), ((0, 15, 30, 45), (1.2, 1.1, 0.8, 0.5))])
def test_four_points_that_fall_are_no_matt_sheet(view: tuple[float, ...], gain: tuple[float, ...]) -> None:
    """Expected: the half-gain angle between the two points around half of the first gain."""
    report = report_curve(few_points(view, gain))
    assert report.half_gain_deg is not None
    after = next(i for i, value in enumerate(gain) if value <= 0.55 * gain[0])
    assert view[after - 1] - 5.0 < report.half_gain_deg < view[after] + 5.0
    assert report.fits[0].rms < 0.05 * gain[0]
    assert report.verdict == "possible"


def test_three_points_that_fall_are_not_told_to_be_a_matt_sheet_without_a_doubt() -> None:
    report = report_curve(few_points((0, 20, 40), (1.4, 1.0, 0.5)))
    assert report.verdict == "implausible"
    assert "no family falls as the points do" in report.reason
    even = report_curve(few_points((0, 20, 40), (0.92, 0.9, 0.91)))
    assert even.verdict == "possible"
