"""The library of scenes: complete, consistent with its own comments, and handed out without harm."""

import math
import os

import pytest
from halfgain.scenes import new_file
from halfgain.scenes.errors import SceneErrors
from halfgain.scenes.library import DEFAULT_SCENE, copy_scene, describe, scene_names, scene_path
from halfgain.scenes.load import load_scene
from halfgain.scenes.throw import throw

NAMES = (
    "attic",
    "black-box",
    "dark-room",
    "l-living-room",
    "light-lounge",
    "long-lounge",
    "published-figures",
    "quiet-room",
    "short-throw-wall",
    "wide-row",
)


def test_the_names_are_the_files():
    assert scene_names() == NAMES
    assert DEFAULT_SCENE in NAMES
    assert all(scene_path(name).stem == name for name in NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_every_scene_loads_and_says_what_it_is(name):
    scene, told = load_scene(name), describe(name)
    assert scene.title == told.title
    assert 20 < len(told.line) <= 120
    assert told.line.endswith((".", ":"))
    assert not any("stands in the projector's beam" in warning.text for warning in scene.warnings)
    assert math.isfinite(throw(scene).distance_m)


@pytest.mark.parametrize("name", [name for name in NAMES if name not in ("light-lounge", "black-box")])
def test_library_projectors_fit_their_rooms(name):
    assert throw(load_scene(name)).feasible is True


def test_the_light_lounge_shows_a_tilt():
    """Its comment promises one."""
    assert throw(load_scene("light-lounge")).image_tilt_deg > 1


def test_the_black_box_holds_what_its_comment_says():
    """1000 lm on 2.25 m2: 444.444 lx, 141.471061 cd/m2 (L = E / pi, definition of the luminance factor, gain 1)."""
    scene = load_scene("black-box")
    area = scene.screen.width_m * scene.screen.height_m
    lux = scene.projector.light_output_lm * scene.projector.in_use / area
    assert area == pytest.approx(2.25)
    assert lux == pytest.approx(444.444444)
    assert scene.screen.fabric.gain * lux / math.pi == pytest.approx(141.471061)
    assert scene.lights[0].screen_lx / math.pi == pytest.approx(10.0)
    assert all(finish.reflectance == (0, 0, 0) for finish in [*scene.room.finish.values(), scene.screen.border_finish])
    got = throw(scene)
    assert (got.shift_right, got.shift_up, got.image_tilt_deg) == (0.0, 0.0, 0.0)


def test_the_published_figures_are_the_published_figures():
    """48 cd/m2 at the centre, sides 85 % (SMPTE ST 431-1:2006, 5); 0.8 / 0.5 / 0.2 within EN 12464-1:2011, 4.2.2.

    The nine ISO 21118 points lie at thirds: mean of r^2 over them is 8/27, worked out here from their places.
    """
    scene = load_scene("published-figures")
    width, height = scene.screen.width_m, scene.screen.height_m
    corner = (width**2 + height**2) / 4
    squares = [((i * width / 3) ** 2 + (j * height / 3) ** 2) / corner for i in (-1, 0, 1) for j in (-1, 0, 1)]
    mean = sum(1 - (1 - scene.projector.corner_to_centre) * r2 for r2 in squares) / 9
    centre_lx = scene.projector.light_output_lm * scene.projector.in_use / (width * height) / mean
    side = 1 - (1 - scene.projector.corner_to_centre) * (width / 2) ** 2 / corner
    assert side == pytest.approx(0.85, rel=1e-4)
    assert scene.screen.fabric.gain * centre_lx / math.pi == pytest.approx(48.0, rel=2e-5)
    finish = {surface: value.luminous for surface, value in scene.room.finish.items()}
    assert finish.pop("ceiling") == pytest.approx(0.8)
    assert finish.pop("floor") == pytest.approx(0.2)
    assert list(finish.values()) == pytest.approx([0.5] * 4)
    fabric_out = [seat.eye_m[1] - scene.screen.gap_to_wall_m for seat in scene.seats]
    assert [out / height for out in fabric_out] == pytest.approx([2, 3, 4])


def test_scenes_ask_what_they_promise():
    assert len(load_scene("long-lounge").seats) == 6
    assert len(load_scene("light-lounge").lights) >= 3
    assert load_scene("dark-room").projector.fit == "width"
    assert load_scene("short-throw-wall").projector.lens_m[1] == pytest.approx(0.35)
    wide = load_scene("wide-row")
    assert wide.screen.fabric.gain > 1
    angles = [math.degrees(math.atan2(abs(seat.eye_m[0]), seat.eye_m[1])) for seat in wide.seats]
    assert max(angles) > wide.screen.fabric.half_gain_deg


def test_a_copy_is_the_scene(tmp_path):
    target = copy_scene("long-lounge", tmp_path / "mine.toml")
    assert target.read_bytes() == scene_path("long-lounge").read_bytes()
    assert load_scene(target).title == load_scene("long-lounge").title
    assert [path.name for path in tmp_path.iterdir()] == ["mine.toml"]


def test_a_copy_never_overwrites(tmp_path):
    target = tmp_path / "mine.toml"
    target.write_text("precious", encoding="utf-8")
    with pytest.raises(SceneErrors, match="exists already: nothing is overwritten"):
        copy_scene("long-lounge", target)
    assert target.read_text(encoding="utf-8") == "precious"


def test_a_copy_does_not_overwrite_what_came_to_be_meanwhile(tmp_path, monkeypatch):
    target = tmp_path / "mine.toml"
    link = os.link

    def late(source, place):
        target.write_text("precious", encoding="utf-8")
        link(source, place)

    monkeypatch.setattr(new_file.os, "link", late)
    with pytest.raises(SceneErrors, match="exists already"):
        copy_scene("long-lounge", target)
    assert target.read_text(encoding="utf-8") == "precious"
    assert [path.name for path in tmp_path.iterdir()] == ["mine.toml"]


def test_a_copy_without_links(tmp_path, monkeypatch):
    def refuse(*_args):
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(new_file.os, "link", refuse)
    target = copy_scene("black-box", tmp_path / "mine.toml")
    assert target.read_bytes() == scene_path("black-box").read_bytes()
    assert [path.name for path in tmp_path.iterdir()] == ["mine.toml"]


def test_a_copy_that_fails_leaves_nothing(tmp_path, monkeypatch):
    def refuse(*_args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(new_file.os, "fsync", refuse)
    with pytest.raises(OSError, match="No space") as caught:
        copy_scene("black-box", tmp_path / "mine.toml")
    assert caught.value.filename == str(tmp_path / "mine.toml")
    assert list(tmp_path.iterdir()) == []


def test_a_copy_needs_a_folder_and_a_known_name(tmp_path):
    with pytest.raises(SceneErrors, match="its folder does not exist"):
        copy_scene("black-box", tmp_path / "none" / "mine.toml")
    with pytest.raises(SceneErrors, match="is no scene of the library: did you mean black-box"):
        copy_scene("black-bx", tmp_path / "mine.toml")
