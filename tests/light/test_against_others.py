"""The tracer against two independent programs: refined radiosity, and a general-purpose reference renderer (mitsuba).

Quantity: returned irradiance on the 25 measuring points of a diffuse screen, for a white picture and a checkerboard.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from halfgain.simulate.measuring.solver import BOARD, WHITE, prepare, stacked, traced_sums

from tests.outside import mitsuba_room, radiosity
from tests.outside.box_room import Room, Screen, Solid, checkerboard
from tests.outside.kept import kept_batches
from tests.rooms import box_object, lowered, room

GAIN, WIDTH, HEIGHT = 0.9, 2.4, 1.35
EXITANCE = GAIN * 1000.0 / (WIDTH * HEIGHT)  # lm/m2 of the white screen; the others' unit is pi times its radiance
WALLS = {"front": 0.5, "back": 0.5, "left": 0.5, "right": 0.5, "ceiling": 0.7, "floor": 0.2}
DARK_LIGHT_BACK = {"front": 0.05, "back": 0.6, "left": 0.05, "right": 0.05, "ceiling": 0.05, "floor": 0.1}


@cache
def returned_irradiance(*, paths: int, objects: str = "", dark: bool = False) -> tuple[np.ndarray, np.ndarray]:
    """Ours: (picture, point) irradiance over the exitance of white, and its replications' standard errors of the mean."""
    arrays, points, _ = lowered(room(objects=objects, **(DARK_LIGHT_BACK if dark else WALLS)))
    fine = prepare(arrays, points, threads=2, cells=40)
    sums = traced_sums(fine, seed=21, low_path=0, paths=paths, threads=2)
    per_replication = sums[:, :, 0, :, :2, 0].sum(axis=2) / paths * np.pi / GAIN / EXITANCE  # replication, point, picture
    assert stacked(sums, paths).shape[0] == 18
    return np.moveaxis(per_replication, 2, 1), per_replication.std(axis=0, ddof=1).T / 4


def both_pictures(compute: object) -> np.ndarray:
    """Stack another program's answers for white and the checkerboard."""
    return np.stack([compute(Screen(WIDTH, HEIGHT, 0.7, GAIN, radiance=r / np.pi, gap_m=0.001)) for r in (1.0, checkerboard())])


def measuring_points() -> np.ndarray:
    screen = Screen(WIDTH, HEIGHT, 0.7, GAIN, gap_m=0.001)
    return np.concatenate([screen.zone_centres(), screen.nine_points()])


@pytest.mark.parametrize("dark", [False, True], ids=["light room", "dark room, light back wall"])
def test_empty_room_agrees_with_refined_radiosity(dark: bool) -> None:
    # Expected: tests/outside/radiosity.py, exact exchange areas, halved until it moves less than 0.2 %, extrapolated
    found, error = returned_irradiance(paths=1024, dark=dark)
    walls = DARK_LIGHT_BACK if dark else WALLS
    place = measuring_points()
    answers = both_pictures(lambda screen: radiosity.returned_irradiance(Room(4.0, 6.0, 2.7, walls), screen, place).irradiance)
    ratio = found.mean(axis=0) / answers
    # each point within 4 standard errors and 0.5 %; the mean over points, known far better, within 0.25 %
    assert np.all(np.abs(ratio - 1) <= 4 * error / answers + 0.005)
    for picture in (WHITE, BOARD):
        mean = found[:, picture].mean(axis=1) / answers[picture].mean()
        assert abs(mean.mean() - 1) <= 3 * mean.std(ddof=1) / 4 + 0.0025


def object_tables(boxes: tuple[Solid, ...]) -> str:
    """The boxes as a scene file's tables; their y runs into the wall, a scene's into the room."""
    return "".join(
        box_object(f"box {i}", [b.low_m[0], -b.high_m[1], b.low_m[2]], [b.high_m[0], -b.low_m[1], b.high_m[2]], b.reflectance)
        for i, b in enumerate(boxes)
    )


CRATE = Solid((-1.0, -4.1, 0.0), (1.0, -3.2, 0.85), 0.3)
PILLAR = Solid((1.2, -1.6, 0.0), (1.5, -1.2, 2.2), 0.6)


@pytest.mark.long
@pytest.mark.reference
@pytest.mark.parametrize("boxes", [(), (CRATE, PILLAR)], ids=["empty", "furnished"])
def test_room_agrees_with_the_reference_renderer(boxes: tuple[Solid, ...]) -> None:
    # Expected: mitsuba, scalar_rgb, path integrator, independent sampler, 16 independent seeds
    found, error = returned_irradiance(paths=1024, objects=object_tables(boxes))
    place = measuring_points()
    renderer = Room(4.0, 6.0, 2.7, WALLS, boxes)
    batches = np.stack(
        [
            kept_batches(
                f"{'furnished' if boxes else 'empty'} room, {picture}",
                mitsuba_room.batch_irradiance,
                renderer,
                Screen(WIDTH, HEIGHT, 0.7, GAIN, radiance=radiance / np.pi, gap_m=0.001),
                place,
                spp=1369,
            )[:, :, 1]
            for picture, radiance in (("white", 1.0), ("checkerboard", checkerboard()))
        ]
    )
    other, other_error = batches.mean(axis=1), batches.std(axis=1, ddof=1) / 4
    assert np.all(np.abs(found.mean(axis=0) - other) <= 4.5 * np.hypot(error, other_error) + 0.005 * other)
    for picture in (WHITE, BOARD):
        ours, theirs = found[:, picture].mean(axis=1), batches[picture].mean(axis=1)
        spread = np.hypot(ours.std(ddof=1), theirs.std(ddof=1)) / 4
        assert abs(ours.mean() - theirs.mean()) <= 3 * spread + 0.005 * theirs.mean()
        assert spread < 0.005 * theirs.mean()
