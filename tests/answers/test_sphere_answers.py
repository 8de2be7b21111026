"""The repaint and slope kernels in a spherical room: exact contrast and exact derivative for three finishes from one ledger.

Source: tests/outside/spherical_room.py, integrating-sphere theory; R 2.2 m, cap 2.25 m2 of reflectance 0.9, native 1000.
"""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.answers.passes import slopes
from halfgain.simulate.answers.repaint_kernel import repaint
from halfgain.simulate.answers.throughputs import Throughputs
from halfgain.simulate.light.ledger import CERTAIN_HITS
from halfgain.simulate.measuring.estimate import estimate, replicates

from tests.outside.spherical_room import spherical_room
from tests.statistics import within_standard_errors

from ..light.test_sphere import GAIN, LUMENS, NATIVE, paths_in, sphere_of


@pytest.fixture(scope="module")
def facts() -> tuple[Throughputs, float, float]:
    """One ledger on a faceted sphere, lit as the closed form has it (rho_s flux / area everywhere); areas of cap and all."""
    ball = sphere_of(4)
    geometry, ledger = ball.geometry, paths_in(4, 512, 0.6)
    first = np.zeros(len(ledger.hits), np.int64)
    np.cumsum(ledger.hits[:-1], out=first[1:])
    held = np.repeat(ledger.first - first, ledger.hits) + np.arange(int(ledger.hits.sum()))
    rank = np.arange(len(held)) - np.repeat(first, ledger.hits)
    whole = float(ball.area.sum())
    light = np.zeros((1, len(held), 4), np.float32)
    light[0, :, 0] = GAIN * LUMENS / whole / np.pi
    light[0, :, 1] = light[0, :, 0] / 2
    found = Throughputs(
        paths=ledger.paths,
        first=first,
        hits=ledger.hits,
        surface=geometry.surface[ledger.patch[held]].astype(np.uint16),
        bounce=np.where(rank >= CERTAIN_HITS, 1 / 0.6, 1.0).astype(np.float32),
        light=light,
        weight=np.full((len(ledger.hits), 1), np.pi, np.float32),
        stray=np.zeros(0, np.float32),
        stray_zone=np.zeros(0, np.uint8),
        onto=np.full(len(ledger.hits), -1, np.int32),
        at=np.zeros((len(ledger.hits), 2), np.uint16),  # each path for itself
    )
    return found, float(ball.area[ball.patch].sum()), whole


@pytest.mark.parametrize("wall", [0.05, 0.2, 0.5])
def test_contrast_and_its_derivative_are_exact(facts: tuple[Throughputs, float, float], wall: float) -> None:
    ledger, cap, whole = facts
    radius = np.sqrt(whole / (4 * np.pi))  # of the sphere with the facets' area, so that the closed form is exact for them
    exact = spherical_room(radius, cap, GAIN, wall, LUMENS, NATIVE)
    table = np.array([[wall], [GAIN]])
    first_lx = GAIN * LUMENS / whole / 2 * (1 + 1 / NATIVE)
    shape = (16, -1)
    gathered = repaint(ledger, table, replications=16)[:, 0, :, 1, 0].sum(axis=1).reshape(shape).mean(axis=1) / ledger.paths[0]
    slope = slopes(ledger, table)[:, 0, 0, 1, 0].reshape(shape).mean(axis=1) / ledger.paths[0]
    stack = replicates(np.stack([gathered, slope], axis=1), np.zeros(2)) * (1 + 1 / NATIVE)
    induced, moved = first_lx + stack[:, 0], stack[:, 1]
    contrast = (exact.illuminance_lx + induced) / (exact.illuminance_lx / NATIVE + induced)
    elasticity = moved * (1 / (exact.illuminance_lx + induced) - 1 / (exact.illuminance_lx / NATIVE + induced))
    # flat facets do not see themselves: of 5,120 of them a few 1e-4 of the light
    for found, truth in ((induced, exact.induced_lx), (contrast, exact.contrast), (elasticity, exact.wall_elasticity)):
        value = estimate(found)
        within_standard_errors(value.value, value.standard_error, truth, times=3.0, bias=1e-3 * abs(truth))
        assert value.standard_error < 0.01 * abs(truth)
