"""Areas that sound meets, counted by hand."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.sound.areas import areas_of

from ..rooms import box_object, room

SMALL = {"width": 5.0, "depth": 4.0, "height": 2.5, "lens": "[0.0, 3.5, 2.2]", "screen_width": 2.0}


def box(name: str, low: tuple[float, float, float], high: tuple[float, float, float]) -> str:
    return box_object(name, list(low), list(high), 0.5)


def test_an_empty_room_less_its_screen() -> None:
    found = areas_of(room(**{**SMALL, "aspect": "2:1", "border": 0.1}))
    assert found.walls["floor"] == pytest.approx([0, 0, 20])
    assert found.walls["left"] == pytest.approx([10, 0, 0])
    assert found.walls["back"] == pytest.approx([0, 12.5, 0])
    assert found.screen == pytest.approx(2.0)
    assert found.border == pytest.approx(2.2 * 1.2 - 2.0)
    assert found.walls["front"] == pytest.approx([0, 12.5 - 2.2 * 1.2, 0])
    assert found.volume_m3 == pytest.approx(50.0)


def test_a_box_on_the_floor_against_a_wall_hides_both() -> None:
    found = areas_of(room(**SMALL, objects=box("case", (1.5, 1.0, 0.0), (2.5, 2.0, 2.0))))
    assert found.walls["floor"][2] == pytest.approx(20 - 1)
    assert found.walls["right"][0] == pytest.approx(10 - 2)
    assert found.objects[0] == pytest.approx([2, 4, 1])  # right and floor are hidden
    assert found.volume_m3 == pytest.approx(50 - 2)


def test_boxes_on_and_through_each_other_hide_their_faces() -> None:
    two = box("base", (0.0, 1.0, 0.0), (1.0, 2.0, 1.0)) + box("top", (0.0, 1.0, 1.0), (0.5, 2.0, 1.5))
    base, top = areas_of(room(**SMALL, objects=two)).objects
    assert base == pytest.approx([2, 2, 0.5])
    assert top == pytest.approx([1, 0.5, 0.5])
    crossed = box("one", (0.0, 1.0, 0.5), (1.0, 2.0, 1.5)) + box("two", (0.5, 1.0, 0.5), (1.5, 2.0, 1.5))
    scene = room(**SMALL, objects=crossed)
    found = areas_of(scene)
    assert np.sum(found.objects, axis=0) == pytest.approx([2, 2 * 1.5, 2 * 1.5])  # one block of 1.5 x 1 x 1 m
    assert found.volume_m3 == pytest.approx(50 - 1.5)
