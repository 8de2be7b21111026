"""Dimension chains and labels of drawings: lengths that add up, nothing on top of anything."""

from __future__ import annotations

import dataclasses
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from halfgain.scenes.load import load_scene
from halfgain.simulate.measuring.measure import Measurement, measure
from halfgain.simulate.output.advise.chart import apart
from halfgain.simulate.output.dimensions import chain, distinct
from halfgain.simulate.output.measure.plan import differ, plan_figure
from halfgain.simulate.output.measure.section import heights_and_distances, in_words
from matplotlib.figure import Figure


@pytest.fixture(scope="module")
def found() -> Measurement:
    return measure(load_scene("wide-row"), error=0.2)


def _lengths(texts: list[object]) -> list[float]:
    return [float(text.get_text()) for text in texts if text.get_text().replace(".", "").isdigit() and "." in text.get_text()]  # type: ignore[attr-defined]


def test_chains_of_the_plan_hold_screen_seats_and_lens(found: Measurement) -> None:
    scene = found.scene
    (axes,) = plan_figure(found).axes
    written = _lengths(list(axes.texts))
    for length in (scene.room.width_m, scene.room.depth_m, scene.screen.width_m, scene.seats[0].eye_m[1]):
        assert any(abs(each - length) < 0.006 for each in written), length


def test_chains_of_the_section_add_up_to_the_room(found: Measurement) -> None:
    scene = found.scene
    axes = Figure(figsize=(8, 5)).add_axes((0.1, 0.1, 0.8, 0.8))
    axes.set_xlim(0.0, scene.room.depth_m)
    axes.set_ylim(0.0, scene.room.height_m)
    heights_and_distances(axes, scene)
    written = _lengths(list(axes.texts))
    drop = scene.room.height_m - scene.screen.bottom_m - scene.screen.height_m
    for length in (scene.screen.bottom_m, scene.screen.height_m, drop, scene.seats[0].eye_m[2], scene.projector.lens_m[2]):
        assert any(abs(each - length) < 0.006 for each in written), length
    words = " ".join(in_words(found))
    assert f"drop from the ceiling to it {drop:.2f} m" in words
    assert f"throw {found.throw.distance_m:.2f} m" in words
    assert all(f"{place.distance_m:.2f} m" in words for place in found.geometry)
    assert distinct([1.0, 0.0, 1.004, 2.0]) == [0.0, 1.0, 2.0]


def test_seats_that_are_alike_are_not_coloured(found: Measurement) -> None:
    assert differ(found)
    alike = dataclasses.replace(found, seats=found.seats[:1] * len(found.seats))
    assert not differ(alike)
    (axes,) = plan_figure(alike).axes
    assert {tuple(colour) for colour in axes.collections[-1].get_facecolors()} == {(1.0, 1.0, 1.0, 1.0)}


def test_numbers_of_nineteen_crowded_points_cover_neither_points_nor_each_other() -> None:
    points = np.random.default_rng(3).normal(200.0, 14.0, (19, 2))
    found = apart(points, (0.0, 0.0, 400.0, 400.0))
    gaps = np.abs(found[:, None] - found[None]).max(axis=2)[np.triu_indices(19, 1)]
    assert gaps.min() > 13.0
    assert np.abs(found[:, None] - points[None]).max(axis=2).min() > 6.5 + 3.5 - 1e-9


@pytest.mark.parametrize("side", ["left", "right", "below", "above"])
def test_figures_of_narrow_steps_cover_no_other_figure_and_no_line(side: str) -> None:
    # Expected: boxes of letters as the drawing library lays them out; steps of 3 cm, alone, in a row and at an end, before a whole length
    figure = Figure(figsize=(8, 5))
    axes = figure.add_axes((0.25, 0.25, 0.5, 0.5))
    axes.set_xlim(0.0, 5.0)
    axes.set_ylim(0.0, 3.0)
    chain(axes, (0.0, 0.03, 1.12, 1.15, 1.18, 1.21, 2.4, 2.43), side=side, wall=0.0)
    chain(axes, (0.0, 1.16, 2.43), side=side, wall=0.0)
    figure.canvas.draw()
    boxes = [text.get_window_extent() for text in axes.texts]
    assert len(boxes) == 9
    for i, one in enumerate(boxes):
        for other in boxes[:i]:
            assert min(one.x1, other.x1) - max(one.x0, other.x0) < 0.5 or min(one.y1, other.y1) - max(one.y0, other.y0) < 0.5
        for line in axes.lines:
            x0, y0 = line.get_transform().transform(np.column_stack(line.get_data()))[0]
            across = (x0, one.x0, one.x1) if side in ("left", "right") else (y0, one.y0, one.y1)
            assert not across[1] + 0.5 < across[0] < across[2] - 0.5


@pytest.mark.parametrize(
    "draws",
    [
        "from halfgain.simulate.output.place import chart; from halfgain.simulate.output.drawing import figure_of; figure_of(1.0, 1.0)",
        "from halfgain.simulate.views.charts import letters; letters(1.8)",
        "from halfgain.simulate.views.room3d_words import typeface; typeface()",
    ],
)
def test_drawing_in_a_home_without_room_for_caches_says_nothing(tmp_path: Path, draws: str) -> None:
    (tmp_path / "file").touch()
    environment = {
        key: value for key, value in os.environ.items() if key not in ("MPLCONFIGDIR", "XDG_CONFIG_HOME", "XDG_CACHE_HOME")
    }
    environment["HOME"] = str(tmp_path / "file" / "home")
    done = subprocess.run([sys.executable, "-c", draws], env=environment, capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("", "")
