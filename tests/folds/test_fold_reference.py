"""Folded cloth against a general-purpose reference renderer (mitsuba): direct and returned light of a diffuse rippled mesh."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from halfgain.simulate.light.projector import CENTRE, PEAK
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.solver import measuring_points, prepare, traced_sums

from tests.outside import mitsuba_folded
from tests.outside.box_room import Room
from tests.outside.kept import kept_batches
from tests.rooms import room

WALLS = {"front": 0.5, "back": 0.5, "left": 0.5, "right": 0.5, "ceiling": 0.7, "floor": 0.2}
GAIN, AMPLITUDE_MM, ANGLE = 0.9, 8.0, 20.0
FOLDED = (
    f'[screen.fabric]\nkind = "diffuse"\ngain = {GAIN}\n[[screen.fold]]\nkind = "wave"\namplitude_mm = {AMPLITUDE_MM}\n'
    f"wavelength_mm = 300\ncrests = {ANGLE}"
)


def theirs(arrays, points, amplitude_m, name=None, **how):
    """Radiance of the points towards the first eye from mitsuba, (batches, points).

    name  under which its batches are kept; None: asked for all of them
    Its `projector` emitter gives pi times the irradiance asked for (mitsuba 3.9, held by the flat case below).
    """
    centre, raster = arrays.projector.frame[CENTRE], arrays.projector.raster
    mesh = mitsuba_folded.wave_mesh(
        width_m=2.4, height_m=1.35, centre=centre, amplitude_m=amplitude_m, wavelength_m=0.3, angle_deg=ANGLE
    )
    edges = (centre[0] + raster[0], centre[0] + raster[1], centre[2] + raster[2], centre[2] + raster[3])
    ask = mitsuba_folded.radiances if name is None else partial(kept_batches, name, mitsuba_folded.radiances)
    return ask(
        Room(4.0, 6.0, 2.7, WALLS),
        mesh,
        gain=GAIN,
        lens=arrays.projector.lens,
        plane_y=float(centre[1]),
        raster=edges,
        lux=float(arrays.projector.light[PEAK]) / np.pi,
        eye=arrays.eyes[0],
        points=points.cloth.place,
        **how,
    )


@pytest.mark.reference
@pytest.mark.parametrize("amplitude_mm", [0.0, AMPLITUDE_MM])
def test_direct_light_on_a_rippled_mesh(amplitude_mm):
    # Expected: mitsuba, path integrator cut at depth 2, no noise; flat first, where the answer is gain lux / pi
    fabric = FOLDED if amplitude_mm else '[screen.fabric]\nkind = "diffuse"\ngain = 0.9'
    arrays = flatten(room(gap=0.1, fabric=fabric, **WALLS))
    points = measuring_points(arrays)
    other = theirs(arrays, points, amplitude_mm / 1e3, batches=1, spp=4, depth=2)[0]
    ours = points.gain[:, 0] * points.direct_lx / np.pi
    assert np.abs(ours / other - 1).max() < 2e-4
    if amplitude_mm:
        assert np.ptp(ours) > 0.05 * ours.mean()  # the ripples are there


@pytest.mark.long
@pytest.mark.reference
def test_returned_light_in_a_room_with_a_rippled_screen():
    # Expected: mitsuba, path integrator, independent sampler, 16 seeds; what is above the direct light is returned
    arrays = flatten(room(gap=0.1, fabric=FOLDED, **WALLS))
    points = measuring_points(arrays)
    fine = prepare(arrays, points, threads=2, cells=40)
    paths = 512
    sums = traced_sums(fine, seed=9, low_path=0, paths=paths, threads=2)
    found = sums[:, :, 0, :, 0, 0].sum(axis=2) / paths  # replication, point
    direct = points.gain[:, 0] * points.direct_lx / np.pi
    batches = theirs(arrays, points, AMPLITUDE_MM / 1e3, name="rippled screen", batches=16, spp=1600) - direct
    error = np.hypot(found.std(axis=0, ddof=1), batches.std(axis=0, ddof=1)) / 4
    assert np.all(np.abs(found.mean(axis=0) - batches.mean(axis=0)) <= 4 * error + 0.005 * batches.mean(axis=0))
    ours, other = found.mean(axis=1), batches.mean(axis=1)
    spread = np.hypot(ours.std(ddof=1), other.std(ddof=1)) / 4
    assert abs(ours.mean() - other.mean()) <= 3 * spread + 0.005 * other.mean()
    assert spread < 0.005 * other.mean()
