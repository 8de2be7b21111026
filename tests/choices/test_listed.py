"""Lists of variants from CSV and TOML files."""

from __future__ import annotations

from pathlib import Path

import pytest
from halfgain.scenes.errors import SceneErrors
from halfgain.simulate.choices.listed import listed_variants
from halfgain.simulate.choices.variants import variants_of

from .scenes import library

CSV = """name,screen.fabric,projector.light_output_lm,"seat.""sofa left"".eye_m"
plain,matt white,,
bright,silver,3000,"[-0.7, 3.0, 1.0]"
"""
TOML = """
[[variant]]
name = "plain"
screen.fabric = "matt white"
[[variant]]
name = "bright"
screen.fabric = { kind = "diffuse", gain = 0.9 }
"projector.light_output_lm" = 3000
seat."sofa left".eye_m = [-0.7, 3.0, 1.0]
room.finish.ceiling = { reflectance = 0.1 }
"""


@pytest.mark.parametrize(("name", "text"), [("a.csv", CSV), ("a.toml", TOML)])
def test_a_list_becomes_variants(name: str, text: str, tmp_path: Path) -> None:
    (tmp_path / name).write_text(text)
    plain, bright = variants_of(library("light-lounge"), [listed_variants(tmp_path / name)])
    assert (plain.label, bright.label) == ("plain", "bright")
    assert plain.scene.screen.fabric.name == "matt white"
    assert plain.scene.projector.light_output_lm == 2600
    assert bright.scene.projector.light_output_lm == 3000
    assert bright.scene.seats[0].eye_m == (-0.7, 3.0, 1.0)
    assert bright.scene.screen.fabric.gain == (2.2 if name.endswith("csv") else 0.9)


BAD = [
    ("a.txt", "x", "neither a CSV nor a TOML"),
    ("a.csv", "screen.fabric\nsilver\n", "fewer than two"),
    ("a.csv", "screen.fabric\nsilver,3\nmatt white\n", "a.csv:2: has 2 cells"),
    ("a.csv", "a b,c\n1,2\n1,3\n", "is no key"),
    ("a.csv", "name,screen.fabric\nx,silver\nx,pearl\n", 'two variants called "x"'),
    ("a.toml", "variant = 3\n", "each variant as a table"),
    ("a.toml", "[[variants]]\n", "unknown key"),
    ("a.toml", "[[variant]\n", "is not TOML"),
    ("a.toml", "[[variant]]\nname = 3\n[[variant]]\n", "should be a text"),
    ("a.csv", "", "is empty"),
]


@pytest.mark.parametrize(("name", "text", "says"), BAD)
def test_bad_lists_are_refused(name: str, text: str, says: str, tmp_path: Path) -> None:
    (tmp_path / name).write_text(text)
    with pytest.raises(SceneErrors) as caught:
        listed_variants(tmp_path / name)
    assert says in str(caught.value)


def test_a_missing_list_is_told(tmp_path: Path) -> None:
    with pytest.raises(SceneErrors, match="no such file"):
        listed_variants(tmp_path / "none.csv")
