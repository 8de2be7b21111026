"""Edits by hand keep a scene file's comments and units, and mean exactly what was asked."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from halfgain.scenes.errors import SceneErrors
from halfgain.scenes.library import scene_names, scene_path
from halfgain.scenes.load import scene_from_text
from halfgain.simulate.live.edits import Edit, edited


def _text(name: str) -> str:
    return scene_path(name).read_text(encoding="utf-8")


def _set(text: str, key: str, value: Any) -> str:
    return edited(text, [Edit("set", key, value)])


def test_a_finish_is_changed_on_its_line_and_its_comment_stays() -> None:
    text = _text("light-lounge")
    new = _set(text, "room.finish.right", 0.25)
    changed = [(a, b) for a, b in zip(text.splitlines(), new.splitlines(), strict=True) if a != b]
    assert len(changed) == 1
    assert changed[0][1].startswith("right = 0.25    # an ochre accent wall")


def test_a_place_keeps_the_unit_of_the_file() -> None:
    new = _set(_text("light-lounge"), 'seat."sofa middle".eye_m', [0.105, 3.3, 1.08])
    assert "eye_cm = [10.5, 330, 108]" in new
    new = _set(_text("wide-row"), "seat.middle.eye_m", [0.254, 2.9972, 1.0922])
    assert "eye_in = [10, 118, 43]" in new


def test_a_width_takes_the_place_of_a_diagonal() -> None:
    new = _set(_text("light-lounge"), "screen.width_m", 2.0)
    assert "diagonal" not in tomllib.loads(new)["screen"].keys().__str__()
    assert scene_from_text(new).screen.width_m == 2.0
    assert "# diagonals are read in inches" in new, "the comment of the line stays"


def test_a_fabric_under_a_heading_gives_way_to_a_name_and_back() -> None:
    new = _set(_text("wide-row"), "screen.fabric", "pearl")
    assert scene_from_text(new).screen.fabric.name == "pearl"
    assert "# feet and inches" in new
    again = _set(new, "screen.fabric", {"kind": "angular-reflective", "gain": 1.4, "half_gain_deg": 35.0})
    assert scene_from_text(again).screen.fabric.gain == pytest.approx(1.4)


def test_a_key_that_is_not_there_is_written_into_its_table() -> None:
    new = _set(_text("light-lounge"), "screen.hanging.amplitude_scale", 0.5)
    assert tomllib.loads(new)["screen"]["hanging"]["amplitude_scale"] == 0.5
    assert "# centimetres: any unit will do" in new
    new = _set(_text("dark-room"), "title", "Another")
    assert scene_from_text(new).title == "Another"


def test_entries_are_added_and_taken_out() -> None:
    text = _text("light-lounge")
    more = edited(
        text,
        [
            Edit("add", "seat", {"name": "stool", "eye_m": [1.0, 3.0, 1.0]}),
            Edit("add", "light", {"name": "hall", "screen_lx": 3}),
        ],
    )
    assert [seat.name for seat in scene_from_text(more).seats][-1] == "stool"
    assert [light.name for light in scene_from_text(more).lights][-1] == "hall"
    less = edited(more, [Edit("take", "seat", "stool"), Edit("take", "light", "hall"), Edit("take", "object", "sideboard")])
    assert "sideboard" not in [box.name for box in scene_from_text(less).room.objects]
    assert "# 50 lx in the room" in less


@pytest.mark.parametrize("name", scene_names())
def test_what_every_edit_means_is_what_the_changed_table_says(name: str) -> None:
    """Held against the standard library's reader: nothing but the asked key differs."""
    text = _text(name)
    before, after = tomllib.loads(text), tomllib.loads(_set(text, "projector.light_output_lm", 1234.5))
    assert after["projector"].pop("light_output_lm") == 1234.5
    before["projector"].pop("light_output_lm")
    assert after == before


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        (Edit("set", "screen.", 1), "no key"), (Edit("add", "walls", {"name": "x"}), "no list"), (Edit("add", "seat", {"eye_m": [0, 1, 1]}), "name"),
        (Edit("take", "seat", "nobody"), "nobody"), (Edit("set", "seat.nobody.eye_m", [0, 0, 0]), "nobody"),
    ],
)  # fmt: skip
def test_edits_that_lead_nowhere_are_refused(edit: Edit, said: str) -> None:
    with pytest.raises(SceneErrors, match=said):
        edited(_text("dark-room"), [edit])
