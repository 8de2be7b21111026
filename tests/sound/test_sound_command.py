"""`halfgain sound`: what is printed, what is written, what is refused."""

from __future__ import annotations

import json
import math
from pathlib import Path

import halfgain as hg
import pytest
from halfgain.scenes.library import scene_path
from halfgain.simulate.command import app
from halfgain.simulate.output.own_kind import PNG, kind_of
from halfgain.simulate.output.sound import chart


def document(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> dict:
    assert app.run(["sound", *arguments, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_the_document_holds_what_the_library_gives(capsys: pytest.CaptureFixture[str]) -> None:
    told = document(["light-lounge", "--people", "2"], capsys)
    found = hg.sound("light-lounge", people=2)
    assert told["format"] == "halfgain.sound/1"
    assert told["bands_hz"] == [63, 125, 250, 500, 1000, 2000, 4000, 8000]
    assert told["reverberation"]["mid_s"] == {"low": found.reverberation.mid_s[0], "high": found.reverberation.mid_s[1]}
    assert told["reverberation"]["formulas_s"]["Eyring"]["high"] == found.reverberation.formulas["Eyring"][0].tolist()
    assert told["reverberation"]["target"]["verdicts"] == list(found.bands)
    assert [mode["frequency_hz"] for mode in told["modes"]["modes"]] == [mode.frequency_hz for mode in found.modes.found]
    assert told["not_stated"] == ["front", "back", "left", "right", "ceiling", "sofa"]
    total = [sum(surface["absorption_area_m2"]["low"][i] for surface in told["surfaces"]) for i in range(8)]
    area = sum(surface["area_m2"] for surface in told["surfaces"])
    assert total == pytest.approx([area * mean for mean in told["reverberation"]["mean_absorption"]["low"]])
    assert len(told["cautions"]) == 1
    assert "local code" in told["cautions"][0]
    for surface in told["surfaces"]:
        assert all(a <= b for a, b in zip(*surface["absorption_area_m2"].values(), strict=True))


def test_mass_and_distances_of_the_screen_are_taken(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    text = (
        scene_path("light-lounge")
        .read_text(encoding="utf-8")
        .replace('fabric = "matt white"', 'fabric = "micro-perforated white"')
    )
    scene = tmp_path / "holes.toml"
    scene.write_text(text, encoding="utf-8")
    told = document([str(scene), "--sheet-mass", "0.4", "--speaker-gap", "0.15", "--speaker-gap", "0.25"], capsys)["screen"]
    assert [sheet["mass_kg_m2"] for sheet in told["sheets"]] == [0.4]
    assert [comb["gap_m"] for comb in told["comb"]] == [0.15, 0.25]
    assert told["loss_db"]["low"] == told["loss_db"]["high"]
    assert set(told["loss_at_db"]) == {"6000", "8000", "10000", "16000"}
    assert app.run(["sound", str(scene)]) == 0
    text = capsys.readouterr().out
    assert "BS 5382" in text
    assert text.count("A loudspeaker behind the screen (micro-perforated white)") == 1
    assert text.count("with black") == 1
    assert text.count("local code") == 1


def test_the_report_names_what_is_not_stated_and_fits_eighty_columns(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    for name in ("light-lounge", "dark-room"):
        assert app.run(["sound", name, "--people", "3"]) == 0
        text = capsys.readouterr().out
        assert max(map(len, text.splitlines())) <= 80
        assert "states no absorption" in text
        assert "To trust at 500 and 1000 Hz" in text
        assert "no holes" in text
        assert "nan" not in text


def test_a_room_that_is_no_box_is_told_to_have_no_modes_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["sound", "attic"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert any(line.startswith("None are listed: the room is no box") for line in lines)
    assert "." not in lines


@pytest.mark.usefixtures("half_drawn")
def test_files_are_written_with_their_digests(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    assert app.run(["sound", "dark-room", "--out", str(out)]) == 0
    assert {path.name for path in out.iterdir()} == {"sound.json", "sound-reverberation.png", "sound-screen.png", "sound.sha256"}
    for name in ("sound-reverberation.png", "sound-screen.png"):
        assert kind_of((out / name).read_bytes()) == PNG
    (out / "sound.json").write_text("mine", encoding="utf-8")
    capsys.readouterr()
    assert app.run(["sound", "dark-room", "--out", str(out)]) == 2
    assert "not replaced" in capsys.readouterr().err
    assert (out / "sound.json").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--people", "-1"], "-1 is not allowed; allowed 0 to 100"),
        (["--people", "101"], "101 is not allowed; allowed 0 to 100"),
        (["--sheet-mass", "0"], "0 is not allowed; allowed 0.02 to 5"),
        (["--sheet-mass", "nan"], "nan is not allowed; allowed 0.02 to 5"),
        (["--speaker-gap", "0.2", "--speaker-gap", "0"], "0 is not allowed; allowed 0.01 to 5"),
        (["--speaker-gap", "inf"], "inf is not allowed; allowed 0.01 to 5"),
    ],
)
def test_numbers_out_of_range_are_refused_in_one_line(
    arguments: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert app.run(["sound", "black-box", *arguments]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1
    assert words in said.err


def test_the_room_for_picture_and_sound_is_what_it_says(capsys: pytest.CaptureFixture[str]) -> None:
    """Its comments: every finish but the sofa's states its absorption, and the mid bands meet what is asked."""
    told = document(["quiet-room"], capsys)
    assert told["not_stated"] == ["sofa"]
    verdicts = dict(zip(told["bands_hz"], told["reverberation"]["target"]["verdicts"], strict=True))
    assert {verdicts[band] for band in (500, 1000, 2000, 4000)} == {"met"}
    assert told["screen"]["meets_bs_5382"] is True
    assert all(comb["notch_hz"] < comb["peak_hz"] for comb in told["screen"]["comb"])


def test_every_library_scene_gives_finite_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    def finite(part: object) -> bool:
        if isinstance(part, dict):
            return all(map(finite, part.values()))
        if isinstance(part, list):
            return all(map(finite, part))
        return not isinstance(part, float) or math.isfinite(part)

    for name in hg.scene_names():
        told = document([name], capsys)
        assert finite(told)
        # a figure that is not finite would stand as null
        assert None not in told["reverberation"]["trusted_s"]["high"]


def test_the_legend_of_the_reverberation_lies_off_the_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    """Bare walls ring longer than the trusted band, up into the corner where a legend would stand."""
    drawn = []
    monkeypatch.setattr(chart, "png", lambda figure: drawn.append(figure) or b"")
    found = hg.sound("light-lounge")
    chart.reverberation_chart(found)
    axes = drawn[0].axes[0]
    legend = axes.get_legend().get_window_extent()
    assert not legend.overlaps(axes.get_window_extent())
    assert drawn[0].bbox.x0 < legend.x0 < legend.x1 < drawn[0].bbox.x1
    assert not any(legend.overlaps(text.get_window_extent()) for text in drawn[0].texts)
    assert axes.get_ylim()[1] > found.reverberation.bare_s[2].max(), "bare walls stay in the chart"
