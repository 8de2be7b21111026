"""Changed scene files: which key a path means, what gives way, and errors that name what the user typed."""

from __future__ import annotations

import datetime
import tomllib

import pytest
from halfgain.materials.text.toml_text import toml_text
from halfgain.scenes.changes import Change, changed, path_of, value_of
from halfgain.scenes.errors import SceneErrors
from halfgain.scenes.library import scene_names, scene_path
from halfgain.simulate.choices.axes import axes_of, split_values
from halfgain.simulate.choices.variants import MOST_VARIANTS, variants_of
from hypothesis import given, settings
from hypothesis import strategies as st

from .scenes import document, library

TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=("Cs",)), max_size=12)
VALUES = st.recursive(
    TEXTS | st.booleans() | st.integers(-(2**63), 2**63 - 1) | st.floats(allow_nan=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3),
    max_leaves=12,
)


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(TEXTS, VALUES, max_size=4))
def test_written_toml_reads_back_the_same(table: dict) -> None:
    # Source: the standard library's TOML reader
    assert tomllib.loads(toml_text(table)) == table


@pytest.mark.parametrize("name", scene_names())
def test_library_scenes_survive_the_way_through_toml(name: str) -> None:
    table = tomllib.loads(scene_path(name).read_text(encoding="utf-8"))
    assert tomllib.loads(toml_text(table)) == table


def test_dates_are_written_as_dates() -> None:
    assert tomllib.loads(toml_text({"on": datetime.date(2020, 1, 2)})) == {"on": datetime.date(2020, 1, 2)}


def test_paths_and_values() -> None:
    assert path_of('seat."front left".eye_m', "--vary") == ("seat", "front left", "eye_m")
    assert path_of("room.finish.left", "--vary") == ("room", "finish", "left")
    assert value_of("2000") == 2000
    assert value_of("[0, 3, 1.1]") == [0, 3, 1.1]
    assert value_of("{ gain = 1 }") == {"gain": 1}
    assert value_of("matt white") == "matt white"
    assert value_of("16:9") == "16:9"
    assert split_values('a, [1, 2], "b, c", {x = 1, y = 2}') == ["a", "[1, 2]", '"b, c"', "{x = 1, y = 2}"]


def test_a_length_gives_way_to_the_same_in_another_unit() -> None:
    table = library("light-lounge").table
    new = changed(table, [Change(("screen", "width_m"), 2.0, ""), Change(("seat", "armchair", "eye_m"), [1, 2, 1], "")])
    assert "diagonal_in" not in new["screen"]
    assert new["screen"]["width_m"] == 2.0
    armchair = next(seat for seat in new["seat"] if seat["name"] == "armchair")
    assert armchair == {"name": "armchair", "eye_m": [1, 2, 1]}
    assert "diagonal_in" in table["screen"], "the original is left as it was"


def test_an_unknown_light_state_is_added_and_an_unknown_seat_refused() -> None:
    table = library("light-lounge").table
    new = changed(table, [Change(("light", "party", "screen_lx"), 5, "")])
    assert new["light"][-1] == {"name": "party", "screen_lx": 5}
    with pytest.raises(SceneErrors, match=r"no seat called .armchar., did you mean armchair"):
        changed(table, [Change(("seat", "armchar", "eye_m"), [0, 1, 1], "--seat-position")])


BAD = [
    (dict(fabric=["slver"]), '--fabric "slver"', 'did you mean "silver"'),
    (dict(hang=["fixed"]), '--hang "fixed"', "screen.hang"),
    (dict(finish=["ceiling=blak velvet"]), "--finish ceiling=blak velvet", "black velvet"),
    (dict(finish=["lamp=black velvet"]), "--finish lamp=black velvet", 'no object called "lamp"'),
    (dict(finish=["ceiling"]), "--finish", "is not NAME=VALUE"),
    (dict(light_output=[-5.0]), "--light-output -5", "projector.light_output_lm"),
    (dict(size=["2.4"]), "--size", "is no size of a screen"),
    (dict(size=["diagonal 900 in"]), '--size "diagonal 900 in"', "wider than their wall"),
    (dict(seat_position=["armchair=[99, 1, 1]"]), "--seat-position armchair=[99, 1, 1]", "outside the room"),
    (dict(light=["lamps on=-1"]), "--light lamps on=-1", "screen_lx"),
    (dict(vary=["screen.fabrik=silver"]), "--vary screen.fabrik=silver", "fabric"),
    (dict(vary=["screen fabric=silver"]), "--vary", "is no key of a scene"),
    (dict(vary=["screen.fabric"]), "--vary", "is not NAME=VALUE"),
    (dict(fabric=["silver", "silver"]), "--fabric", "given twice"),
    (dict(vary=["room=3"]), "--vary room=3", "room"),
]


@pytest.mark.parametrize(("options", "names", "says"), BAD, ids=lambda value: str(value)[:40])
def test_errors_name_the_option_and_what_is_wrong(options: dict, names: str, says: str) -> None:
    with pytest.raises(SceneErrors) as caught:
        variants_of(library("light-lounge"), axes_of(**options))
    lines = str(caught.value).splitlines()
    assert any(line.startswith(names) and says in line for line in lines), lines


def test_all_errors_of_a_grid_are_told_once() -> None:
    with pytest.raises(SceneErrors) as caught:
        variants_of(library("light-lounge"), axes_of(fabric=["slver", "pearll"], hang=["pull-down", "motorised"]))
    assert len(caught.value.errors) == 2


def test_a_full_grid_runs_the_last_axis_fastest_and_a_lone_value_is_compared_with_the_scene() -> None:
    axes = axes_of(fabric=["silver"], vary=["projector.light_output_lm=1000,2000"])
    labels = [variant.label for variant in variants_of(document(), axes)]
    assert labels == [
        "as it stands, light_output_lm 1000",
        "as it stands, light_output_lm 2000",
        "silver, light_output_lm 1000",
        "silver, light_output_lm 2000",
    ]


def test_too_many_variants_are_refused() -> None:
    values = ",".join(str(1000 + i) for i in range(MOST_VARIANTS + 1))
    with pytest.raises(SceneErrors, match="too many"):
        variants_of(document(), axes_of(vary=[f"projector.light_output_lm={values}"]))
