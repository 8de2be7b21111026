"""Measurements of the library's scenes, made once; few paths, as these tests are about what is said, not about light."""

from __future__ import annotations

from functools import cache

import pytest
from halfgain.scenes.library import scene_names
from halfgain.scenes.load import load_scene
from halfgain.simulate.measuring.measure import Measurement, measure

SCENES = scene_names()


@cache
def measured(name: str) -> Measurement:
    """A library scene at the coarsest error the command allows."""
    return measure(load_scene(name), error=0.2, threads=1)


@pytest.fixture(params=SCENES)
def any_measurement(request: pytest.FixtureRequest) -> Measurement:
    return measured(request.param)


@pytest.fixture
def lounge() -> Measurement:
    return measured("long-lounge")
