"""Everyday words for finishes, the surfaces they are for, and the command that lists materials."""

from __future__ import annotations

import json
import tomllib

import pytest
from halfgain.materials.finish_words import FILE, meant, suits, surfaces_for
from halfgain.materials.library import UnknownName, load_library
from halfgain.scenes.library import scene_names
from halfgain.scenes.load import load_scene
from halfgain.simulate.answers.allowed import default_allowed
from halfgain.simulate.command.commands import run_command


def test_every_name_in_the_file_of_words_is_a_finish_of_the_library() -> None:
    read = tomllib.loads(FILE.read_text("utf-8"))
    named = {name for entry in (*read["for"], *read["called"]) for name in entry["finishes"]}
    assert named <= set(load_library().finishes)


@pytest.mark.parametrize("asked", ["parquet", "light parquet", "Parquet", "oak parquets"])
def test_parquet_finds_oak_boards(asked: str) -> None:
    assert meant(asked, load_library().finishes)[0] == "oak boards"
    with pytest.raises(UnknownName) as caught:
        load_library().find_finish(asked)
    assert caught.value.nearest[0] == "oak boards"


def test_words_within_words_mean_nothing() -> None:
    assert meant("matte white", load_library().finishes) == [], "no mat"
    assert meant("", load_library().finishes) == []


def test_no_paint_is_for_a_floor_and_none_is_proposed_there() -> None:
    paints = [name for name in load_library().finishes if "paint" in name.split() or "emulsion" in name.split()]
    assert len(paints) > 8
    assert not any(suits(name, "floor") for name in paints)
    assert suits("charcoal matt paint", "left")
    assert surfaces_for("perfect black") == ()
    for scene in map(load_scene, scene_names()):
        allowed = default_allowed(scene)
        assert all(suits(each.finish.name, each.surface) for each in allowed)


def test_the_command_finds_by_everyday_word_by_surface_and_by_source(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["materials", "parquet", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["finishes"][0]["name"] == "oak boards"
    assert found["finishes"][0]["absorption"]["125"] == 0.15
    assert run_command(["materials", "--json"]) == 0
    every = json.loads(capsys.readouterr().out)
    assert {each["name"] for each in every["finishes"]} == set(load_library().finishes)
    assert {each["name"] for each in every["fabrics"]} == set(load_library().fabrics)
    assert run_command(["materials", "dark", "carpet"]) == 0
    said = capsys.readouterr().out
    assert "dark carpet" in said
    assert "oak boards" not in said


def test_words_that_name_nothing_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert run_command(["materials", "unobtainium"]) == 2
    assert "halfgain materials lists all" in capsys.readouterr().err
