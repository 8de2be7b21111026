"""`new`: answers from a person, a pipe and a file; what is refused at once; a file that loads; nothing lost, nothing half made."""

from __future__ import annotations

import io
import json
import os
import pty
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from halfgain.scenes.load import load_scene
from halfgain.scenes.survey.questions import GROUPS, LISTS, WHERE_TO_HOLD_AMBIENT
from halfgain.simulate.command import app

from tests.chromium import chromium, sheets

LINES = """\
# lines that begin so are passed over
Bob's den
13 ft 6 in
5.1 m
8' 2"


100 in





fixed

2.9
7' 3"
sofa middle

3.1 m
42 in
sofa left
4' 6"
3.1 m


sofa
3 ft
10 ft 6 in
3.2
4.1

0.6

sideboard
0.5
1.5
0
0.4

0.5
0.4

charcoal matt paint



0.5

lamps on
12

2200
3000
350
480
1.3 to 2.1
0.2, 0.6
"""
ANSWERS = """\
title = "Den"
unit = "cm"
room_width = 420
room_depth = "5.1 m"
room_height = 250
picture_width = "94 in"
lens_from_screen_wall = 290
lens_height = 220
light_output_lm = 1800
finish_ceiling = 0.2

[[seat]]
name = "middle"
from_screen_wall = 310

[[light]]
name = "lamps on"
lux = 12
"""


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def _piped(text: str, arguments: list[str], monkeypatch: pytest.MonkeyPatch) -> int:
    monkeypatch.setattr(sys, "stdin", io.StringIO(text))
    return app.run(["new", *arguments])


def test_a_pipe_of_answers_makes_a_scene_that_loads(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    assert _piped(LINES, ["den.toml"], monkeypatch) == 0
    said = capsys.readouterr()
    assert said.out == ""
    assert "wrote den.toml; next: halfgain measure den.toml" in said.err
    scene = load_scene("den.toml")
    # Expected: 13 ft 6 in = 162 in; the left seat is 54 in from the left wall, so 27 in left of the middle; by hand
    assert scene.title == "Bob's den"
    assert scene.room.width_m == pytest.approx(162 * 0.0254, rel=1e-12)
    assert scene.seats[1].eye_m == pytest.approx((-27 * 0.0254, 3.1, 1.1))
    assert scene.screen.width_m == pytest.approx(100 * 0.0254 * 16 / (16**2 + 9**2) ** 0.5)
    assert scene.room.objects[0].min_m == pytest.approx((36 * 0.0254 - 81 * 0.0254, 3.2, 0.0))
    assert scene.room.finish["back"].name == "charcoal matt paint"
    assert scene.room.finish["ceiling"].luminous == 0.5
    assert [light.screen_lx for light in scene.lights] == [12.0]
    area = scene.screen.width_m * scene.screen.height_m
    assert scene.projector.in_use == pytest.approx(480 * area / 2200, rel=1e-3)
    text = Path("den.toml").read_text(encoding="utf-8")
    assert "width_in = 162" in text
    assert "# 13 ft 6 in: the wall the screen is on" in text
    assert "# 480 lx on the mean of nine points" in text


def test_a_file_of_answers_makes_a_scene_that_loads(capsys: pytest.CaptureFixture[str]) -> None:
    Path("answers.toml").write_text(ANSWERS, encoding="utf-8")
    assert app.run(["new", "--answers", "answers.toml", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["format"] == "halfgain.new/1"
    assert document["file"] == "den.toml"
    scene = load_scene("den.toml")
    assert scene.sha256 == document["scene"]["sha256"]
    assert (scene.room.width_m, scene.room.height_m) == (4.2, 2.5)
    assert scene.screen.width_m == pytest.approx(94 * 0.0254)
    assert scene.projector.in_use is None
    assert scene.projector.checkerboard_contrast is None
    assert "# in_use = 0.7" in Path("den.toml").read_text(encoding="utf-8")


REFUSED = [
    ("room_width = 420", 'room_width = "42 ft 6 m"', "answers.toml:3: room_width: is no length: its parts do not follow one another"),
    ("room_width = 420", "room_width = 42", "answers.toml:3: room_width: is 42 cm (got \"42\"; allowed 100 cm to 10000 cm)"),
    ("room_width = 420", "", "answers.toml: room_width: Width of the wall the screen is on: needs an answer"),
    ('picture_width = "94 in"', "picture_width = 500", "picture_width: is 500 cm (got \"500\"; allowed 20 cm to 420 cm)"),
    ('picture_width = "94 in"', 'picture_width = "94 in"\npicture_bottom = 200', "picture_bottom: is 200 cm"),
    ('picture_width = "94 in"', 'picture_width = "94 in"\nscreen_from_left = 50', "screen_from_left: is 50 cm (got \"50\"; allowed"),
    ('picture_width = "94 in"', "picture_width = 410\nborder = 20", "border: screen and border are"),
    ("lens_height = 220", "lens_height = 251", "lens_height: is 251 cm"),
    ("light_output_lm = 1800", 'light_output_lm = "1,800"', "light_output_lm: may mean thousands or a decimal"),
    ("light_output_lm = 1800", "light_output_lm = true", "light_output_lm: should be a text or a number (got true)"),
    ("light_output_lm = 1800", "light_output_lm = 1800\nnine_lux_mean = 4000", "nine_lux_mean: makes"),
    ("finish_ceiling = 0.2", "finish_ceiling = 2", "finish_ceiling: is a reflectance out of range"),
    ("finish_ceiling = 0.2", 'finish_ceiling = "parquet"', "finish_ceiling: is no finish of the library, did you mean oak boards"),
    ("finish_ceiling = 0.2", "finish_celing = 0.2", 'answers.toml:10: finish_celing: no question has this key, did you mean "finish_ceiling"?'),
    ("from_screen_wall = 310", "", "answers.toml:12: seat[1].from_screen_wall: From the screen wall to the eye: needs an answer"),
    ("from_screen_wall = 310", "from_screen_wal = 310", "seat[1].from_screen_wal: no question has this key"),
    ('name = "middle"', 'name = "a/b"', "seat[1].name: "),
    ('name = "lamps on"', 'name = "dark"', "light[1].name: is the name of the state without any light"),
    ("[[light]]", '[[seat]]\nname = "middle"\nfrom_screen_wall = 320\n[[light]]', "seat[2].name: is taken by seat 1"),
    ('unit = "cm"', 'unit = "yard"', "unit: is no unit (got yard; allowed m, cm, mm, in, ft)"),
    ("[[light]]", "[light]", "light: should be a list of tables"),
    ('title = "Den"', "title = ", "answers.toml:1: invalid value"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "said"), REFUSED, ids=[new.splitlines()[-1][:40] if new else f"no {old[:12]}" for old, new, _ in REFUSED]
)
def test_a_wrong_answer_of_a_file_is_refused_with_its_place(
    old: str, new: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert old in ANSWERS
    Path("answers.toml").write_text(ANSWERS.replace(old, new), encoding="utf-8")
    assert app.run(["new", "x.toml", "--answers", "answers.toml"]) == 2
    captured = capsys.readouterr()
    assert said in captured.err
    assert len(captured.err.splitlines()) == 1
    assert os.listdir() == ["answers.toml"]


def test_a_seat_in_the_furniture_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    sofa = '[[furniture]]\nname = "sofa"\nleft = 100\nright = 320\nnear = 280\nfar = 380\ntop = 120\n'
    Path("answers.toml").write_text(ANSWERS + sofa, encoding="utf-8")
    assert app.run(["new", "x.toml", "--answers", "answers.toml"]) == 2
    assert 'furniture[1].name: the eye of "middle" is inside "sofa"' in capsys.readouterr().err


def test_a_wrong_answer_of_a_pipe_is_refused_with_its_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _piped(LINES.replace("5.1 m", "banana", 1), ["x.toml"], monkeypatch) == 2
    assert (
        'answers, line 4: From the screen wall to the back wall: is no length (got "banana"; allowed: a length such as'
        in capsys.readouterr().err
    )
    assert os.listdir() == []


@pytest.mark.parametrize("kept", [0, 1, 10, 20, 40, 50])
def test_answers_that_end_early_leave_nothing(
    kept: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _piped("".join(LINES.splitlines(keepends=True)[:kept]), ["x.toml"], monkeypatch) == 2
    assert 'the answers end before "' in capsys.readouterr().err
    assert os.listdir() == []


def test_no_scene_is_written_over_anything(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    Path("den.toml").write_text("mine", encoding="utf-8")
    for arguments in (["den.toml"], []):
        assert _piped(LINES.replace("Bob's den", "Den"), arguments, monkeypatch) == 2
        assert "exists already: nothing is overwritten" in capsys.readouterr().err
    assert _piped(LINES, ["den.toml", "--replace"], monkeypatch) == 2
    assert "is no scene, so --replace does not replace it" in capsys.readouterr().err
    assert Path("den.toml").read_text(encoding="utf-8") == "mine"
    assert _piped(LINES, ["good.toml"], monkeypatch) == 0
    assert _piped(LINES.replace("Bob's den", "Again"), ["good.toml", "--replace"], monkeypatch) == 0
    assert load_scene("good.toml").title == "Again"


class Person(io.StringIO):
    """A terminal's input."""

    def isatty(self) -> bool:
        return True


def test_a_person_is_asked_again_and_told_why_and_where_to_hold_the_meter(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (
        LINES.split("\n", 1)[1]
        .replace("5.1 m", "banana\n510\n5.1 m", 1)
        .replace("sofa middle\n\n3.1 m", "sofa middle\n\n9\n3.1 m", 1)
    )
    monkeypatch.setattr(sys, "stdin", Person(text))
    assert app.run(["new", "den.toml"]) == 0
    said = capsys.readouterr().err
    assert "is no length (allowed: a length such as 4.2 m" in said
    assert "is 510 m: did you mean 510 cm? (allowed: 1 m to 100 m)" in said
    assert "is 9 m (allowed: 0.101 m to 5.099 m)" in said
    assert said.count("From the screen wall to the back wall: ") == 3
    assert " ".join(WHERE_TO_HOLD_AMBIENT.split()) in " ".join(said.split())
    assert load_scene("den.toml").room.depth_m == 5.1


def test_a_person_may_go_back(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    text = LINES.split("\n", 1)[1].replace("5.1 m\n", "4.4 m\n<\n5.1 m\n", 1).replace("2200\n", "2000\n3000\n<\n<\n2200\n", 1)
    text = text.replace("\nlamps on\n12\n", "\nlamps off\n1\n<\n<\nlamps on\n12\n", 1)
    monkeypatch.setattr(sys, "stdin", Person(text))
    assert app.run(["new", "den.toml"]) == 0
    scene = load_scene("den.toml")
    assert scene.room.depth_m == 5.1
    assert scene.projector.light_output_lm == 2200
    assert [light.name for light in scene.lights] == ["lamps on"]
    assert "< goes back" in capsys.readouterr().err


def test_ctrl_c_at_a_terminal_leaves_nothing(tmp_path: Path) -> None:
    pid, terminal = pty.fork()
    if pid == 0:
        signal.signal(signal.SIGINT, signal.SIG_DFL)  # a suite that runs in the background may hand on that it is ignored
        os.execv(sys.executable, [sys.executable, "-m", "halfgain", "new", "x.toml"])
    shown = _until(terminal, b"room called")
    os.write(terminal, b"Den\n4.2\n")
    shown += _until(terminal, b"back wall")
    os.write(terminal, b"\x03")
    shown += _until(terminal, b"half-written")
    if b"half-written" not in shown:
        os.kill(pid, signal.SIGKILL)  # or waitpid would wait for ever
    _, status = os.waitpid(pid, 0)
    assert b"interrupted; nothing half-written is left" in shown
    assert os.waitstatus_to_exitcode(status) == 130
    assert os.listdir(tmp_path) == []


def _until(terminal: int, words: bytes, seconds: float = 60.0) -> bytes:
    """What a terminal shows until these words come."""
    shown, end = b"", time.monotonic() + seconds
    while words not in shown and time.monotonic() < end:
        if select.select([terminal], [], [], 0.2)[0]:
            try:
                shown += os.read(terminal, 65536)
            except OSError:  # the other side has gone
                break
    return shown


def test_the_form_of_answers_names_every_question_and_is_taken_as_it_is(capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["new", "--answers-form", "form.toml"]) == 0
    text = Path("form.toml").read_text(encoding="utf-8")
    for title, questions in GROUPS:
        assert title not in LISTS or f"[[{LISTS[title]}]]" in text
        for question in questions:
            assert f"# {question.key} = " in text
    capsys.readouterr()
    assert app.run(["new", "x.toml", "--answers", "form.toml"]) == 2
    assert "room_width: Width of the wall the screen is on: needs an answer" in capsys.readouterr().err
    assert app.run(["new", "--answers-form", "form.toml"]) == 2
    assert app.run(["new", "x.toml", "--sheet", "s.html"]) == 2


def test_the_form_of_answers_filled_in_makes_a_scene() -> None:
    """Every mark is taken away; every key without a default gets an answer."""
    assert app.run(["new", "--answers-form", "form.toml"]) == 0
    own = {
        "room_width": "4.2", "room_depth": "5.1", "room_height": "2.5", "picture_width": "", "picture_diagonal": "100 in",
        "lens_from_left": "2.1", "lens_from_screen_wall": "2.9", "lens_height": "2.2", "light_output_lm": "2200", "nine_lux_mean": "480",
        "checkerboard_contrast": "300", "throw_ratio": "1.3 to 2.1", "lens_shift": "0.2 0.6", "from_screen_wall": "3.1", "left": "0",
        "right": "1", "near": "4", "far": "5", "top": "0.5", "lux": "12", "picture_bottom": "0.8", "screen_from_left": "middle",
    }  # fmt: skip
    filled = []
    for line in Path("form.toml").read_text(encoding="utf-8").splitlines():
        key = line.removeprefix("# ").split(" = ")[0]
        if key in own:
            line = f'{key} = "{own[key]}"'
        elif key == "name":
            line = f'name = "thing {len(filled)}"'
        elif line.startswith("# [[") or " = " in line:
            line = line.removeprefix("# ")
        filled.append(line)
    Path("filled.toml").write_text("\n".join(filled), encoding="utf-8")
    assert app.run(["new", "made.toml", "--answers", "filled.toml"]) == 0
    scene = load_scene("made.toml")
    assert (len(scene.seats), len(scene.room.objects), len(scene.lights)) == (1, 1, 1)
    assert scene.projector.lens_shift == (0.2, 0.6)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as found:
        yield found


@pytest.mark.parametrize("unit", ["m", "in"])
def test_the_site_sheet_is_one_a4_page(unit: str, browser: Any, tmp_path: Path) -> None:
    file = tmp_path / "site.html"
    assert app.run(["new", "--sheet", str(file), "--unit", unit]) == 0
    printed = sheets(browser, file)
    assert len(printed) == 1
    said = " ".join(printed[0])
    for words in ("Width of the wall the screen is on", "Seats", "Furniture", "Finishes", "lux at nine points", "Lens shift"):
        assert words in said
    assert ("feet and inches" in said) == (unit == "in")
    page = browser.new_page(viewport={"width": 695, "height": 1000})
    page.goto(file.as_uri())
    page.emulate_media(media="print")
    assert page.evaluate("document.documentElement.scrollWidth") <= 695
    page.close()
    assert app.run(["new", "--sheet", str(file), "--unit", unit]) == 0, "its own sheet may be written again"
    (tmp_path / "page.html").write_text("<!doctype html><title>mine</title>", encoding="utf-8")
    assert app.run(["new", "--sheet", str(tmp_path / "page.html")]) == 2


def test_every_letter_of_the_sketches_stands_beside_a_measure(tmp_path: Path) -> None:
    from halfgain.simulate.page.site_sheet import LETTERS

    assert app.run(["new", "--sheet", str(tmp_path / "site.html")]) == 0
    page = (tmp_path / "site.html").read_text(encoding="utf-8")
    for letter in LETTERS.values():
        assert f">{letter}</text>" in page, letter
        assert f'<td class="letter">{letter}</td>' in page or f"<th>{letter} " in page, letter


def test_the_module_starts_it_too() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "halfgain", "new", "y.toml"], input=LINES, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert load_scene("y.toml").title == "Bob's den"
