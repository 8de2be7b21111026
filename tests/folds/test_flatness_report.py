"""The table of `flatness` on a terminal as it opens: names of seats stay whole beside its figures."""

from __future__ import annotations

import io

import pytest
from halfgain.scenes.load import load_scene
from halfgain.simulate.folds.flatness import DIRECTIONS, Flatness, FlatnessPoint, SinglePoint
from halfgain.simulate.output.folds.flatness_outputs import flatness_report
from rich.console import Console

MM = 1e-3


@pytest.mark.parametrize("name", ["the armchair beside the window", "second row, third from the left"])
def test_a_seat_s_name_stands_in_one_line_beside_the_widest_figures(name: str) -> None:
    points = tuple(FlatnessPoint(crests, 0.6, 12.5 * MM, name, 0.72 * MM, name) for crests in DIRECTIONS)
    found = Flatness(points, (), (SinglePoint("upright crease", 0.06, 1.9 * MM, name),))
    text = flatness_report(load_scene("black-box"), found, Console(file=io.StringIO(), width=80))
    assert max(map(len, text.splitlines())) <= 80
    row = next(line for line in text.splitlines() if line.lstrip().startswith("600 "))
    assert row.split(maxsplit=5) == ["600", "12.5", "12.5", "12.5", "0.72", name]
