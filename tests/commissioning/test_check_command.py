"""`check` as a user runs it: files, refusals, the form, the corrected scene, the sheet, the document; and `hg.check`."""

from __future__ import annotations

import csv
import io
import json
import pickle
from pathlib import Path

import halfgain as hg
import pytest
from halfgain.simulate.answers.answers import Answers
from halfgain.simulate.command import app
from halfgain.simulate.commissioning.predictor import Predictor
from halfgain.simulate.commissioning.readings_csv import read_site_rows
from halfgain.simulate.output.check.form import readings_form
from halfgain.simulate.output.own_kind import AS_BUILT, kind_of

from tests.commissioning.site import LAMPS, site_room
from tests.needs import needs
from tests.outputs import written
from tests.rooms import DEFAULTS, ROOM

FAST = ["--error", "0.05", "--threads", "1"]
FIELDS = {
    **DEFAULTS,
    "lights": LAMPS,
    "ceiling": 0.25,
    "front": 0.2,
    "projector": "corner_to_centre = 0.85\ncheckerboard_contrast = 300",
    "fabric": '[screen.fabric]\nkind = "angular-reflective"\ngain = 1.6\nhalf_gain_deg = 32\nalbedo = 0.85',
}


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A scene, its library beside it, and readings of the room with a lighter ceiling and three quarters of the light."""
    folder = tmp_path_factory.mktemp("site")
    text = (
        ROOM.format(**FIELDS)
        .replace("format = 1", 'format = 1\nlibraries = ["mine.toml"]')
        .replace("left = 0.5", 'left = "mine"')
    )
    (folder / "mine.toml").write_text('[[finish]]\nname = "mine"\nreflectance = 0.5\n', encoding="utf-8")
    (folder / "room.toml").write_text(text, encoding="utf-8")
    scene = hg.load_scene(folder / "room.toml")
    rows = list(csv.DictReader(io.StringIO(readings_form(scene))))
    blank = read_site_rows([{**row, "value": "1.5"} for row in rows], scene)
    built = scene.change({"projector.in_use": 0.75}).with_finish("ceiling", 0.7)
    there = Predictor(Answers.of(built, seed=9, paths=64), blank.readings)
    for row, value in zip(rows, there.predict(there.stated)[0], strict=True):
        row["value"] = f"{value:.4g}"
    rows[0]["calibration_percent"], rows[-1]["calibration_percent"] = "4", "5"
    with (folder / "readings.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return folder


@pytest.fixture(scope="module")
def out(files: Path) -> Path:
    target = files / "built"
    fields = ["--client", "A. Client", "--project", "<b>Site</b>", "--date", "2026-12-01"]
    assert app.run(["check", str(files / "room.toml"), str(files / "readings.csv"), "--out", str(target), *fields, *FAST]) == 0
    return target


def test_it_writes_the_document_the_table_the_sheet_and_the_scene(out: Path) -> None:
    assert written(out, "check") == ["as-built.toml", "check.csv", "check.html", "check.json"]
    document = json.loads((out / "check.json").read_text(encoding="utf-8"))
    assert document["format"] == "halfgain.check/1"
    found = {each["key"]: each for each in document["parameters"]}
    assert found["lumens"]["estimate"]["low"] < 750 < found["lumens"]["estimate"]["high"]
    assert found["lumens"]["differs"]
    assert {each["what"] for each in document["found"]} == {"finish"}
    assert document["found"][0]["name"] == "ceiling"
    assert all(each["source"] for each in document["parameters"])
    assert document["meters"]["illuminance"]["calibration_relative"] == pytest.approx(0.02)
    assert len(document["t"]["covariance"]) == len(document["parameters"])
    rows = list(csv.DictReader(io.StringIO((out / "check.csv").read_text(encoding="utf-8"))))
    assert len(rows) == len(document["readings"]) == 33
    assert float(rows[0]["measured"]) == document["readings"][0]["measured"]["value"]


def test_the_corrected_scene_loads_says_why_and_finds_its_library(out: Path) -> None:
    text = (out / "as-built.toml").read_text(encoding="utf-8")
    scene = hg.load_scene(out / "as-built.toml")
    assert scene.room.finish["left"].name == "mine"
    assert scene.room.finish["ceiling"].luminous == pytest.approx(0.7, abs=0.1)
    line = next(line for line in text.splitlines() if line.startswith("in_use"))
    assert "# stated 1000 lm; as built 7" in line
    assert "room.finish.ceiling" in text.splitlines()[1]
    assert kind_of(text.encode()) == AS_BUILT


def test_the_same_again_replaces_its_own_files_alone(out: Path, files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    (out / "as-built.toml").write_bytes((files / "room.toml").read_bytes())
    arguments = ["check", str(files / "room.toml"), str(files / "readings.csv"), "--out", str(out), *FAST]
    assert app.run(arguments) == 2
    assert "as-built.toml: is not a scene as built of halfgain check" in capsys.readouterr().err
    (out / "as-built.toml").write_bytes(before["as-built.toml"])


def test_the_sheet_escapes_what_users_wrote_and_asks_for_nothing(out: Path) -> None:
    page = (out / "check.html").read_text(encoding="utf-8")
    assert "&lt;b&gt;Site&lt;/b&gt;" in page
    assert "<b>Site" not in page
    assert "http" not in page.replace("http-equiv", "")
    assert page.count("<text") >= 9


def test_the_terminal_says_first_what_differs(files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["check", str(files / "room.toml"), str(files / "readings.csv"), "--full", *FAST]) == 0
    said = capsys.readouterr().out
    lines = said.splitlines()
    assert lines[0] == "test room"
    assert lines[1].endswith("readings are as promised, within both uncertainties.")
    assert any(line.startswith("- Another finish than reflectance 0.25") for line in lines)
    assert any(line.startswith("- Light output in use: 7") for line in lines)
    assert "common practice, no source" in said
    assert max(len(line) for line in lines) <= 80


def test_json_is_the_document_alone(files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["check", str(files / "room.toml"), str(files / "readings.csv"), "--json", *FAST]) == 0
    assert json.loads(capsys.readouterr().out)["format"] == "halfgain.check/1"


def test_a_form_is_written_once_and_never_over_anything(files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    form = files / "form.csv"
    assert app.run(["check", str(files / "room.toml"), "--form", str(form)]) == 0
    first = form.read_bytes()
    assert app.run(["check", str(files / "room.toml"), "--form", str(form)]) == 2
    assert "exists already: nothing is overwritten" in capsys.readouterr().err
    assert form.read_bytes() == first
    assert app.run(["check", str(files / "room.toml"), str(form), "--form", str(files / "other.csv")]) == 2
    assert app.run(["check", str(files / "room.toml")]) == 2
    assert "--form FILE.csv writes an empty one" in capsys.readouterr().err


def test_wrong_readings_are_refused_before_any_work_and_nothing_is_written(
    files: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_answers(*_: object, **__: object) -> None:
        raise AssertionError("paths were traced before the refusal")

    monkeypatch.setattr(Answers, "of", no_answers)
    bad, target = files / "bad.csv", files / "none"
    bad.write_text("picture,value,unit\nwhit,200,lx\nwhite,-1,lx\n", encoding="utf-8")
    assert app.run(["check", str(files / "room.toml"), str(bad), "--out", str(target), *FAST]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 2
    assert f"{bad}:2: picture: is none of them, did you mean white?" in said.err
    assert not target.exists()
    assert app.run(["check", str(files / "room.toml"), str(files / "gone.csv"), *FAST]) == 2
    assert "no such file" in capsys.readouterr().err


def test_from_python_rows_and_frames_and_files_are_one(files: Path) -> None:
    pandas = needs("pandas")
    room = Answers.of(hg.load_scene(files / "room.toml"), seed=1, paths=32, threads=1)
    by_file = hg.check(room, files / "readings.csv", error=0.05)
    assert isinstance(by_file, hg.Check)
    rows = list(csv.DictReader((files / "readings.csv").open(encoding="utf-8")))
    for other in (rows, pandas.read_csv(files / "readings.csv", dtype=str)):
        assert hg.check(room, other, error=0.05).to_json().replace('"line": null', "") != ""
        assert [each.explained for each in hg.check(room, other, error=0.05).compared] == [
            each.explained for each in by_file.compared
        ]
    frame = by_file.to_frame()
    assert len(frame) == 33
    assert "promised" in by_file._repr_html_()
    again = pickle.loads(pickle.dumps(by_file))
    assert [each.value for each in again.estimates] == [each.value for each in by_file.estimates]
    with pytest.raises(hg.Error, match="unit: is none of them"):
        hg.check(room, [{"picture": "white", "value": 3.0, "unit": "lux"}])


def test_a_scene_put_together_in_code_is_checked_all_the_same() -> None:
    scene = site_room()
    found = hg.check(scene, [{"picture": "white", "place": 5, "value": 318.0, "unit": "lx"}], error=0.1, threads=1)
    assert len(found.compared) == 1
    assert found.by_key["lumens"].informed


@pytest.mark.parametrize("rows", ["white,5,,dark,999999,lx", "white,5,,dark,440,lx\nwhite,centre,on the normal,,30000,cd/m2"])
def test_a_reading_that_cannot_be_is_told_and_ends_no_run(rows: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "r.csv"
    file.write_text(f"picture,place,seat,light,value,unit\n{rows}\n", encoding="utf-8")
    assert app.run(["check", "black-box", str(file), "--error", "0.2", "--threads", "1"]) == 0
    said = capsys.readouterr()
    assert "do not fit together" in " ".join(said.out.split())
    assert "Warning" not in said.err


@pytest.mark.parametrize(
    "row", ["white,5,,dark,440,lx,1e-170,", "white,5,,dark,0e300,lx,,", f"white,5,,dark,0e{'9' * 5000},lx,,"]
)
def test_numbers_that_no_meter_shows_are_refused(row: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "r.csv"
    file.write_text(f"picture,place,seat,light,value,unit,calibration_percent,repeat_percent\n{row}\n", encoding="utf-8")
    assert app.run(["check", "black-box", str(file)]) == 2
    assert "r.csv:2:" in capsys.readouterr().err
