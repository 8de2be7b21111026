"""Input made to hurt: each is answered with status 2 and one line, and nothing in it steers the terminal.

The lines are the specification, word for word; {} stands for the test's folder.
"""

from __future__ import annotations

import os
import re
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import pytest
from halfgain.materials.library import LibraryErrors, load_library
from halfgain.materials.text.plain import LIKE, MOST_LINES, plain, told
from halfgain.scenes.errors import SceneErrors
from halfgain.scenes.library import scene_path
from halfgain.scenes.load import scene_from_text
from halfgain.simulate.command import app

ENTRY = [sys.executable, "-c", "from halfgain.simulate.command.app import main; main()"]
BLACK_BOX = scene_path("black-box").read_text(encoding="utf-8")
DEVICE = "is a device or a pipe, not"


def grey_png(width: int, height: int) -> bytes:
    """A sound PNG of grey pixels, all black: a megapixel takes a kilobyte."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows = zlib.compressobj(9)
    packed = b"".join(rows.compress(bytes(1 + width)) for _ in range(height)) + rows.flush()
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("hostile")
    (made / "bomb.png").write_bytes(grey_png(13_000, 13_000))
    (made / "bar.png").write_bytes(grey_png(1, 30_000))
    (made / "long.csv").write_text("name,price\n" + "x" * 140_000 + ",1\n")
    (made / "escape.csv").write_text("name,price\n\x1b[31m\x7fx,1\n")
    (made / "allow.csv").write_text("surface,finish\n" + "w" * 9_000 + "\x1b[2J,0.1\n")
    (made / "variants.csv").write_text('"a\nb",screen.hang\n1,2\n3,4\n')
    (made / "deep.toml").write_text("a = " + "[" * 500 + "]" * 500)
    (made / "dotted.toml").write_text("a" + ".a" * 100_000 + " = 1")
    (made / "digits.toml").write_text(f'[[fabric]]\nname = "x"\ngain = {"9" * 5000}\n')
    (made / "hex.toml").write_text(f'[[fabric]]\nname = "x"\ngain = 0x{"f" * 3400}\n')
    os.mkfifo(made / "pipe")
    return made


CASES = [
    (
        ["levels", "black-box", "--frames", "{}/bomb.png"],
        "halfgain: {}/bomb.png: has too many pixels: 13000 x 13000 (allowed at most 60 million, none more than 32768 on a side)",
    ),
    (
        ["levels", "black-box", "--frames", "/dev/zero"],
        f"halfgain: /dev/zero: {DEVICE} an image (allowed a PNG, JPEG, TIFF, BMP or WebP file)",
    ),
    (
        ["levels", "black-box", "--frames", "{}/pipe"],
        f"halfgain: {{}}/pipe: {DEVICE} an image (allowed a PNG, JPEG, TIFF, BMP or WebP file)",
    ),
    (
        ["picture", "black-box", "--out", "{}/out", "--show", "{}/bomb.png"],
        "halfgain: --show: {}/bomb.png: has too many pixels: 13000 x 13000; allowed at most 60 million, none more than 32768 on a side",
    ),
    (
        ["picture", "black-box", "--out", "{}/out", "--show", "{}/bar.png"],
        "halfgain: --show: {}/bar.png: 1 x 30000 pixels would be mostly black bars; allowed at most 60 million with them",
    ),
    (
        ["picture", "black-box", "--out", "{}/out", "--seat", "a\x1b[31m\nb"],
        'halfgain: --seat: no seat "a\\x1b[31m\\nb" (seats: on the normal, far to the side; or 1 to 2)',
    ),
    (
        ["picture", "black-box", "--out", "{}/out", "--seat", "9" * 5000],
        f'halfgain: --seat: no seat "{"9" * 197}..." (seats: on the normal, far to the side; or 1 to 2)',
    ),
    (
        ["finishes", "black-box", "--allow", "/dev/zero"],
        f"halfgain: /dev/zero: {DEVICE} a list of finishes (allowed a CSV file with the header surface,finish,price_per_m2 or "
        "surface,finish and a row for each)",
    ),
    (
        ["finishes", "black-box", "--allow", "{}/allow.csv"],
        f'halfgain: {{}}/allow.csv:2: surface: is no surface of the scene (got "{"w" * 56}...; allowed front, back, left, right, '
        "ceiling, floor, border)",
    ),
    (
        ["advise", "black-box", "--prices", "{}/long.csv"],
        "{}/long.csv:2: has a cell that is too long (allowed at most 10000 characters)",
    ),
    (
        ["advise", "black-box", "--prices", "{}/escape.csv"],
        '{}/escape.csv:2: name: is no hang, nor a fabric or finish of the library (got "\\x1b[31m\\x7fx"; allowed fixed frame, tab-tensioned, '
        "motorised, pull-down)",
    ),
    (
        ["advise", "black-box", "--prices", "{}/pipe"],
        f"{{}}/pipe: {DEVICE} a list of prices (allowed a CSV file with a header name,price and a row for each)",
    ),
    (
        ["compare", "black-box", "--variants", "{}/variants.csv"],
        '{}/variants.csv:2: "a\\nb" is no key of a scene (allowed a path such as screen.fabric or seat."front left".eye_m)',
    ),
    (
        ["compare", "black-box", "--vary", "a\nb=3"],
        '--vary a\\nb=3: "a\\nb" is no key of a scene (allowed a path such as screen.fabric or seat."front left".eye_m)',
    ),
    (["measure", "{}/pipe"], f"{{}}/pipe: {DEVICE} a scene file (allowed a TOML file)"),
    (["measure", "/dev/stdin"], f"/dev/stdin: {DEVICE} a scene file (allowed a TOML file)"),
    (["measure", "{}"], "{}: is a directory, not a scene file (allowed a TOML file)"),
    (["measure", "{}/a\x1b[31m\nb.toml"], "{}/a\\x1b[31m\\nb.toml: no such file"),
    (["measure", "{}/deep.toml"], "{}/deep.toml:1: is not TOML: brackets nested too deeply (allowed at most 32 in each other)"),
    (["measure", "{}/dotted.toml"], "{}/dotted.toml:1: is not TOML: a key of too many parts (allowed at most 32)"),
    (["fit", "--curve", "{}/pipe"], f"halfgain: {{}}/pipe: {DEVICE} a gain curve (allowed: a CSV file)"),
    (
        ["fit", "--gain", "1", "--name", "a\x7f", "--out", "{}/f.toml"],
        'halfgain: --name: "a\\x7f" cannot serve as a name; allowed up to 200 letters and signs that can be shown',
    ),
    (
        ["fit", "--gain", "1", "--name", "a\udcff", "--out", "{}/f.toml"],
        'halfgain: --name: "a\\udcff" cannot serve as a name; allowed up to 200 letters and signs that can be shown',
    ),
    (["mea\x1b[31m\nsure"], None),
]


@pytest.mark.parametrize(("arguments", "line"), CASES, ids=[" ".join(a)[:50].encode("unicode_escape").decode() for a, _ in CASES])
def test_hostile_input_is_one_line(
    arguments: list[str], line: str | None, folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = sorted(path.name for path in folder.iterdir())
    reader, writer = os.pipe()  # as /dev/stdin: a pipe that nobody writes to
    kept = os.dup(0)
    os.dup2(reader, 0)
    try:
        assert app.run([word.replace("{}", str(folder)) for word in arguments]) == 2
    finally:
        os.dup2(kept, 0)
        for handle in (kept, reader, writer):
            os.close(handle)
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert said.err[:-1].isprintable()
    if line is not None:
        assert said.err == line.replace("{}", str(folder)) + "\n"
    assert sorted(path.name for path in folder.iterdir()) == before


def test_numbers_of_very_many_digits_in_a_library(folder: Path) -> None:
    for name in ("digits.toml", "hex.toml"):
        with pytest.raises(LibraryErrors) as caught:
            load_library(folder / name)
        assert str(caught.value) == (
            f"{folder / name}:3: fabric[1].gain: not valid TOML: a number has too many digits (allowed: at most 3000)"
        )


FORGED = [
    ('"x\\nhalfgain: all is well\\u001b[31m" = 1\n[room]', "1: x\\nhalfgain: all is well\\x1b[31m: is not a known key"),
    (
        'libraries = ["a\\u0000b"]\n[room]',
        '1: libraries[1]: cannot be read: no file can have such a name (got "a\\x00b"; allowed a name without null characters)',
    ),
]


@pytest.mark.parametrize(("start", "says"), FORGED)
def test_names_in_a_scene_cannot_forge_a_line(start: str, says: str) -> None:
    with pytest.raises(SceneErrors) as caught:
        scene_from_text(
            BLACK_BOX[: BLACK_BOX.index("format")] + BLACK_BOX[BLACK_BOX.index("format") :].replace("[room]", start, 1), "s"
        )
    lines = str(caught.value).splitlines()
    assert len(lines) == 1
    assert re.sub(r"^s:\d+: ", "1: ", lines[0]).startswith(says)


@pytest.mark.parametrize("value", ["9" * 400, "-" + "9" * 400, "0x" + "f" * 400])
@pytest.mark.parametrize(
    "key", ["reflectance = [{}, 0, 0]", "reflectance = {}", "reflectance = 0.1\nabsorption = {{ 125 = {} }}"]
)
def test_integers_beyond_a_float_in_a_finish(tmp_path: Path, key: str, value: str) -> None:
    path = tmp_path / "own.toml"
    path.write_text(f'[[finish]]\nname = "x"\n{key.format(value)}\n')
    with pytest.raises(LibraryErrors) as caught:
        load_library(path)
    (problem,) = caught.value.problems
    assert (problem.line, problem.key.split(".")[0]) == (3 if "absorption" not in key else 4, "finish[1]")
    assert len(str(problem)) < 400


def test_many_faults_alike_are_counted() -> None:
    """500 objects of an unknown finish: ten lines, and how many more."""
    objects = "".join(
        f'[[room.object]]\nname = "o{i}"\nbox = {{ min_m = [0, 2, 0], max_m = [0.1, 2.1, 0.1] }}\nfinish = "gold leaf"\n'
        for i in range(500)
    )
    with pytest.raises(SceneErrors) as caught:
        scene_from_text(BLACK_BOX + "\n" + objects, "s")
    lines = str(caught.value).splitlines()
    assert len(lines) == LIKE
    assert lines[-1].endswith(", and 490 more like it")
    assert len(caught.value.errors) == 500


def test_many_faults_of_many_kinds_are_counted_too() -> None:
    lines = told([(("file.toml", f"key {i}", "wrong"), f"file.toml:{i}: key {i}: wrong") for i in range(80)])
    assert len(lines) == MOST_LINES + 1
    assert lines[-1] == "file.toml: and 30 more"


def test_what_does_not_print_is_an_escape() -> None:
    assert plain("a\n\x1b\x7f\x9b\u202e\udcff\u2028é") == "a\\n\\x1b\\x7f\\x9b\\u202e\\udcff\\u2028é"
    assert len(plain("x" * 10_000)) == 200


@pytest.mark.skipif(os.name == "nt", reason="a shell is wanted")
@pytest.mark.parametrize(
    ("closed", "arguments", "status", "said"),
    [
        (">&-", "scenes", 2, app.NO_STDOUT + "\n"),
        (">&-", "scenes black-box --copy copy.toml", 2, app.NO_STDOUT + "\n"),
        (">&- 2>&-", "scenes", 2, ""),
        ("2>&-", "scenes", 0, ""),
        ("2>&-", "measure none.toml", 2, ""),
        ("<&-", "scenes", 0, ""),
    ],
)
def test_closed_streams(tmp_path: Path, closed: str, arguments: str, status: int, said: str) -> None:
    """And no file that is opened later may take the place of the closed stream."""
    command = f'exec "{sys.executable}" -c "{ENTRY[2]}" {arguments} {closed}'
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, timeout=60, cwd=tmp_path)
    assert (done.returncode, done.stderr) == (status, said)
    assert list(tmp_path.iterdir()) == []
    assert (done.stdout != "") == (status == 0)


@pytest.mark.skipif(os.name == "nt", reason="signals work otherwise there")
def test_ctrl_c_while_the_program_is_still_loading() -> None:
    """The signal comes inside the first import of what is heavy."""
    begin = (
        "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "import os, sys\n"
        "class Finder:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name == 'typer':\n            os.kill(os.getpid(), signal.SIGINT)\n"
        "sys.meta_path.insert(0, Finder())\n"
        "from halfgain.simulate.command.app import main; main()"
    )
    done = subprocess.run([sys.executable, "-c", begin, "scenes"], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stdout, done.stderr) == (130, "", app.STOPPED + "\n")
