"""What one lamp or window puts on a surface: closed forms, flux sums, independent integration."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from halfgain.scenes.lamps.generic import beam, even
from halfgain.scenes.lamps.lm63 import read_lm63
from halfgain.scenes.lamps.model import Lamp, Window
from halfgain.scenes.load import load_scene, scene_from_text
from halfgain.simulate.light.geometry import STACK
from halfgain.simulate.light.lamps import Lamps, intensity, lamp_lux, lamp_sample, rectangle_lux, rectangle_sample
from halfgain.simulate.light.patches import frozen
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.lamps import lamp_arrays

from .lit_scene import lit
from .photometric_files import lm63, odd

ROOM = load_scene("black-box").room
UP = (0.0, 0.0, 1.0)


def lamps(*made: Lamp | Window) -> Lamps:
    return lamp_arrays(
        [each for each in made if isinstance(each, Lamp)], [each for each in made if isinstance(each, Window)], ROOM
    )


def rectangle(corner: tuple, u: tuple, v: tuple, normal: tuple, luminance: float = 1.0) -> Lamps:
    """A lit rectangle anywhere, in the inside frame."""
    one = lamps(Window("w", "left", luminance, out_m=(0.0, 1.0), up_m=(0.0, 1.0)))
    frame = np.zeros((1, 3, 3))
    frame[0, 2] = normal
    placed = {"place": np.array([corner], float), "edge_u": np.array([u], float), "edge_v": np.array([v], float), "frame": frame}
    return one._replace(**{name: frozen(array) for name, array in placed.items()})


def mean_lux(found: Lamps, p: tuple, n: tuple, side: int = 64) -> float:
    """Illuminance [lx] by the mean of `lamp_sample` over even points of the lamp."""
    steps = (np.arange(side) + 0.5) / side
    return float(
        np.mean([lamp_sample(found, 0, p, n, a, b)[2] for a in steps for b in (steps if found.kind[0] == 2 else (0.5,))])
    )


@pytest.mark.parametrize("x", [0.0, 1.0, 2.0])
def test_a_point_lamp_over_a_plane(x: float) -> None:
    """1000 lm alike in all directions, 2 m up: 19.894, 14.235, 7.034 lx. Source: E = I cos^3 / h^2 (CIE 171:2006, case 5.2, recomputed)."""
    found = lamps(Lamp("l", (0.0, 3.0, 2.0), even(1000.0), ""))
    expected = 1000.0 / (4.0 * math.pi) * 2.0 / (4.0 + x * x) ** 1.5
    assert expected == pytest.approx({0.0: 19.8943678869, 1.0: 14.2352508683, 2.0: 7.0337212200}[x], rel=1e-10)
    assert lamp_sample(found, 0, (x, -3.0, 0.0), UP, 0.3, 0.7)[2] == pytest.approx(expected, rel=1e-12)


def test_a_lambertian_point_over_a_plane_falls_with_the_fourth_power_of_the_cosine() -> None:
    """Source: E = I0 cos^4 / h^2, I0 = flux / pi."""
    found = lamps(Lamp("l", (0.0, 3.0, 2.0), beam(1000.0, 120.0), ""))
    for x in (0.0, 0.7, 3.0):
        cos = 2.0 / math.hypot(2.0, x)
        assert lamp_sample(found, 0, (0.0, -3.0 - x, 0.0), UP, 0.3, 0.7)[2] == pytest.approx(
            1000.0 / math.pi / 4.0 * cos**4, rel=3e-4
        )


def test_a_lambertian_disc_over_a_plane() -> None:
    """Source: E = pi L a^2 / (a^2 + h^2) under the middle of a disc; the disc is laid out of 400 strips."""
    a, h, count, total = 0.8, 1.5, 400, 0.0
    edges = np.linspace(-a, a, count + 1)
    for low, high in itertools.pairwise(edges):
        half = math.sqrt(max(a * a - (0.5 * (low + high)) ** 2, 0.0))
        strip = rectangle((low, -half, h), (high - low, 0, 0), (0, 2 * half, 0), (0, 0, -1), luminance=100.0)
        total += rectangle_lux(strip, 0, (0.0, 0.0, 0.0), UP)
    assert total == pytest.approx(math.pi * 100.0 * a * a / (a * a + h * h), rel=3e-4)


def test_a_rectangular_window_seen_from_a_point() -> None:
    """Configuration factors 0.0578858116, 0.0725836537 and 0.1022961062. Source: point to rectangle (textbook, computed apart)."""
    faced = rectangle((0, 0, 3), (2, 0, 0), (0, 1.125, 0), (0, 0, -1), luminance=100.0)
    assert rectangle_lux(faced, 0, (0.0, 0.0, 0.0), UP) == pytest.approx(math.pi * 100.0 * 0.0578858116, rel=1e-9)
    assert rectangle_lux(faced, 0, (1.0, 0.5625, 0.0), UP) == pytest.approx(22.8028273385, rel=1e-9)
    upright = rectangle((1, 0, 0), (0, 2, 0), (0, 0, 1.5), (-1, 0, 0), luminance=100.0)
    assert rectangle_lux(upright, 0, (0.0, 0.0, 0.0), UP) == pytest.approx(math.pi * 100.0 * 0.1022961062, rel=1e-9)


@pytest.mark.parametrize("normal", [(0.0, 0.0, 1.0), (0.6, 0.0, 0.8), (-0.8, 0.36, 0.48), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0)])
def test_a_window_partly_below_the_horizon(normal: tuple) -> None:
    """Source: even points over the rectangle, 100 x 100, each with cos cos / r^2."""
    window = rectangle((1.0, -0.7, -0.5), (0, 2.0, 0), (0, 0, 1.2), (-1, 0, 0), luminance=50.0)
    p = (0.1, 0.2, 0.05)
    assert rectangle_lux(window, 0, p, normal) == pytest.approx(mean_lux(window, p, normal, side=100), rel=5e-4, abs=1e-12)


def test_nothing_comes_from_the_back_of_a_window() -> None:
    window = rectangle((1.0, -0.7, -0.5), (0, 2.0, 0), (0, 0, 1.2), (-1, 0, 0))
    assert rectangle_lux(window, 0, (1.5, 0.0, 0.0), (-1.0, 0.0, 0.0)) == 0.0
    assert lamp_sample(window, 0, (1.5, 0.0, 0.0), (-1.0, 0.0, 0.0), 0.5, 0.5)[2] == 0.0


@pytest.mark.parametrize("off", [0.03, 0.4, 2.0])
def test_a_line_of_light_over_a_plane(off: float) -> None:
    """Source: E = 2 (I / l) h / (d sqrt(d^2 + h^2)) under the middle of an even line of half length h at distance d (derived)."""
    found = lamps(Lamp("l", (-1.0, 3.0, off), even(900.0), "", end_m=(1.0, 3.0, off)))
    per_metre = 900.0 / (4.0 * math.pi) / 2.0
    expected = 2.0 * per_metre / (off * math.sqrt(off * off + 1.0))
    assert mean_lux(found, (0.0, -3.0, 0.0), UP, side=256) == pytest.approx(expected, rel=1e-4)


def test_intensities_are_interpolated_as_numpy_does() -> None:
    photometry, _ = read_lm63(lm63(odd, "none"))
    found = lamps(Lamp("l", (0.0, 3.0, 1.0), photometry, ""))
    for c, gamma in ((0.0, 0.0), (37.0, 12.0), (181.0, 90.0), (359.9, 177.0), (270.0, 44.9)):
        turn, rise = math.radians(c), math.radians(gamma)
        towards = (
            math.sin(rise) * math.cos(turn),
            math.sin(rise) * math.sin(turn),
            -math.cos(rise),
        )  # counter-clockwise from above
        across = [np.interp(gamma, photometry.gamma_deg, row) for row in photometry.candela]
        assert intensity(found, 0, towards) == pytest.approx(np.interp(c, photometry.c_deg, across), rel=1e-9)


def test_a_turned_lamp_is_the_lamp_turned() -> None:
    photometry, _ = read_lm63(lm63(odd, "none"))
    plain, turned = (lamps(Lamp("l", (0.0, 3.0, 1.0), photometry, "", turn_deg=turn)) for turn in (0.0, 30.0))
    for c in (0.0, 50.0, 200.0):
        one, other = (
            (math.sin(1.0) * math.cos(math.radians(a)), math.sin(1.0) * math.sin(math.radians(a)), -math.cos(1.0))
            for a in (c, c + 30.0)
        )
        assert intensity(turned, 0, other) == pytest.approx(intensity(plain, 0, one), rel=1e-9)


@pytest.mark.parametrize("aim", [(0.0, 0.0, -1.0), (1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.3, -0.5, 0.2), (0.0, 1.0, 0.0)])
def test_all_light_of_a_lamp_lands_on_the_walls_around_it(aim: tuple) -> None:
    """Source: first law; illuminance summed over the six walls of a closed room by Gauss's rule gives the lumens of the file."""
    photometry, _ = read_lm63(lm63(odd, "none"))
    found = lamps(Lamp("l", (0.3, 1.2, 1.1), photometry, "", aim=aim, turn_deg=25.0))
    arrays = flatten(replace(load_scene("black-box"), lights=()))
    geometry, stack, total = arrays.geometry, np.empty(STACK, np.int32), 0.0
    nodes, weights = np.polynomial.legendre.leggauss(20)
    steps = list(zip(0.5 + 0.5 * nodes, 0.5 * weights, strict=True))
    for patch in range(6):
        area = np.linalg.norm(np.cross(geometry.edge_u[patch], geometry.edge_v[patch]))
        n = tuple(geometry.normal[patch])
        for u, a in steps:
            for v, b in steps:
                p = tuple(geometry.corner[patch] + u * geometry.edge_u[patch] + v * geometry.edge_v[patch])
                total += lamp_sample(found, 0, p, n, 0.5, 0.5)[2] * area * a * b
    assert total == pytest.approx(photometry.flux_lm, rel=5e-4)
    assert lamp_lux(geometry, found, 0, (0.0, -1.0, 0.0), UP, 5, (0.5, 0.5), stack) >= 0.0


def test_light_of_a_window_that_something_hides_is_taken_off_without_bias() -> None:
    """Source: the same points without the closed form: those that pass, each by itself."""
    scene = scene_from_text(lit())
    arrays = flatten(replace(scene, lights=()))
    window = lamp_arrays([], [Window("w", "back", 300.0, right_m=(-1.5, 0.0), up_m=(0.3, 2.4))], scene.room)
    rng, stack = np.random.default_rng(7), np.empty(STACK, np.int32)
    p, n, wall = (1.5, 0.0, 0.7), (0.0, -1.0, 0.0), 0  # on the front wall; the sofa hides what is low in the window
    draws = rng.random((20000, 2))
    got = np.array([lamp_lux(arrays.geometry, window, 0, p, n, wall, (a, b), stack) for a, b in draws])
    plain = np.array([lamp_sample(window, 0, p, n, a, b)[2] for a, b in draws])
    whole = rectangle_lux(window, 0, p, n)
    hidden = got < whole - 1e-12
    assert 0.2 < hidden.mean() < 0.5  # what lies below about 0.98 m of the 0.3 to 2.4 m
    difference = got - np.where(hidden, 0.0, plain)
    assert difference.mean() == pytest.approx(0.0, abs=4.0 * difference.std() / math.sqrt(len(draws)))


@pytest.mark.parametrize("p", [(0.1, 0.2, 0.05), (0.98, 0.2, 0.3), (0.6, 1.9, -0.9), (-40.0, 3.0, 2.0)])
def test_points_of_a_window_are_even_in_solid_angle(p: tuple) -> None:
    """Source: solid angle = sum of cos / r^2 over even points of the area; points in either half are as many as its solid angle says."""
    window = rectangle((1.0, -0.7, -0.5), (0, 2.0, 0), (0, 0, 1.2), (-1, 0, 0))
    steps = (np.arange(300) + 0.5) / 300

    def solid(low: float, high: float) -> float:
        y, z = np.meshgrid(-0.7 + 2.0 * (low + (high - low) * steps), -0.5 + 1.2 * steps)
        d = np.stack([np.full_like(y, 1.0 - p[0]), y - p[1], z - p[2]])
        return float((abs(1.0 - p[0]) / (d**2).sum(axis=0) ** 1.5).mean() * 2.0 * (high - low) * 1.2)

    drawn = [rectangle_sample(window, 0, p, a, b) for a in steps[::3] for b in steps[::3]]
    assert drawn[0][1] == pytest.approx(solid(0.0, 1.0), rel=2e-3)
    places = np.array([point for point, _ in drawn])
    assert np.allclose(places[:, 0], 1.0)
    assert (
        (places[:, 1] >= -0.7 - 1e-9)
        & (places[:, 1] <= 1.3 + 1e-9)
        & (places[:, 2] >= -0.5 - 1e-9)
        & (places[:, 2] <= 0.7 + 1e-9)
    ).all()
    left = (places[:, 1] < -0.2).mean()
    assert left == pytest.approx(solid(0.0, 0.25) / solid(0.0, 1.0), abs=0.012)
