"""Results from Python: short reprs, notebook tables, plain data, frames and arrays with the replicates their errors come from."""

from __future__ import annotations

import copy
import json
import pickle

import halfgain as hg
import numpy as np
import pytest
from halfgain.simulate.measuring.estimate import estimate
from halfgain.simulate.measuring.quantities import LIT, QUANTITIES
from halfgain.simulate.measuring.tidy import tidy_rows
from halfgain.simulate.output.measure.document import document


@pytest.fixture(scope="module")
def found() -> hg.Measurement:
    scene = hg.load_scene("light-lounge").with_hang("fixed frame").change("title", "<b>Lounge</b>")
    return hg.measure(scene, error=0.05)


def test_reprs_are_short(found: hg.Measurement) -> None:
    for thing in (found, found.scene, found.seats[0], found.seats[0].states[0], found.seats[0].washout):
        assert len(repr(thing)) < 600
    assert repr(hg.Estimate(55.2512, 0.2134)) == "55.25 ± 0.21"
    assert repr(hg.Estimate(3000.0)) == "3000"


def test_plain_data_is_the_command_s_document(found: hg.Measurement) -> None:
    assert found.to_dict() == document(found)
    assert json.loads(found.to_json())["scene"]["sha256"] == found.scene.sha256


def test_a_notebook_shows_names_escaped(found: hg.Measurement) -> None:
    text = found._repr_html_()
    assert "&lt;b&gt;Lounge&lt;/b&gt;" in text
    assert all(reading.name in text for reading in found.seats)


def test_the_frame_is_tidy(found: hg.Measurement) -> None:
    frame = found.to_frame()
    assert len(frame) == len(list(tidy_rows(found)))
    row = frame[(frame.seat == "armchair") & (frame.figure == "checkerboard_ratio") & (frame.state == "lamps on")]
    (value,) = row["value"]
    assert value == found.seats[3].states[1].checkerboard.value
    wide = frame[frame.state == "dark"].pivot_table(index="seat", columns="figure", values="value", observed=True)
    assert wide.loc["armchair", "white_cd_m2"] == found.seats[3].white["centre"].value


def test_arrays_have_names_units_and_the_replicates_of_every_error(found: hg.Measurement) -> None:
    data = found.to_xarray()
    for quantity in QUANTITIES:
        assert data[quantity.key].attrs["long_name"] == quantity.title
        assert "units" in data[quantity.key].attrs
    for i, reading in enumerate(found.seats):
        for quantity in LIT:
            value = data[quantity.key].isel(seat=i)
            if quantity in QUANTITIES:
                assert value.sel(state="dark") == reading.values[quantity.key].value
            assert value.sel(state="candles") == reading.states[0].values[quantity.key].value
        stack = data["checkerboard_ratio_replicates"].sel(seat=reading.name, state="dark").values
        assert estimate(stack) == reading.checkerboard
    share = data["washout_share_ratio"].sum("surface").values
    assert share == pytest.approx(np.ones(len(found.seats)), abs=1e-12)


def test_a_difference_of_two_measurements_takes_its_own_error_from_their_replicates(found: hg.Measurement) -> None:
    # On the same light paths a difference is surer than its parts; `compare` gives the same by its own way
    darker = found.scene.with_finish("ceiling", 0.6)
    one, other = found.to_xarray(), hg.measure(darker, error=0.05).to_xarray()
    key = "checkerboard_ratio_replicates"
    difference = estimate((other[key] - one[key]).sel(seat="armchair", state="dark").values)
    apart = float(
        np.hypot(
            found.seats[3].checkerboard.standard_error,
            other["checkerboard_ratio_standard_error"].sel(seat="armchair", state="dark"),
        )
    )
    assert difference.value > 5 * difference.standard_error
    assert difference.standard_error < 0.7 * apart


def test_results_travel_between_processes(found: hg.Measurement) -> None:
    for other in (pickle.loads(pickle.dumps(found)), copy.deepcopy(found)):
        assert other.seats == found.seats
        assert other.scene == found.scene
        assert hash(other.seats) == hash(found.seats)
        assert other.to_json() == found.to_json()


def test_what_a_study_found_travels_between_processes() -> None:
    factors = [{"key": "room.finish.ceiling", "values": [0.05, hg.finish("oak boards")]}]
    found = hg.study({"scene": "black-box", "factor": factors, "outputs": ["white_cd_m2"], "error": 0.2})
    for other in (pickle.loads(pickle.dumps(found)), copy.deepcopy(found)):
        assert other.to_json() == found.to_json()
        assert other.to_frame().equals(found.to_frame())


def test_sound_is_equal_to_itself_and_can_be_hashed() -> None:
    sound = hg.sound("black-box")
    assert sound in {sound}
    assert sound == sound
    assert sound != hg.sound("dark-room")


def test_a_figure_of_a_seat_that_is_none_is_refused(found: hg.Measurement) -> None:
    for seat in ("nobody", 99, 2.5):
        with pytest.raises(hg.Error, match=r"no seat .* armchair"):
            found.plot(seat=seat)


def test_figures_are_drawn(found: hg.Measurement) -> None:
    assert len(found.plot().axes) >= 1
    assert len(found.plot(seat="armchair").axes) >= 2
    compared = hg.compare(found.scene, fabric=["matt white", "pearl"], error=0.2)
    assert len(repr(compared)) < 200
    assert "pearl" in compared._repr_html_()
    assert compared.to_dict()["format"].startswith("halfgain.compare/")
    assert set(compared.to_frame()["variant"]) == {"matt white", "pearl"}
    assert pickle.loads(pickle.dumps(compared)).to_json() == compared.to_json()


def test_folds_scale_and_stay_an_estimate() -> None:
    from halfgain.scenes.cloth.surface import LEVELS, cloth_of

    lounge = hg.load_scene("light-lounge")
    half = lounge.with_fold_scale(0.5)
    for level in LEVELS:
        whole, less = cloth_of(lounge.screen, level), cloth_of(half.screen, level)
        assert less.highest_m == pytest.approx(0.5 * whole.highest_m, rel=1e-9)
    with pytest.raises(hg.Error, match="amplitude_scale"):
        lounge.with_fold_scale(11.0)
