"""What is wrong in a study file is told at once, with file, line, key, value and what is allowed."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from halfgain.scenes.errors import SceneErrors
from halfgain.simulate.studies.read import read_study, study_of

from .studies import CEILING, table, written

HEAD = 'scene = "long-lounge"\n'
CASES = [
    (case["text"], case["told"])
    for case in tomllib.loads(Path(__file__).with_name("broken_studies.toml").read_text("utf-8"))["case"]
]


@pytest.mark.parametrize("text, told", CASES)
def test_a_broken_study_is_told_with_its_place(tmp_path: Path, text: str, told: str) -> None:
    with pytest.raises(SceneErrors) as fault:
        read_study(written(tmp_path, text))
    assert told in str(fault.value)
    assert str(tmp_path) in str(fault.value)


def test_all_that_is_wrong_is_told_at_once(tmp_path: Path) -> None:
    text = HEAD + 'seed = -1\nerror = 2\n[[factor]]\nkey = "room.depth_m"\nvalues = []\n'
    with pytest.raises(SceneErrors) as fault:
        read_study(written(tmp_path, text))
    assert len(fault.value.errors) >= 2


def test_a_scene_beside_the_study_is_found_there_and_its_own_mistakes_are_told(tmp_path: Path) -> None:
    (tmp_path / "room.toml").write_text("format = 1\n", encoding="utf-8")
    with pytest.raises(SceneErrors, match=r"room\.toml:1: room: is missing"):
        read_study(written(tmp_path, 'scene = "room.toml"\n[[factor]]\nkey = "screen.fabric"\nvalues = ["pearl"]\n'))


def test_a_level_that_no_scene_takes_fails_by_variant_not_the_study() -> None:
    """One good level is enough: the others are failed variants."""
    assert study_of(table({"key": "room.finish.ceiling", "values": [0.2, 1.4]})).count == 2


def test_a_mapping_says_what_a_file_says(tmp_path: Path) -> None:
    text = HEAD + 'error = 0.05\n[[factor]]\nkey = "room.finish.ceiling"\nvalues = [0.05, 0.5, "white ceiling paint"]\n'
    one, other = read_study(written(tmp_path, text)), study_of(table(CEILING))
    assert [each.shown for each in one.variants()] == [each.shown for each in other.variants()]


def test_the_study_of_the_readme_is_one(tmp_path: Path) -> None:
    readme = (Path(__file__).resolve().parents[2] / "README.md").read_text("utf-8")
    text = readme.split("## Many variants", 1)[1].split("```toml\n", 1)[1].split("```", 1)[0]
    study = read_study(written(tmp_path, text.replace(', "my-room.toml"', "")))
    assert study.count == 3 * 64
