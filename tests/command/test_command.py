"""The command itself: exit statuses, what goes to stdout and what to stderr, Ctrl-C, a reader that leaves."""

from __future__ import annotations

import errno
import json
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from halfgain.scenes.library import scene_names
from halfgain.simulate.command import app, background
from halfgain.simulate.measuring import measure as measure_module
from halfgain.simulate.output import writing

from ..outputs import written

ENTRY = [sys.executable, "-c", "from halfgain.simulate.command.app import main; main()"]
FAST = ["--error", "0.2", "--threads", "1"]


def _entry(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([*ENTRY, *arguments], capture_output=True, text=True, timeout=300)


def test_entry_point_prints_one_json_document_and_nothing_else() -> None:
    done = _entry("measure", "black-box", "--json", *FAST)
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["format"] == "halfgain.measure/1"


@pytest.mark.usefixtures("half_drawn")
def test_table_and_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    assert app.run(["measure", "black-box", "--out", str(out), "-v", *FAST]) == 0
    said = capsys.readouterr()
    assert said.out.startswith("Black box, answers by hand\n")
    assert "wrote 6 files" in said.err
    assert "error reached" in said.err
    assert written(out, "measure") == [
        "measure.json",
        "plan.png",
        "screen-far-to-the-side.png",
        "screen-on-the-normal.png",
        "seats.csv",
        "section.png",
    ]
    assert json.loads((out / "measure.json").read_text())["scene"]["title"] == "Black box, answers by hand"


@pytest.mark.usefixtures("undrawn")
def test_json_on_stdout_equals_the_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["measure", "black-box", "--json", "--out", str(tmp_path), *FAST]) == 0
    assert capsys.readouterr().out == (tmp_path / "measure.json").read_text()


BAD_ARGUMENTS = [
    (["mesure", "black-box"], 'no command "mesure", did you mean "measure"?'),
    (["black-box"], "did you mean: halfgain measure black-box"),
    (["measure"], "Missing argument"),
    (["measure", "black-box", "--seed", "-1"], "-1 is not allowed; allowed 0 to"),
    (["measure", "black-box", "--seed", "1.5"], "--seed"),
    (["measure", "black-box", "--error", "0.0004"], "allowed 0.0005 to 0.2"),
    (["measure", "black-box", "--error", "0.21"], "allowed 0.0005 to 0.2"),
    (["measure", "black-box", "--error", "nan"], "allowed 0.0005 to 0.2"),
    (["measure", "black-box", "--threads", "0"], "allowed 1 to 256"),
    (["measure", "black-box", "--threads", "257"], "allowed 1 to 256"),
    (["measure", "black-box", "--sed", "1"], "--seed"),
    (["measure", "blck-box"], "did you mean black-box"),
    (["measure", "no/such/file.toml"], "no/such/file.toml"),
    (["scenes", "blck-box"], "did you mean black-box"),
    (["scenes", "--copy", "x.toml"], "needs the name of a scene"),
]


@pytest.mark.parametrize(("arguments", "said"), BAD_ARGUMENTS, ids=lambda value: " ".join(value)[:40])
def test_bad_arguments_get_one_clear_line_and_status_2(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert app.run(arguments) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert said in captured.err
    assert len(captured.err.splitlines()) == 1


def test_broken_scene_says_every_error_and_writes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    scene = tmp_path / "room.toml"
    assert app.run(["scenes", "long-lounge", "--copy", str(scene)]) == 0
    capsys.readouterr()
    text = scene.read_text().replace("width_m = 4.2", "widht_m = 4.2").replace("light_output_lm = 1800", "light_output_lm = -1")
    scene.write_text(text)
    assert app.run(["measure", str(scene), "--json", "--out", str(tmp_path / "out")]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "widht_m" in captured.err
    assert "light_output_lm" in captured.err
    assert all(line.startswith(f"{scene}:") for line in captured.err.splitlines())
    assert sorted(path.name for path in tmp_path.iterdir()) == ["room.toml"]


def test_out_that_is_a_file_has_status_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("mine")
    assert app.run(["measure", "black-box", "--json", "--out", str(tmp_path / "file"), *FAST]) == 2
    captured = capsys.readouterr()
    said = f"halfgain: {tmp_path / 'file'}: not a folder (allowed: a folder, made where it is missing)\n"
    assert (captured.out, captured.err) == ("", said)
    assert (tmp_path / "file").read_text() == "mine"


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="needs a place that nobody can write to")
@pytest.mark.usefixtures("undrawn")
def test_out_in_a_place_that_nobody_can_write_has_status_1(capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["measure", "black-box", "--json", "--out", "/proc/halfgain-out", *FAST]) == 1
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith("halfgain: /proc/halfgain-out: ")
    assert len(captured.err.splitlines()) == 1


@pytest.mark.parametrize(
    ("arguments", "option"),
    [
        (["measure", "black-box", "--out"], "--out"),
        (["compare", "black-box", "--out"], "--out"),
        (["advise", "black-box", "--out"], "--out"),
        (["finishes", "black-box", "--out"], "--out"),
        (["flatness", "black-box", "--out"], "--out"),
        (["levels", "black-box", "--out"], "--out"),
        (["picture", "black-box", "--out"], "--out"),
        (["report", "black-box", "--out"], "--out"),
        (["fit", "--gain", "0.9", "--name", "x", "--out"], "--out"),
        (["fit", "--gain", "0.9", "--pictures"], "--pictures"),
        (["fabric", "matt white", "--pictures"], "--pictures"),
        (["trace", "black-box", "--ledger"], "--ledger"),
        (["view", "black-box", "--screenshot"], "--screenshot"),
        (["scenes", "black-box", "--copy"], "--copy"),
    ],
    ids=lambda value: "-".join(value[:1]) if isinstance(value, list) else value,
)
@pytest.mark.parametrize("empty", ["", " "], ids=["empty", "blank"])
def test_an_empty_place_to_write_has_status_2_and_writes_nothing(
    arguments: list[str],
    option: str,
    empty: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert app.run([*arguments, empty]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith("halfgain: ")
    assert option in captured.err
    assert "the name is empty; allowed a folder or file" in captured.err
    assert len(captured.err.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("undrawn")
def test_full_disk_has_status_1_and_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(writing.os, "fsync", full)
    assert app.run(["measure", "black-box", "--json", "--out", str(tmp_path / "out"), *FAST]) == 1
    captured = capsys.readouterr()
    assert (captured.out, captured.err) == ("", f"halfgain: {tmp_path / 'out'}: No space left on device\n")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("fault", "status", "said"),
    [
        (FloatingPointError("path 7"), 1, "a fault of the program: FloatingPointError: path 7"),
        (MemoryError(), 1, "not enough memory"),
        (KeyboardInterrupt(), 130, "interrupted; nothing half-written is left"),
    ],
    ids=["fault", "memory", "interrupt"],
)
def test_faults_while_computing(
    fault: BaseException,
    status: int,
    said: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
) -> None:
    def broken(*arguments: object, **more: object) -> None:
        raise fault

    monkeypatch.setattr(measure_module, "measure", broken)
    assert app.run(["measure", "black-box", "--out", str(tmp_path / "out")]) == status
    captured = capsys.readouterr()
    assert captured.out == ""
    assert said in captured.err
    assert "Traceback" not in captured.err
    assert list(tmp_path.iterdir()) == []


def test_verbose_shows_where_a_fault_came_from(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    def broken(*arguments: object, **more: object) -> None:
        raise ValueError("odd")

    monkeypatch.setattr(measure_module, "measure", broken)
    assert app.run(["measure", "black-box", "-v"]) == 1
    assert "Traceback" in capsys.readouterr().err


def test_cap_met_before_the_error_is_said_on_stderr(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    real = measure_module.measure
    monkeypatch.setattr(measure_module, "measure", lambda *a, **k: real(*a, **{**k, "most_paths": 32}))
    assert app.run(["measure", "long-lounge", "--json", "--error", "0.0005", "--threads", "1"]) == 0
    captured = capsys.readouterr()
    read = json.loads(captured.out)
    assert read["error"]["met"] is False
    assert read["error"]["reached"] > read["error"]["asked"] == 0.0005
    assert "cap on paths was met before the error" in captured.err


@pytest.mark.skipif(os.name == "nt", reason="signals work otherwise there")
@pytest.mark.parametrize("threads", ["1", "2"])
def test_ctrl_c_stops_at_once_and_leaves_nothing(tmp_path: Path, threads: str) -> None:
    arguments = ["measure", "light-lounge", "--error", "0.0005", "--threads", threads, "--out", str(tmp_path / "out")]
    # the child says when the light is being traced; before that Python itself may still be starting
    # a test run in the background hands its children an ignored Ctrl-C: the child takes the usual handler back
    begin = (
        "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "import halfgain.simulate.measuring.measure as m; real = m.returned_light\n"
        "def told(*a, **k):\n    print('tracing', flush=True)\n    return real(*a, **k)\n"
        "m.returned_light = told\nfrom halfgain.simulate.command.app import main; main()"
    )
    child = subprocess.Popen([sys.executable, "-c", begin, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert child.stdout is not None
    assert child.stdout.readline() == "tracing\n"
    time.sleep(0.3)
    child.send_signal(signal.SIGINT)
    out, err = child.communicate(timeout=60)
    assert (child.returncode, out, err) == (130, "", "halfgain: interrupted; nothing half-written is left\n")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name == "nt", reason="a shell pipe is wanted")
@pytest.mark.parametrize("arguments", [["schema"], ["scenes", "long-lounge"], ["measure", "black-box", *FAST], ["--help"]])
def test_a_reader_that_leaves_gets_no_traceback(arguments: list[str]) -> None:
    reader, writer = os.pipe()
    os.close(reader)  # nobody will ever read
    done = subprocess.run([*ENTRY, *arguments], stdout=writer, stderr=subprocess.PIPE, text=True, timeout=300)
    os.close(writer)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_full_stdout_has_status_1_and_one_line() -> None:
    with open("/dev/full", "w") as full:
        done = subprocess.run([*ENTRY, "schema"], stdout=full, stderr=subprocess.PIPE, text=True, timeout=60)
    assert (done.returncode, done.stderr) == (1, "halfgain: No space left on device\n")


def test_a_fault_of_what_is_imported_beside_waits_for_whoever_asks(monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[object] = []
    by: list[threading.Thread] = []
    monkeypatch.setattr(threading, "excepthook", told.append)

    def imports() -> None:
        by.append(threading.current_thread())
        import no_such_module_anywhere  # noqa: F401

    before = set(threading.enumerate())
    background.imported_beside(imports)
    for thread in {*threading.enumerate(), *by} - before:
        thread.join(20.0)
    assert by != [threading.main_thread()]
    assert (len(by), told) == (1, [])


@pytest.mark.parametrize(("asked", "wanted"), [([], "rich.table"), (["--json"], "halfgain.simulate.output.measure.document")])
def test_what_prints_is_imported_while_kernels_run(asked: list[str], wanted: str) -> None:
    # Expected: it is there before any path is traced to its end, though nothing has asked for it by then
    code = (
        "import sys, time\n"
        "from halfgain.simulate.measuring import measure as module\n"
        "real = module.returned_light\n"
        "def told(*given, **named):\n"
        "    for _ in range(400):\n"
        f"        if {wanted!r} in sys.modules: break\n"
        "        time.sleep(0.05)\n"
        f"    print({wanted!r} in sys.modules, file=sys.stderr)\n"
        "    return real(*given, **named)\n"
        "module.returned_light = told\n"
        "from halfgain.simulate.command.app import run\n"
        f"raise SystemExit(run(['measure', 'black-box', '--error', '0.2', '--threads', '2', *{asked!r}]))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert (done.returncode, done.stderr.split()[-1]) == (0, "True")


def test_what_waits_for_the_end_is_done_and_nothing_is_taken_down() -> None:
    # Expected: functions registered for the end run and what they print arrives, with the command's own status; then the process is gone
    code = (
        "import atexit, sys\n"
        "from halfgain.simulate.command import app\n"
        "class Kept:\n"
        "    def __del__(self): print('taken down', flush=True)\n"
        "kept, real = Kept(), app._started\n"
        "def started(arguments):\n"
        "    atexit.register(print, 'done at the end')\n"
        "    return real(arguments)\n"
        "app._started, sys.argv = started, ['halfgain', 'measure', 'no-such-scene']\n"
        "app.main()"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert (done.returncode, done.stdout) == (2, "done at the end\n")
    assert "no-such-scene" in done.stderr


def test_help_version_scenes_and_schema(capsys: pytest.CaptureFixture[str]) -> None:
    for arguments, said in (
        ([], "measure"),
        (["--help"], "measure"),
        (["measure", "--help"], "--error"),
        (["--version"], "halfgain 0"),
        (["scenes", "black-box"], "format = 1"),
    ):
        assert app.run(arguments) == 0
        assert said in capsys.readouterr().out
    assert app.run(["scenes"]) == 0
    listed = capsys.readouterr().out
    assert all(name in listed for name in scene_names())
    assert app.run(["schema"]) == 0
    assert json.loads(capsys.readouterr().out)["$schema"].startswith("https://json-schema.org/")


def test_a_copy_is_never_written_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = tmp_path / "room.toml"
    target.write_text("mine")
    assert app.run(["scenes", "black-box", "--copy", str(target)]) == 2
    assert target.read_text() == "mine"
    assert "exists already" in capsys.readouterr().err


def test_help_imports_nothing_heavy() -> None:
    code = (
        "import sys; from halfgain.simulate.command import app; app.run(['--help']); "
        "sys.stderr.write(' '.join(m for m in ('numba', 'numpy', 'scipy', 'matplotlib', 'rich', 'pydantic') if m in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stderr) == (0, "")
