"""kill -9 at any system call of a writer: every name holds the old file or the new one, and the next run leaves no trace of it."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from halfgain.scenes.library import scene_path
from halfgain.simulate.output.digests import listed_digests, not_as_listed

from . import killed_writer
from .killed_writer import CASES, NEW, OLD

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs kill -9 and fork")
LIST = "measure.sha256"


@cache
def _said() -> list[dict[str, Any]]:
    with TemporaryDirectory() as place:
        done = subprocess.run([sys.executable, killed_writer.__file__, place], capture_output=True, text=True, check=True)
    return [json.loads(line) for line in done.stdout.splitlines()]


def _runs(case: str) -> list[dict[str, Any]]:
    return [run for run in _said() if run["case"] == case]


def _results(files: dict[str, str]) -> dict[str, str]:
    return {name: text for name, text in files.items() if name != "beside.png"}


def _in_out(files: dict[str, str]) -> dict[str, bytes]:
    return {name.removeprefix("out/"): text.encode("latin-1") for name, text in files.items() if name.startswith("out/")}


@pytest.mark.parametrize("case", CASES)
def test_the_next_run_writes_all_and_takes_hidden_leavings_away(case: str) -> None:
    *killed, whole = _runs(case)
    assert len(killed) > 10
    assert all(run["killed"] for run in killed)
    assert not whole["killed"]
    assert any(".halfgain-" in name for run in killed for name in run["left"])  # there was something to take away
    for run in _runs(case):
        assert run["hidden"] == []
        assert _results(run["after"]) == _results(whole["after"])


@pytest.mark.parametrize("case", [case for case in CASES if "over" in case])
def test_a_kill_leaves_old_or_new_under_every_name(case: str) -> None:
    new = NEW if "folder" in case else {"a.png": NEW["a.png"]}
    states = set()
    for run in _runs(case):
        left = _in_out(run["left"])
        assert left["notes.txt"] == b"mine"
        for name, content in OLD.items():
            assert left[name] in (content, new.get(name, content)), (run["call"], name)
        assert left.get("d.png", NEW["d.png"]) == NEW["d.png"]
        states.add(tuple(left[name] for name in OLD))
    assert len(states) == len(set(OLD) & set(new)) + 1  # the test saw all old, all new and each step between


def test_a_kill_leaves_a_file_whole_or_not_there() -> None:
    for case in ("new file", "new folder for a file"):
        assert {_in_out(run["left"]).get("a.png") for run in _runs(case)} == {None, NEW["a.png"]}
    copies = [run["left"].get("mine.toml") for run in _runs("copy of a scene")]
    assert set(copies) == {None, scene_path("black-box").read_bytes().decode("latin-1")}


def test_a_new_folder_is_whole_or_not_there() -> None:
    assert {tuple(sorted(_in_out(run["left"]))) for run in _runs("new folder")} == {(), tuple(sorted([*NEW, LIST]))}


def test_the_list_of_digests_tells_old_and_new_beside_each_other(tmp_path: Path) -> None:
    mixes = 0
    for run in _runs("folder over old results"):
        left = _in_out(run["left"])
        place = tmp_path / str(run["call"])
        place.mkdir()
        for name, content in left.items():
            if "/" not in name:
                (place / name).write_bytes(content)
        mixed = any(left.get(name) == NEW[name] for name in NEW) and any(left[name] == OLD[name] for name in ("a.png", "b.png"))
        mixes += mixed
        if mixed:
            assert not_as_listed(place, listed_digests(place / LIST)), run["call"]
    assert mixes
    assert not_as_listed(place, listed_digests(place / LIST)) == []
