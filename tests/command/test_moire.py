"""Holes and threads against the projector's pixels in `measure` and `fabric`, by hand."""

from __future__ import annotations

import io
import json
import math
from pathlib import Path

import pytest
from halfgain.scenes.load import scene_from_text
from halfgain.simulate.command import app
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.measuring.moire import screen_moire
from halfgain.simulate.output.measure.document import document, to_json
from halfgain.simulate.output.measure.table import report
from rich.console import Console

from ..rooms import DEFAULTS, ROOM

# Screen 2.4 m wide by 1920 pixels: 1.25 mm a pixel. Its middle is 0.7 + 0.675 = 1.375 m up and 1 mm off the wall.
SEATS = '[[seat]]\nname = "far"\neye_m = [0, 5, 1.375]\n[[seat]]\nname = "near"\neye_m = [0, 3.001, 1.375]'
PIXELS = "pixels = [1920, 1080]"
HOLES = '[screen.fabric]\ngain = 0.9\nhole_lattice = "hexagonal"\nhole_pitch_mm = {}\nhole_diameter_mm = 0.3'
WEAVE = '[screen.fabric]\ngain = 0.8\nhole_lattice = "woven"\nhole_pitch_mm = 0.5\nthread_mm = 0.36'


def text(**changes: object) -> str:
    return ROOM.format(**{**DEFAULTS, "seats": SEATS, "projector": PIXELS, "lens": "[0.0, 4.5, 2.2]", **changes})


def test_holes_a_little_wider_than_pixels_beat_slowly() -> None:
    # Source: gratings of 1/1.25 and 1/1.3 a mm beat at their difference: 1.25 x 1.3 / 0.05 = 32.5 mm; arc minutes at 3 m:
    # 1.3 mm is 1.3 / 3000 rad = 1.4897', a pixel 1.4324', the beat 2 atan(16.25 / 3000) = 37.242'
    found = screen_moire(scene_from_text(text(fabric=HOLES.format(1.3))))
    assert found is not None
    assert (found.seat, found.distance_m) == ("near", pytest.approx(3.0, abs=1e-9))
    assert found.pixel_mm == pytest.approx(1.25, rel=1e-12)
    assert found.pitch_arcmin == pytest.approx(1.4897, abs=1e-4)
    assert found.found is not None
    assert found.found.pitch_ratio == pytest.approx(1.04, rel=1e-9)
    assert found.found.pixel_arcmin == pytest.approx(1.4324, abs=1e-4)
    assert found.found.beat_mm == pytest.approx(32.5, rel=1e-9)
    assert found.found.beat_arcmin == pytest.approx(37.242, abs=1e-3)
    assert "every 32.5 mm" in found.words
    assert "common practice, no source" in found.words


def test_the_overtones_of_wide_holes_beat_with_the_pixels() -> None:
    # Source: 4 holes' frequencies: 4 / 5.1 = 0.784314 a mm against 1 / 1.25 = 0.8: 1 / 0.015686 = 63.75 mm
    found = screen_moire(scene_from_text(text(fabric=HOLES.format(5.1))))
    assert found is not None
    assert found.found is not None
    assert (found.found.order_holes, found.found.order_pixels) == (1, 4)
    assert found.found.beat_mm == pytest.approx(63.75, rel=1e-9)


def test_a_fine_weave_shows_little_and_holes_of_exact_pixels_no_bands() -> None:
    # Source: 0.5 / 1.25 = 0.4 of a pixel, below one half; 2.5 mm are two pixels exactly, the beat is infinite
    weave = screen_moire(scene_from_text(text(fabric=WEAVE)))
    assert weave is not None
    assert weave.words.startswith("threads finer than the eye resolves; at 0.40 of a pixel")
    exact = screen_moire(scene_from_text(text(fabric=HOLES.format(2.5))))
    assert exact is not None
    assert exact.found is not None
    assert exact.found.beat_mm == math.inf
    assert "no bands" in exact.words


def test_a_closed_sheet_has_none_and_without_pixels_only_the_pitch_is_told() -> None:
    assert screen_moire(scene_from_text(text())) is None
    found = screen_moire(scene_from_text(text(fabric=HOLES.format(1.3), projector="")))
    assert found is not None
    assert found.found is None
    assert found.pitch_arcmin == pytest.approx(1.4897, abs=1e-4)
    assert "projector.pixels is not stated" in found.words


def test_measure_prints_and_writes_it() -> None:
    found = measure(scene_from_text(text(fabric=HOLES.format(1.3))), error=0.2, threads=1)
    said = " ".join(report(found, Console(file=io.StringIO(), width=80), full=True).split())
    assert "every 1.3 mm: 1.49 arc minutes from near, the nearest seat (3.00 m)" in said
    assert "moire ratio (pitch over pixel) 1.04" in said
    written = json.loads(to_json(document(found)))["screen"]["moire"]
    assert written["ratio"] == pytest.approx(1.04)
    assert written["beat_mm"] == pytest.approx(32.5)
    exact = measure(scene_from_text(text(fabric=HOLES.format(2.5))), error=0.2, threads=1)
    assert json.loads(to_json(document(exact)))["screen"]["moire"]["beat_mm"] is None, "JSON has no infinity"


def test_fabric_tells_holes_in_arc_minutes_and_against_pixels(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert app.run(["fabric", "micro-perforated white"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    # Source: 2.1 mm at 3 m are 2.1 / 3000 rad = 2.406'; 2.1 / 1.25 = 1.68
    assert "hexagonal holes of 0.5 mm, every 2.1 mm, 0.35 mm deep" in said
    assert "2.4 at 3 m" in said
    assert "1.7 on pixels of 1.25 mm" in said
    assert app.run(["fabric", "micro-perforated white", "--json"]) == 0
    holes = json.loads(capsys.readouterr().out)["holes"]
    assert holes["pitch_arcmin"]["3"] == pytest.approx(2.4064, abs=1e-4)
    assert holes["moire_ratio"]["1.25"] == pytest.approx(1.68)
