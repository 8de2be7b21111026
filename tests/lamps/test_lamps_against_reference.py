"""Lamps and windows in three rooms against the reference renderer: illuminance at the screen, all reflections included."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np
import pytest
from halfgain.scenes.lamps.generic import beam, even
from halfgain.scenes.lamps.model import Lamp, Light, Window
from halfgain.scenes.lamps.photometry import Photometry
from halfgain.simulate.measuring.solver import NINE, traced_sums

from tests.needs import needs
from tests.outside.box_room import Room, Screen, Solid
from tests.outside.kept import kept_batches
from tests.rooms import box_object, lowered, room
from tests.statistics import mean_and_error

mitsuba_lamps = needs("tests.outside.mitsuba_lamps")
pytestmark = pytest.mark.reference

GAIN, WIDTH, HEIGHT, BOTTOM = 0.9, 2.4, 1.35, 0.7
LIGHT = {"front": 0.5, "back": 0.5, "left": 0.5, "right": 0.5, "ceiling": 0.7, "floor": 0.2}
DARK = {"front": 0.05, "back": 0.6, "left": 0.05, "right": 0.05, "ceiling": 0.05, "floor": 0.1}
SOFA = Solid((-1.0, -4.1, 0.0), (1.0, -3.2, 0.85), 0.15)
CASE = Solid((-1.9, -1.6, 0.0), (-1.4, -0.6, 1.9), 0.6)  # stands between a window in the left wall and the screen


def spot_light(candela: float, even_deg: float, end_deg: float) -> Photometry:
    """What mitsuba's spot light sends out: even, then falling evenly in angle."""
    gamma = np.array([0.0, even_deg, end_deg, 90.0])
    return Photometry(np.array([0.0, 360.0]), gamma, np.tile([candela, candela, 0.0, 0.0], (2, 1)))


@dataclass(frozen=True)
class Case:
    walls: dict[str, float]
    boxes: tuple[Solid, ...]
    lamps: tuple[Lamp, ...]
    windows: tuple[Window, ...]
    theirs: tuple[Any, ...]
    many: int  # times 16 * 4489 samples a point: as many as its errors need
    direct: bool = False


CASES = {
    "table lamp in a light empty room": Case(
        LIGHT, (), (Lamp("l", (1.6, 4.6, 0.9), even(800.0), ""),), (), (partial(mitsuba_lamps.bulb, (1.6, -4.6, 0.9), 800.0),), 1
    ),
    "spot and cornice strip in a furnished room": Case(
        LIGHT,
        (SOFA, CASE),
        (
            Lamp("spot", (0.3, 2.0, 2.6), spot_light(900.0, 12.0, 35.0), "", aim=(0.1, 0.4, -1.0)),
            Lamp("strip", (-1.5, 5.7, 2.3), beam(1500.0, 120.0), "", aim=(0.0, -0.3, 1.0), end_m=(1.5, 5.7, 2.3)),
        ),
        (),
        (
            partial(mitsuba_lamps.spot, (0.3, -2.0, 2.6), (0.1, -0.4, -1.0), 900.0, 12.0, 35.0),
            partial(
                mitsuba_lamps.panel,
                (-1.5, -5.7 - 0.001 / math.hypot(1.0, 0.3), 2.3 - 0.0003 / math.hypot(1.0, 0.3)),
                (3.0, 0.0, 0.0),
                (0.0, 0.002 / math.hypot(1.0, 0.3), -0.0006 / math.hypot(1.0, 0.3)),
                1500.0 / math.pi / (3.0 * 0.002),
                0.0,
            ),
        ),
        4,
    ),
    "window behind a case in a dark room": Case(
        DARK,
        (CASE, SOFA),
        (),
        (Window("w", "left", 400.0, out_m=(0.5, 2.0), up_m=(0.4, 2.0)),),
        (partial(mitsuba_lamps.panel, (-1.9998, -0.5, 0.4), (0.0, 0.0, 1.6), (0.0, -1.5, 0.0), 400.0, 0.05),),
        4,
        direct=True,
    ),
}


def ours(case: Case, *, paths: int) -> tuple[np.ndarray, np.ndarray]:
    """Illuminance (25,) [lx] of all lamps and windows by way of the room, where asked their own light too, and its standard error."""
    tables = "".join(
        box_object(f"box {i}", [b.low_m[0], -b.high_m[1], b.low_m[2]], [b.high_m[0], -b.low_m[1], b.high_m[2]], b.reflectance)
        for i, b in enumerate(case.boxes)
    )
    lights = (Light("all", lamps={each.name: 1.0 for each in case.lamps}, windows={each.name: 1.0 for each in case.windows}),)
    scene = replace(room(objects=tables, **case.walls), lights=lights, lamps=case.lamps, windows=case.windows)
    arrays, points, prepared = lowered(scene)
    count = len(arrays.lamps.names)
    sums = traced_sums(prepared, seed=5, low_path=0, paths=paths, threads=2) / paths
    returned = np.pi * sums[:, :, 0, :, 2 + count : 2 + 2 * count, 0].sum(axis=(2, 3))  # scramble, point
    every = returned + (points.lamps.lux.sum(axis=1) if case.direct else 0.0)
    return every.mean(axis=0), every.std(axis=0, ddof=1) / 4.0


@pytest.mark.parametrize("name", CASES)
def test_the_light_of_lamps_at_the_screen_is_the_reference_renderers(name: str) -> None:
    """Each point within 3 standard errors and 0.5 %; the mean over points, known better, as well.

    A point's own error may be up to 2.5 % of its value, so a point alone tells little; the mean's up to 0.8 %.
    """
    case = CASES[name]
    found, error = ours(case, paths=1024)
    screen = Screen(WIDTH, HEIGHT, BOTTOM, GAIN, radiance=0.0, gap_m=0.001)
    there = Room(4.0, 6.0, 2.7, case.walls, case.boxes)
    how = {"direct": case.direct, "spp": case.many * 4489, "sampler": "orthogonal"}
    batches = kept_batches(name, mitsuba_lamps.batch_lux, there, screen, screen.nine_points(), case.theirs, **how)
    expected, their_error = mean_and_error(batches)
    both = np.hypot(error[NINE], their_error)
    assert (both < 0.025 * expected).all()
    assert (np.abs(found[NINE] - expected) <= 3.0 * both + 0.005 * expected).all(), (found[NINE] / expected, both / expected)
    # the points' own errors are independent in the renderer, nearly one in ours
    mean_error = math.hypot(float(np.linalg.norm(their_error)) / 9.0, float(error[NINE].mean()))
    assert mean_error < 0.008 * expected.mean()
    assert abs(found[NINE].mean() - expected.mean()) <= 3.0 * mean_error + 0.005 * expected.mean()
