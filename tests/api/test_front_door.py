"""`import halfgain`: public names, errors, runs from Python, and how they answer bad input."""

from __future__ import annotations

import ast
import copy
import io
import pickle
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import halfgain as hg
import numpy as np
import pytest
from halfgain.simulate.measuring.measure import measure as inner_measure


def test_importing_loads_nothing_heavy() -> None:
    code = "import sys, halfgain; print(sorted({'numpy', 'numba', 'scipy', 'pydantic', 'typer'} & set(sys.modules)))"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert said.strip() == "[]"


def test_every_public_name_is_there_and_type_checkers_see_the_same_names() -> None:
    for name in hg.__all__:
        assert getattr(hg, name) is not None
    assert dir(hg) == sorted(hg.__all__)
    tree = ast.parse(Path(str(hg.__file__)).read_text(encoding="utf-8"))
    block = next(node for node in tree.body if isinstance(node, ast.If))
    typed = {alias.name for node in block.body if isinstance(node, ast.ImportFrom) for alias in node.names}
    assert typed | {"__version__"} == set(hg.__all__)
    with pytest.raises(AttributeError, match="mesure"):
        hg.mesure  # noqa: B018


def test_the_module_runs_as_the_command() -> None:
    said = subprocess.run([sys.executable, "-m", "halfgain", "--version"], capture_output=True, text=True, check=True).stdout
    assert said == f"halfgain {hg.__version__}\n"


def test_measure_gives_the_command_s_bits_and_tells_its_steps() -> None:
    steps: list[hg.Step] = []
    found = hg.measure("black-box", seed=3, error=0.1, progress=steps.append)
    assert found.seats == inner_measure(hg.load_scene("black-box"), seed=3, error=0.1).seats
    assert steps
    assert steps[-1].paths == found.paths
    assert "light paths" in str(steps[-1])


@pytest.mark.parametrize("seed", [-1, 1.5, True, None, "1", 2**64])
def test_a_seed_that_is_none_is_refused_in_words(seed: Any) -> None:
    with pytest.raises(hg.Error, match="seed"):
        hg.measure("black-box", seed=seed)


def test_numbers_of_numpy_serve_as_seeds() -> None:
    assert hg.measure("black-box", seed=np.int64(3), error=0.1).seats == hg.measure("black-box", seed=3, error=0.1).seats


@pytest.mark.parametrize("error", [0.0, 1.0, -1.0, float("nan")])
def test_an_error_out_of_range_is_refused_in_words(error: float) -> None:
    with pytest.raises(hg.Error, match="error"):
        hg.measure("black-box", error=error)


def test_all_errors_have_one_base() -> None:
    calls = [
        lambda: hg.load_scene("no-such-room"),
        lambda: hg.fabric("perl"),
        lambda: hg.fabric(gain=9.0, half_gain_deg=40.0),
        lambda: hg.fabric(gian=1.0),
        lambda: hg.fabric(),
        lambda: hg.finish("oak bords"),
        lambda: hg.finish(1.5),
        lambda: hg.finish([0.1, 0.2]),
        lambda: hg.fit("no-such-file.csv"),
        lambda: hg.fit(),
        lambda: hg.fit(gain=9.0, half_gain_deg=40.0).to_fabric(),
        lambda: hg.compare("black-box"),
        lambda: hg.compare("black-box", fabric=["perl"]),
        lambda: hg.compare("black-box", finish={"celing": [0.1]}),
        lambda: hg.compare("black-box", vary={"no key": [1]}),
        lambda: hg.advise("black-box", use="pub"),
        lambda: hg.picture("black-box", "nobody"),
        lambda: hg.picture("black-box", show="no such picture"),
        lambda: hg.picture("black-box", light="sun"),
        lambda: hg.view("black-box", folds="hihg"),
        lambda: hg.view("black-box").save("room.jpg"),
        lambda: hg.trace("black-box", lightest=1.2),
        lambda: hg.compare("black-box", finish={"ceiling": []}),
        lambda: hg.advise("black-box", fabrics="pearl", prices={"pearl": -1.0}),
        lambda: hg.advise("black-box", fabrics="pearl", prices={"perl": 10.0}),
        lambda: hg.study({"scene": "black-box", "factor": [{"key": "room.finish.ceiling", "values": [0.1]}]}, workers=0),
        lambda: hg.fit(view_deg=[], gain=[]),
        lambda: hg.fit(view_deg=[0, 30, 60], gain=[0, 0, 0]),
    ]
    for call in calls:
        with pytest.raises(hg.Error) as caught:
            call()
        assert len(str(caught.value)) > 10
        assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


def test_answers_refuse_what_cannot_be_asked_of_them() -> None:
    answers = hg.trace("black-box", error=0.5)
    calls: list[Callable[[], object]] = [
        lambda: answers.with_finish("attic", 0.3),
        lambda: answers.with_finish("ceiling", 1.3),
        lambda: answers.with_finish("ceiling", "oak boards"),
        lambda: answers.with_fabric("pearl"),
        lambda: answers.with_picture("checkerboard"),
        lambda: answers.with_light_output(float("inf")),
        lambda: answers.with_contrast(native=0.5),
        lambda: answers.with_paths(-3),
        lambda: answers.precise(0.0),
        lambda: answers.precise(float("nan")),
    ]
    for call in calls:
        with pytest.raises(hg.Error, match="allowed"):
            call()


def test_fabrics_and_finishes_by_name_by_number_and_by_fit() -> None:
    assert "pearl" in hg.fabric_names()
    assert hg.fabric("pearl").name == "pearl"
    mine = hg.fabric("mine", gain=1.3, half_gain_deg=35.0)
    assert (mine.name, mine.gain, mine.half_gain_deg) == ("mine", 1.3, 35.0)
    assert hg.finish("oak boards").name in hg.finish_names()
    assert hg.finish(0.4).reflectance == (0.4, 0.4, 0.4)
    assert hg.finish("felt", reflectance=[0.1, 0.2, 0.3]).reflectance == (0.1, 0.2, 0.3)
    angles = np.arange(0.0, 75.0, 5.0)
    fitted = hg.fit(view_deg=angles, gain=mine.profile.gain(np.radians(angles)))
    again = fitted.to_fabric("fitted")
    assert again.name == "fitted"
    assert again.gain == pytest.approx(1.3, rel=1e-6)
    assert again.half_gain_deg == pytest.approx(35.0, abs=0.05)
    assert hg.fit(gain=1.3, half_gain_deg=35.0).to_fabric().lobes == mine.lobes


@pytest.mark.parametrize("name", ["pearl", "matt white", "perforated pearl", "beaded", "louvred short-throw"])
def test_fabrics_can_be_hashed_pickled_and_copied(name: str) -> None:
    fabric = hg.fabric(name)
    for other in (pickle.loads(pickle.dumps(fabric)), copy.deepcopy(fabric)):
        assert other == fabric
        assert hash(other) == hash(fabric)


def test_compare_takes_materials_made_in_code() -> None:
    mine = hg.fabric("mine", gain=1.3, half_gain_deg=35.0)
    found = hg.compare("black-box", fabric=["matt white", mine], error=0.2)
    assert [variant.label for variant in found.variants] == ["matt white", "mine"]
    assert found.variants[1].scene.screen.fabric is mine
    felt = hg.finish("felt", reflectance=0.1)
    both = hg.compare("black-box", finish={"ceiling": [0.8, felt]}, vary={"projector.light_output_lm": [500, 600]}, error=0.5)
    assert [variant.picks for variant in both.variants] == [("0.8", "500"), ("0.8", "600"), ("felt", "500"), ("felt", "600")]


@pytest.mark.usefixtures("half_drawn")
def test_a_picture_from_python_is_the_command_s(tmp_path: Path) -> None:
    seen = hg.picture("black-box", 1, show="grid", width=64, height=36)
    assert seen.luminance.shape == (36, 64)
    assert seen.seat == hg.load_scene("black-box").seats[1].name
    seen.save(tmp_path)
    assert sorted(path.suffix for path in tmp_path.iterdir()) == [".exr", ".png", ".png"]
    assert seen._repr_png_().startswith(b"\x89PNG")


def test_the_room_as_glb_has_named_meshes_in_metres_with_left_on_the_left(tmp_path: Path) -> None:
    """Source: glTF 2.0, y up, right-handed, metres; read back by trimesh."""
    import trimesh

    scene = hg.load_scene("light-lounge").with_seat("armchair", [-1.8, 2.6, 1.05])
    hg.view(scene).save(tmp_path / "room.glb")
    read = trimesh.load(io.BytesIO((tmp_path / "room.glb").read_bytes()), file_type="glb")
    named = set(read.geometry)
    assert named >= {"front", "back", "left", "right", "ceiling", "floor", "border", "screen", "lens", "sofa", "seat armchair"}
    room = scene.room
    assert read.geometry["left"].bounds[:, 0] == pytest.approx([-room.width_m / 2] * 2, abs=1e-5)
    assert read.geometry["back"].bounds[:, 2] == pytest.approx([room.depth_m] * 2, abs=1e-5)
    assert read.geometry["ceiling"].bounds[:, 1] == pytest.approx([room.height_m] * 2, abs=1e-5)
    assert read.geometry["seat armchair"].bounds.mean(axis=0) == pytest.approx([-1.8, 1.05, 2.6], abs=1e-3)
    inside = np.array([0.0, room.height_m / 2, room.depth_m / 2])
    for name in ("front", "back", "left", "right", "ceiling", "floor"):
        wall = read.geometry[name]
        assert np.all((inside - wall.triangles_center) @ wall.face_normals[0] > 0.0)  # fronts look into the room
        reflectance = np.array(wall.visual.material.baseColorFactor[:3]) / 255.0
        assert reflectance == pytest.approx(room.finish[name].reflectance, abs=0.003)
    assert read.geometry["screen"].face_normals[:, 2].min() > 0.5


def test_answers_travel_between_processes_with_the_same_bits_and_no_new_kernels(tmp_path: Path) -> None:
    from halfgain.simulate.answers.repaint_kernel import repaint_replications

    answers = hg.trace("light-lounge", error=0.1).with_finish("ceiling", 0.3).with_light_output(1234.5)
    expected = answers.quick()
    compiled = repaint_replications.versions
    first, second = pickle.loads(pickle.dumps((answers, answers.with_finish("floor", 0.1))))
    assert first.stage is second.stage
    for mine, theirs in zip(expected, first.quick(), strict=True):
        assert np.array_equal(mine, theirs)
    assert repaint_replications.versions == compiled
    hg.save_ledger(answers, tmp_path / "lounge.npz")
    again = hg.open_ledger(tmp_path / "lounge.npz", answers.scene)
    for mine, theirs in zip(expected, again.quick(), strict=True):
        assert mine == pytest.approx(theirs, rel=1e-9)
    with pytest.raises(hg.Error, match=r"width|room"):
        hg.open_ledger(tmp_path / "lounge.npz", "dark-room")
    (tmp_path / "mine.npz").write_text("my notes")
    with pytest.raises(hg.Error, match="is not a ledger"):
        hg.save_ledger(answers, tmp_path / "mine.npz")
    assert (tmp_path / "mine.npz").read_text() == "my notes"
