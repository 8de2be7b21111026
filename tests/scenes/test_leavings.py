"""Hidden work folders of killed runs: taken away when their process is dead, and nothing else is."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from halfgain.scenes import leavings
from halfgain.scenes.leavings import clean, work_folder

NOW = 2_000_000_000.0
DAY = 86400.0


def _dead() -> int:
    """Number of a process that is over."""
    done = subprocess.Popen([sys.executable, "-c", ""])
    done.wait()
    return done.pid


def _left(place: Path, machine: str, process: int, start: int, *, days: float = 0.0) -> Path:
    path = place / f".halfgain-{machine}-{process}-{start}-abcd_123"
    (path / "new").mkdir(parents=True)
    (path / "new" / "plan.png").write_bytes(b"half")
    os.utime(path, (NOW - days * DAY,) * 2)
    return path


def test_a_work_folder_is_private_hidden_and_gone_at_the_end(tmp_path: Path) -> None:
    def interrupted() -> None:
        with work_folder(tmp_path) as work:
            assert work.parent == tmp_path
            assert work.name.startswith(".halfgain-")
            (work / "x").write_bytes(b"x")
            clean(tmp_path, now_s=work.stat().st_mtime)
            assert (work / "x").exists(), "its owner lives"
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert list(tmp_path.iterdir()) == []


def test_what_a_dead_process_left_goes_and_what_a_living_one_has_stays(tmp_path: Path) -> None:
    here = leavings._machine()
    dead = _left(tmp_path, here, _dead(), 5)
    mine = _left(tmp_path, here, os.getpid(), leavings._start(os.getpid()))
    clean(tmp_path, now_s=NOW)
    assert (dead.exists(), mine.exists()) == (False, True)


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="only there a process tells when it started")
def test_a_process_number_that_was_given_again_is_another_process(tmp_path: Path) -> None:
    again = _left(tmp_path, leavings._machine(), os.getpid(), leavings._start(os.getpid()) - 1)
    clean(tmp_path, now_s=NOW)
    assert not again.exists()


def test_another_machine_is_believed_alive_for_a_week(tmp_path: Path) -> None:
    young, old = (_left(tmp_path, letter * 12, _dead(), 5, days=days) for letter, days in (("a", 6.9), ("b", 7.1)))
    clean(tmp_path, now_s=NOW)
    assert (young.exists(), old.exists()) == (True, False)


def test_only_such_folders_of_this_user_are_touched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    here, dead = leavings._machine(), _dead()
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "mine").write_bytes(b"mine")
    place = tmp_path / "place"
    place.mkdir()
    os.symlink(outside, place / f".halfgain-{here}-{dead}-5-link")
    (place / f".halfgain-{here}-{dead}-5-file").write_bytes(b"mine")
    for name in (".halfgain-u2kvw9cr", ".halfgain-notes", "halfgain", f"x.halfgain-{here}-{dead}-5-x"):
        (place / name).mkdir()  # the first as older releases named them: it may hold the only copy of a file
        os.utime(place / name, (NOW - 99 * DAY,) * 2)
    before = sorted(place.iterdir())
    clean(place, now_s=NOW)
    assert sorted(place.iterdir()) == before
    assert (outside / "mine").exists()
    if hasattr(os, "getuid"):
        other = _left(place, here, dead, 5)
        monkeypatch.setattr(leavings.os, "getuid", lambda: os.stat(other).st_uid + 1)
        clean(place, now_s=NOW)
        assert other.exists()


def test_a_place_that_cannot_be_listed_is_no_fault(tmp_path: Path) -> None:
    clean(tmp_path / "none", now_s=NOW)
