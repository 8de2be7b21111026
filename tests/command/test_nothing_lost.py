"""No output takes the place of a file of another kind, or of one that the same run reads; refused before any work."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import numpy as np
import pytest
from halfgain.scenes.library import scene_path
from halfgain.scenes.load import load_scene
from halfgain.simulate.command import app, background
from halfgain.simulate.output.own_kind import DIGESTS, EXR, FOLDS, LEDGER, LIBRARY, PAGE, PNG, kind_called, kind_of
from PIL import Image

MINE = b"mine, not to be lost\n"


@pytest.fixture(autouse=True)
def no_work(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def worked(work: object) -> None:
        raise AssertionError("work was begun before the refusal")

    monkeypatch.setattr(background, "interruptible", worked)
    monkeypatch.chdir(tmp_path)
    shutil.copy(scene_path("light-lounge"), "room.toml")


def _refused(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    """The one line of a refusal; every file under the current folder is as it was."""
    before = {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()}
    assert app.run(arguments) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert len(captured.err.splitlines()) == 1
    assert {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()} == before
    return captured.err


FOLDERS = [
    (["measure", "room.toml"], "measure.json"),
    (["measure", "room.toml"], "seats.csv"),
    (["measure", "room.toml"], "plan.png"),
    (["measure", "room.toml"], "screen-armchair.png"),
    (["measure", "room.toml"], "folds-armchair.npz"),
    (["measure", "room.toml"], "measure.sha256"),
    (["compare", "room.toml", "--fabric", "silver"], "compare.json"),
    (["compare", "room.toml", "--fabric", "silver"], "compare.csv"),
    (["compare", "room.toml", "--fabric", "silver"], "before-after-armchair.png"),
    (["compare", "room.toml", "--fabric", "silver", "--seat", "armchair"], "seen-armchair.png"),
    (["compare", "room.toml", "--hang", "motorised"], "fold-multiples.png"),
    (["compare", "wide-row", "--fabric-models"], "fabric-models.png"),
    (["advise", "room.toml"], "advise.csv"),
    (["advise", "room.toml"], "advice.png"),
    (["finishes", "room.toml"], "finishes.json"),
    (["levels", "room.toml"], "levels.png"),
    (["flatness", "room.toml"], "flatness.csv"),
    (["flatness", "room.toml"], "fold-multiples.png"),
    (["picture", "room.toml"], "armchair.exr"),
    (["picture", "room.toml"], "armchair-luminance.png"),
    (["report", "room.toml"], "report.html"),
]


@pytest.mark.parametrize(("arguments", "name"), FOLDERS, ids=[f"{arguments[0]} {name}" for arguments, name in FOLDERS])
def test_a_file_of_another_kind_in_the_folder_is_not_replaced(
    arguments: list[str], name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("out").mkdir()
    Path("out", name).write_bytes(MINE)
    said = _refused([*arguments, "--out", "out"], capsys)
    assert f"{Path('out', name)}: is not {kind_called(name)}, so it is not replaced" in said


@pytest.mark.parametrize(
    ("arguments", "name"),
    [
        (["fabric", "matt white", "--pictures", "out"], "lobe.png"),
        (["fabric", "louvred short-throw", "--pictures", "out"], "light-from.png"),
        (["fit", "--gain", "1.1", "--half-gain-deg", "40", "--pictures", "out"], "gain.png"),
        (["fit", "--gain", "1.1", "--half-gain-deg", "40", "--name", "x", "--out", "out/mine"], "mine"),
        (["trace", "room.toml", "--ledger", "out/room.npz"], "room.npz"),
        (["view", "room.toml", "--screenshot", "out/room.png"], "room.png"),
        (["scenes", "black-box", "--copy", "out/room.toml"], "room.toml"),
    ],
    ids=lambda value: value if isinstance(value, str) else value[0],
)
def test_a_file_of_another_kind_at_that_name_is_not_replaced(
    arguments: list[str], name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("out").mkdir()
    Path("out", name).write_bytes(MINE)
    assert str(Path("out", name)) in _refused(arguments, capsys)


@pytest.mark.parametrize("spelling", ["room.toml", "./room.toml", "sub/../room.toml", "absolute", "symbolic", "hard"])
def test_a_ledger_does_not_replace_the_scene_whatever_it_is_called(spelling: str, capsys: pytest.CaptureFixture[str]) -> None:
    Path("sub").mkdir()
    os.link("room.toml", "hard")
    os.symlink("room.toml", "symbolic")
    given = str(Path("room.toml").absolute()) if spelling == "absolute" else spelling
    assert "not replaced" in _refused(["trace", "room.toml", "--ledger", given, "--error", "0.2"], capsys)


@pytest.mark.parametrize("same", ["name", "hard", "symbolic"])
@pytest.mark.parametrize(
    "arguments", [["picture", "room.toml", "--size", "32x32", "--show"], ["levels", "room.toml", "--frames"]]
)
def test_an_image_that_this_run_shows_is_not_replaced(
    arguments: list[str], same: str, capsys: pytest.CaptureFixture[str]
) -> None:
    name = "armchair.png" if arguments[0] == "picture" else "levels.png"
    Path("out").mkdir()
    Image.new("L", (8, 8), 128).save("still.png")
    if same == "name":
        Path("still.png").rename(Path("out", name))
    else:
        (os.link if same == "hard" else os.symlink)(Path("still.png").absolute(), Path("out", name))
    shown = str(Path("out", name)) if same == "name" else "still.png"
    assert "this run reads it, so it is not replaced" in _refused([*arguments, shown, "--out", "out"], capsys)


def test_a_height_map_that_this_run_reads_is_not_replaced(capsys: pytest.CaptureFixture[str]) -> None:
    Path("out").mkdir()
    Image.fromarray(np.full((40, 60), 1000, np.uint16)).save("out/plan.png")
    fold = '\n[[screen.fold]]\nkind = "measured"\nfile = "out/plan.png"\ncount_mm = 0.001\n'
    text = Path("room.toml").read_text(encoding="utf-8")
    Path("room.toml").write_text(text.replace("\n[[seat]]", f"{fold}\n[[seat]]", 1), encoding="utf-8")
    assert Path("out/plan.png") in load_scene("room.toml").files
    assert "plan.png: this run reads it" in _refused(["measure", "room.toml", "--out", "out"], capsys)


def test_a_library_and_its_pictures_do_not_have_one_name(capsys: pytest.CaptureFixture[str]) -> None:
    given = ["fit", "--gain", "1.1", "--half-gain-deg", "40", "--name", "x", "--out", "p/gain.png", "--pictures", "./p"]
    assert "is the name of a picture of --pictures" in _refused(given, capsys)


def test_pictures_do_not_go_among_the_frames(capsys: pytest.CaptureFixture[str]) -> None:
    Path("stills").mkdir()
    Image.new("L", (8, 8), 128).save("stills/one.png")
    assert "is the folder of the frames" in _refused(["levels", "room.toml", "--frames", "stills", "--out", "./stills"], capsys)


@pytest.mark.parametrize("what", ["folder", "link to nowhere", "pipe"])
def test_what_is_no_file_is_not_replaced(what: str, capsys: pytest.CaptureFixture[str]) -> None:
    if what == "folder":
        Path("x.npz").mkdir()
    elif what == "pipe":
        os.mkfifo("x.npz")
    else:
        os.symlink("gone", "x.npz")
    assert "not replaced: choose another name" in _refused(["trace", "room.toml", "--ledger", "x.npz"], capsys)
    assert os.path.lexists("x.npz")


def test_kinds_are_told_by_what_is_in_a_file() -> None:
    assert kind_of(MINE) is None
    assert kind_of(b"") in (None, LIBRARY)
    assert kind_of(scene_path("black-box").read_bytes()) is None
    assert kind_of(b'{"format": "halfgain.measure/1"') == kind_called("measure.json")
    assert kind_of(b'{"format": "other/1"}') is None
    assert kind_of(b"name,price\nfixed frame,100\n") is None
    assert kind_of(b"variant,screen.fabric\n") is None
    assert kind_of(b"surface,finish\n") is None
    assert kind_of(b"# mine\n[[finish]]\nname = 'x'\nreflectance = 0.5\n") == LIBRARY
    assert kind_of(b"<!doctype html>\n<title>mine</title>") is None
    assert {kind_called(name) for name in ("a.png", "a.exr", "a.npz", "report.html", "x.sha256")} == {
        PNG,
        EXR,
        FOLDS,
        PAGE,
        DIGESTS,
    }
    assert LEDGER not in {kind_called(name) for name in ("a.npz", "seats.csv")}
