"""The process that draws the room in 3-D: what it says is told, what kills it costs the picture alone, what is our fault is raised."""

from __future__ import annotations

import subprocess
import sys
from typing import Any

import numpy as np
import pytest
from halfgain.scenes.load import load_scene
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.page import drawing_process
from halfgain.simulate.page.drawing_process import drawn_beside
from halfgain.simulate.page.room_picture import RoomPicture
from halfgain.simulate.views.cell_light import CellLight
from halfgain.simulate.views.texture import empty_texture

SCENE = load_scene("black-box")
ARRAYS = flatten(SCENE)
LIGHT = CellLight(ARRAYS, empty_texture(ARRAYS.geometry, ARRAYS.projector, 1), np.arange(3.0))
IMPORTED = "import sys, pickle; o = sys.stdout.buffer; o.write(b'imported\\n'); o.flush(); "


def _drawn(code: str, monkeypatch: pytest.MonkeyPatch, threads: int = 2) -> RoomPicture:
    """What comes of a process that runs this code in place of the drawing."""
    true = subprocess.Popen

    def other(_: list[str], **files: Any) -> subprocess.Popen[bytes]:
        return true([sys.executable, "-c", code], **files)

    monkeypatch.setattr(drawing_process.subprocess, "Popen", other)
    with drawn_beside(SCENE, threads=threads) as drawing:
        drawing.lit(LIGHT)
        return drawing.picture()


@pytest.mark.parametrize(
    ("code", "said"),
    [
        (IMPORTED + "import os, signal; os.kill(os.getpid(), signal.SIGSEGV)", "libegl1"),
        (IMPORTED + "raise RuntimeError('bad X server connection')", "bad X server connection"),
        ("raise ImportError('no vtkCapsuleSource')", "pyvista cannot be imported (ImportError: no vtkCapsuleSource)"),
        ("", "libegl1"),
    ],
)
def test_what_kills_the_process_costs_the_picture_alone(code: str, said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    found = _drawn(code, monkeypatch)
    assert found.image is None
    assert said in found.reason
    assert "\n" not in found.reason


@pytest.mark.parametrize("threads", [1, 2])
def test_the_picture_comes_as_it_was_drawn(threads: int, monkeypatch: pytest.MonkeyPatch) -> None:
    # Expected: the very fields; scene and light have arrived whole
    code = IMPORTED + "scene, light = pickle.load(sys.stdin.buffer); pickle.dump((b'a', scene.title, light.lux.sum(), b'b'), o)"
    assert _drawn(code, monkeypatch, threads) == RoomPicture(b"a", SCENE.title, 3.0, b"b")


@pytest.mark.parametrize(("threads", "started"), [(1, [0, 0, 1]), (2, [0, 1, 1])])
def test_the_process_starts_when_there_is_light_to_draw(
    threads: int, started: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    true, seen = subprocess.Popen, []

    def other(_: list[str], **files: Any) -> subprocess.Popen[bytes]:
        seen.append(true([sys.executable, "-c", ""], **files))
        return seen[-1]

    monkeypatch.setattr(drawing_process.subprocess, "Popen", other)
    with drawn_beside(SCENE, threads=threads) as drawing:
        counts = [len(seen)]
        for step in (lambda: drawing.lit(LIGHT), drawing.picture):
            step()
            counts.append(len(seen))
    assert counts == started


def test_a_fault_of_our_own_is_raised(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(FloatingPointError, match="not finite"):
        _drawn(IMPORTED + "pickle.dump(FloatingPointError('not finite'), o)", monkeypatch)


def test_a_process_that_takes_too_long_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drawing_process, "LIMIT_S", 0.2)
    found = _drawn("import time; time.sleep(600)", monkeypatch)
    assert "took longer" in found.reason


def test_no_process_outlives_the_work(monkeypatch: pytest.MonkeyPatch) -> None:
    true, started = subprocess.Popen, []

    def other(_: list[str], **files: Any) -> subprocess.Popen[bytes]:
        started.append(true([sys.executable, "-c", "import time; time.sleep(600)"], **files))
        return started[0]

    def interrupted() -> None:
        with drawn_beside(SCENE, threads=2) as drawing:
            drawing.lit(LIGHT)
            raise KeyboardInterrupt

    monkeypatch.setattr(drawing_process.subprocess, "Popen", other)
    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert started[0].poll() is not None


def test_where_nothing_can_be_started_the_reason_stands_in_its_place(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(drawing_process.sys, "executable", "/no/such/python")
    with drawn_beside(SCENE, threads=2) as drawing:
        drawing.lit(LIGHT)
        assert "no process could be started" in drawing.picture().reason
