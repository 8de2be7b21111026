"""Files that are no scenes at all: each a clear line, none a Python traceback."""

import os

import pytest
from halfgain.scenes.load import SceneErrors, load_scene
from scene_texts import GOOD


def refusal(path):
    """What the loader says of `path`, its folder left out."""
    with pytest.raises(SceneErrors) as caught:
        load_scene(path)
    return str(caught.value).replace(f"{os.path.dirname(path)}{os.sep}", "")


def written(folder, data, name="scene.toml"):
    path = folder / name
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("data", [b"", b" \n\n", b"\xef\xbb\xbf"])
def test_an_empty_file(tmp_path, data):
    assert refusal(written(tmp_path, data)) == (
        "scene.toml:1: is empty (allowed a scene, such as `halfgain scenes long-lounge --copy FILE` gives)"
    )


def test_a_file_of_comments_lacks_every_table(tmp_path):
    assert refusal(written(tmp_path, b"# nothing here\n")).splitlines() == [
        "scene.toml:1: format: is missing (allowed 1)",
        "scene.toml:1: room: is missing (allowed [room])",
        "scene.toml:1: projector: is missing (allowed [projector])",
        "scene.toml:1: screen: is missing (allowed [screen])",
        "scene.toml:1: seat: is missing (allowed [[seat]], at least one)",
    ]


def test_a_huge_file(tmp_path):
    data = GOOD.encode() + b"#" * 2_000_001
    assert refusal(written(tmp_path, data)) == "scene.toml: is too large for a scene file (allowed at most 2 000 000 bytes)"


def test_latin_1(tmp_path):
    data = GOOD.replace("Test room", "Caf\xe9").encode("latin-1")
    assert refusal(written(tmp_path, data)) == "scene.toml:2: is not UTF-8 text (byte 0xe9) (allowed UTF-8)"


@pytest.mark.parametrize("coding", ["utf-16", "utf-16-le"])
def test_utf_16(tmp_path, coding):
    said = refusal(written(tmp_path, GOOD.encode(coding)))
    if coding == "utf-16":  # with a byte order mark, as editors write it
        assert said == "scene.toml:1: is UTF-16 text: save it as UTF-8 (allowed UTF-8)"
    else:
        assert said.startswith("scene.toml:1: is not TOML: ")


def test_a_byte_order_mark_before_utf_8_is_fine(tmp_path):
    assert load_scene(written(tmp_path, b"\xef\xbb\xbf" + GOOD.encode())).title == "Test room"


def test_windows_line_ends_are_fine_and_count_as_lines(tmp_path):
    assert load_scene(written(tmp_path, GOOD.replace("\n", "\r\n").encode())).title == "Test room"
    broken = GOOD.replace("depth_m = 6.0", "depth_m = 600.0").replace("\n", "\r\n").encode()
    assert refusal(written(tmp_path, broken)).startswith("scene.toml:5: room.depth_m: is out of range")


def test_binary(tmp_path):
    assert refusal(written(tmp_path, b"\x89PNG\r\n\x1a\n\0\0")).startswith("scene.toml:1: is not UTF-8 text")


def test_a_directory(tmp_path):
    (tmp_path / "scene.toml").mkdir()
    assert refusal(tmp_path / "scene.toml") == "scene.toml: is a directory, not a scene file (allowed a TOML file)"


def test_no_such_file(tmp_path):
    assert refusal(tmp_path / "none.toml") == "none.toml: no such file"


def test_no_permission(tmp_path, monkeypatch):
    """The open itself is made to fail, as root may read everything."""
    path = written(tmp_path, GOOD.encode())

    def refuse(*_args, **_kwargs):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("os.open", refuse)
    assert refusal(path) == "scene.toml: cannot be read: no permission"


def test_a_fault_of_the_disk(tmp_path, monkeypatch):
    path = written(tmp_path, GOOD.encode())

    def refuse(*_args, **_kwargs):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr("os.open", refuse)
    assert refusal(path) == "scene.toml: cannot be read: Input/output error"


def test_an_unknown_library_name_says_the_nearest():
    with pytest.raises(SceneErrors) as caught:
        load_scene("long-lunge")
    assert str(caught.value).startswith(
        "long-lunge: no such file, nor a scene of the library: did you mean long-lounge or light-lounge? (allowed attic, black-box, "
    )


def test_a_null_character_in_the_name():
    with pytest.raises(SceneErrors, match="cannot be read"):
        load_scene("scene\0.toml")


def test_brackets_without_end(tmp_path):
    said = refusal(written(tmp_path, b"a = " + b"[" * 100_000))
    assert said.startswith("scene.toml: is not TOML: ") or said.startswith("scene.toml:1: is not TOML: ")


def test_a_number_of_very_many_digits(tmp_path):
    data = GOOD.replace("light_output_lm = 1800", "light_output_lm = " + "9" * 5000).encode()
    assert refusal(written(tmp_path, data)) == (
        "scene.toml:19: projector.light_output_lm: is not TOML: a number has too many digits (allowed at most 3000)"
    )


def test_control_characters_in_a_value_do_not_reach_the_terminal(tmp_path):
    data = GOOD.replace('fabric = "matt white"', 'fabric = "\\u001b[31mred"').encode()
    assert "\x1b" not in refusal(written(tmp_path, data))


def test_errors_of_the_scenes_own_library_name_that_file(tmp_path):
    (tmp_path / "own.toml").write_text('[[fabric]]\nname = "mine"\ngain = 1.4\n', encoding="utf-8")
    path = written(tmp_path, GOOD.replace("format = 1", 'format = 1\nlibraries = ["own.toml"]').encode())
    with pytest.raises(SceneErrors) as caught:
        load_scene(path)
    (error,) = caught.value.errors
    assert (error.file, error.line, error.key, error.value) == (str(tmp_path / "own.toml"), 3, "fabric[1].gain", 1.4)


def test_a_missing_library_is_told_at_the_scenes_line(tmp_path):
    """And names that may stand in it are not called unknown."""
    data = GOOD.replace("format = 1", 'format = 1\nlibraries = ["none.toml"]').replace("matt white", "mine").encode()
    with pytest.raises(SceneErrors) as caught:
        load_scene(written(tmp_path, data))
    (error,) = caught.value.errors
    assert (error.line, error.key, error.value) == (2, "libraries[1]", "none.toml")
