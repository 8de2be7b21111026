"""Saw-tooth grooves against closed forms, worked examples, a white furnace and a walk inside the groove."""

from __future__ import annotations

import math

import numpy as np
import pytest
from halfgain.materials.library import find_fabric
from halfgain.materials.lobes.brdf import fabric_gains, fabric_value
from halfgain.materials.lobes.groove_table import Groove, groove_table
from halfgain.materials.lobes.profile import Profile
from halfgain.materials.lobes.shapes import GrooveLobe
from halfgain.materials.solving.special import louvred_gain, rejection
from lobe_cases import as_fabric, brute_albedo

EXAMPLE = Groove(30, 60, 0.05, 0.80)


def tangent(angle_deg: float) -> float:
    return math.tan(math.radians(angle_deg))


def even(strips):
    """Edges of strips of equal width."""
    return np.linspace(0.0, 1.0, strips + 1)


def arrays_of(groove):
    return as_fabric(Profile(0.0, (GrooveLobe(1.0, groove),)), scale=1.0).arrays()


def test_one_strip_a_facet_at_45_degrees():
    """Source: closed form: F = 1 - sin 45; rho cos 45 / (1 - rho F) = sqrt(2) - 1 for rho = 1/2; single 0.35355."""
    groove = Groove(45, 45, 0.5, 0.5)
    lengths, exchange = groove.strings(even(1))
    assert exchange[0, 1] / lengths[0] == pytest.approx(1.0 - math.sin(math.pi / 4), abs=1e-12)
    assert groove.single(0.0, 0.0) == pytest.approx(0.3535533906, abs=1e-10)
    assert groove.gain(0.0, 0.0, even(1))[0] == pytest.approx(math.sqrt(2.0) - 1.0, abs=1e-12)


@pytest.mark.parametrize(("rho", "converged"), [(0.5, 0.415675), (0.8, 0.74688)])
def test_converged_groove_at_45_degrees(rho, converged):
    """Source: a random walk inside the groove, made apart from this project; the walk below finds the first of them again."""
    groove = Groove(45, 45, rho, rho)
    assert groove.gain(0.0, 0.0)[0] == pytest.approx(converged, abs=1e-5)
    up = (0.0, 0.0, 1.0)
    assert math.pi * fabric_value(arrays_of(groove), up, up) == pytest.approx(converged, abs=3e-5)


# Source: worked apart from this project in double precision: crossed strings between N even strips a facet, the radiosity of the strips
# solved as linear equations (Hottel and Sarofim 1967, from memory), single bounces from the lit and seen lengths in closed form.
# Light angle above the normal [deg], view angle, single, N = 1, 4, 16, 64 strips a facet; None where nothing was worked.
EXAMPLE_GAINS = [
    (-65, 0, 0.400000, 0.413960, 0.413584, 0.413453, 0.413443),
    (45, 0, 0.043301, 0.047675, 0.046978, 0.046840, 0.046831),
    (65, 0, 0.043301, None, None, 0.045838, None),
    (0, 0, 0.132476, None, None, 0.139368, None),
    (-65, 10, None, None, None, 0.292084, None),
    (-65, -10, None, None, None, 0.534823, None),
]


@pytest.mark.parametrize(("light", "view", "single", "one", "four", "sixteen", "many"), EXAMPLE_GAINS)
def test_worked_example(light, view, single, one, four, sixteen, many):
    ti, to = tangent(light), tangent(view)
    if single is not None:
        assert EXAMPLE.single(ti, to) == pytest.approx(single, abs=6e-7)
    for strips, expected in ((1, one), (4, four), (16, sixteen), (64, many)):
        if expected is not None:
            assert EXAMPLE.gain(ti, to, even(strips))[0] == pytest.approx(expected, abs=6e-7)
    wi = (0.0, math.sin(math.radians(light)), math.cos(math.radians(light)))
    wo = (0.0, math.sin(math.radians(view)), math.cos(math.radians(view)))
    # the table differs from 16 strips by what strips still change
    assert math.pi * fabric_value(arrays_of(EXAMPLE), wi, wo) == pytest.approx(sixteen, abs=4e-5)


def test_rejection_of_the_worked_example():
    """Source: the table above, 65 degrees below against 45 above: 0.413453 / 0.046840 = 8.83."""
    fabric = find_fabric("louvred short-throw")
    assert rejection(fabric) == pytest.approx(8.83, abs=0.005)
    assert louvred_gain(fabric, incidence_deg=45, light_from="above") == pytest.approx(0.046831, abs=5e-5)
    assert fabric.groove.rho_b == pytest.approx(0.80, abs=2e-4)
    assert "8.83 to 1" in " ".join(fabric.notes)


@pytest.mark.parametrize("tilts", [(30, 60), (45, 45), (15, 80), (70, 70)])
@pytest.mark.parametrize("light", [(0, 0), (40, 0), (65, 0), (65, 180), (65, 90)])
def test_white_furnace(tilts, light):
    """Source: a groove that absorbs nothing gives back all light; sum over the half-space that knows nothing of grooves."""
    arrays = arrays_of(Groove(*tilts, 1.0, 1.0))
    t, p = math.radians(light[0]), math.radians(light[1])
    wi = (-math.sin(t) * math.sin(p), math.sin(t) * math.cos(p), math.cos(t))
    assert brute_albedo(arrays, wi, 500) == pytest.approx(1.0, abs=2e-4)


@pytest.mark.parametrize("groove", [EXAMPLE, Groove(20, 75, 0.9, 0.9, 25.0), Groove(80, 10, 0.6, 0.95)])
def test_table_agrees_with_many_strips_and_is_reciprocal(groove):
    """Source: the same groove in 200 even strips a facet, no table. Bound of the whole error: 2.5e-4 in gain."""
    rng = np.random.default_rng(5)
    z = rng.uniform(0.08, 1.0, (2, 3000))
    turn = rng.uniform(0.0, 2.0 * math.pi, (2, 3000))
    side = np.sqrt(1.0 - z * z)
    wi, wo = (np.stack([side[i] * np.cos(turn[i]), side[i] * np.sin(turn[i]), z[i]], axis=1) for i in (0, 1))
    right, up = groove.across
    ti, to = ((w[:, 0] * right + w[:, 1] * up) / w[:, 2] for w in (wi, wo))
    exact = groove.gain(ti, to, even(200))
    arrays = arrays_of(groove)
    assert np.max(np.abs(fabric_gains(arrays, wi, wo) - exact)) < 2.5e-4
    there, back = fabric_gains(arrays, wi, wo), fabric_gains(arrays, wo, wi)
    assert np.max(np.abs(there - back) / np.maximum(there, 1e-3)) < 1e-12


def test_beam_shares_sum_to_one():
    """Source: facets cover the whole period as seen from any direction."""
    t = np.array([-20.0, -1.0, 0.0, 0.3, 5.0])
    assert EXAMPLE.taken(t, even(7)).sum(axis=1) == pytest.approx(np.ones(5), abs=1e-12)


def test_turned_grooves_turn_the_light():
    """Grooves turned by 90 degrees do to light from the left what level ones do to light from above."""
    level, turned = arrays_of(EXAMPLE), arrays_of(Groove(30, 60, 0.05, 0.80, 90.0))
    for across, along, z in ((0.6, 0.3, math.sqrt(0.55)), (-0.8, 0.1, math.sqrt(0.35))):
        up = fabric_value(level, (along, across, z), (0.0, 0.0, 1.0))
        left = fabric_value(turned, (-across, along, z), (0.0, 0.0, 1.0))
        assert left == pytest.approx(up, abs=1e-12)


def test_table_is_made_once():
    assert groove_table(EXAMPLE) is groove_table(Groove(30, 60, 0.05, 0.80))
    assert not groove_table(EXAMPLE).flags.writeable


def walked_gain(groove, light_deg, view_deg, count, seed):
    """Gain between two directions across the groove by a random walk: light in, every bounce connected to the eye.

    An independent method: points and rays in the plane of the groove with the cosine law of three dimensions, no strips.
    """
    rng = np.random.default_rng(seed)
    lean_a, lean_b = groove.leans
    under = groove.under_a
    deep = under * lean_a
    ti, to = tangent(light_deg), tangent(view_deg)
    # the beam meets the ridges' level z = 0 evenly; move down to the facet it meets
    x = rng.random(count)
    z = np.zeros(count)
    # direction of travel: downwards, x falls by ti for each unit of depth
    on_a = np.zeros(count, bool)
    # a ray x - ti * s at depth s meets A where s = lean_a * x', B where s = lean_b * (1 - x'), x' in its own period
    shift = np.floor(x)
    x = x - shift
    s_a, s_b = lean_a * x / (1.0 + lean_a * ti), lean_b * (1.0 - x) / (1.0 - lean_b * ti)
    total = np.zeros(count)
    # for inclined beams the entry point may be shaded by a ridge: only rays whose first hit lies in this period count once
    s_a = np.where((s_a >= 0) & (x - ti * s_a <= under + 1e-12) & (x - ti * s_a >= 0), s_a, np.inf)
    s_b = np.where((s_b >= 0) & (x - ti * s_b >= under - 1e-12) & (x - ti * s_b <= 1), s_b, np.inf)
    on_a = s_a <= s_b
    s = np.minimum(s_a, s_b)
    alive = np.isfinite(s)
    x, z = x - ti * s, -s
    weight = np.ones(count)
    for _ in range(200):
        if not alive.any():
            break
        weight = np.where(alive, weight * np.where(on_a, groove.rho_a, groove.rho_b), 0.0)
        # seen from the eye: the part of the facet from its ridge
        lit_a = under if to <= 0 else min(under, 1.0 / (1.0 + to * lean_a))
        lit_b = (1.0 - under) if to >= 0 else min(1.0 - under, 1.0 / (1.0 - to * lean_b))
        seen = np.where(on_a, x <= lit_a, 1.0 - x <= lit_b)
        facing = np.where(
            on_a, max(0.0, 1 + lean_a * to) / math.hypot(1, lean_a), max(0.0, 1 - lean_b * to) / math.hypot(1, lean_b)
        )
        # gain = luminance over that of a white sheet: weight * (n . wo) / cos, per unit of beam
        total += np.where(alive & seen, weight * facing, 0.0)
        # next direction by the cosine law about the facet's normal, in the plane: sine even in -1..1
        sine = rng.uniform(-1.0, 1.0, count)
        cosine = np.sqrt(1.0 - sine * sine)
        lean = np.where(on_a, lean_a, -lean_b)
        c = 1.0 / np.hypot(1.0, lean)
        dx, dz = c * (sine + lean * cosine), c * (cosine - lean * sine)
        # the other facet, a line from (under, -deep) to a ridge
        with np.errstate(divide="ignore", invalid="ignore"):
            run_b = (lean_b * (x - 1.0) - z) / (dz - lean_b * dx)  # from A to z = lean_b (x - 1)
            run_a = (-lean_a * x - z) / (dz + lean_a * dx)  # from B to z = -lean_a x
        run = np.where(on_a, run_b, run_a)
        nx, nz = x + run * dx, z + run * dz
        hits = (run > 1e-12) & (nz <= 0.0) & (nz >= -deep - 1e-12)
        alive &= hits
        x, z = np.where(alive, nx, x), np.where(alive, nz, z)
        on_a = np.where(alive, ~on_a, on_a)
    return total.mean(), total.std() / math.sqrt(count)


@pytest.mark.parametrize(("groove", "view"), [(Groove(45, 45, 0.5, 0.5), 0), (Groove(30, 60, 0.6, 0.9), 20)])
def test_a_walk_inside_the_groove_agrees(groove, view):
    """Source: independent method; light along the normal; 4 standard errors, fixed seed, odds of failing 6e-5."""
    value, error = walked_gain(groove, 0, view, 400_000, 3)
    assert abs(value - groove.gain(0.0, tangent(view))[0]) < 4.0 * error
    assert error < 1e-3
