"""The rows of README's table that other programs answer: each asks us about the room that it asks them about."""

from __future__ import annotations

import inspect
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from benchmarks import checks_programs
from tests.light import test_against_others as others


def test_each_row_asks_both_about_one_room(monkeypatch: pytest.MonkeyPatch) -> None:
    asked, told, ours = [], [], inspect.signature(others.returned_irradiance)
    points = len(others.measuring_points())

    def found(**how: Any) -> tuple[np.ndarray, np.ndarray]:
        hash(tuple(how.values()))  # what is asked twice is kept
        known = ours.bind(**how)
        known.apply_defaults()
        asked.append((known.arguments["dark"], known.arguments["objects"]))
        return np.ones((16, 2, points)), np.zeros((2, points))

    def solved(room: Any, *_: Any, **__: Any) -> Any:
        told.append((room.reflectance, room.boxes))
        return SimpleNamespace(irradiance=np.full(points, 2.0))

    def traced(room: Any, *_: Any, **__: Any) -> np.ndarray:
        told.append((room.reflectance, room.boxes))
        return np.full((16, points, 3), 3.0)

    monkeypatch.setattr(others, "returned_irradiance", found)
    monkeypatch.setattr(checks_programs.radiosity, "returned_irradiance", solved)
    monkeypatch.setattr(checks_programs.mitsuba_room, "batch_irradiance", traced)
    rows = list(checks_programs.other_programs())
    assert [(row.expected, row.got) for row in rows] == [(2.0, 1.0), (3.0, 1.0)] * 4 + [(3.0, 1.0)] * 2
    assert [dark for dark, _ in asked] == [False, True, False]
    assert [bool(objects) for _, objects in asked] == [False, False, True]
    rooms = [(others.WALLS, ())] * 4 + [(others.DARK_LIGHT_BACK, ())] * 4 + [(others.WALLS, (others.CRATE, others.PILLAR))] * 2
    assert told == rooms
