"""`halfgain fit` and `halfgain fabric`: statuses, documents, files that appear whole or not at all, pictures."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from halfgain.materials.fabric_file import library_with
from halfgain.materials.library import load_library
from halfgain.scenes.load import scene_from_text
from halfgain.simulate.command import app
from halfgain.simulate.output.in_turn import in_turn

from ..outputs import written

CURVE = "view_deg,gain\n" + "".join(f"{v},{0.4 + 0.9 * math.exp(-0.5 * (v / 20) ** 2):.4f}\n" for v in range(0, 76, 5))


def ask(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    status = app.run(list(arguments))
    said = capsys.readouterr()
    return status, said.out, said.err


def test_pair_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = ask(capsys, "fit", "--gain", "1.4", "--half-gain-deg", "35", "--json")
    found = json.loads(out)
    assert (status, err) == (0, "")
    assert (found["format"], found["verdict"]) == ("halfgain.fit/1", "possible")
    assert set(found["albedo"]) == {"low", "value", "high"}
    assert {"family", "parameters", "rms", "aic"} <= set(found["fits"][0])
    assert found["largest_gain"] == pytest.approx(2.0 / math.sin(math.radians(35)) ** 2)  # energy


def test_impossible_pair_ends_with_2_and_writes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "mine.toml"
    status, said, err = ask(
        capsys,
        "fit",
        "--gain",
        "9",
        "--half-gain-deg",
        "35",
        "--json",
        "--name",
        "x",
        "--out",
        str(out),
        "--pictures",
        str(tmp_path / "p"),
    )
    assert (status, json.loads(said)["verdict"], list(tmp_path.iterdir())) == (2, "impossible", [])
    assert "impossible" in err


@pytest.mark.usefixtures("half_drawn")
def test_curve_to_a_file_that_a_scene_uses(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "c.csv").write_text(CURVE)
    out, pictures = tmp_path / "mine.toml", tmp_path / "pictures"
    status, said, _ = ask(
        capsys, "fit", "--curve", str(tmp_path / "c.csv"), "--name", "mine", "--out", str(out), "--pictures", str(pictures)
    )
    assert status == 0
    assert said.startswith("possible: ")
    assert load_library(out).find_fabric("mine").gain == pytest.approx(1.3, abs=0.01)
    assert written(pictures, "fit") == ["gain.png", "residuals.png"]
    from halfgain.scenes.library import scene_path

    text = scene_path("long-lounge").read_text(encoding="utf-8").replace('fabric = "matt white"', 'fabric = "mine"')
    place = tmp_path / "scene.toml"
    place.write_text('libraries = ["mine.toml"]\n' + text)
    from halfgain.scenes.load import load_scene

    assert load_scene(place).screen.fabric.name == "mine"
    status, _, err = ask(capsys, "fit", "--curve", str(tmp_path / "c.csv"), "--name", "mine", "--out", str(out))
    assert (status, "stands there already" in err) == (2, True)


BAD = [
    (["fit"], "fit needs --gain"),
    (["fit", "--gain", "1.4", "--half-gain-deg", "35", "--viewing-angle-deg", "60"], "give one"),
    (["fit", "--gain", "1.4", "--viewing-angle-deg", "60"], "which viewing angle does the sheet mean?"),
    (["fit", "--gain", "1.4", "--viewing-angle-deg", "60", "--viewing-angle-is", "cone"], "full-cone"),
    (["fit", "--gain", "1.4", "--viewing-angle-is", "third"], "needs --viewing-angle-deg"),
    (["fit", "--gain", "1.4", "--half-gain-deg", "95"], "--half-gain-deg: "),
    (["fit", "--gain", "nan", "--half-gain-deg", "35"], "--gain: "),
    (["fit", "--gain", "1", "--half-gain-deg", "30", "--albedo", "0.9"], "allowed 0.1250 to 0.6250"),
    (["fit", "--gain", "1", "--half-gain-deg", "30", "--kind", "mirror"], "angular-reflective"),
    (["fit", "--gain", "1", "--half-gain-deg", "30", "--out", "x.toml"], "--out needs --name"),
    (["fit", "--gain", "1", "--half-gain-deg", "30", "--tile-reflectance", "0"], "allowed 0.5 to 1"),
    (["fit", "--gain", "1", "--half-gain-deg", "30", "--family", "gaussian"], "belongs to --curve"),
    (["fit", "--curve", "nowhere.csv"], "no such file"),
    (["fit", "--curve", "nowhere.csv", "--gain", "1"], "--gain has no meaning beside --curve"),
    (["fabric", "perl"], "nearest: pearl"),
    (["fabric", "--pictures", "p"], "needs the name"),
]


@pytest.mark.parametrize(("arguments", "words"), BAD)
def test_bad_options_are_one_clear_line(arguments: list[str], words: str, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = ask(capsys, *arguments)
    assert (status, out) == (2, "")
    assert words in err
    assert len(err.splitlines()) == 1


def test_tile_corrects_the_gain(capsys: pytest.CaptureFixture[str]) -> None:
    """Source: a gain against a tile of 0.98 is 1 / 0.98 too high."""
    found = json.loads(ask(capsys, "fit", "--gain", "1.5", "--half-gain-deg", "35", "--tile-reflectance", "0.98", "--json")[1])
    assert found["gain"] == pytest.approx(1.47)


@pytest.mark.usefixtures("half_drawn")
def test_fabric_list_document_and_pictures(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert len(ask(capsys, "fabric")[1].splitlines()) >= 17
    assert len(json.loads(ask(capsys, "fabric", "--json")[1])) >= 16
    status, out, _ = ask(capsys, "fabric", "louvred short-throw", "--json", "--pictures", str(tmp_path))
    found = json.loads(out)
    assert status == 0
    assert found["light_from"]["rejection"] == pytest.approx(8.83, abs=0.01)  # worked example of the groove
    assert written(tmp_path, "fabric") == ["gain.png", "light-from.png", "lobe.png", "reflectance.png"]
    assert "8.83 to 1" in ask(capsys, "fabric", "louvred short-throw")[1]


def test_louvred_fabric_in_a_scene_names_its_incidence() -> None:
    from halfgain.scenes.library import scene_path

    text = scene_path("short-throw-wall").read_text(encoding="utf-8")
    louvred = 'fabric = { kind = "louvred", gain = 0.6, gain_incidence_deg = 65, gain_from = "below" }'
    fabric = scene_from_text(text.replace('fabric = "matt white"', louvred)).screen.fabric
    assert (fabric.kind, fabric.gain, fabric.gain_from) == ("louvred", 0.6, "below")
    assert any("to 1" in note for note in fabric.notes)


@pytest.mark.skipif(os.name != "posix", reason="no locks of folders there")
def test_runs_that_add_to_one_library_at_once_lose_nothing(tmp_path: Path) -> None:
    """While another run holds the folder this one waits, and then adds to what that one wrote."""
    library = tmp_path / "mine.toml"
    # the child says when it asks for the folder; before that Python itself may still be starting
    begin = (
        "import fcntl; real = fcntl.flock\n"
        "def told(*a):\n    print('asks', flush=True)\n    return real(*a)\n"
        "fcntl.flock = told\nfrom halfgain.simulate.command.app import main; main()"
    )
    arguments = ["fit", "--gain", "1.2", "--half-gain-deg", "40", "--out", str(library), "--name", "second"]
    with in_turn(tmp_path):
        child = [sys.executable, "-c", begin, *arguments]
        waiting = subprocess.Popen(child, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        assert waiting.stdout is not None
        assert waiting.stdout.readline() == "asks\n"
        with pytest.raises(subprocess.TimeoutExpired):
            waiting.wait(timeout=0.5)
        library.write_bytes(library_with(library, {"name": "first", "gain": 0.9}))
    said = waiting.communicate(timeout=60.0)[1]
    assert waiting.returncode == 0, said
    assert [each["name"] for each in tomllib.loads(library.read_text())["fabric"]] == ["first", "second"]
    assert [each.name for each in tmp_path.iterdir()] == ["mine.toml"]
