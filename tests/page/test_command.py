"""`halfgain report` on the command line: bad input is one line, and a page is written whole or not at all."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path
from typing import Any

import pytest
from halfgain.simulate.choices.axes import axes_of
from halfgain.simulate.choices.variants import read_document
from halfgain.simulate.command import app
from halfgain.simulate.page import drawing_process, evidence
from halfgain.simulate.page.pairs import FOLDS, pairs_of_axes

BAD = [
    (["report", "lite-lounge"], "did you mean light-lounge"),
    (["report", "light-lounge", "--fabric", "slver"], 'did you mean "silver"'),
    (["report", "light-lounge", "--first-aim", "price"], '--first-aim: "price"'),
    (["report", "light-lounge", "--weight", "white"], "--weight"),
    (["report", "light-lounge", "--hang", "glued"], '--hang "glued"'),
    (["report", "light-lounge", "--finish", "back"], "--finish"),
    (["report", "light-lounge", "--compare", "screen.nix=4"], "--compare screen.nix=4"),
    (["report", "light-lounge", "--compare", "nix"], "--compare"),
    (["report", "light-lounge", "--compare", "screen.gap_to_wall_cm=4,5,6,7,8.5,9,10,11"], "at most 6"),
    (["report", "light-lounge", "--use", "garage"], "allowed dedicated, living-room, bedroom"),
    (["report", "light-lounge", "--prices", "none.csv"], "no such file"),
    (["report", "light-lounge", "--error", "2"], "--error"),
]


@pytest.mark.parametrize(
    ("arguments", "said"), BAD, ids=lambda value: " ".join(value)[:60] if isinstance(value, list) else "says"
)
def test_bad_input_gets_one_clear_line_and_status_2(
    arguments: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert app.run([*arguments, "--out", str(tmp_path / "out")]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert said in captured.err
    assert len(captured.err.splitlines()) == 1
    assert not list(tmp_path.iterdir())


def test_the_folder_has_to_be_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.chdir(tmp_path)
    assert app.run(["report", "light-lounge"]) == 2
    assert "--out" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_a_page_is_written_whole_or_not_at_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A fault in the middle of the work leaves no folder; a page that is there already stays as it is."""
    old = tmp_path / "old"
    old.mkdir()
    before = '<!doctype html>\n<meta name="generator" content="halfgain">\n'
    (old / "report.html").write_text(before)

    def fail(*_: object, **__: object) -> None:
        raise FloatingPointError("a sum is not finite")

    monkeypatch.setattr(evidence, "collect", fail)
    monkeypatch.setattr(drawing_process, "drawn_beside", lambda *_, **__: nullcontext())
    for out in (tmp_path / "new" / "deep", old):
        assert app.run(["report", "light-lounge", "--out", str(out), "--error", "0.2"]) == 1
    assert "a sum is not finite" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["old"]
    assert [path.read_text() for path in old.iterdir()] == [before]


def test_a_file_in_the_place_of_the_folder_is_refused_before_any_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(evidence, "collect", lambda *_, **__: pytest.fail("worked in vain"))
    (tmp_path / "out").write_text("a file")
    assert app.run(["report", "light-lounge", "--out", str(tmp_path / "out")]) == 2
    assert "not a folder" in capsys.readouterr().err
    assert (tmp_path / "out").read_text() == "a file"


def test_options_make_one_pair_each_against_the_scene_as_it_stands() -> None:
    document = read_document("long-lounge")
    axes = axes_of(
        fabric=["silver"], hang=["motorised"], finish=["back=charcoal matt paint"], vary=["projector.light_output_lm=900"]
    )
    pairs = pairs_of_axes(document, axes)
    titles = [pair.title for pair in pairs]
    assert titles == [
        "Fabric: matt white against silver",
        "Hang: fixed frame against motorised",
        "Back wall: warm white emulsion against charcoal matt paint",
        "Light output lm: as it stands against 900",
    ]
    assert [pair.kind for pair in pairs].index(FOLDS) == 1
    assert [view.label for view in pairs[1].after] == ["low folds", "typical folds", "high folds"]
    assert pairs[2].after[0].scene.room.finish["back"].name == "charcoal matt paint"
    assert pairs[2].before.scene is document.scene


def test_an_option_given_twice_compares_its_values_with_each_other() -> None:
    pairs = pairs_of_axes(read_document("long-lounge"), axes_of(fabric=["beaded", "silver", "pearl"]))
    assert [pair.title for pair in pairs] == ["Fabric: beaded against silver", "Fabric: beaded against pearl"]


def test_a_light_state_that_is_varied_is_switched_on_in_the_pictures() -> None:
    pairs = pairs_of_axes(read_document("light-lounge"), axes_of(vary=['light."lamps on".screen_lx=5']))
    assert pairs[0].light is not None
    assert pairs[0].light.name == "lamps on"


def test_first_aim_and_weights_reach_the_advice(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = []

    def watched(document: object, pairs: object, wishes: Any, room: object, **_: object) -> None:
        seen.append((wishes.first_aim, dict(wishes.weights)))
        raise FloatingPointError("far enough")

    monkeypatch.setattr(evidence, "collect", watched)
    monkeypatch.setattr(drawing_process, "drawn_beside", lambda *_, **__: nullcontext())
    asked = ["--first-aim", "contrast", "--weight", "white=2"]
    assert app.run(["report", "light-lounge", *asked, "--out", str(tmp_path / "out")]) == 1
    assert seen == [("contrast", {"white": 2.0})]
