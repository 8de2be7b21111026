"""Linear algebra in one thread: for the command alone, before numpy is there, and not against the user's own word."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest
from halfgain.simulate.command.one_thread_blas import THREAD_COUNTS, one_thread_blas

_COMMAND = """
import builtins, os, sys
seen, true = [], builtins.__import__
def watched(name, *rest, **more):
    if name.partition(".")[0] == "numpy" and not seen:
        seen.append(os.environ.get("OPENBLAS_NUM_THREADS"))
    return true(name, *rest, **more)
builtins.__import__ = watched
from halfgain.simulate.command import app
assert not seen, "numpy is imported before the command starts"
sys.argv = ["halfgain", "fabric", "matt white"]
try:
    app.main()
finally:
    print(f"seen {seen}", file=sys.stderr)
"""


def _told(code: str, **environment: str) -> str:
    clean = {name: value for name, value in os.environ.items() if name not in THREAD_COUNTS}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=clean | environment)
    return done.stdout + done.stderr


def test_the_command_asks_for_one_thread_before_numpy_is_imported() -> None:
    # Expected: what numpy's linear algebra reads when it is loaded, once
    assert "seen ['1']" in _told(_COMMAND)


def test_what_the_user_has_set_stays() -> None:
    assert "seen ['3']" in _told(_COMMAND, OPENBLAS_NUM_THREADS="3")


def test_a_program_that_imports_halfgain_keeps_its_threads() -> None:
    code = f"import os, halfgain; halfgain.load_scene('dark-room'); print([n for n in {THREAD_COUNTS} if n in os.environ])"
    assert _told(code) == "[]\n"


def test_every_library_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "environ", {"MKL_NUM_THREADS": "2"})
    one_thread_blas()
    assert os.environ == {**dict.fromkeys(THREAD_COUNTS, "1"), "MKL_NUM_THREADS": "2"}
