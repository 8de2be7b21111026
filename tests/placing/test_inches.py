"""Scenes measured in feet and inches are answered in inches too, beside the metres; what is told serves when it is followed."""

from __future__ import annotations

import re

import halfgain as hg
import pytest
from halfgain.scenes.inches import inches, told_in_inches
from halfgain.scenes.load import scene_from_text
from halfgain.simulate.measuring.measure import measure
from halfgain.simulate.output.measure.first_block import first_block
from halfgain.simulate.output.place.document import place_document
from halfgain.simulate.output.place.table import place_report
from rich.console import Console

INCH_M = 0.0254
FEET = """format = 1
[room]
width_ft = 14
depth_ft = 20
height_ft = 8.5
[room.finish]
front = 0.1
back = 0.5
left = 0.5
right = 0.5
ceiling = 0.7
floor = 0.2
[projector]
light_output_lm = 1800
native_contrast = 3000
lens_ft = [0.0, 12.0, 7.5]
throw_ratio = [1.3, 2.1]
lens_shift = [0.1, 0.5]
[screen]
width_in = 96
aspect = "16:9"
bottom_in = 30
gap_to_wall_in = 4
fabric = "matt white"
[[seat]]
name = "front"
eye_ft = [0.0, 11, 3.6]
[[seat]]
name = "rear"
eye_ft = [0.0, 16, 3.6]
"""


def in_metres() -> str:
    def told(found: re.Match[str]) -> str:
        size = 0.3048 if found[2] == "ft" else INCH_M
        numbers = re.sub(r"[\d.]+", lambda number: repr(round(float(number[0]) * size, 9)), found[3])
        return f"{found[1]}_m = {numbers}"

    return re.sub(r"(\w+)_(ft|in) = (.*)", told, FEET)


def report(text: str) -> str:
    return " ".join(place_report(hg.place(scene_from_text(text)), Console(width=200), full=True).split())


def test_ranges_are_told_in_inches_that_lie_within_them() -> None:
    said = report(FEET)
    found = re.findall(r"(-?[\d.]+) to (-?[\d.]+) m = (-?[\d.]+) to (-?[\d.]+) in", said)
    assert len(found) >= 5
    for low, high, first, last in (map(float, each) for each in found):
        assert low - 1e-9 <= first * INCH_M < low + 0.0026
        assert high + 1e-9 >= last * INCH_M > high - 0.0026
    assert "now 2.4384 m (96.0 in), the nearest that serves is" in said
    assert "has to sit" in said


def test_a_place_told_in_inches_serves_when_it_is_followed() -> None:
    scene = scene_from_text(FEET)
    (line,) = [each.said for each in first_block(measure(scene, error=0.1)) if each.topic.startswith("Fits")]
    found = re.search(r"the lens ([\d.]+) m \(([\d.]+) in\) up", line)
    assert found is not None
    assert float(found[2]) * INCH_M == pytest.approx(float(found[1]), abs=0.0026)
    moved = scene_from_text(FEET.replace("lens_ft = [0.0, 12.0, 7.5]", f"lens_in = [0.0, 144.0, {found[2]}]"))
    fits = measure(moved, error=0.1)
    assert fits.throw.feasible
    assert re.search(r"reach the picture from [\d.]+ m \([\d.]+ in\)", first_block(fits)[0].said)


def test_metres_alone_for_scenes_in_metres_and_in_documents() -> None:
    metres = in_metres()
    assert not re.search(r"\d in\b", report(metres))
    ours, theirs = (place_document(hg.place(scene_from_text(text))) for text in (FEET, metres))
    assert ours["lens"] == theirs["lens"]
    assert told_in_inches(scene_from_text(FEET))
    assert not told_in_inches(scene_from_text(metres))
    assert not told_in_inches(scene_from_text(metres.replace("width_m = 2.4384", "diagonal_in = 110")))


def test_inches_are_rounded_to_the_side_that_is_asked_for() -> None:
    assert [inches(2.13, side) for side in (1, 0, -1)] == ["83.9", "83.9", "83.8"]
    assert [inches(96 * INCH_M, side) for side in (1, 0, -1)] == ["96.0"] * 3
    assert [inches(-0.24, side) for side in (1, 0, -1)] == ["-9.4", "-9.4", "-9.5"]
