"""`halfgain compare` and `halfgain advise` as a user meets them: tables, JSON, files, errors."""

from __future__ import annotations

import contextlib
import csv
import io
import itertools
import json
from pathlib import Path

import pytest
from halfgain.simulate.command import app
from halfgain.simulate.output.compare import pictures, views
from matplotlib.image import imread

from ..outputs import DOT, half_the_dots, written

FAST = ["--error", "0.2", "--threads", "1"]
PAIR = ["compare", "light-lounge", "--fabric", "matt white", "--fabric", "angular grey"]


@pytest.fixture(scope="module")
def pair(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """Where the comparison of two fabrics was written, and what was said of it."""
    folder, said = tmp_path_factory.mktemp("pair"), io.StringIO()
    with contextlib.redirect_stdout(said), half_the_dots():
        assert app.run([*PAIR, "--out", str(folder), *FAST]) == 0
    return folder, said.getvalue()


@pytest.fixture
def maps_undrawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """The chart and the maps, which the test of all pictures looks at, are dots."""
    for name in ("compare_chart", "compare_maps"):
        monkeypatch.setattr(pictures, name, lambda *_: DOT)


@pytest.mark.long
def test_compare_says_what_differs_and_writes_everything(pair: tuple[Path, str]) -> None:
    folder, said = pair
    for words in ("reference matt white", "In short", "Seat armchair", "no difference found", "Cautions", "How sure"):
        assert words in said
    assert max(len(line) for line in said.splitlines()) <= 80
    names = written(folder, "compare")
    assert set(names) == {
        "compare.json",
        "compare.csv",
        "compare.png",
        "folds.png",
        "before-after-sofa-left.png",
        "before-after-sofa-middle.png",
        "before-after-sofa-right.png",
        "before-after-armchair.png",
    }
    for name in names:
        if name.endswith("png"):
            assert imread(folder / name).std() > 0.01
    rows = list(csv.DictReader(io.StringIO((folder / "compare.csv").read_text())))
    assert len(rows) == 2 * 4 * (5 + 3 * 4 + 3 * 2), "variants x seats x (dark + states x figures + levels x fold figures)"
    document = json.loads((folder / "compare.json").read_text())
    white = next(r for r in rows if r["variant"] == "angular grey" and r["figure"] == "white_cd_m2" and r["state"] == "dark")
    found = next(d for d in document["differences"] if d["seat"] == white["seat"] and d["figure"] == "white_cd_m2")
    assert float(white["difference"]) == found["difference"]["value"]


@pytest.mark.long
def test_the_document_of_compare_holds_every_difference(pair: tuple[Path, str]) -> None:
    document = json.loads((pair[0] / "compare.json").read_text())
    assert document["format"] == "halfgain.compare/1"
    assert [variant["name"] for variant in document["variants"]] == ["matt white", "angular grey"]
    assert {each["verdict"] for each in document["differences"]} == {"difference"}, "a lobed grey differs everywhere"
    for each in document["differences"]:
        assert each["difference"]["value"] == pytest.approx(each["value"]["value"] - each["reference"]["value"], rel=1e-9)


def test_hangs_are_compared_and_a_scene_with_itself_has_no_difference(capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["compare", "long-lounge", "--hang", "fixed frame", "--hang", "tab-tensioned", "--json", *FAST]
    assert app.run(arguments) == 0
    document = json.loads(capsys.readouterr().out)  # one document and nothing else
    assert document["format"] == "halfgain.compare/1"
    assert {each["verdict"] for each in document["differences"]} == {"no difference found"}, "both typical shapes are flat"


@pytest.mark.usefixtures("maps_undrawn", "half_drawn")
def test_fabric_models_print_and_draw_the_spread(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["compare", "wide-row", "--fabric-models", "--out", str(tmp_path), *FAST]) == 0
    assert "Spread over fabric models" in capsys.readouterr().out
    assert imread(tmp_path / "fabric-models.png").std() > 0.01
    assert json.loads((tmp_path / "compare.json").read_text())["fabric_models"]
    assert "fabric-models.png" in written(tmp_path, "compare")


BAD = [
    (["compare", "light-lounge"], "nothing is varied"),
    (["compare", "lite-lounge", "--fabric", "silver"], "did you mean light-lounge"),
    (["compare", "light-lounge", "--fabric", "slver"], '--fabric "slver": screen.fabric: is no fabric of the library: '),
    (["compare", "black-box", "--fabric-models"], "has one model only"),
    (["compare", "wide-row", "--fabric-models", "--fabric", "silver"], "stands alone"),
    (["compare", "light-lounge", "--variants", "none.csv"], "no such file"),
    (["compare", "light-lounge", "--light-output", "many"], "--light-output"),
    (["compare", "light-lounge", "--fabric", "pearl", "--seat", "sofa lefd"], 'did you mean "sofa left"'),
    (["compare", "light-lounge", "--fabric", "pearl", "--seat", "1", "--show", "none.png"], "--show"),
    (["compare", "short-throw-wall", "--fabric", "louvred short-throw", "--fabric-models"], "stands alone"),
    (["advise", "light-lounge", "--use", "garage"], "allowed dedicated, living-room, bedroom"),
    (["advise", "light-lounge", "--fabric", "slver"], "did you mean silver"),
    (["advise", "light-lounge", "--prices", "none.csv"], "no such file"),
    (["advise", "lite-lounge"], "did you mean light-lounge"),
]


@pytest.mark.parametrize(("arguments", "said"), BAD, ids=lambda value: " ".join(value)[:50])
def test_bad_input_gets_one_clear_line_and_status_2(
    arguments: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert app.run([*arguments, "--out", str(tmp_path / "out")]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert said in captured.err
    assert len(captured.err.splitlines()) == 1
    assert not (tmp_path / "out").exists()


@pytest.mark.usefixtures("half_drawn")
def test_advise_prints_evidence_rules_apart_and_writes_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    prices = tmp_path / "prices.csv"
    prices.write_text(
        "name,price\nmotorised,700\ntab-tensioned,1100\npull-down,300\nmatt white,250\nangular grey,800\npearl,500\n"
    )
    arguments = ["advise", "light-lounge", "--full", "--clear-wall", "--fabric", "matt white", "--fabric", "angular grey"]
    assert app.run([*arguments, "--prices", str(prices), "--out", str(tmp_path / "out"), *FAST]) == 0
    assert written(tmp_path / "out", "advise") == ["advice.png", "advise.csv", "advise.json"]
    said = capsys.readouterr().out
    for words in (
        "Fabrics that serve",
        "Hangs",
        "What would change this",
        "Rules of the trade (common practice, no source)",
        "the in-use light output",
        "the lens's own checkerboard contrast is 220:1",
        "Cautions",
        "In one line",
    ):
        assert words in said, words
    assert max(len(line) for line in said.splitlines()) <= 80
    document = json.loads((tmp_path / "out" / "advise.json").read_text())
    assert document["format"] == "halfgain.advise/1"
    take = document["take"]
    by_name = {"motorised": 700, "tab-tensioned": 1100, "pull-down": 300, "matt white": 250, "angular grey": 800}
    assert take["price"] == by_name[take["hang"]] + by_name[take["fabric"]]
    assert said.count(f'Take "{take["fabric"]}" on a') == 2, "the first line of the advice and the last"
    assert f"{take['price']:g} together" in " ".join(said.split())
    assert {rule["source"] for rule in document["rules"]} == {"common practice, no source"}
    assert [hang["possible"] for hang in document["hangs"]] == [False, True, True, True]
    assert {fabric["name"] for fabric in document["fabrics"]} == {"matt white", "angular grey"}
    assert imread(tmp_path / "out" / "advice.png").std() > 0.01
    rows = list(csv.DictReader(io.StringIO((tmp_path / "out" / "advise.csv").read_text())))
    assert len(rows) == 2 * (3 + 3)


def test_advise_says_when_figures_are_rated_or_an_upper_bound(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from halfgain.scenes.library import scene_path

    text = scene_path("black-box").read_text()
    text = text.replace("in_use = 1.0", "").replace("checkerboard_contrast = 1000", "")
    (tmp_path / "room.toml").write_text(text)
    assert app.run(["advise", str(tmp_path / "room.toml"), "--fabric", "matt white", "--fabric", "grey 0.8", *FAST]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "rated light output, as in_use is left out" in said
    assert "the room's limit, an upper bound, as the lens's own checkerboard contrast is not stated" in said


@pytest.mark.usefixtures("maps_undrawn", "half_drawn")
def test_hangs_are_told_apart_by_their_folds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["compare", "short-throw-wall", "--hang", "motorised", "--hang", "fixed frame", "--out", str(tmp_path), *FAST]
    assert app.run(arguments) == 0
    assert {"folds.png", "fold-multiples.png"} < set(written(tmp_path, "compare"))
    said = capsys.readouterr().out
    assert "brightness, in times" in said
    assert "geometry, warp in" in said
    document = json.loads((tmp_path / "compare.json").read_text())
    motorised, frame = document["folds"]
    assert motorised["verdict_luminance"]["typical"] == "visible", "a steep beam shows every wave (the first-order law of folds)"
    assert set(frame["threshold_ratio"].values()) == {0.0}
    assert set(motorised["threshold_ratio_by_seat"]["high"]) == {"sofa left", "sofa middle", "sofa right"}
    assert set(motorised["verdict_geometry"]) == {"low", "typical", "high"}
    assert motorised["warp_arcmin"]["low"] < motorised["warp_arcmin"]["high"]
    assert set(frame["verdict_geometry"].values()) == {"not judged"}, "taken as flat"
    for name in ("folds.png", "fold-multiples.png"):
        assert imread(tmp_path / name).std() > 0.01
    several = document["fold_multiples"]
    assert {(m["throw"], m["fabric"], m["direction"]) for m in several} == set(
        itertools.product(
            ("normal throw", "short throw", "ultra-short throw"),
            ("diffuse", "angular-reflective", "retro-reflective"),
            ("vertical", "horizontal"),
        )
    )
    rows = list(csv.DictReader(io.StringIO((tmp_path / "compare.csv").read_text())))
    high = [r for r in rows if r["variant"] == "motorised" and r["figure"] == "folds_high_warp_arcmin"]
    assert max(float(r["value"]) for r in high) == motorised["warp_arcmin"]["high"]
    assert {r["verdict"] for r in rows if r["variant"] == "fixed frame" and "folds_" in r["figure"]} == {"not judged"}


def test_folds_of_compare_are_those_of_measure(capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["compare", "light-lounge", "--hang", "motorised", "--hang", "fixed frame", "--json", *FAST]) == 0
    found = json.loads(capsys.readouterr().out)["folds"][0]
    assert app.run(["measure", "light-lounge", "--json", *FAST]) == 0
    for seat in json.loads(capsys.readouterr().out)["seats"]:
        for level, reading in seat["folds"].items():
            assert found["threshold_ratio_by_seat"][level][seat["name"]] == pytest.approx(reading["threshold_ratio"], rel=0.02)
            assert found["warp_arcmin_by_seat"][level][seat["name"]] == pytest.approx(reading["warp_arcmin"], rel=1e-9)


@pytest.mark.usefixtures("maps_undrawn", "half_drawn", "coarse")
def test_a_seat_is_drawn_before_and_after_under_one_tone_curve(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(views, "_WIDTH", 192)
    monkeypatch.setattr(views, "_HEIGHT", 108)
    arguments = [
        "compare",
        "dark-room",
        "--finish",
        "ceiling=0.8",
        "--finish",
        "ceiling=0.02",
        "--seat",
        "front 1",
        "--show",
        "white",
    ]
    assert app.run([*arguments, "--out", str(tmp_path), *FAST]) == 0
    seen = imread(tmp_path / "seen-front-1.png")[..., :3].mean(axis=2)
    width = seen.shape[1]
    light, dark = seen[50:-10, : width // 2], seen[50:-10, width // 2 :]  # the two pictures stand side by side
    assert light.mean() > dark.mean() + 0.02, "the white ceiling lights the room"


def test_seats_with_the_same_figures_share_a_table(capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["compare", "short-throw-wall", "--finish", "ceiling=0.2", *FAST]) == 0
    assert "Seats sofa left, sofa middle, sofa right" in capsys.readouterr().out, "a diffuse screen looks alike from all"


def test_seat_pictures_need_a_folder(capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["compare", "light-lounge", "--fabric", "pearl", "--seat", "1", *FAST]) == 2
    assert "give --out DIR" in capsys.readouterr().err


def test_a_fabric_of_one_model_is_refused_with_the_reason(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from halfgain.scenes.library import scene_path

    scene = tmp_path / "louvred.toml"
    scene.write_text(scene_path("short-throw-wall").read_text().replace('"matt white"', '"louvred short-throw"'))
    assert app.run(["compare", str(scene), "--fabric-models", *FAST]) == 2
    said = capsys.readouterr().err
    assert "has one model only" in said
    assert "tilts and reflectances of both facets" in said
    assert len(said.splitlines()) == 1
