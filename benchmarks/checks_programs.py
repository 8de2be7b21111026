"""Checks against other programs: radiosity solved with scipy, and a general-purpose reference renderer."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from benchmarks.check import Check
from tests.light import test_against_others as others
from tests.outside import mitsuba_room, radiosity
from tests.outside.box_room import Room, Screen, checkerboard
from tests.statistics import mean_and_error


def other_programs() -> Iterator[Check]:
    """Mean returned illuminance on 25 points of the screen over the screen's exitance, white and checkerboard."""
    place = others.measuring_points()
    for title, dark, boxes in (
        ("light room", False, ()),
        ("dark room, light back wall", True, ()),
        ("furnished light room", False, (others.CRATE, others.PILLAR)),
    ):
        walls = others.DARK_LIGHT_BACK if dark else others.WALLS
        found, _ = others.returned_irradiance(paths=1024, objects=others.object_tables(boxes), dark=dark)
        for picture, (name, levels) in enumerate((("white", 1.0), ("checkerboard", checkerboard()))):
            what = f"{title}, {name}: returned light, lx per lm/m2 of the white screen"
            ours, error = mean_and_error(found[:, picture].mean(axis=1))
            screen = Screen(others.WIDTH, others.HEIGHT, 0.7, others.GAIN, radiance=levels / np.pi, gap_m=0.001)
            if not boxes:
                expected = radiosity.returned_irradiance(Room(4.0, 6.0, 2.7, walls), screen, place).irradiance.mean()
                yield Check(what, expected, ours, error, "radiosity with exact exchange areas, scipy, refined and extrapolated")
            theirs, their_error = mean_and_error(
                mitsuba_room.batch_irradiance(Room(4.0, 6.0, 2.7, walls, boxes), screen, place, spp=1369)[:, :, 1].mean(axis=1)
            )
            yield Check(
                what,
                theirs,
                ours,
                float(np.hypot(error, their_error)),
                "mitsuba 3, scalar_rgb, path integrator (its error included)",
            )
