"""Lamps and windows against closed forms, the reference renderer, and an independent path tracer for light through a cloth."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from halfgain.scenes.lamps.generic import even
from halfgain.scenes.lamps.model import Lamp, Light, Window
from halfgain.simulate.measuring.colour import luminance
from halfgain.simulate.measuring.estimate import estimate
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.solver import CENTRE, NINE, measuring_points

from benchmarks.check import Check
from tests.lamps import test_lamps_against_reference as reference
from tests.lamps import test_light_through_the_cloth as cloth
from tests.outside import mitsuba_lamps, view_factors
from tests.outside.box_room import Room, Screen
from tests.rooms import room


def lamps() -> Iterator[Check]:
    """All of them."""
    yield from _closed_forms()
    yield from _rooms()
    yield from _through()


def _closed_forms() -> Iterator[Check]:
    bulb = Lamp("l", (0.4, 2.1, 1.9), even(800.0), "")
    pane = Window("w", "back", 400.0, right_m=(-1.0, 1.0), up_m=(0.8, 2.0))
    light = Light("all", lamps={"l": 1.0}, windows={"w": 1.0})
    points = measuring_points(flatten(replace(room(), lamps=(bulb,), windows=(pane,), lights=(light,))))
    assert points.lamps is not None
    x, y, z = points.cloth.place[CENTRE]
    d = np.array([0.4 - x, -2.1 - y, 1.9 - z])
    expected = 800.0 / (4.0 * math.pi) * -d[1] / float(d @ d) ** 1.5
    yield Check(
        "bulb of 800 lm: lux at the screen's middle", expected, float(points.lamps.lux[CENTRE, 0]), 0.0, "I cos / r^2 (textbook)"
    )
    a, b = (-1.0 - x, 1.0 - x), (0.8 - z, 2.0 - z)
    corners = [view_factors.point_facing(a_m=a[i], b_m=b[j], c_m=6.0 + y) * (1 if i == j else -1) for i in (0, 1) for j in (0, 1)]
    expected = 400.0 * math.pi * float(np.sum(corners))
    yield Check(
        "window of 400 cd/m2 in the back wall: the same", expected, float(points.lamps.lux[CENTRE, 1]), 0.0,
        "pi L F, point to rectangle, Lambert's contour integral (textbook, from memory)",
    )  # fmt: skip


def _rooms() -> Iterator[Check]:
    screen = Screen(reference.WIDTH, reference.HEIGHT, reference.BOTTOM, reference.GAIN, radiance=0.0, gap_m=0.001)
    for name, case in reference.CASES.items():
        found, error = reference.ours(case, paths=1024)
        there = Room(4.0, 6.0, 2.7, case.walls, case.boxes)
        expected, their_error = mitsuba_lamps.screen_lux(
            there, screen, screen.nine_points(), case.theirs, direct=case.direct, spp=4 * 4489, sampler="orthogonal"
        )
        # the points' own errors are independent in the renderer, nearly one in ours
        both = math.hypot(float(np.linalg.norm(their_error)) / 9.0, float(error[NINE].mean()))
        what = f"{name}: mean lux of nine points{', its own light too' if case.direct else ' by way of the room'}"
        yield Check(
            what,
            float(expected.mean()),
            float(found[NINE].mean()),
            both,
            "mitsuba 3, scalar_rgb, path integrator (its error included)",
        )


def _through() -> Iterator[Check]:
    points = measuring_points(flatten(cloth.lit_from_behind()))
    assert points.lamps is not None
    lux = cloth.window_lx(points.right[CENTRE], points.up[CENTRE] + cloth.BOTTOM + cloth.HEIGHT / 2)
    yield Check(
        "window 0.2 m behind a sheet of transmittance 0.25, black room: luminance of its middle, cd/m2",
        float(cloth.THROUGH / np.pi * lux), float(points.lamps.luminance[CENTRE, 0, 0]), 0.0,
        "tau F L, point to rectangle (textbook, from memory)",
    )  # fmt: skip
    seats = cloth.traced()
    kinds = ("the same in a light room", "the white picture's returned light", "the checkerboard's", "a window opposite")
    day, opposite = (seats.lit(0, light)[:, CENTRE] for light in seats.scene.lights)
    ours = (day, luminance(seats.white[:, CENTRE, 0]), luminance(seats.board[:, CENTRE, 0]), opposite)
    expected, error = cloth.path_traced(CENTRE)
    for kind, found, theirs, their_error in zip(kinds, ours, expected, error, strict=True):
        got = estimate(found)
        yield Check(
            f"translucent sheet, {kind}: luminance, cd/m2", float(theirs), got.value, math.hypot(got.standard_error, float(their_error)),
            "an analog path tracer of the tests (its error included)",
        )  # fmt: skip
