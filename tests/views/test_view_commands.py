"""`picture`, `view`, `explain` on the command line: files, words, bad input."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from halfgain.scenes.load import load_scene
from halfgain.simulate.command import app
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.output.measure.explanation import explanation
from halfgain.simulate.output.units import figure as digits
from rich.cells import cell_len

from ..outputs import written
from ..rooms import box_object, room

BAD = [
    (["picture", "black-box", "--seat", "nobody"], "seats: "),
    (["picture", "black-box", "--seat", "9"], "or 1 to 2"),
    (["picture", "black-box", "--show", "no.png"], "no picture"),
    (["picture", "black-box", "--show", "200%"], "allowed 0% to 100%"),
    (["picture", "black-box", "--light", "sun"], "allowed: dark"),
    (["picture", "black-box", "--size", "960"], "WIDTHxHEIGHT"),
    (["picture", "black-box", "--size", "4x4"], "each 16 to 8192"),
    (["picture", "black-box", "--field-deg", "170"], "allowed 10 to 130"),
    (["picture", "black-box", "--field-deg", "nan"], "allowed 10 to 130"),
    (["picture", "black-box", "--adaptation", "0"], "--adaptation"),
    (["view", "black-box", "--screenshot", "room.jpg"], "ends in .png"),
    (["view", "black-box", "--folds", "much"], "low, typical, high"),
    (["explain", "black-box", "--seat", "on the norml"], 'did you mean "on the normal"'),
]


@pytest.mark.parametrize(("arguments", "said"), BAD)
def test_bad_input_is_one_line_and_writes_nothing(
    arguments: list[str], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert app.run(arguments) == 2
    error = capsys.readouterr().err
    assert said in error
    assert len(error.strip().splitlines()) == 1
    assert not list(tmp_path.iterdir())


def test_picture_writes_three_files_for_each_chosen_seat(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["picture", "black-box", "--seat", "1", "--show", "grid", "--size", "64x36", "--out", str(tmp_path / "o")]
    assert app.run([*arguments, "--threads", "1"]) == 0
    assert written(tmp_path / "o", "picture") == ["on-the-normal-luminance.png", "on-the-normal.exr", "on-the-normal.png"]
    assert "picture, mean" in capsys.readouterr().out


def test_explanation_multiplies_out() -> None:
    """lm x in use / area x gain / pi: the numbers on the page give the luminance on the page."""
    measurement = measure(load_scene("dark-room"), error=0.2)
    page = explanation(measurement, 0)
    lux = float(re.search(r"in the middle +([\d.]+) lx", page)[1])  # type: ignore[index]
    gain = float(re.search(r"x gain towards the seat +x ([\d.]+)", page)[1])  # type: ignore[index]
    own = float(re.search(r"= the picture's own white +([\d.]+) cd", page)[1])  # type: ignore[index]
    assert own == pytest.approx(lux * gain / 3.14159265, rel=5e-3)
    assert f"{digits(measurement.seats[0].checkerboard.value)}" in page


@pytest.mark.parametrize("name", ["the sofa by the window, left end, under the lamp", "天" * 30, "x" * 60])
def test_explanation_fits_a_terminal_of_80_columns(name: str) -> None:
    """With states, errors and notes of every row, and a seat and a surface of long names; nothing is cut off."""
    found = measure(load_scene("light-lounge"), error=0.2)
    seats = tuple(replace(seat, name=name, share={f"{name}!": seat.share["ceiling"]}) for seat in found.seats)
    page = explanation(replace(found, seats=seats), 0)
    assert max(map(cell_len, page.splitlines())) <= 80
    plain = "".join(page.split())
    assert f"“{''.join(name.split())}”" in plain
    assert f"{''.join(name.split())}!" in plain
    for said in (
        "(picture mode, zoom, age)",
        "the lens lights its corners less",
        "no paint can change it",
        "what the room leaves",
    ):
        assert said in " ".join(page.split())


def test_explanation_names_a_shadow_on_the_middle_and_walls_before_the_screen() -> None:
    """A post on the line from the lens to the picture's middle; the same figures as of a room that is no box."""
    post = box_object("post", [-0.05, 2.2, 1.2], [0.05, 2.3, 1.42], 0.3)
    found = measure(room(objects=post, lens="[0.0, 4.5, 1.4]"), error=0.2)
    page = explanation(found, 0)
    assert re.search(r"in the middle +0\S* lx +it lies in a shadow", page)
    assert "the lens lights its corners less" not in page
    hidden = tuple(replace(each, hidden_share=0.5) for each in found.geometry)
    assert "50 % of the screen is hidden by heads or furniture." in explanation(replace(found, geometry=hidden), 0)
    corner = replace(found, scene=load_scene("l-living-room"), geometry=hidden)
    assert "50 % of the screen is hidden by heads, furniture or walls." in explanation(corner, 0)


def test_explanation_says_what_is_not_known() -> None:
    page = explanation(measure(load_scene("black-box"), error=0.2), 0)
    assert "rated, not in-use lumens" in page or "x 1" in page
    assert "upper bound" in page or "black room this projector would reach" in page
