"""`trace`, `measure --ledger`, `finishes`, `levels`: exit statuses, files, and what is said."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from halfgain.scenes.library import scene_path
from halfgain.simulate.command import app

from ..outputs import written

FAST = ["--error", "0.1", "--threads", "1"]


@pytest.fixture(scope="module")
def ledger(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("ledger") / "lounge.npz"
    assert app.run(["trace", "light-lounge", "--ledger", str(path), *FAST]) == 0
    return path


def edited(tmp_path: Path, old: str, new: str) -> str:
    """A copy of the lounge with one text changed."""
    text = scene_path("light-lounge").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "changed.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return str(path)


def test_measure_answers_from_a_ledger_for_another_light_output(
    ledger: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert app.run(["measure", "light-lounge", "--json", "--ledger", str(ledger), *FAST]) == 0
    one = json.loads(capsys.readouterr().out)
    scene = edited(tmp_path, "native_contrast = ", "native_contrast = 1")
    assert app.run(["measure", scene, "--json", "--ledger", str(ledger), *FAST]) == 0
    two = json.loads(capsys.readouterr().out)
    assert two["seats"][0]["contrast"]["full_on_off"]["value"] > 10 * one["seats"][0]["contrast"]["full_on_off"]["value"] / 2
    assert app.run(["measure", "light-lounge", "--json", *FAST]) == 0
    plain = json.loads(capsys.readouterr().out)["seats"][0]["contrast"]["checkerboard"]
    found = one["seats"][0]["contrast"]["checkerboard"]
    joint = (plain["standard_error"] ** 2 + found["standard_error"] ** 2) ** 0.5
    assert abs(plain["value"] - found["value"]) <= 4 * joint + plain["bias_bound"] + found["bias_bound"]


def test_a_ledger_of_another_room_ends_in_one_clear_line(
    ledger: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for scene in ("dark-room", edited(tmp_path, "depth_cm = ", "depth_cm = 1")):
        assert app.run(["measure", scene, "--ledger", str(ledger), *FAST]) == 2
        said = capsys.readouterr()
        assert said.out == ""
        assert len(said.err.splitlines()) == 1
        assert "room.depth_m" in said.err
    assert app.run(["finishes", "light-lounge", "--ledger", str(tmp_path / "none.npz"), *FAST]) == 2


@pytest.mark.usefixtures("undrawn")
def test_finishes_tells_costs_and_the_cheapest_set(ledger: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    allow = tmp_path / "allow.csv"
    allow.write_text(
        "surface,finish,price_per_m2\n,charcoal matt paint,9\nceiling,0.03,25\nfloor,dark carpet,40\n", encoding="utf-8"
    )
    out = tmp_path / "out"
    arguments = [
        "finishes",
        "light-lounge",
        "--ledger",
        str(ledger),
        "--allow",
        str(allow),
        "--out",
        str(out),
        "--target",
        "60",
        *FAST,
    ]
    assert app.run([*arguments, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert written(out, "finishes") == ["finishes.json", "finishes.png"]
    assert document["format"] == "halfgain.finishes/1"
    found = document["cheapest"]
    assert found["proved"]
    assert found["cost"] == found["cost_bound"] > 0
    assert min(seat["value"] for seat in found["checkerboard"]) >= 60 * (1 - 1e-6)
    black = [surface["black"]["checkerboard"][0]["value"] for surface in document["surfaces"]]
    assert min(black) >= document["now"]["checkerboard"][0]["value"] * (1 - 1e-9)
    assert app.run(arguments) == 0
    assert "Proved: no allowed set that reaches it costs less." in capsys.readouterr().out


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("surface,paint\n", ":1: header:"),
        ("surface,finish\nwall,0.1\n", ":2: surface: is no surface of the scene"),
        ("surface,finish\nleft,charcoal mat paint\n", "charcoal matt paint"),
        ("surface,finish\nleft,1.2\n", "allowed 0 to 1"),
        ("surface,finish,price_per_m2\nleft,0.1,-2\n", 'is no price (got "-2"; allowed a number from 0 to 1e+12)'),
        ("surface,finish,price_per_m2\nleft,0.1,2\nright,0.1,\n", "all or none"),
        ("surface,finish\nleft\n", "has 1 cells (allowed 2)"),
        ("surface,finish\n", "the list is empty"),
    ],
)
def test_a_wrong_list_is_refused(content: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, out = tmp_path / "allow.csv", tmp_path / "out"
    path.write_text(content, encoding="utf-8")
    assert app.run(["finishes", "light-lounge", "--allow", str(path), "--out", str(out), *FAST]) == 2
    assert said in capsys.readouterr().err
    assert not out.exists()


@pytest.mark.usefixtures("undrawn")
def test_levels_with_frames(ledger: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from PIL import Image

    frames = tmp_path / "frames"
    frames.mkdir()
    for i in range(3):
        Image.new("RGB", (32, 18), (60 * i + 20,) * 3).save(frames / f"{i}.png")
    out = tmp_path / "out"
    assert (
        app.run(["levels", "light-lounge", "--ledger", str(ledger), "--frames", str(frames), "--json", "--out", str(out), *FAST])
        == 0
    )
    document = json.loads(capsys.readouterr().out)
    assert document["frames"]["name"] == ["0.png", "1.png", "2.png"]
    contrast = [row[0] for row in document["frames"]["contrast"]["value"]]
    assert contrast == sorted(contrast, reverse=True)
    assert written(out, "levels") == ["levels.json", "levels.png"]
    assert app.run(["levels", "light-lounge", "--frames", str(tmp_path / "none"), *FAST]) == 2
