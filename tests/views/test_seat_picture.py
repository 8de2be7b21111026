"""Seat pictures against path tracing, against `measure`, and which way round letters read."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from halfgain.scenes.geometry import screen_frame
from halfgain.scenes.model import Scene
from halfgain.simulate.light.geometry import SCREEN
from halfgain.simulate.light.projector import PEAK
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.measure import Measurement, measure
from halfgain.simulate.views.brute import brute_force
from halfgain.simulate.views.content import load_content
from halfgain.simulate.views.gather import CLOTH_HITS, GatherPoints, ray_table
from halfgain.simulate.views.primary_rays import look
from halfgain.simulate.views.render import PictureSetup, SeatPicture, seat_camera, seat_picture, set_the_stage, zone_levels
from halfgain.simulate.views.roomlight import RoomCells, room_cells

from tests.rooms import ANGULAR, box_object, room

SIZE = {"width": 320, "height": 180}
SOFA = box_object("sofa", [-1.0, 2.2, 0.0], [0.6, 3.0, 0.8], "{ reflectance = [0.5, 0.3, 0.2] }")
SEATS = '[[seat]]\nname = "a"\neye_m = [1.1, 4.6, 1.5]\n[[seat]]\nname = "b"\neye_m = [-0.9, 4.9, 1.2]'


@cache
def furnished() -> Scene:
    return room(objects=SOFA, seats=SEATS, left="{ reflectance = [0.7, 0.5, 0.3] }", border=0.06, gap=0.08, fabric=ANGULAR)


@cache
def cells() -> RoomCells:
    """What the room's light under both charts rests on."""
    return room_cells(flatten(furnished(), opaque=True), threads=2)


@cache
def stage_of(show: str) -> PictureSetup:
    return set_the_stage(furnished(), load_content(show, 16 / 9), threads=2, cells=cells())


@cache
def seen(seat: int, show: str = "white") -> tuple[PictureSetup, SeatPicture]:
    stage = stage_of(show)
    return stage, seat_picture(stage, seat_camera(stage.scene, seat, field_deg=85.0, **SIZE), threads=2)


def test_picture_of_a_furnished_room_agrees_with_path_tracing() -> None:
    """Mean difference at most 1 %, scatter at most 2 % with the reference's own, at 40 pixels; expected: `brute_force`."""
    stage, picture = seen(0)
    arrays, camera = stage.arrays, picture.camera
    rng = np.random.default_rng(2)
    row, column = rng.integers(4, 176, 200), rng.integers(4, 316, 200)
    rays = camera.rays(column, row)
    hit = look(arrays.geometry, arrays.projector, arrays.fabric, camera.eye, rays)
    patch = np.maximum(hit.patch, 0)
    inside = (hit.patch >= 0) & (arrays.geometry.surface[patch] != arrays.surfaces.index("border"))
    rho = arrays.reflectance[arrays.geometry.surface[patch]]
    rho[arrays.geometry.role[patch] == SCREEN] = np.array(arrays.fabric.tint)
    same = np.array([np.ptp(_patches(stage, picture, r, c)) == 0 for r, c in zip(row, column, strict=True)])
    use = np.flatnonzero(inside & same)[:40]
    points = GatherPoints(hit.place[use], hit.normal[use], hit.patch[use], -rays[use])
    light, error = brute_force(arrays, zone_levels(stage.scene, stage.content), points, paths=40_000, seed=3, threads=2)
    own = (hit.gain * hit.lux / np.pi)[use][:, None]
    cloth = (arrays.geometry.role[patch] == SCREEN)[use][:, None]
    expected = np.where(cloth, light, light * rho[use]) + own * rho[use]
    sigma = np.where(cloth, error, error * rho[use]) / expected
    ratio = picture.cd_m2[row[use], column[use]] / expected - 1.0
    assert len(use) == 40
    assert np.average(ratio, weights=1.0 / sigma**2) == pytest.approx(0.0, abs=0.01)
    assert np.median(np.abs(ratio)) < 0.01 + np.median(sigma)
    assert (np.abs(ratio) < 0.03 + 4.0 * sigma).all()


def _patches(stage: PictureSetup, picture: SeatPicture, row: int, column: int) -> np.ndarray:
    """Patches of a pixel and its eight neighbours: one on an edge is a mean of two surfaces."""
    i, j = (a.ravel() for a in np.mgrid[-1:2, -1:2])
    rays = picture.camera.rays(column + j, row + i)
    return look(stage.arrays.geometry, stage.arrays.projector, stage.arrays.fabric, picture.camera.eye, rays).patch


@cache
def measured() -> Measurement:
    return measure(furnished(), error=0.01, threads=2)


@pytest.mark.parametrize("seat", [0, 1])
def test_screen_reads_as_measure_says(seat: int) -> None:
    """Luminance at the nine points of the seat's measurement, within its errors and 0.5 % for the gather."""
    _, picture = seen(seat)
    measurement = measured()
    assert _at(picture, 0.0, 0.0) == pytest.approx(measurement.seats[seat].white["centre"].value, rel=0.006)
    assert picture.picture_mean == pytest.approx(measurement.seats[seat].white["mean"].value, rel=0.03)  # solid angle, not area


def _at(picture: SeatPicture, right: np.ndarray | float, up: np.ndarray | float) -> np.ndarray:
    """Luminance at places of the screen plane (n,) [m], bilinear between pixels."""
    column, row = _pixel(picture, right, up)
    j, i = column.astype(int), row.astype(int)
    s, t, y = column - j, row - i, picture.luminance
    return (1 - t) * ((1 - s) * y[i, j] + s * y[i, j + 1]) + t * ((1 - s) * y[i + 1, j] + s * y[i + 1, j + 1])


def _pixel(picture: SeatPicture, right: np.ndarray | float, up: np.ndarray | float) -> tuple[np.ndarray, np.ndarray]:
    frame, camera = screen_frame(furnished()), picture.camera
    plane = np.array([frame.right, frame.up])
    rays = np.array(frame.centre) + np.stack([right, up], axis=-1) @ plane - camera.eye
    ahead = rays @ camera.forward
    x, y = rays @ camera.right / ahead, rays @ camera.up / ahead
    scale = camera.width / 2 / camera.half_width
    return x * scale + camera.width / 2 - 0.5, camera.height / 2 - y * scale - 0.5


@pytest.mark.parametrize("seat", [0, 1])
def test_letters_read_the_right_way_round_from_every_seat(seat: int) -> None:
    """The chart, sampled through the seat's picture, is the chart and not its mirror image or upside down."""
    _, picture = seen(seat, "letters")
    chart = load_content("letters", 16 / 9).sampler()
    x, y = (a.ravel() for a in np.meshgrid((np.arange(192) + 0.5) / 192, (np.arange(108) + 0.5) / 108))
    width, height = furnished().screen.width_m, furnished().screen.height_m
    white = seen(seat)[1]
    at = (x - 0.5) * width, (0.5 - y) * height
    seen_there = _at(picture, *at) / _at(white, *at)
    want, got = (
        a.reshape(27, 4, 48, 4).mean(axis=(1, 3)).ravel()
        for a in (chart(x, y, np.full(x.size, 1 / 192), np.full(x.size, 1 / 108))[:, 0], seen_there)
    )
    mirrored = want.reshape(27, 48)
    others = (mirrored[:, ::-1], mirrored[::-1], mirrored[::-1, ::-1])
    right_way = np.corrcoef(got, want)[0, 1]
    assert right_way > 0.8
    assert all(np.corrcoef(got, other.ravel())[0, 1] < right_way - 0.1 for other in others)


@pytest.mark.usefixtures("coarse")
def test_surround_is_dark_in_a_black_room_and_ambient_light_adds_to_all() -> None:
    black = room(
        **dict.fromkeys(("front", "back", "left", "right", "ceiling", "floor"), 0.0),
        lights='[[light]]\nname = "lamps"\nscreen_lx = 10',
    )
    content = load_content("white", 16 / 9)
    camera = seat_camera(black, 0, **SIZE)
    dark = seat_picture(set_the_stage(black, content), camera)
    lit = seat_picture(set_the_stage(black, content, light=black.lights[0]), camera)
    assert dark.surround == (0.0, 0.0)
    # Expected: a perfect diffuser of gain g under even light E has L = g E / pi
    inner = (
        dark.screen
        & np.roll(dark.screen, 2, 0)
        & np.roll(dark.screen, -2, 0)
        & np.roll(dark.screen, 2, 1)
        & np.roll(dark.screen, -2, 1)
    )
    assert (lit.luminance - dark.luminance)[inner] == pytest.approx(0.9 * 10 / np.pi, rel=1e-3)
    assert dark.luminance[inner] == pytest.approx(0.9 * flatten(black).projector.light[PEAK] / np.pi, rel=1e-6)


@pytest.mark.usefixtures("coarse")
def test_same_bits_at_any_thread_count() -> None:
    content = load_content("grid", 16 / 9)
    scene = room(objects=SOFA, seats=SEATS)
    camera = seat_camera(scene, 0, width=80, height=45)
    one, two = (seat_picture(set_the_stage(scene, content, threads=n), camera, threads=n).cd_m2 for n in (1, 2))
    assert np.array_equal(one, two)


def test_gather_rays_follow_the_cosine_law() -> None:
    # Expected: density cos / pi has mean z 2/3, mean x^2 = y^2 1/4, mean z^2 1/2
    table = ray_table(1024, 7).reshape(1024, CLOTH_HITS, 3)
    assert np.linalg.norm(table, axis=2) == pytest.approx(1.0, abs=1e-12)
    for k in range(CLOTH_HITS):
        assert table[:, k, 2].mean() == pytest.approx(2 / 3, abs=2e-3)
        assert (table[:, k] ** 2).mean(axis=0) == pytest.approx([0.25, 0.25, 0.5], abs=3e-3)
        assert table[:, k, :2].mean(axis=0) == pytest.approx([0, 0], abs=3e-3)


def test_first_rays_sum_what_is_even_round_the_normal_all_but_exactly() -> None:
    # Expected: mean of z 2/3, of z^2 1/2, of z^4 1/3 under density cos / pi; tables that share rings lie on both sides of it
    one = ray_table(256, 3)[:, 2]
    many = np.concatenate([ray_table(256, 3 + k, start=(k + 0.5) / 16)[:, 2] for k in range(16)])
    for power, mean in ((1, 2 / 3), (2, 1 / 2), (4, 1 / 3)):
        assert (one**power).mean() == pytest.approx(mean, abs=3e-5)
        assert (many**power).mean() == pytest.approx(mean, abs=1e-6)
