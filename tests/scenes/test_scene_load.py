"""What a sound file becomes: values, units, defaults, own libraries, the hash."""

import dataclasses
import hashlib
import math
import re
import subprocess
import sys
from collections.abc import Mapping

import pytest
from halfgain.scenes.load import load_scene, scene_from_text
from scene_texts import GOOD, edit

PER_METRE = {"cm": 100.0, "mm": 1000.0, "in": 1 / 0.0254, "ft": 1 / 0.3048}  # NIST SP 811, appendix B.8


def in_unit(text, unit):
    """The same scene with every length in another unit."""

    def number(match):
        return repr(float(match[0]) * PER_METRE[unit])

    def line(match):
        return f"{match[1]}_{unit} = " + re.sub(r"-?\d+(\.\d+)?", number, match[2])

    return re.sub(r"(\w+)_m = (\[[^]]*\]|[-\d.]+)", line, text)


def numbers(thing):
    """Every number of a scene, in order, with the way to it; hash and path left out."""
    if dataclasses.is_dataclass(thing):
        pairs = [(field.name, getattr(thing, field.name)) for field in dataclasses.fields(thing)]
    elif isinstance(thing, Mapping):
        pairs = list(thing.items())
    elif isinstance(thing, tuple | list):
        pairs = list(enumerate(thing))
    else:
        return {(): thing}
    return {
        (key, *path): value
        for key, inner in pairs
        if key not in ("_sha256", "document", "path", "absorption", "lobes")
        for path, value in numbers(inner).items()
    }


def test_every_key_of_the_contract_arrives():
    """The format's example, value by value."""
    scene = scene_from_text(GOOD, "folder/my-scene.toml")
    room, projector, screen = scene.room, scene.projector, scene.screen
    assert (scene.title, scene.path) == ("Test room", "folder/my-scene.toml")
    assert (room.width_m, room.depth_m, room.height_m) == (4.2, 6.0, 2.5)
    assert room.finish["left"].reflectance == (0.5, 0.5, 0.5)
    assert room.finish["right"].reflectance == (0.5, 0.2, 0.1)
    assert dict(room.finish["right"].absorption) == {500: 0.1}
    assert room.finish["floor"].name == "oak boards"
    assert list(room.finish) == ["front", "back", "left", "right", "ceiling", "floor"]
    (sofa,) = room.objects
    assert (sofa.name, sofa.min_m, sofa.max_m) == ("sofa", (-1.0, 3.2, 0.0), (1.0, 4.1, 0.85))
    assert sofa.finish.name == "dark upholstery"
    assert (projector.light_output_lm, projector.in_use) == (1800, 0.7)
    assert (projector.native_contrast, projector.checkerboard_contrast) == (3000, 350)
    assert (projector.lens_m, projector.pixels, projector.fit) == ((0.0, 3.9, 2.2), (3840, 2160), "inside")
    assert (projector.corner_to_centre, projector.throw_ratio, projector.lens_shift) == (0.85, (1.3, 2.1), (0.1, 0.6))
    assert (screen.width_m, screen.aspect, screen.height_m) == (2.4, 16 / 9, pytest.approx(1.35))
    assert (screen.bottom_m, screen.right_m, screen.gap_to_wall_m, screen.border_m) == (0.75, 0.0, 0.1, 0.08)
    assert (screen.border_finish.name, screen.fabric.name, screen.hang) == ("black velvet", "matt white", "fixed frame")
    assert [(light.name, light.screen_lx) for light in scene.lights] == [("lamps on", 12)]
    assert [(seat.name, seat.eye_m) for seat in scene.seats] == [("front", (0.0, 3.3, 1.1)), ("rear", (1.2, 5.5, 1.2))]


@pytest.mark.parametrize("unit", PER_METRE)
def test_every_length_may_be_in_any_unit(unit):
    """A scene does not depend on the tape it was measured with."""
    text = in_unit(GOOD, unit)
    assert "_m =" not in text
    assert text.count(f"_{unit} = ") == 13
    metric, other = numbers(scene_from_text(GOOD)), numbers(scene_from_text(text))
    assert metric.keys() == other.keys()
    for key, value in metric.items():
        assert other[key] == (pytest.approx(value, rel=1e-14, abs=1e-14) if isinstance(value, float) else value)


def test_round_lengths_are_exact_in_every_unit():
    """One foot is twelve inches is 304.8 mm exactly (NIST SP 811, appendix B.8)."""
    widths = [
        scene_from_text(edit(("width_m = 4.2", line))).room.width_m
        for line in ("width_m = 4.2672", "width_cm = 426.72", "width_mm = 4267.2", "width_in = 168", "width_ft = 14")
    ]
    assert widths == [4.2672] * 5


def test_a_diagonal_gives_width_and_height_by_pythagoras():
    screen = scene_from_text(edit(("width_m = 2.4", "diagonal_in = 100"))).screen
    assert math.hypot(screen.width_m, screen.height_m) == pytest.approx(2.54, rel=1e-15)
    assert screen.width_m / screen.height_m == pytest.approx(16 / 9, rel=1e-15)


@pytest.mark.parametrize(
    ("aspect", "value"), [('"16:9"', 16 / 9), ('"2.35:1"', 2.35), ('"4 : 3"', 4 / 3), ("1.6", 1.6), ("2", 2.0)]
)
def test_aspects(aspect, value):
    assert scene_from_text(edit(('"16:9"', aspect), ("bottom_m = 0.75", "bottom_m = 0.3"))).screen.aspect == value


def test_what_is_left_out_takes_the_stated_defaults():
    """Defaults of the format: right 0, border 0, fixed frame, fit inside, corner to centre 1."""
    left_out = (
        "in_use = 0.7\n",
        "checkerboard_contrast = 350\n",
        "pixels = [3840, 2160]\n",
        'fit = "inside"\n',
        "corner_to_centre = 0.85\n",
        "throw_ratio = [1.3, 2.1]\n",
        "lens_shift = [0.1, 0.6]\n",
        "right_m = 0.0\n",
        "border_m = 0.08\n",
        'border_finish = "black velvet"\n',
        'hang = "fixed frame"\n',
        'title = "Test room"\n',
        '[[light]]\nname = "lamps on"\nscreen_lx = 12\n',
    )
    scene = scene_from_text(edit(*((piece, "") for piece in left_out)), "rooms/den.toml")
    projector, screen = scene.projector, scene.screen
    assert scene.title == "den"
    assert (projector.in_use, projector.checkerboard_contrast, projector.pixels) == (None, None, None)
    assert (projector.fit, projector.corner_to_centre) == ("inside", 1.0)
    assert (projector.throw_ratio, projector.lens_shift, scene.lights) == (None, None, ())
    assert (screen.right_m, screen.border_m, screen.hang) == (0.0, 0.0, "fixed frame")
    assert any("rated output, not in-use" in warning.text for warning in scene.warnings)
    assert any("the room's limit, an upper bound" in warning.text for warning in scene.warnings)
    assert [note.split()[0] for note in scene.notes] == ["hang", "pixels", "corner_to_centre"]


def test_a_border_without_a_finish_is_said_to_be_velvet():
    scene = scene_from_text(edit(('border_finish = "black velvet"\n', "")))
    assert scene.screen.border_finish.name == "black masking velvet"
    assert any("border_finish is left out" in note for note in scene.notes)


def test_a_hang_that_makes_folds_is_said_to_be_estimated_or_declared_flat():
    scene = scene_from_text(edit(('"fixed frame"', '"pull-down"')))
    assert any("estimated from mechanics" in note for note in scene.notes)
    scene = scene_from_text(edit(('"fixed frame"', '"pull-down"\n[screen.hanging]\nflat = true')))
    assert 'hang = "pull-down": the cloth is declared flat by the scene; how flat it is was not judged' in scene.notes


def test_a_fabric_may_be_spelt_out():
    text = edit(('fabric = "matt white"\n', "")).replace(
        "[[light]]", '[screen.fabric]\nkind = "angular-reflective"\ngain = 1.3\nhalf_gain_deg = 35\n[[light]]'
    )
    fabric = scene_from_text(text).screen.fabric
    assert (fabric.kind, fabric.gain, fabric.half_gain_deg) == ("angular-reflective", 1.3, 35)


def test_own_libraries_lie_beside_the_scene_and_count_in_the_hash(tmp_path):
    own = '[[fabric]]\nname = "mine"\ngain = 0.8\n[[finish]]\nname = "my paint"\nreflectance = 0.33\n'
    text = edit(
        ("format = 1", 'format = 1\nlibraries = ["own.toml"]'), ('"matt white"', '"mine"'), ("left = 0.5", 'left = "my paint"')
    )
    (tmp_path / "own.toml").write_bytes(own.encode())
    (tmp_path / "scene.toml").write_bytes(text.encode())
    scene = load_scene(tmp_path / "scene.toml")
    assert scene.screen.fabric.gain == 0.8
    assert scene.room.finish["left"].reflectance == (0.33, 0.33, 0.33)
    assert scene.sha256 == hashlib.sha256(text.encode() + own.encode()).hexdigest()
    assert scene == load_scene(tmp_path / "scene.toml")


def test_the_hash_is_that_of_the_files_bytes(tmp_path):
    (tmp_path / "scene.toml").write_bytes(GOOD.encode())
    assert load_scene(tmp_path / "scene.toml").sha256 == hashlib.sha256(GOOD.encode()).hexdigest()
    assert scene_from_text(GOOD).sha256 == hashlib.sha256(GOOD.encode()).hexdigest()


def test_a_scene_cannot_be_changed():
    scene = scene_from_text(GOOD)
    with pytest.raises(dataclasses.FrozenInstanceError):
        scene.title = "other"  # type: ignore[misc]


def test_loading_needs_no_heavy_library():
    """Listing scenes must not wait for the compiler, loading one not for solvers, meshes or plots."""
    code = (
        "import sys; import halfgain.scenes.library as l; l.scene_names(); light = 'numba' not in sys.modules;"
        "from halfgain.scenes.load import load_scene; load_scene('long-lounge');"
        "print(light, [m for m in ('scipy.optimize', 'trimesh', 'pyvista', 'matplotlib') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "True []"
