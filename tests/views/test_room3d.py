"""The 3-D view: which way round, folds, and machines without graphics."""

from __future__ import annotations

import subprocess
from pathlib import Path

import numpy as np
import pytest
from halfgain.scenes.geometry import screen_frame
from halfgain.scenes.load import load_scene
from halfgain.simulate.command import app
from halfgain.simulate.page.room_picture import without_margins
from halfgain.simulate.views import graphics
from halfgain.simulate.views.content import load_content
from halfgain.simulate.views.graphics import NoGraphics, check_graphics
from halfgain.simulate.views.room3d_words import apart

from tests.rooms import box_object, room


def _can_draw() -> bool:
    try:
        graphics.check_graphics()
    except graphics.NoGraphics:
        return False
    return True


@pytest.fixture(scope="module")
def drawing() -> None:
    if not _can_draw():
        pytest.skip("this machine has no graphics libraries")


@pytest.mark.usefixtures("drawing", "coarse")
def test_letters_and_sides_read_the_right_way_round() -> None:
    """From before the screen the 3-D view shows the chart itself, and a lit left wall stands on the left."""
    from halfgain.simulate.views.room3d import show_room

    scene = room(left=0.9, right=0.05, objects=box_object("box", [1.2, 0.5, 0.0], [1.6, 0.9, 0.4], 0.5))
    shown = show_room(scene, load_content("letters", 16 / 9), seed=1, threads=1, off_screen=True, sides=("light",))
    centre = np.array(screen_frame(scene).centre)
    plotter = shown.plotter
    plotter.camera_position = [tuple(np.add(centre, (0, -1.9, 0))), tuple(centre), (0, 0, 1)]
    plotter.camera.view_angle = 2 * np.degrees(np.arctan(1.35 / 2 / 1.9))
    plotter.window_size = (640, 360)
    grey = np.asarray(plotter.screenshot(None, return_img=True), float).mean(axis=2)
    plotter.close()
    chart = load_content("letters", 16 / 9).sampler()
    x, y = (a.ravel() for a in np.meshgrid((np.arange(64) + 0.5) / 64, (np.arange(36) + 0.5) / 36))
    want = chart(x, y, np.full(x.size, 1 / 64), np.full(x.size, 1 / 36)).reshape(36, 64)
    got = grey[: 36 * 10, : 64 * 10].reshape(36, 10, 64, 10).mean(axis=(1, 3))
    right_way = np.corrcoef(got.ravel(), want.ravel())[0, 1]
    assert right_way > 0.6
    assert np.corrcoef(got.ravel(), want[:, ::-1].ravel())[0, 1] < right_way - 0.25
    assert np.corrcoef(got.ravel(), want[::-1].ravel())[0, 1] < right_way - 0.25


@pytest.mark.usefixtures("drawing")
def test_the_page_cuts_the_words_off_with_their_tails() -> None:
    """What is left of an empty room's picture below its two lines is paper alone."""
    import pyvista
    from halfgain.simulate.views.room3d import PAPER
    from halfgain.simulate.views.room3d_words import SIZE_PX, words_at_the_top

    plotter = pyvista.Plotter(off_screen=True, window_size=list(SIZE_PX), border=False)
    plotter.set_background(PAPER)
    words_at_the_top(plotter, ["gjpqy", "gjpqy, evenly lit"])
    seen = np.asarray(plotter.screenshot(None, return_img=True))
    plotter.close()
    assert np.ptp(seen, axis=(0, 1)).max() > 100, "the words are there"
    assert without_margins(seen).shape == seen.shape, "nothing is found below them, so nothing is cut to it"


@pytest.mark.usefixtures("drawing", "coarse")
@pytest.mark.long
def test_folds_are_exaggerated_and_said_so() -> None:
    from halfgain.simulate.views.room3d import show_room

    flat = show_room(room(), load_content("30%", 16 / 9), seed=1, threads=1, off_screen=True)
    folded = show_room(load_scene("light-lounge"), load_content("30%", 16 / 9), seed=1, threads=1, off_screen=True)
    assert flat.exaggeration == 1.0
    assert folded.exaggeration > 1.0
    for each in (flat, folded):
        each.plotter.close()


@pytest.mark.usefixtures("drawing", "coarse")
@pytest.mark.long
def test_screenshot_needs_no_display(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from PIL import Image

    monkeypatch.delenv("DISPLAY", raising=False)
    assert app.run(["view", "black-box", "--screenshot", str(tmp_path / "v.png"), "--threads", "1"]) == 0
    image = np.asarray(Image.open(tmp_path / "v.png").convert("L"), float)
    assert image.shape == (800, 2560), "finishes and light beside each other"
    assert image.std() > 10


def test_labels_do_not_cover_each_other() -> None:
    # Expected: three names at one place in the picture stand one above the other, a free one stays where it was
    view = (np.zeros(3), np.array([[1.0, 0, 0], [0, 0, 1.0], [0, 1.0, 0]]), 800.0)
    places = np.array([[0.0, 4.0, 0.0], [0.01, 4.0, 0.01], [0.0, 5.0, 0.0], [1.5, 4.0, 0.0]])
    moved = apart(places, [80.0] * 4, view, (1280, 800))
    up = 800.0 * moved[:, 2] / moved[:, 1]
    assert np.abs(np.subtract.outer(up[:3], up[:3]))[np.triu_indices(3, 1)].min() >= 26.0 - 1e-9
    assert (moved[3] == places[3]).all()
    assert np.abs(np.subtract.outer(*2 * [800.0 * places[:3, 2] / places[:3, 1]])).max() < 26.0, "they would cover each other"


@pytest.mark.parametrize(
    "status, stdout, stderr, wanted, unwanted",
    [
        (1, b"", b"Traceback\nImportError: cannot import name 'vtkCapsuleSource'\n", "vtkCapsuleSource", "libegl1"),
        (1, b"", b"ModuleNotFoundError: No module named 'pyvista'\n", "No module named 'pyvista'", "libegl1"),
        (1, b"imported\n", b"ERROR:root:bad X server connection. DISPLAY=\n", "bad X server connection", "upgrade"),
        (-11, b"imported\n", b"", "signal 11", "upgrade"),
        (-11, b"", b"", "libegl1", "upgrade"),
    ],
)
def test_the_true_cause_is_named(
    monkeypatch: pytest.MonkeyPatch, status: int, stdout: bytes, stderr: bytes, wanted: str, unwanted: str
) -> None:
    # Expected: releases that do not fit each other are not blamed on the machine, nor a missing library on them
    check_graphics.cache_clear()
    monkeypatch.setattr(subprocess, "run", lambda *_, **__: subprocess.CompletedProcess([], status, stdout, stderr))
    with pytest.raises(NoGraphics) as told:
        check_graphics()
    assert wanted in str(told.value)
    assert unwanted not in str(told.value)
    assert "\n" not in str(told.value)


def test_machine_without_graphics_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A probe that dies of a segmentation fault (-11) is told as one line, exit 1, and nothing is written."""

    def died(*_: object, **__: object) -> subprocess.CompletedProcess[bytes]:
        return subprocess.CompletedProcess([], -11)

    check_graphics.cache_clear()
    monkeypatch.setattr(subprocess, "run", died)
    assert app.run(["view", "black-box", "--screenshot", str(tmp_path / "v.png")]) == 1
    said = capsys.readouterr().err
    assert "libegl1 libosmesa6" in said
    assert len(said.strip().splitlines()) == 1
    assert not list(tmp_path.iterdir())
