"""What is refused, and in which words; what is assumed, and that it is said."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from halfgain.materials.fabric_table import FabricTable
from halfgain.materials.solving.admissible import admissible_fabrics
from halfgain.materials.solving.curve import CurveErrors, GainCurve
from halfgain.materials.solving.solve import FabricError, fabric_from_pair
from halfgain.materials.tint import luminance

NAN, INF = float("nan"), float("inf")

REFUSED = [
    ({"gain": 8.1, "half_gain_deg": 30}, "gain", "at most 8.0000"),
    ({"gain": 5.0, "half_gain_deg": 40}, "gain", "at most 4.8406"),
    ({"gain": 7.9, "half_gain_deg": 30, "open_area": 0.05}, "gain", "at most 7.6000"),
    ({"gain": 1.2}, "gain", "half-gain angle is missing"),
    ({"gain": 1.2, "kind": "diffuse"}, "gain", "reference tile"),
    ({"gain": 0.98, "open_area": 0.05}, "gain", "at most 0.95"),
    ({"gain": 0.0}, "gain", "above 0"),
    ({"gain": -1.0, "half_gain_deg": 30}, "gain", "above 0"),
    ({"gain": NAN, "half_gain_deg": 30}, "gain", "above 0"),
    ({"gain": INF, "half_gain_deg": 30}, "gain", "above 0"),
    ({"gain": 1.0, "half_gain_deg": 90}, "half_gain_deg", "below 90"),
    ({"gain": 1.0, "half_gain_deg": 0}, "half_gain_deg", "below 90"),
    ({"gain": 1.0, "half_gain_deg": -5}, "half_gain_deg", "below 90"),
    ({"gain": 1.0, "half_gain_deg": NAN}, "half_gain_deg", "below 90"),
    ({"gain": 1.0, "half_gain_deg": 30, "kind": "diffuse"}, "half_gain_deg", "has no half-gain angle"),
    ({"gain": 1.0, "kind": "retro-reflective"}, "half_gain_deg", "needs this angle"),
    ({"gain": 1.0, "kind": "mirror"}, "kind", "diffuse | angular-reflective | retro-reflective"),
    ({"gain": 1.0, "half_gain_deg": 30, "albedo": 0.7}, "albedo", "0.1250 to 0.6250"),
    ({"gain": 1.0, "half_gain_deg": 30, "albedo": 0.1}, "albedo", "0.1250 to 0.6250"),
    ({"gain": 1.0, "half_gain_deg": 30, "albedo": NAN}, "albedo", "at most 1"),
    ({"gain": 0.9, "albedo": 0.8}, "albedo", "is its gain"),
    ({"gain": 0.9, "open_area": 1.0}, "open_area", "0 to below 1"),
    ({"gain": 0.9, "open_area": -0.1}, "open_area", "0 to below 1"),
    ({"gain": 1.0, "tint": (1.0, 0.9, 0.8)}, "tint", "red would give back"),
    ({"gain": 0.5, "tint": (0.0, 0.0, 0.0)}, "tint", "not all 0"),
    ({"gain": 0.5, "tint": (1.0, -0.1, 1.0)}, "tint", "from 0 up"),
    ({"gain": 0.5, "tint": (1.0, NAN, 1.0)}, "tint", "from 0 up"),
]


@pytest.mark.parametrize(("stated", "key", "words"), REFUSED)
def test_impossible_fabric_is_refused_in_one_line(stated, key, words):
    with pytest.raises(FabricError) as refusal:
        fabric_from_pair(name="x", **stated)
    assert refusal.value.key == key
    assert words in str(refusal.value)
    assert "\n" not in str(refusal.value)


def notes_of(**stated):
    return " | ".join(fabric_from_pair(name="x", **stated).notes)


def test_assumed_albedo_is_said_with_its_band():
    notes = notes_of(gain=1.3, half_gain_deg=40)
    assert "albedo not stated" in notes
    assert "common practice, no source" in notes
    # Source: G sin^2 h / 2 = 0.269 and G (1 + sin^2 h) / 2 = 0.919 for gain 1.3 and 40 degrees.
    assert "0.269 to 0.919" in notes
    assert "albedo" not in notes_of(gain=1.3, half_gain_deg=40, albedo=0.65)


def test_assumed_albedo_never_exceeds_its_cap_or_the_physical_band():
    assert fabric_from_pair(name="x", gain=3.0, half_gain_deg=30).albedo == pytest.approx(0.95, abs=1e-9)
    # Lower end 7.8 sin^2 30 / 2 = 0.975 lies above the cap: half way from there to 1.
    assert fabric_from_pair(name="x", gain=7.8, half_gain_deg=30).albedo == pytest.approx(0.9875, abs=1e-7)


def test_odd_pairs_are_warned_of():
    assert fabric_from_pair(name="x", gain=4.0, half_gain_deg=30).verdict == "implausible"
    assert "implausible" in notes_of(gain=4.0, half_gain_deg=30)
    assert fabric_from_pair(name="x", gain=2.0, half_gain_deg=30).verdict == "possible"
    assert "no measurable fall-off" in notes_of(gain=1.0, half_gain_deg=80)
    assert "no measurable fall-off" not in notes_of(gain=1.0, half_gain_deg=79)
    assert "flat-topped" in notes_of(gain=1.3, half_gain_deg=40, albedo=0.9)
    assert "spike" in notes_of(gain=1.3, half_gain_deg=40, albedo=0.3)


def test_kind_left_out_is_said():
    assert "angular-reflective" in notes_of(gain=1.3, half_gain_deg=40, albedo=0.65)
    assert notes_of(gain=1.3, half_gain_deg=40, albedo=0.65, kind="retro-reflective") == ""
    assert fabric_from_pair(name="x", gain=0.9).kind == "diffuse"


def test_tint_keeps_the_luminance():
    """Source: ITU-R BT.709-6 luminance weights: 0.2126 + 0.5 x 0.7152 + 0.5 x 0.0722 = 0.6063."""
    fabric = fabric_from_pair(name="x", gain=0.5, tint=(1.0, 0.5, 0.5))
    assert luminance(fabric.tint) == pytest.approx(1.0, abs=1e-15)
    assert fabric.tint[0] == pytest.approx(1.0 / 0.6063, abs=1e-12)
    assert fabric_from_pair(name="x", gain=1.0, tint=(2.0, 2.0, 2.0)).tint == pytest.approx((1.0, 1.0, 1.0))


def test_open_area_is_kept_and_said():
    fabric = fabric_from_pair(name="x", gain=0.9, open_area=0.05)
    assert (fabric.open_area, fabric.base_gain) == (0.05, 0.9)
    assert "holes" in fabric.notes[0]


def test_table_makes_the_same_fabric():
    table = FabricTable.model_validate({"gain": 1.3, "half_gain_deg": 40, "albedo": 0.65, "name": "mine"})
    assert table.to_fabric() == fabric_from_pair(name="mine", gain=1.3, half_gain_deg=40, albedo=0.65)


def test_what_is_left_open_is_data_and_no_sentence_decides_it():
    fabric = fabric_from_pair(name="x", gain=1.3, half_gain_deg=40)
    garbled = replace(fabric, assumed=tuple("xyzzy" for _ in fabric.assumed), doubts=())
    assert fabric.kind_assumed
    assert [words for words, _ in admissible_fabrics(garbled)] == [words for words, _ in admissible_fabrics(fabric)]
    said = replace(fabric_from_pair(name="x", gain=1.3, half_gain_deg=40, kind="angular-reflective"), assumed=fabric.assumed)
    assert not said.kind_assumed
    assert len(admissible_fabrics(said)) < len(admissible_fabrics(fabric))


def test_doubts_stand_apart_from_what_is_assumed():
    fabric = fabric_from_pair(name="x", gain=4.0, half_gain_deg=30)
    assert fabric.verdict == "implausible"
    assert len(fabric.doubts) == 1
    assert fabric.notes == (*fabric.assumed, *fabric.doubts)
    assert fabric_from_pair(name="x", gain=0.9).doubts == ()


def test_a_curve_built_in_code_is_checked_as_one_from_a_file() -> None:
    angles, gains, none = np.array([0.0, 20.0, 40.0]), np.array([1.3, 1.1, 0.6]), np.zeros(3)
    assert GainCurve(angles, gains, none, none).gain_sd is None
    with pytest.raises(CurveErrors, match="are they radians"):
        GainCurve(np.radians(angles), gains, none, none)
    assert GainCurve(np.radians(angles), gains, none, none, angles="degrees").view_deg[1] < 1.0
    with pytest.raises(CurveErrors, match="gain: out of range"):
        GainCurve(angles, np.array([1.3, float("nan"), 0.6]), none, none)
    with pytest.raises(CurveErrors, match="view_deg: out of range"):
        GainCurve(np.array([0.0, 20.0, 140.0]), gains, none, none)
    with pytest.raises(CurveErrors, match="incidence_deg: wrong shape"):
        GainCurve(angles, gains, np.zeros(2), none)
