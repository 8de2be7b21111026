"""The reference renderer's set-up, checked before it judges anything else. `scalar_rgb` only; seeds are fixed."""

import numpy as np
import pytest

from tests.needs import needs
from tests.statistics import mean_and_error

from . import radiosity
from .box_room import SURFACES, Room, Screen, Solid, checkerboard
from .kept import kept_batches

mitsuba_room, mitsuba_speed = needs("tests.outside.mitsuba_room"), needs("tests.outside.mitsuba_speed")
pytestmark = pytest.mark.reference
GREY = {"front": 0.5, "back": 0.5, "left": 0.5, "right": 0.5, "ceiling": 0.7, "floor": 0.2}


def kept(name: str, room: Room, screen: Screen, points: np.ndarray, **how: object) -> tuple[np.ndarray, np.ndarray]:
    """As `returned_irradiance`, from batches that are kept under a name."""
    return mean_and_error(kept_batches(name, mitsuba_room.batch_irradiance, room, screen, points, sampler="orthogonal", **how))


def assert_agree(mean: np.ndarray, error: np.ndarray, expected: np.ndarray) -> None:
    """Within 3 standard errors (16 batches: 99.1 % a point) and 0.5 %, where the error itself is below 0.2 %."""
    assert (error < 0.002 * expected).all()
    assert (np.abs(mean - expected) < 3 * error).all(), (mean - expected) / error
    assert mean == pytest.approx(expected, rel=0.005)


def test_furnace_reads_pi_everywhere() -> None:
    """All surfaces emit 1 - rho: radiance 1 in every direction (energy), with boxes, border, zones and colour.

    The screen hangs 2 mm off the wall: its black back, seen through that slit, takes about 1e-4 of the light.
    """
    walls = {
        "front": (0.2, 0.5, 0.8),
        "back": (0.7, 0.6, 0.5),
        "left": (0.9, 0.1, 0.4),
        "right": (0.3, 0.3, 0.3),
        "ceiling": (0.8, 0.8, 0.7),
        "floor": (0.1, 0.2, 0.3),
    }
    emitted = {name: tuple(1 - np.array(rho)) for name, rho in walls.items()}
    boxes = (
        Solid((-1.0, -3.0, 0.0), (1.0, -2.0, 0.8), (0.4, 0.2, 0.6), (0.6, 0.8, 0.4)),
        Solid((1.2, -1.0, 1.0), (1.5, -0.5, 2.0), 0.5, 0.5),
    )
    zones = np.full((4, 4), 0.3)
    zones[0, 0] += 1e-9  # makes it a map of zones, each its own emitter
    screen = Screen(2.0, 1.2, 0.8, 0.7, zones, border_m=0.05, border_reflectance=0.1, border_radiance=0.9)
    room = Room(4, 5, 2.5, walls, boxes, emitted)
    mean, error = kept("furnace", room, screen, screen.nine_points()[::4], spp=4489)
    assert (error < 0.003 * np.pi).all()
    assert (np.abs(mean - np.pi) < 4 * error + 1e-3).all(), mean / np.pi


@pytest.mark.parametrize(("radiance", "seed"), [(1.0, 1), (checkerboard(), 2)])
def test_empty_room_agrees_with_radiosity(radiance: float, seed: int) -> None:
    """Room 4 x 6 x 2.7 m; radiosity solved with scipy, halving its patches changes it by less than 0.2 %."""
    room = Room(4, 6, 2.7, GREY)
    screen = Screen(2.4, 1.35, 0.75, 0.9, radiance, right_m=0.3)
    points = screen.zone_centres()[[0, 6]] if seed == 1 else screen.zone_centres()[[5, 9]]  # a white and a black one
    expected = radiosity.returned_irradiance(room, screen, points).irradiance
    mean, error = kept(f"bare room, {seed}", room, screen, points, spp=2 * 4489, seed=seed)
    assert_agree(mean[:, 0], error[:, 0], expected)
    assert np.ptp(mean, axis=1).max() < 1e-5 * expected.max()


def test_box_that_fills_the_rear_of_a_room_is_a_nearer_back_wall() -> None:
    """Radiosity of a room 3 m deep against mitsuba's 6 m room whose rear half is one box; screen with a border."""
    screen = Screen(2.0, 1.2, 0.8, 0.8, border_m=0.1, border_reflectance=0.05)
    filled = Room(4, 6, 2.7, {**GREY, "back": 0.9}, boxes=(Solid((-2, -6, 0), (2, -3, 2.7), 0.5),))
    points = screen.nine_points()[[1, 3]]
    expected = radiosity.returned_irradiance(Room(4, 3, 2.7, GREY), screen, points).irradiance
    mean, error = kept("room with a filled rear", filled, screen, points, spp=2 * 4489)
    assert_agree(mean[:, 0], error[:, 0], expected)


def test_light_behind_the_screen_stays_there() -> None:
    """A dark screen as large as its wall, and a lamp wall behind it: nothing may come through."""
    room = Room(4, 5, 2.5, dict.fromkeys(SURFACES, 0.5), emitted_radiance={"front": 100.0})
    screen = Screen(4, 2.5, 0, 0.5, 0.0, gap_m=0.1)
    mean, _ = mitsuba_room.returned_irradiance(room, screen, screen.nine_points(), batches=2, spp=1024)
    assert mean.max() == 0
    small = Screen(3, 2, 0.2, 0.5, 0.0, gap_m=0.1)
    open_mean, _ = mitsuba_room.returned_irradiance(room, small, small.nine_points(), batches=2, spp=1024)
    assert open_mean.min() > 1


def test_room_shown_in_a_mirror_gives_mirrored_readings() -> None:
    """Left and right are those seen from the seats: a white left wall brightens the left of the screen."""
    black = dict.fromkeys(SURFACES, 0.0)
    screen = Screen(3.0, 1.2, 0.8, 0.8)
    left, right = (
        mitsuba_room.returned_irradiance(Room(4, 5, 2.5, {**black, side: 0.9}), screen, screen.nine_points(), spp=1024)
        for side in ("left", "right")
    )
    assert left[0][3, 0] > 3 * left[0][5, 0]
    mirrored = [5, 4, 3]
    error = np.hypot(left[1][[3, 4, 5], 0], right[1][mirrored, 0])
    assert (np.abs(left[0][[3, 4, 5], 0] - right[0][mirrored, 0]) < 4 * error).all()


def test_seeds_repeat_and_differ() -> None:
    room, screen = Room(4, 5, 2.5, GREY), Screen(2, 1.2, 0.8, 0.8)
    points = screen.nine_points()[:2]
    first, again, other = (mitsuba_room.batch_irradiance(room, screen, points, batches=2, spp=64, seed=s) for s in (1, 1, 2))
    assert np.array_equal(first, again)
    assert not np.isclose(first, other).any()
    assert not np.isclose(first[0], first[1]).any()


def test_sample_count_that_the_sampler_would_round_is_refused() -> None:
    screen = Screen(2, 1.2, 0.8, 0.8)
    with mitsuba_room.renderer("scalar_rgb"), pytest.raises(ValueError, match="spp=4096"):
        mitsuba_room.load(Room(4, 5, 2.5, GREY), screen, screen.nine_points(), spp=4096, sampler="orthogonal")


def test_time_to_error_uses_one_thread_and_errors_fall() -> None:
    room, screen = Room(4, 6, 2.7, GREY), Screen(2.4, 1.35, 0.75, 0.9)
    found = mitsuba_speed.time_to_error(room, screen, screen.nine_points()[::4], targets=(0.05, 0.02), repeats=8)
    errors = [trial.error for trial in found.trials]
    assert errors == sorted(errors, reverse=True)
    assert errors[-1] < 0.02
    assert 0 < found.seconds[0.05] < found.seconds[0.02]
    assert all(trial.cpu_seconds < 1.05 * trial.seconds + 1e-3 for trial in found.trials)
