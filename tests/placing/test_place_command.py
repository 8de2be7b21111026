"""`halfgain place`: what is printed, what is written, what is refused."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path

import halfgain as hg
import pytest
from halfgain.scenes.load import scene_from_text
from halfgain.simulate.command import app
from halfgain.simulate.output.own_kind import PNG, kind_of
from halfgain.simulate.output.place.table import place_report
from halfgain.simulate.output.place.words import clash_words, ends_words
from halfgain.simulate.placing.bounds import By
from halfgain.simulate.placing.placement import place
from rich.console import Console

from tests.scenes.scene_texts import edit


def document(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> dict:
    assert app.run(["place", *arguments, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_the_document_holds_what_the_library_gives(capsys: pytest.CaptureFixture[str]) -> None:
    told, found = document(["long-lounge", "--white", "90"], capsys), hg.place("long-lounge", white_cd_m2=90.0)
    assert told["format"] == "halfgain.place/1"
    assert told == json.loads(found.to_json())
    held = told["screen_width"]["lens_where_it_stands"]
    assert (held["low_m"], held["high_m"]) == (found.width.low_m, found.width.high_m)
    white = next(each for each in held["bounds"] if each["cause"] == "white-luminance" and each["role"] == "asked")
    assert white["asked"] == {
        "name": "white luminance asked for",
        "value": 90.0,
        "unit": "cd/m2",
        "source": "as asked",
        "seen": "given",
    }
    section = told["lens"]["section"]
    assert {letter for row in section["cells"] for letter in row} == set(section["legend"])
    assert len(section["cells"]) == len(found.lens.section.reason)
    assert set(told["lens"]["ranges"]) == {"right", "out", "up"}
    assert told["cautions"]


@pytest.mark.usefixtures("half_drawn")
def test_files_are_written_and_the_table_is_tidy(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "placed"
    assert app.run(["place", "dark-room", "--out", str(out)]) == 0
    assert {path.name for path in out.iterdir()} == {"place.json", "place.csv", "place.png", "place.sha256"}
    assert kind_of((out / "place.png").read_bytes()) == PNG
    rows = list(csv.DictReader((out / "place.csv").open(encoding="utf-8")))
    frame = hg.place("dark-room").to_frame()
    assert len(rows) == len(frame)
    assert {"projector.lens_m", "screen.width_m", "screen.bottom_m"} < {row["length"] for row in rows}
    angle = next(row for row in rows if row["cause"] == "picture-width-seen")
    assert (angle["asked"], angle["unit"], angle["source"]) == ("30.0", "deg", "SMPTE EG 18-1994")
    (out / "place.csv").write_text("mine", encoding="utf-8")
    capsys.readouterr()
    assert app.run(["place", "dark-room", "--out", str(out)]) == 2
    assert "not replaced" in capsys.readouterr().err


def test_every_library_scene_is_told_in_eighty_columns(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    for name in hg.scene_names():
        assert app.run(["place", name, "--full"]) == 0
        text = capsys.readouterr().out
        assert max(map(len, text.splitlines())) <= 80
        assert "nan" not in text
        assert "None" not in text


@pytest.mark.parametrize("value", ["0", "nan", "-3", "1e9"])
def test_a_white_out_of_range_is_refused_in_one_line(value: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["place", "black-box", "--white", value]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1
    assert "allowed 1 to 10000" in said.err
    with pytest.raises(hg.Error, match="no luminance"):
        hg.place("black-box", white_cd_m2=-1.0)


def test_a_room_without_any_place_for_the_lens_says_which_two_causes_leave_none() -> None:
    scene = scene_from_text(edit(("[1.3, 2.1]", "[3.1, 3.4]")))
    found = place(scene)
    assert found.lens.nearest is None
    assert found.lens.conflict is not None
    text = place_report(found, Console(width=200))
    assert "There is no place for the lens out from the wall: the zoom asks for more than the back wall allows." in text
    assert found.plot().axes


def test_what_stands_against_each_other_is_named_where_nothing_serves() -> None:
    scene = scene_from_text(edit(("eye_m = [1.2, 5.5, 1.2]", "eye_m = [0.0, 5.5, 1.2]"), ("[1.3, 2.1]", "[1.9, 2.6]")))
    found = place(scene).width
    assert found.low_m is None
    words = clash_words(found, scene)
    assert words == 'the picture\'s width from "rear" asks for at least 2.91 m and the zoom for at most 2.00 m'


def test_all_that_hides_the_picture_is_named_where_no_height_is_free() -> None:
    """A low cabinet and a board hung above it hide the picture from every height of the rear row, each from its own."""
    cabinet = '[[room.object]]\nname = "cabinet"\nbox = { min_m = [-2.1, 2.0, 0.0], max_m = [2.1, 2.1, 1.3] }\nfinish = 0.3\n'
    board = '[[room.object]]\nname = "board"\nbox = { min_m = [-2.1, 2.2, 1.2], max_m = [2.1, 2.3, 2.5] }\nfinish = 0.3\n'
    scene = scene_from_text(edit(("[projector]\n", f"{cabinet}{board}[projector]\n")))
    found = place(scene)
    lift = found.rows[-1].lift
    assert lift.low_m is None
    assert '"cabinet" before the picture' in clash_words(lift, scene)
    assert '"board" before the picture' in clash_words(lift, scene)


def test_a_slope_over_one_end_of_the_screen_ends_its_lower_edge() -> None:
    """A ceiling from 2.7 m on the left down to 1.5 m, 4.2 m across: 1.9 m at the border's right end, 0.7 m right of the middle."""
    room = (
        "width_m = 4.2\ndepth_m = 6.0\nheight_m = 2.5",
        "outline_m = [[-2.1, 0], [2.1, 0], [2.1, 6.0], [-2.1, 6.0]]\n"
        'walls = ["front", "right", "back", "left"]\nheights_m = [2.7, 1.5, 1.5, 2.7]',
    )
    screen = ("width_m = 2.4", "width_m = 1.6"), ("right_m = 0.0", "right_m = -0.2"), ("bottom_m = 0.75", "bottom_m = 0.5")
    scene = scene_from_text(edit(room, *screen, ("[0.0, 3.9, 2.2]", "[-0.2, 3.0, 1.6]")))
    found = place(scene).bottom_lens_free
    highest = 2.7 - 1.2 / 4.2 * (2.1 - 0.2 + 0.8 + scene.screen.border_m) - scene.screen.border_m - 0.9
    walls = next(bound for bound in found.bounds if bound.by is By.SHELL)
    assert walls.high_m == math.floor(100.0 * highest) / 100.0
    with pytest.raises(hg.Error, match="do not fit their wall"):
        scene.change("screen.bottom_m", walls.high_m + 0.01)
    assert scene.change("screen.bottom_m", walls.high_m).screen.bottom_m == walls.high_m


def test_rooms_of_any_shape_are_placed_within_their_walls() -> None:
    """An attic's slopes hold the screen's lower edge and its width; every end of the lens does when it is followed."""
    found = place(hg.load_scene("attic"))
    assert found.lens.fits_here
    assert found.bottom_lens_free.high_by is not None
    assert found.bottom_lens_free.high_by.by in (By.SIGHT, By.SHELL, By.CEILING)
    scene = found.scene
    width = found.width.high_m
    assert width is not None
    assert scene.change("screen.width_m", width).screen.width_m == width
    with pytest.raises(hg.Error, match="do not fit their wall"):
        scene.change("screen.width_m", round(width + 0.01, 2))
    assert found.plot().axes


def test_what_ends_a_range_is_named_where_the_search_ends_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["place", "black-box"]) == 0
    assert "Lower edge: 0.00 to 1.87 m (the floor; the ceiling)" in capsys.readouterr().out
    found = place(hg.load_scene("black-box"))
    assert ends_words(found.rows[1].lift, found.scene) == "no less was tried; the ceiling"
