"""Measurements of the library's scenes and reports of them, made once; few paths, as these tests are about what is said, not about light."""

from __future__ import annotations

import io
from functools import cache

import pytest
from halfgain.scenes.library import scene_names
from halfgain.scenes.load import load_scene
from halfgain.simulate.measuring.measure import Measurement, measure
from halfgain.simulate.output.measure.table import report
from rich.console import Console

SCENES = scene_names()


@cache
def measured(name: str) -> Measurement:
    """A library scene at the coarsest error the command allows."""
    return measure(load_scene(name), error=0.2, threads=1)


_said: dict[tuple[int, int, bool], tuple[Measurement, str]] = {}


def reported(measurement: Measurement, width: int = 80, *, full: bool = False) -> str:
    """The report of a measurement, written once for each width and length."""
    key = id(measurement), width, full  # the measurement is kept beside its report, so no other can have its place
    if key not in _said:
        _said[key] = measurement, report(measurement, Console(file=io.StringIO(), width=width), full=full)
    return _said[key][1]


@pytest.fixture(params=SCENES)
def any_measurement(request: pytest.FixtureRequest) -> Measurement:
    return measured(request.param)


@pytest.fixture
def lounge() -> Measurement:
    return measured("long-lounge")
