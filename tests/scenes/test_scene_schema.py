"""The JSON Schema says of every file what the loader's tables say of it. Judge: the jsonschema package."""

import tomllib
from pathlib import Path

import jsonschema
import pytest
from halfgain.scenes.library import scene_names, scene_path
from halfgain.scenes.schema import json_schema
from scene_texts import GOOD, edit

SCHEMA = json_schema()
JUDGE = jsonschema.Draft202012Validator(SCHEMA)
BROKEN = tomllib.loads(Path(__file__).with_name("broken_scenes.toml").read_text(encoding="utf-8"))["case"]
BY_SCHEMA = (
    "is not a known key",
    "is missing",
    "is out of range",
    "should be",
    "must lie",
    "stands beside",
    "is not one of the choices",
    "cannot serve as a name",
    "octave band",
    "unknown kind",
    "unknown choice",
)
# JSON Schema has no NaN or infinity, takes 3840.0 for whole, divides no numbers and knows no order in a pair
BEYOND_SCHEMA = ("nan", "[inf", "3840.0", '"16:0"', "throw_ratio = [2.1, 1.3]")


def test_the_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("name", scene_names())
def test_every_library_scene_fulfils_it(name):
    assert list(JUDGE.iter_errors(tomllib.loads(scene_path(name).read_text(encoding="utf-8")))) == []


@pytest.mark.parametrize("case", BROKEN, ids=[case["new"][:40] for case in BROKEN])
def test_schema_and_loader_agree_on_broken_scenes(case):
    """What the tables refuse the schema refuses; what only geometry or the library can tell, it lets pass."""
    expected = any(words in line for words in BY_SCHEMA for line in case["says"])
    if any(words in case["new"] for words in BEYOND_SCHEMA):
        expected = False
    assert JUDGE.is_valid(tomllib.loads(edit((case["old"], case["new"])))) is not expected


def tables(part, path=()):
    """Every table of a parsed scene, but absorption (its keys are frequencies)."""
    if isinstance(part, dict):
        yield path
        for key, value in part.items():
            if key != "absorption":
                yield from tables(value, (*path, key))
    elif isinstance(part, list):
        for i, value in enumerate(part):
            yield from tables(value, (*path, i))


@pytest.mark.parametrize("path", list(tables(tomllib.loads(GOOD))), ids=str)
def test_an_unknown_key_fails_in_every_table(path):
    scene = tomllib.loads(GOOD)
    assert JUDGE.is_valid(scene)
    table = scene
    for part in path:
        table = table[part]
    table["colour"] = 1
    assert not JUDGE.is_valid(scene)


def test_editors_get_every_unit_with_its_own_range_and_a_line_of_help():
    room = SCHEMA["$defs"]["RoomTable"]["properties"]
    for key in ("width_m", "width_cm", "width_mm", "width_in", "width_ft"):
        assert room[key]["description"].startswith("Width of the screen wall")
    assert (room["width_m"]["minimum"], room["width_cm"]["minimum"], room["width_mm"]["minimum"]) == (1, 100, 1000)
    assert room["width_ft"]["minimum"] == pytest.approx(1 / 0.3048)
    assert SCHEMA["$defs"]["ProjectorTable"]["properties"]["fit"]["enum"] == ["width", "height", "inside"]


def test_every_key_has_a_description():
    for name, table in [("scene", SCHEMA), *SCHEMA["$defs"].items()]:
        for key, entry in table.get("properties", {}).items():
            assert entry.get("description") or "$ref" in entry, f"{name}.{key}"


def test_two_numbers_for_the_lens_want_the_casings_distance_from_the_wall():
    lens = ("[0.0, 3.9, 2.2]", "[0.0, 0.4]")
    casing = "lens_shift = [0.1, 0.6]\n[projector.casing]\nsize_cm = [50, 36, 22]\nlens_cm = [25, 32, 20]\n"
    assert not JUDGE.is_valid(tomllib.loads(edit(lens, ("lens_shift = [0.1, 0.6]", casing))))
    assert JUDGE.is_valid(tomllib.loads(edit(lens, ("lens_shift = [0.1, 0.6]", f"{casing}wall_mm = 20\n"))))
