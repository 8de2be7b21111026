"""Scenes broken in one place: the message each must give, word for word, with its line.

The messages are the specification here (the rule: "clear errors, with file, line, key, value and what is allowed");
they stand in broken_scenes.toml.
"""

import tomllib
from pathlib import Path

import pytest
from halfgain.scenes.load import SceneErrors, scene_from_text
from scene_texts import GOOD, edit

BROKEN = tomllib.loads(Path(__file__).with_name("broken_scenes.toml").read_text(encoding="utf-8"))["case"]

# What the TOML reader says differs between Python versions; the line and the beginning do not.
BROKEN_SYNTAX = [
    ("width_m = 4.2", "width_m = 4,2", 4),
    ("width_m = 4.2", "width_m 4.2", 4),
    ('title = "Test room"', 'title = "Test room', 2),
    ("[screen]", "[screen", 29),
    ("height_m = 2.5", "height_m = 2.5\nheight_m = 2.6", 7),
    ("native_contrast = 3000", "native_contrast = ", 21),
    ("eye_m = [1.2, 5.5, 1.2]", "eye_m = [1.2, 5.5", 47),
]


def test_there_are_as_many_broken_scenes_as_the_project_asks_for():
    """At least 40, issue text; syntax and whole files come on top."""
    assert len(BROKEN) >= 40


@pytest.mark.parametrize("case", BROKEN, ids=[f"{case['new'][:40]}" for case in BROKEN])
def test_each_broken_scene_gives_its_message(case):
    with pytest.raises(SceneErrors) as caught:
        scene_from_text(edit((case["old"], case["new"])), "scene.toml")
    assert str(caught.value).splitlines() == [f"scene.toml:{line}" for line in case["says"]]


@pytest.mark.parametrize(("old", "new", "line"), BROKEN_SYNTAX)
def test_broken_syntax_names_its_line(old, new, line):
    with pytest.raises(SceneErrors) as caught:
        scene_from_text(edit((old, new)), "scene.toml")
    assert len(caught.value.errors) == 1
    assert str(caught.value).startswith(f"scene.toml:{line}: is not TOML: ")


@pytest.mark.parametrize(
    ("fabric", "key"),
    [
        ("{ gain = 1.3 }", "gain"),
        ("{ gain = 9.0, half_gain_deg = 40 }", "gain"),
        ("{ gain = 1.2, half_gain_deg = 95 }", "half_gain_deg"),
    ],
)
def test_an_impossible_fabric_is_refused_at_its_key(fabric, key):
    """Why, and the largest possible gain, is for the materials' tests; here: the place."""
    with pytest.raises(SceneErrors) as caught:
        scene_from_text(edit(('fabric = "matt white"', f"fabric = {fabric}")), "scene.toml")
    assert [(error.line, error.key) for error in caught.value.errors] == [(37, f"screen.fabric.{key}")]


def test_one_table_where_several_are_meant_says_how_to_write_them():
    text = GOOD[: GOOD.index("[[seat]]")] + '[seat]\nname = "only"\neye_m = [0.0, 3.3, 1.1]\n'
    with pytest.raises(SceneErrors) as caught:
        scene_from_text(text, "scene.toml")
    assert str(caught.value) == "scene.toml:42: seat: should be written as [[seat]], once for each"


def test_every_error_of_a_file_comes_at_once_in_the_files_order():
    """One fault of each sort; none hides another."""
    text = edit(
        ("width_m = 4.2", "widht_m = 4.2\nwidth_cm = 420"),
        ("left = 0.5", "left = 1.5"),
        ("min_m = [-1.0, 3.2, 0.0]", "min_m = [-9.0, 3.2, 0.0]"),
        ('finish = "dark upholstery"', 'finish = "dark uphostery"'),
        ("light_output_lm = 1800", "light_output_lm = nan"),
        ("lens_m = [0.0, 3.9, 2.2]", "lens_m = [0.0, 3.9, 2.8]"),
        ('aspect = "16:9"', 'aspect = "16:9"\ncolour = "white"'),
        ('fabric = "matt white"', "fabric = { gain = 2.0 }"),
        ("screen_lx = 12", 'screen_lx = "dim"'),
        ("eye_m = [0.0, 3.3, 1.1]", "eye_m = [0.0, 9.3, 1.1]"),
        ('name = "rear"', 'name = "front"'),
    )
    with pytest.raises(SceneErrors) as caught:
        scene_from_text(text, "scene.toml")
    assert [(error.line, error.key) for error in caught.value.errors] == [
        (4, "room.widht_m"),
        (11, "room.finish.left"),
        (17, "room.object[1].box.min_m"),
        (18, "room.object[1].finish"),
        (20, "projector.light_output_lm"),
        (24, "projector.lens_m"),
        (33, "screen.colour"),
        (39, "screen.fabric.gain"),
        (43, "light[1].screen_lx"),
        (46, "seat[1].eye_m"),
        (48, "seat[2].name"),
    ]


def test_two_names_that_cannot_be_are_two_errors_not_three():
    """What stands in for them is not taken for one name twice."""
    text = edit(('name = "front"', 'name = ""'), ('name = "rear"', "name = 5"))
    with pytest.raises(SceneErrors) as caught:
        scene_from_text(text, "scene.toml")
    assert [error.key for error in caught.value.errors] == ["seat[1].name", "seat[2].name"]


def test_a_misspelt_key_is_one_error_not_two():
    """`widht_m` is unknown and `width_m` missing: one slip, one line."""
    with pytest.raises(SceneErrors) as caught:
        scene_from_text(edit(("depth_m = 6.0", "dept_m = 6.0")), "scene.toml")
    assert [error.key for error in caught.value.errors] == ["room.dept_m"]


def test_the_sound_scene_has_no_error():
    scene_from_text(GOOD)


ODD_VALUES = (
    "0",
    "-1",
    "1e400",
    "-0.0",
    "nan",
    "-inf",
    "true",
    '""',
    '"x"',
    "[]",
    "[1, 2, 3]",
    "[nan, inf, 0]",
    '["a", {}, []]',
    "{}",
    "{ a = 1 }",
    "[{}]",
    "[[1]]",
    "2020-01-01",
    "07:32:00",
    "0xffffffffffffffffffffffffff",
)


@pytest.mark.parametrize("value", ODD_VALUES)
def test_no_value_anywhere_gets_past_the_loader_as_another_fault(value):
    """Each key of the sound scene in turn with an odd value: a scene, or errors on a line of the file."""
    lines = GOOD.splitlines()
    errors = []
    for i, line in enumerate(lines):
        if " = " not in line:
            continue
        text = "\n".join([*lines[:i], f"{line.split(' = ')[0]} = {value}", *lines[i + 1 :]])
        try:
            scene_from_text(text, "scene.toml")
        except SceneErrors as fault:
            errors += fault.errors
    assert len(errors) >= 20
    assert all(1 <= error.line <= len(lines) and error.key for error in errors)
