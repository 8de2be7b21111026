"""Scenes changed in code: checked as a file is, with a hash of their own, and able to travel between processes."""

from __future__ import annotations

import copy
import hashlib
import pickle
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from halfgain.materials.fabric_table import FabricTable
from halfgain.materials.finish import Finish
from halfgain.materials.frozen import FrozenDict
from halfgain.scenes.cloth.hanging import Hang
from halfgain.scenes.digest import digest_of
from halfgain.scenes.errors import SceneErrors
from halfgain.scenes.library import scene_names
from halfgain.scenes.load import load_scene, scene_from_text
from halfgain.scenes.model import Scene
from halfgain.scenes.recheck import check_scene
from halfgain.simulate.measuring.measure import measure

from tests.scenes.scene_texts import edit


@pytest.fixture(scope="module")
def lounge() -> Scene:
    return load_scene("light-lounge")


def test_every_table_that_a_file_may_hold_is_let_in_again() -> None:
    """A scene changed beside its file is checked by the keys of a file: what stands in no key must not be asked for."""
    projector = (
        "lens_shift = [0.1, 0.6]",
        "lens_shift = [0.1, 0.6]\nweight_kg = 5\n[projector.casing]\nsize_m = [0.4, 0.5, 0.2]\nair_m = 0.05\n"
        '[projector.ageing]\nhalf_light_h = 4000\n[projector.film]\naspect = "2.35:1"',
    )
    mount = ('hang = "fixed frame"', 'hang = "motorised"\n[screen.mount]\ncase_height_m = 0.1\nrecess_m = 0.05\nweight_kg = 20')
    casing = "[projector.casing]\nsize_cm = [50, 36, 22]\nlens_cm = [25, 32, 20]\nwall_m = 3.58"
    wall = ("[0.0, 3.9, 2.2]", "[0.0, 2.2]"), (projector[0], f"{projector[0]}\n{casing}")
    for text in (edit(projector, mount), edit(*wall)):
        changed = replace(scene_from_text(text), title="another")
        assert not changed.checked
        check_scene(changed)
        assert changed.checked


def test_a_change_is_the_file_with_that_key_changed(lounge: Scene) -> None:
    text = lounge.to_toml()
    assert lounge.change("projector.light_output_lm", 1500) == scene_from_text(text.replace("2600", "1500"))
    assert lounge.projector.light_output_lm == 2600  # the scene itself stays


@pytest.mark.parametrize("name", scene_names())
def test_a_scene_written_as_toml_reads_back_equal(name: str) -> None:
    scene = load_scene(name)
    assert scene_from_text(scene.to_toml()) == scene


def test_materials_made_in_code_stand_in_a_scene_and_in_its_text(lounge: Scene) -> None:
    fabric = FabricTable(name="mine", gain=1.3, half_gain_deg=35.0).to_fabric()
    felt = Finish("felt", (0.1, 0.1, 0.2), FrozenDict({500: 0.4}))
    made = lounge.with_fabric(fabric).with_finish("ceiling", felt).with_finish("sofa", 0.3).with_finish("border", [0.1, 0.2, 0.3])
    assert made.screen.fabric is fabric
    assert made.room.finish["ceiling"] is felt
    assert made.room.objects[1].finish.reflectance == (0.3, 0.3, 0.3)
    assert made.screen.border_finish.reflectance == (0.1, 0.2, 0.3)
    assert made.change("screen.right_m", 0.01).screen.fabric is fabric
    again = scene_from_text(made.to_toml())
    assert again.screen.fabric == fabric
    assert again.room.finish["ceiling"] == felt


def test_values_of_the_program_s_own_kinds_are_as_good_as_plain_ones(lounge: Scene) -> None:
    enumerated = lounge.change({"screen.hang": Hang.FIXED_FRAME, "projector.light_output_lm": np.float64(1500.0)})
    assert enumerated == lounge.change({"screen.hang": "fixed frame", "projector.light_output_lm": 1500.0})
    assert enumerated.sha256 == lounge.change({"screen.hang": "fixed frame", "projector.light_output_lm": 1500.0}).sha256
    moved = lounge.change(
        {"seat.armchair.eye_m": np.array([0.5, 3.0, 1.0]), "projector.pixels": [np.int64(1920), np.int64(1080)]}
    )
    assert moved.seats[3].eye_m == (0.5, 3.0, 1.0)
    assert moved.projector.pixels == (1920, 1080)


def test_every_change_gives_another_hash_and_equal_contents_the_same(lounge: Scene) -> None:
    changes: list[Callable[[], Scene]] = [
        lambda: lounge.change("screen.right_m", 0.02),
        lambda: lounge.with_fabric("pearl"),
        lambda: lounge.with_fabric(FabricTable(name="pearl", gain=1.1, half_gain_deg=40.0).to_fabric()),
        lambda: lounge.with_fabric(FabricTable(name="pearl", gain=1.2, half_gain_deg=40.0).to_fabric()),
        lambda: lounge.with_finish("ceiling", 0.2),
        lambda: lounge.with_seat("armchair", [0.5, 3.0, 1.0]),
        lambda: lounge.with_hang("fixed frame"),
        lambda: lounge.with_light_output(1000.0),
        lambda: replace(lounge, seats=lounge.seats[:1]),
    ]
    scenes = [lounge, *(make() for make in changes)]
    assert len({scene.sha256 for scene in scenes}) == len(scenes)
    assert len(set(scenes)) == len(scenes)
    for make in changes:
        assert make() == make()
        assert make().sha256 == make().sha256


def test_a_loaded_scene_has_the_hash_of_its_file(lounge: Scene) -> None:
    text = lounge.to_toml()
    assert scene_from_text(text).sha256 == hashlib.sha256(text.encode()).hexdigest()


def test_a_change_is_refused_as_a_file_would_be(lounge: Scene) -> None:
    with pytest.raises(SceneErrors, match=r"light-lounge: seat\[4\]\.eye_m: the eye of \"armchair\" is outside the room"):
        lounge.with_seat("armchair", [0, 99, 1.1])
    with pytest.raises(SceneErrors, match=r"room\.finish\.ceiling: .*got 1\.7"):
        lounge.with_finish("ceiling", 1.7)
    with pytest.raises(SceneErrors, match=r'no surface "celing", did you mean ceiling'):
        lounge.with_finish("celing", 0.5)
    with pytest.raises(SceneErrors, match=r'no seat called "armchiar", did you mean armchair'):
        lounge.with_seat("armchiar", [0, 3, 1.1])
    with pytest.raises(SceneErrors, match="did you mean width_m"):
        lounge.change("room.widht_m", 3)
    with pytest.raises(SceneErrors) as caught:
        lounge.change({"projector.in_use": 7.0, "screen.hang": "nailed"})
    assert len(caught.value.errors) == 2
    assert all(error.line == 0 for error in caught.value.errors)


def _seat(scene: Scene, place: Any) -> Scene:
    return replace(scene, seats=(replace(scene.seats[0], eye_m=place),))


BAD: dict[str, Callable[[Scene], Scene]] = {
    r"seat\[1\]\.eye_m: .* outside the room": lambda scene: _seat(scene, (0.0, 95.0, 1.1)),
    r"seat\[1\]\.eye_m\[2\]: should be a finite number": lambda scene: _seat(scene, (0.0, float("nan"), 1.1)),
    r"room\.finish\.ceiling\.reflectance: .* between 0 and 1": lambda scene: replace(
        scene, room=replace(scene.room, finish={**scene.room.finish, "ceiling": Finish("odd", (1.7, 1.7, 1.7))})
    ),
    r"screen\.hang: was changed beside its cloth": lambda scene: replace(scene, screen=replace(scene.screen, hang="fixed frame")),
    r"screen\.width_m: was changed beside its cloth": lambda scene: replace(
        scene, screen=replace(scene.screen, width_m=1.6, height_m=0.9)
    ),
    r"screen\.aspect: does not agree": lambda scene: replace(scene, screen=replace(scene.screen, height_m=1.0)),
    r"projector\.light_output_lm": lambda scene: replace(scene, projector=replace(scene.projector, light_output_lm=-5.0)),
    r"light\[1\]\.screen_lx": lambda scene: replace(scene, lights=(replace(scene.lights[0], screen_lx=float("inf")),)),
    r"seat: .*wrong number of entries": lambda scene: replace(scene, seats=()),
}


@pytest.mark.parametrize("message", BAD)
def test_a_scene_put_together_in_code_is_checked_before_it_is_measured(lounge: Scene, message: str) -> None:
    with pytest.raises(SceneErrors, match=message):
        measure(BAD[message](lounge))


def test_a_finish_of_a_scene_cannot_be_exchanged_behind_its_back(lounge: Scene) -> None:
    with pytest.raises(TypeError):
        lounge.room.finish["ceiling"] = Finish("paint", (0.5, 0.5, 0.5))  # type: ignore[index]


def test_a_scene_put_together_in_code_says_that_it_stands_in_no_file(lounge: Scene) -> None:
    with pytest.raises(SceneErrors, match="put together in code"):
        replace(lounge, title="other").change("screen.right_m", 0.0)


@pytest.mark.parametrize("name", scene_names())
def test_scenes_can_be_pickled_copied_and_hashed(name: str) -> None:
    scene = load_scene(name)
    for other in (pickle.loads(pickle.dumps(scene)), copy.deepcopy(scene), copy.copy(scene)):
        assert other == scene
        assert hash(other) == hash(scene)
        assert other.sha256 == scene.sha256
        assert other.with_light_output(500.0) == scene.with_light_output(500.0)


def test_errors_can_be_pickled() -> None:
    with pytest.raises(SceneErrors) as caught:
        scene_from_text("format = 2")
    again = pickle.loads(pickle.dumps(caught.value))
    assert str(again) == str(caught.value)
    assert again.errors == caught.value.errors


def test_a_digest_is_the_same_in_another_process_and_tells_contents_apart(lounge: Scene) -> None:
    code = "from halfgain.scenes.load import load_scene; print(load_scene('light-lounge').digest)"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.strip()
    assert said == lounge.digest
    things: list[Any] = [
        1,
        1.0,
        "1",
        True,
        None,
        (1,),
        (1, 1),
        ((1,), 1),
        {"1": 1},
        {"1": 1.0},
        np.ones(1),
        np.ones((1, 1)),
        b"1",
        -0.0,
        0.0,
    ]
    assert len({digest_of(thing) for thing in things}) == len(things)
    with pytest.raises(TypeError):
        digest_of(object())


def test_a_light_state_that_there_is_not_is_refused_unless_enough_is_given_to_make_it(lounge: Scene) -> None:
    known = [light.name for light in lounge.lights]
    with pytest.raises(SceneErrors) as caught:
        lounge.change(f"light.{known[0][:-1]}.blinds_down", [])
    assert f'the scene has no light state called "{known[0][:-1]}", did you mean {known[0]}?' in str(caught.value)
    assert f"allowed {', '.join(known)}, a new one by screen_lx, lamps or windows" in str(caught.value)
    with pytest.raises(SceneErrors, match="no light state called"):
        lounge.change("light.other.lamps.cornice", 0.5)
    for new in ({"light.other.screen_lx": 7.0}, {"light.other": {"screen_lx": 7.0}}):
        assert [light.name for light in lounge.change(new).lights] == [*known, "other"]
    assert lounge.change(f"light.{known[0]}", {"screen_lx": 7.0}).lights[0].screen_lx == 7.0
