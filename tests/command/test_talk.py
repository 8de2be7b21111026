"""Help in every form, completion, NO_COLOR and dumb terminals, -v and --quiet, progress in a log, and documents of the small commands."""

from __future__ import annotations

import json
import os
import pty
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from halfgain.simulate.command import app
from halfgain.simulate.command.commands import app as commands
from halfgain.simulate.command.progress import EVERY_S, PlainLines, progress, stages
from halfgain.simulate.command.talk import NARROWEST, USUAL, Talk, console
from typer.main import get_command

ENTRY = [sys.executable, "-c", "from halfgain.simulate.command.app import main; main()"]
NAMES = get_command(commands).list_commands(None)
FAST = ["--error", "0.2", "--threads", "1"]


@pytest.fixture(autouse=True)
def _as_at_first() -> None:
    Talk.set()


def out_of(capsys: pytest.CaptureFixture[str], *arguments: str, status: int = 0) -> str:
    assert app.run(arguments) == status
    return capsys.readouterr().out


@pytest.mark.parametrize("name", NAMES)
def test_every_command_has_all_forms_of_help(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    long = out_of(capsys, name, "--help")
    assert out_of(capsys, name, "-h") == long
    assert out_of(capsys, "help", name) == long
    assert f"halfgain {name}" in long
    if name != "help":
        assert "-v, --verbose" in long
        assert "-q, --quiet" in long


def test_the_help_of_the_whole_names_exit_statuses_and_environment(capsys: pytest.CaptureFixture[str]) -> None:
    text = out_of(capsys, "--help")
    assert out_of(capsys, "-h") == out_of(capsys, "help") == out_of(capsys) == text
    statuses = ("0    done", "1    a fault", "2    what was given", "130  interrupted")
    assert all(said in text for said in (*statuses, "HALFGAIN_CACHE", "XDG_CACHE_HOME", "NO_COLOR", "--show-completion"))


def test_every_variable_that_is_named_is_read_and_none_is_read_in_secret() -> None:
    """Variables of the environment that the program's text reads, against those at the end of the help."""
    import halfgain.materials
    from halfgain.simulate.command.commands import END_OF_HELP

    read: set[str] = set()
    for package in (halfgain.materials, sys.modules["halfgain.scenes"], sys.modules["halfgain.simulate"]):
        for path in Path(str(package.__file__)).parent.rglob("*.py"):
            read |= set(re.findall(r"environ(?:\.get\(|\[)\"([A-Z_]+)\"", path.read_text(encoding="utf-8")))
    named = set(re.findall(r"\b[A-Z][A-Z_]{3,}\b", END_OF_HELP))
    compilers = {"NUMBA_DISABLE_JIT"}  # numba's own, which a kernel heeds before numba is imported
    assert read - compilers <= named
    assert named - read == {"COLUMNS"}  # read by the library that draws tables


def test_an_unknown_command_asked_for_help_is_bad_input(capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["help", "mesure"]) == 2
    assert 'did you mean "measure"' in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "at", "given"),
    [
        ("halfgain mea", 1, ["measure"]),
        ("halfgain measure --err", 2, ["--error"]),
        ("halfgain fin", 1, ["finishes"]),
        ("halfgain measure long", 2, ["long-lounge"]),
        ("halfgain measure my-room", 2, []),
    ],
)
def test_bash_completes_commands_and_options(words: str, at: int, given: list[str]) -> None:
    environ = {**os.environ, "COMP_WORDS": words, "COMP_CWORD": str(at), "_HALFGAIN_COMPLETE": "complete_bash"}
    done = subprocess.run(ENTRY, env=environ, capture_output=True, text=True, timeout=120)
    assert done.stdout.split() == given
    assert done.stderr == ""


def test_the_script_for_bash_is_shown(capfd: pytest.CaptureFixture[str]) -> None:
    asked = shlex.join(
        [*ENTRY, "--show-completion", "bash"]
    )  # of bash, whatever started the tests: the shell is told by the parent
    done = subprocess.run(["bash", "-c", f"{asked}; exit $?"], capture_output=True, text=True, timeout=120)
    assert (done.returncode, done.stderr) == (0, "")
    assert "_HALFGAIN_COMPLETE=complete_bash" in done.stdout


def at_a_terminal(*commands: list[str], **environ: str) -> bytes:
    """All that commands, one after another in one process, write to a terminal that is both its stdout and its stderr."""
    program = f"from halfgain.simulate.command.app import run; raise SystemExit(max(map(run, {commands!r})))"
    ours, theirs = pty.openpty()
    inherited = {key: value for key, value in os.environ.items() if key not in ("NO_COLOR", "TERM", "FORCE_COLOR")}
    child = subprocess.Popen(
        [sys.executable, "-c", program], stdout=theirs, stderr=theirs, stdin=subprocess.DEVNULL, env={**inherited, **environ}
    )
    os.close(theirs)
    seen = b""
    while True:
        try:
            part = os.read(ours, 65536)
        except OSError:  # the other end has gone
            break
        if not part:
            break
        seen += part
    os.close(ours)
    assert child.wait(timeout=300) == 0
    return seen


@pytest.mark.parametrize("environ", [{"NO_COLOR": "1", "TERM": "xterm-256color"}, {"TERM": "dumb"}], ids=["NO_COLOR", "dumb"])
def test_no_escapes_under_no_color_and_at_a_dumb_terminal(environ: dict[str, str]) -> None:
    seen = at_a_terminal(["measure", "black-box", *FAST], ["levels", "black-box", *FAST], **environ)
    assert b"\x1b" not in seen
    assert b"Black box, answers by hand" in seen  # of `measure`
    assert b"Contrast of a small white" in seen  # of `levels`


def test_a_terminal_with_colour_gets_bold_headings() -> None:
    assert b"\x1b[1m" in at_a_terminal(["measure", "black-box", *FAST], TERM="xterm-256color")


@pytest.mark.parametrize(("columns", "width"), [("0", USUAL), ("1", NARROWEST), ("-7", 80), ("none", 80), ("33", 33)])
def test_reports_have_room_for_words_whatever_columns_says(
    columns: str, width: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    assert console().width == width
    assert app.run(["place", "black-box"]) == 0
    said = capsys.readouterr().out
    assert "Black box, answers" in said
    assert "the ceiling" in " ".join(said.split())


@pytest.mark.usefixtures("undrawn")
def test_quiet_and_verbose(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert app.run(["measure", "black-box", "--out", str(tmp_path), "--quiet", *FAST]) == 0
    assert capsys.readouterr().err == ""
    assert app.run(["measure", "black-box", "--out", str(tmp_path), "-v", *FAST]) == 0
    told = capsys.readouterr().err
    assert "halfgain: black-box: getting ready" in told
    assert "error reached" in told
    assert app.run(["measure", "blck-box", "-q"]) == 2
    assert "did you mean black-box" in capsys.readouterr().err  # what went wrong is always told
    assert app.run(["measure", "black-box", "-q", "-v"]) == 2
    assert "allowed one of them" in capsys.readouterr().err
    assert app.run(["scenes", "-q"]) == 0
    assert not Talk.verbose


def test_plain_lines_are_seconds_apart(capsys: pytest.CaptureFixture[str]) -> None:
    now = [0.0]
    lines = PlainLines("room", at_once=False, clock=lambda: now[0])
    for now[0] in (1.0, EVERY_S, EVERY_S + 1.0, 2 * EVERY_S, 2 * EVERY_S + 4.9, 3.5 * EVERY_S):
        lines.tell(f"at {now[0]:g}")
    assert capsys.readouterr().err.splitlines() == ["halfgain: room: at 5", "halfgain: room: at 10", "halfgain: room: at 17.5"]


def test_a_log_hears_of_short_work_with_verbose_alone_and_never_with_quiet(capsys: pytest.CaptureFixture[str]) -> None:
    with progress("room", 0.01) as report:
        assert report is None
    Talk.set(verbose=True)
    with progress("room", 0.01) as report:
        assert report is not None
    assert capsys.readouterr().err.startswith("halfgain: room: getting ready")
    Talk.set(quiet=True)
    with stages("room") as told:
        told("anything")
    assert capsys.readouterr().err == ""


def test_scenes_trace_and_explain_as_documents(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    library = json.loads(out_of(capsys, "scenes", "--json"))
    assert library["format"] == "halfgain.scenes/1"
    assert "long-lounge" in {scene["name"] for scene in library["scenes"]}
    assert app.run(["scenes", "black-box", "--json"]) == 2
    capsys.readouterr()
    ledger = tmp_path / "room.npz"
    traced = json.loads(out_of(capsys, "trace", "black-box", "--ledger", str(ledger), "--json", *FAST))
    assert (traced["format"], traced["bytes"]) == ("halfgain.trace/1", ledger.stat().st_size)
    page = json.loads(out_of(capsys, "explain", "black-box", "--json", *FAST))
    assert page["format"] == "halfgain.explain/1"
    assert "\n".join(page["page"]) + "\n" == out_of(capsys, "explain", "black-box", *FAST)
    assert page["seat"]["name"] in page["page"][0]


@pytest.mark.usefixtures("half_drawn")
def test_a_picture_as_a_document(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = json.loads(out_of(capsys, "picture", "black-box", "--seat", "1", "--size", "32x18", "--out", str(tmp_path), "--json"))
    assert said["format"] == "halfgain.picture/1"
    (files,) = said["files"].values()
    assert all((tmp_path / name).is_file() for name in files)
    assert said["folder"] == str(tmp_path)


def test_a_command_imports_no_other() -> None:
    # Expected: the files of the other commands are not loaded; help needs them all
    code = """
import sys
from halfgain.simulate.command import app
from halfgain.simulate.command.commands import COMMANDS
for arguments in (["materials"], ["--help"]):
    app.run(arguments)
    files = {name: f"halfgain.simulate.command.{name.replace('-', '_')}" for name in COMMANDS}
    print([name for name, file in files.items() if file in sys.modules], file=sys.stderr)
"""
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stderr
    assert told.splitlines() == ["['materials']", str(NAMES[:-1])]
