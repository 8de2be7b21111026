"""The eye's own veil over a checkerboard. Truth: a ring in closed form, a quadrature written apart, and the equation's own figures."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from halfgain.scenes.load import load_scene
from halfgain.simulate.eye.glare import EyeVeil, board_veil, glare, veils
from halfgain.simulate.measuring.estimate import Estimate
from halfgain.simulate.measuring.targets import TARGETS, Verdict, target_named
from scipy.integrate import dblquad


def board(width_deg: float, away_m: float = 3.0) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Corner, sides and eye of a 16:9 picture that is `width_deg` wide from straight ahead."""
    width = 2.0 * away_m * math.tan(math.radians(width_deg / 2))
    height = width * 9 / 16
    return (
        np.array([-width / 2, 0.0, -height / 2]),
        np.array([width, 0.0, 0.0]),
        np.array([0.0, 0.0, height]),
        np.array([0.0, -away_m, 0.0]),
    )


@pytest.mark.parametrize(
    ("angle", "age", "expected"),
    [(1.0, 0.0, 15.05125), (10.0, 62.5, 0.12125), (30.0, 0.0, 10 / 27e3 + 5 / 900 + 0.05 / 30 + 0.00125)],
)
def test_the_equation_by_hand(angle: float, age: float, expected: float) -> None:
    # 10 / a^3 + (5 / a^2 + 0.05 / a) (1 + (age / 62.5)^4) + 0.00125 for a brown iris: at 62.5 years the bracket counts twice
    assert float(glare(np.array(angle), age=age)) == pytest.approx(expected, rel=1e-8)


def test_between_1_and_30_degrees_a_young_eye_is_near_the_older_law() -> None:
    # Source: the Stiles-Holladay law, 10 / a^2 (any textbook): within a factor of about two between 3 and 30 degrees
    for angle in (3.0, 10.0, 30.0):
        assert 0.4 < float(glare(np.array(angle))) * angle**2 / 10.0 < 2.0


def test_nothing_is_said_outside_the_range_of_the_equation() -> None:
    assert glare(np.array([0.0, 0.05, 0.0999, 100.1, 179.0])).tolist() == [0.0] * 5


@pytest.mark.parametrize("age", [30.0, 70.0])
def test_a_ring_of_even_luminance_in_closed_form(age: float) -> None:
    # Derived: 2 pi (pi/180)^2 times the integral of the equation times a da, small angles; from 1 to 4 degrees cos and sin change 0.2 %
    first, last = 1.0, 4.0
    old = 1.0 + (age / 62.5) ** 4
    inside = (
        10 * (1 / first - 1 / last)
        + old * (5 * math.log(last / first) + 0.05 * (last - first))
        + 0.00125 * (last**2 - first**2) / 2
    )
    expected = 2 * math.pi * math.radians(1.0) ** 2 * inside
    count = 400
    radii = np.radians(first + (np.arange(count) + 0.5) * (last - first) / count)
    rings = [
        (math.tan(a + d) ** 2 - math.tan(a - d) ** 2) for a, d in ((r, math.radians((last - first) / count / 2)) for r in radii)
    ]
    turns = np.arange(8) * math.pi / 4
    places = np.array([[math.tan(a) * math.cos(t), 0.0, math.tan(a) * math.sin(t)] for a in radii for t in turns])
    areas = np.repeat(math.pi * np.array(rings) / 8, 8)
    got = veils(places, areas, np.array([0.0, 1.0, 0.0]), np.array([0.0, -1.0, 0.0]), np.zeros((1, 3)), age=age).sum()
    assert got == pytest.approx(expected, rel=4e-3)


@pytest.mark.parametrize("width_deg", [15.0, 35.0, 60.0])
def test_a_checkerboard_against_a_quadrature_of_its_own(width_deg: float) -> None:
    """Adaptive quadrature over each patch, angles from the scalar product, for one seat off the axis."""
    corner, right, up, eye = board(width_deg)
    eye = eye + np.array([0.8, 0.0, 0.3])
    sums = [0.0, 0.0]
    for i, j in ((0, 0), (1, 2)):  # two places stand for the sixteen here; the sums below take the same two
        look = corner + (i + 0.5) / 4 * right + (j + 0.5) / 4 * up - eye
        look /= np.linalg.norm(look)

        def integrand(y: float, x: float, look: np.ndarray = look) -> float:
            way = corner + x * right + y * up - eye
            far = float(np.linalg.norm(way))
            cosine = float(way @ look) / far
            a = math.degrees(math.acos(min(1.0, cosine)))
            law = 10 / a**3 + (5 / a**2 + 0.05 / a) * (1 + (30 / 62.5) ** 4) + 0.00125
            return law * cosine * -eye[1] / far**3

        area = float(np.linalg.norm(np.cross(right, up)))
        for k in range(4):
            for m in range(4):
                if (k, m) != (i, j):
                    part = dblquad(integrand, k / 4, (k + 1) / 4, m / 4, (m + 1) / 4, epsabs=1e-9, epsrel=1e-5)[0] * area
                    sums[(i + j + k + m) % 2] += part
    got = _of_two(corner, right, up, eye, ((0, 0), (1, 2)))
    assert got == pytest.approx(sums, rel=3e-4)


def _of_two(
    corner: np.ndarray, right: np.ndarray, up: np.ndarray, eye: np.ndarray, chosen: tuple[tuple[int, int], ...]
) -> list[float]:
    """Same and other colour at some patches, by the project's `veils` on a fine even grid of points."""
    n = 64
    shares = (np.arange(4 * n) + 0.5) / (4 * n)
    x, y = (part.ravel() for part in np.meshgrid(shares, shares))
    places = corner + x[:, None] * right + y[:, None] * up
    whole = np.cross(right, up)
    areas = np.full(len(places), np.linalg.norm(whole) / len(places))
    sums = [0.0, 0.0]
    for i, j in chosen:
        look = corner + (i + 0.5) / 4 * right + (j + 0.5) / 4 * up
        found = veils(places, areas, whole / np.linalg.norm(whole), eye, look[None])[0]
        own = ((4 * x).astype(int) == i) & ((4 * y).astype(int) == j)
        same = ((4 * x).astype(int) + (4 * y).astype(int) + i + j) % 2 == 0
        sums[0] += float(found[same & ~own].sum())
        sums[1] += float(found[~same].sum())
    return sums


@pytest.mark.parametrize("width_deg", [15.0, 35.0, 60.0])
def test_the_nodes_are_enough_and_the_board_is_the_mean_of_its_patches(width_deg: float) -> None:
    corner, right, up, eye = board(width_deg)
    got, fine = board_veil(corner, right, up, eye), board_veil(corner, right, up, eye, nodes=24)
    assert got == pytest.approx(fine, rel=1e-4)
    same, other = _of_two(corner, right, up, eye, tuple((i, j) for i in range(4) for j in range(4)))
    assert (other / 16, same / 16) == pytest.approx(tuple(got), rel=1e-3)


def test_the_veil_sets_the_contrast_in_the_eye() -> None:
    veil = board_veil(*board(35.0))
    assert veil.left(1e9) == pytest.approx((1.0 + veil.same) / veil.opposite, rel=1e-6)  # no projector gets beyond this
    assert veil.left(1.0) == pytest.approx(1.0)
    assert EyeVeil(0.0, 0.0).left(150.0) == pytest.approx(150.0)
    for contrast in (7.0, 100.0, 1500.0):
        step = 1e-4 * contrast
        assert veil.slope(contrast) == pytest.approx(
            (veil.left(contrast + step) - veil.left(contrast - step)) / (2 * step), rel=1e-5
        )
    old = board_veil(*board(35.0), age=70.0)
    assert old.left(100.0) < veil.left(100.0)


def test_a_verdict_says_what_is_left_in_the_eye() -> None:
    target, veil = target_named("intra-frame contrast"), EyeVeil(0.01, 0.004)
    said = Verdict(target, "dark", Estimate(50.0, 2.0, 0.5), "missed", 50.0, eye=veil)
    assert said.asked_in_the_eye == veil.left(100.0)
    got = said.got_in_the_eye
    assert got is not None
    assert tuple(got) == pytest.approx((veil.left(50.0), 2.0 * veil.slope(50.0), 0.5 * veil.slope(50.0)))
    assert dataclasses.replace(said, eye=None).got_in_the_eye is None
    assert dataclasses.replace(said, got=Estimate(math.nan)).got_in_the_eye is None


def test_every_contrast_of_a_seat_stands_beside_that_in_its_eye() -> None:
    from halfgain.simulate.measuring.measure import measure
    from halfgain.simulate.output.measure.document import document

    found = document(measure(load_scene("long-lounge"), error=0.2))
    boards = {target.name for target in TARGETS if target.reading == "checkerboard"}
    for seat in found["seats"]:
        for verdict in seat["verdicts"]:
            eye = verdict["in_the_eye"]
            assert (eye is not None) == (verdict["target"] in boards)
            if eye is not None:
                assert 1.0 < eye["got"]["value"] < verdict["got"]["value"]
                assert eye["age_years"] == 30.0
                assert eye["got"]["standard_error"] < verdict["got"]["standard_error"]
