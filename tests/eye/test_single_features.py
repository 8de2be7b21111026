"""Bars, steps, lines and spots against direct quadrature of the matched filter, over places, directions and seats."""

import math

import numpy as np
import pytest
from halfgain.simulate.eye.pattern import filled, without_smooth
from halfgain.simulate.eye.sight import SINGLE, WAVES, Grid, Sight
from halfgain.simulate.eye.single import answers, single_feature
from halfgain.simulate.eye.threshold import worst_place
from halfgain.simulate.eye.waves import Search

from tests.needs import needs
from tests.outside import matched_filter

WIDTH, HEIGHT, AWAY = 2.4, 1.35, 3.5
X = WIDTH * ((np.arange(640) + 0.5) / 640 - 0.5)
Y = HEIGHT * (0.5 - (np.arange(360) + 0.5) / 360)
GX, GY = np.meshgrid(X, Y)
DEG = math.degrees(1 / AWAY)
FIELD = (WIDTH * DEG, HEIGHT * DEG)
LIGHT = 100.0
SIGHT = Sight(LIGHT, np.full(GX.shape, DEG), np.full(GX.shape, DEG))


def ratio_of(pattern, sight=SIGHT):
    return single_feature(answers(pattern.astype(np.float32), None, sight, Grid(X, Y))).ratio


def bell(t, sigma):
    return 0.01 * np.exp(-(t**2) / (2 * sigma**2))


def seat(right, away, up):
    """Sight of an eye at (right, up) of the screen's middle, `away` before it, by plane trigonometry."""
    x, y = GX - right, GY - up
    square = x**2 + y**2 + away**2
    return Sight(LIGHT, *(np.degrees(np.sqrt(square - t**2) / square) for t in (x, y)))


def test_the_formula_typed_in_again_is_that_of_the_colour_library():
    colour = needs("colour")
    got = matched_filter.sensitivity(np.array([0.3, 3.0]), 100.0, (30.0, 30.0))
    d = colour.contrast.pupil_diameter_Barten1999(100.0, 30.0, 30.0)
    for u, s in zip((0.3, 3.0), got, strict=True):
        expected = colour.contrast.contrast_sensitivity_function_Barten1999(
            u=u,
            sigma=colour.contrast.sigma_Barten1999(0.5 / 60, 0.08 / 60, d),
            E=colour.contrast.retinal_illuminance_Barten1999(100.0, d, True),
            X_0=30.0,
            Y_0=30.0,
        )
        assert s == pytest.approx(float(np.squeeze(expected)), rel=1e-9)


def test_a_step_and_a_bar_of_one_percent():
    """Quadrature on one axis, 100 cd/m2 from 3.5 m: 1.03 and 1.48 times the threshold."""
    half = 0.025 * DEG
    expected = matched_filter.straight_feature(lambda t: 0.01 * (np.abs(t) < half), FIELD[1], LIGHT, FIELD)
    assert expected == pytest.approx(1.48, abs=0.01)
    columns = np.clip((0.525 - X) / (X[1] - X[0]) + 0.5, 0, 1) - np.clip((0.475 - X) / (X[1] - X[0]) + 0.5, 0, 1)
    bar = worst_place(1 + 0.01 * (columns + 0 * GX), SIGHT, X, Y)
    assert bar.ratio == pytest.approx(expected, rel=0.1)  # its two edges are nearly a degree apart: fine waves reach no further
    step = worst_place(1 + 0.01 * (GX > 0), SIGHT, X, Y)
    assert step.ratio == pytest.approx(1.03, rel=0.05)
    assert bar.channel == step.channel == SINGLE
    assert abs(bar.place_m[0] - 0.5) < 0.03
    assert abs(step.place_m[0]) < 0.05


@pytest.mark.parametrize("sigma", [0.012, 0.03, 0.08])
@pytest.mark.parametrize("angle", [0.0, 30.0, 60.0, 90.0])
def test_a_soft_line_in_any_direction(sigma, angle):
    """Through the picture's middle from edge to edge, against quadrature along it."""
    t = math.radians(angle)  # of the normal from the horizontal
    way = (-math.sin(t), math.cos(t))
    length = min(FIELD[0] / max(abs(way[0]), 1e-9), FIELD[1] / max(abs(way[1]), 1e-9))
    expected = matched_filter.straight_feature(lambda s: bell(s, sigma * DEG), length, LIGHT, FIELD, way)
    assert ratio_of(bell(GX * math.cos(t) + GY * math.sin(t), sigma)) == pytest.approx(expected, rel=0.1)


@pytest.mark.parametrize("x", [0.0, 0.5, 1.0, 1.1])
def test_a_soft_line_anywhere(x):
    expected = matched_filter.straight_feature(lambda s: bell(s, 0.02 * DEG), FIELD[1], LIGHT, FIELD)
    assert ratio_of(bell(GX - x, 0.02)) == pytest.approx(expected, rel=0.1)


@pytest.mark.parametrize(("x", "y"), [(0.0, 0.0), (0.7, -0.4), (1.19, 0.1), (0.3, 0.66), (1.19, -0.66), (-1.18, 0.66)])
def test_a_spot_in_the_middle_at_an_edge_and_in_a_corner(x, y):
    """Beyond the edges the pattern goes on by reflection; what lies there is not counted: a half at an edge, a quarter in a corner."""
    size, pitch = 400, 0.02
    a = ((np.arange(size) + 0.5) - size / 2) * pitch
    own = [
        np.exp(-((a - (p - e) * DEG) ** 2) / (2 * (0.03 * DEG) ** 2)) for p, e in ((x, 1.2 * np.sign(x)), (y, 0.675 * np.sign(y)))
    ]
    share, images = 1.0, []
    for line, p, e in zip(own, (x, y), (1.2, 0.675), strict=True):
        if e - abs(p) < 0.1:
            inside = line * (a < 0) if p > 0 else line * (a > 0)
            images.append(inside + inside[::-1])
            share /= 2
        else:
            images.append(np.exp(-(a**2) / (2 * (0.03 * DEG) ** 2)))
    expected = matched_filter.spot(0.01 * np.outer(images[1], images[0]), pitch, LIGHT, FIELD) * math.sqrt(share)
    pattern = 0.01 * np.exp(-((GX - x) ** 2 + (GY - y) ** 2) / (2 * 0.03**2))
    assert ratio_of(pattern) == pytest.approx(expected, rel=0.1)


@pytest.mark.parametrize(("right", "away", "up"), [(0.0, 3.5, 0.0), (-1.6, 2.6, -0.2), (1.0, 1.9, -0.3), (0.0, 6.0, 0.2)])
@pytest.mark.parametrize("x", [-1.0, 0.0, 0.9])
def test_lines_from_any_seat(right, away, up, x):
    """An upright line is as wide and as high as it looks from the seat."""
    sight = seat(right, away, up)
    column = int(np.argmin(np.abs(X - x)))
    row = int(np.argmin(np.abs(Y - up)))
    high = float(sight.deg_up[:, column].sum() * HEIGHT / 360)
    field = Grid(X, Y).whole_deg(sight)
    expected = matched_filter.straight_feature(lambda t: bell(t, 0.02 * sight.deg_right[row, column]), high, LIGHT, field)
    assert ratio_of(bell(GX - x, 0.02), sight) == pytest.approx(expected, rel=0.1)


@pytest.mark.parametrize("y", [-0.6, 0.0, 0.6])
def test_level_lines_from_a_side_seat(y):
    """Along a level line the height of a metre changes with the place: quadrature piece by piece, about the best place."""
    sight = seat(-1.6, 2.6, -0.2)
    row = int(np.argmin(np.abs(Y - y)))
    field = Grid(X, Y).whole_deg(sight)
    pieces = np.array_split(np.arange(640), 16)
    u = np.linspace(1e-3, 12, 800)
    middles = np.array([float(np.cumsum(sight.deg_right[row] * WIDTH / 640)[int(p.mean())]) for p in pieces])
    counts = []
    for p in pieces:
        wide, sigma = float(sight.deg_right[row, p].sum() * WIDTH / 640), 0.02 * float(sight.deg_up[row, p].mean())
        power = (0.01 * sigma * math.sqrt(2 * math.pi)) ** 2 * np.exp(-4 * np.pi**2 * sigma**2 * u**2)
        counts.append(2 * power * matched_filter.per_square_degree(u, LIGHT, field) * wide)
    reach = 1 / np.sqrt(1 / 144 + u**2 / 225)
    best = max(
        np.trapezoid(sum(c * (1 + (2 * (m - place) / reach) ** 2) ** -1.5 for c, m in zip(counts, middles, strict=True)), u)
        for place in middles
    )
    assert ratio_of(bell(GY - y, 0.02), sight) == pytest.approx(math.sqrt(best), rel=0.1)


@pytest.mark.parametrize("wavelength", [0.4, 0.21, 0.1, 0.06])
@pytest.mark.parametrize("angle", [0.0, 35.0, 90.0])
def test_both_channels_agree_for_an_even_grating(wavelength, angle):
    """m S by Barten's formula over the whole picture, whatever the direction."""
    t = math.radians(angle)
    pattern = 0.01 * np.cos(2 * np.pi * (GX * math.cos(t) + GY * math.sin(t)) / wavelength + 0.4)
    expected = 0.01 * float(matched_filter.sensitivity(1 / (wavelength * DEG), LIGHT, FIELD))
    assert ratio_of(pattern) == pytest.approx(expected, rel=0.03)
    seen = worst_place(1 + pattern, SIGHT, X, Y)
    assert seen.ratio == pytest.approx(expected, rel=0.08)  # windows of few periods cut field and wave a little
    assert seen.channel == WAVES


def test_a_feature_that_moves_outwards_is_not_lost():
    """The same fall at the edge's last centimetres counts as much as anywhere: only the half beyond the edge is not there."""
    found = [ratio_of(bell(GX - x, 0.02)) for x in (0.3, 0.6, 0.9, 1.05, 1.1, 1.14)]
    assert max(found) / min(found) < 1.05


def test_twice_the_pattern_is_twice_as_visible():
    for pattern in (bell(GX - 1.18, 0.02), 0.002 * np.sin(2 * np.pi * GX / 0.2) * (1 + GX)):
        once, twice = (worst_place(1 + k * pattern, SIGHT, X, Y).ratio for k in (1, 2))
        assert twice == pytest.approx(2 * once, rel=0.02)


def test_the_edge_of_a_hole_is_no_step():
    """Light that misses the cloth leaves places without a number; the pattern beside them goes on by reflection."""
    pattern = 1 + 0.01 * np.cos(2 * np.pi * GX / 0.8)
    whole = worst_place(pattern, SIGHT, X, Y).ratio
    holed = np.where(np.abs(GX - 0.8) < 0.1, np.nan, pattern)
    assert worst_place(holed, SIGHT, X, Y).ratio < 1.02 * whole
    good = np.isfinite(holed)
    assert np.abs(filled(without_smooth(holed), good)).max() < 0.012


def test_waves_beside_a_stronger_crease_are_still_found():
    """A search that looks at few windows must not lose the waves for a line that crosses all sizes of them."""
    bell_ = np.exp(-((GX + 0.7) ** 2 + (GY - 0.3) ** 2) / (2 * 0.15**2))
    waves = 0.01 * bell_ * np.cos(2 * np.pi * GX / 0.06)
    alone = worst_place(1 + waves, SIGHT, X, Y)
    line = bell(GX - 0.9, 0.02)
    line *= 0.8 * alone.ratio / ratio_of(line)
    both = worst_place(1 + waves + line, SIGHT, X, Y)
    assert both.ratio == pytest.approx(alone.ratio, rel=0.03)
    assert both.place_m[0] < 0.0


@pytest.mark.parametrize("name", ["even", "growing", "patch", "mix"])
def test_the_search_finds_what_looking_at_every_window_finds(name):
    rng = np.random.default_rng(3)
    bell_ = np.exp(-((GX - 0.6) ** 2 + (GY - 0.3) ** 2) / (2 * 0.15**2))
    pattern = {
        "even": 0.01 * np.cos(2 * np.pi * GX / 0.3),
        "growing": 0.01 * GX / 1.2 * np.cos(2 * np.pi * GX / 0.2),
        "patch": 0.01 * bell_ * np.cos(2 * np.pi * GX / 0.06),
        "mix": sum(
            0.002 * np.cos(2 * np.pi * (GX * math.cos(t) + GY * math.sin(t)) / wave)
            for t, wave in zip(rng.uniform(0, 3, 20), rng.uniform(0.05, 0.5, 20), strict=True)
        ),
    }[name]
    grid, rest = Grid(X, Y), without_smooth(1 + pattern).astype(np.float32)
    found = answers(rest, None, SIGHT, grid)
    search = Search(rest, SIGHT, grid, found)
    every = max(search.worst_of(k, np.arange(len(each.row))).ratio for k, each in enumerate(search.levels))
    expected = max(every, single_feature(found).ratio)
    assert worst_place(1 + pattern, SIGHT, X, Y).ratio == pytest.approx(expected, rel=0.03)
