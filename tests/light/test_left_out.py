"""Shortcuts of the light code: what is never asked must bear no light. Patches beside the beam, rays above a fold's horizon, levels of samples."""

from __future__ import annotations

import math

import numpy as np
import pytest
from halfgain.materials.kernels.jit import kernel
from halfgain.simulate.light.displaced_screen import hit_relief
from halfgain.simulate.light.geometry import SCREEN
from halfgain.simulate.light.irradiance_cache import nearest_square
from halfgain.simulate.light.patches import frozen
from halfgain.simulate.light.projector import CENTRE, RIGHT, UP, illuminance_lx
from halfgain.simulate.light.screen_samples import GENTLE, cloth_of
from halfgain.simulate.light.spill import may_be_lit
from halfgain.simulate.light.vectors import row, to_world
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.solver import measuring_points, starts_of

from tests.rooms import box_object, room

CRATE = box_object("crate", [0.2, 0.3, 0.0], [0.6, 0.9, 1.6], 0.5)
SHELF = box_object("shelf", [-1.4, 1.2, 0.5], [-0.7, 1.4, 1.1], 0.5)


def waves(amplitude_mm: float, wavelength_mm: float) -> str:
    fold = f'[[screen.fold]]\nkind = "wave"\namplitude_mm = {amplitude_mm}\nwavelength_mm = {wavelength_mm}'
    return f'[screen.fabric]\nkind = "diffuse"\ngain = 0.9\n{fold}'


def test_no_light_falls_on_what_is_said_to_lie_beside_the_beam():
    # Expected: the illuminance itself, at places of each patch
    arrays = flatten(room(objects=CRATE + SHELF, gap=0.1, fabric=waves(2, 300)))
    geometry, wide = arrays.geometry, arrays.projector
    raster = frozen(wide.raster * 1.15)  # light that misses the cloth all round
    projector = wide._replace(raster=raster)
    places, dark, lit = np.linspace(0.0, 1.0, 41), 0, 0
    for patch in np.flatnonzero(geometry.role != SCREEN):
        corner, u, v, normal = geometry.corner[patch], geometry.edge_u[patch], geometry.edge_v[patch], geometry.normal[patch]
        lux = [illuminance_lx(projector, tuple(corner + a * u + b * v), tuple(normal)) for a in places for b in places]
        if may_be_lit(geometry, projector, patch):
            lit += max(lux) > 0.0
        else:
            dark += 1
            assert max(lux) == 0.0, patch
    assert dark > 5  # walls beside and behind
    assert lit > 4  # the front wall, the border, the crate before the screen


@kernel
def band_hits(relief, starts, band, hits):
    """Mark in hits (S, turns, rises) the directions from starts up to the elevation asin(band) that meet the cloth."""
    for s in range(starts.place.shape[0]):
        start, right, up, normal = row(starts.place, s), row(starts.right, s), row(starts.up, s), row(starts.normal, s)
        for j in range(hits.shape[1]):
            turn = 2.0 * math.pi * (j + 0.37) / hits.shape[1]
            for i in range(hits.shape[2]):
                sine = band * (i + 0.5) / hits.shape[2]
                flat = math.sqrt(1.0 - sine * sine)
                way = to_world((flat * math.cos(turn), flat * math.sin(turn), sine), right, up, normal)
                hits[s, j, i] = hit_relief(relief, start, way, np.int64(starts.patch[s]), math.inf)[0] > 0.0


@pytest.mark.parametrize(("amplitude_mm", "wavelength_mm"), [(2, 300), (1, 80), (0.5, 60)])
def test_a_gentle_fold_hides_all_below_its_horizon_and_nothing_above(amplitude_mm, wavelength_mm):
    arrays = flatten(room(gap=0.1, fabric=waves(amplitude_mm, wavelength_mm)))
    relief, starts = arrays.geometry.relief, starts_of(measuring_points(arrays))
    assert relief.reach[2] <= GENTLE
    hits = np.zeros((len(starts.place), 90, 60), bool)
    band_hits(relief, starts, math.sin(2.0 * math.atan(1.1 * float(relief.reach[2]))), hits)
    met = hits.sum(axis=2)
    assert (hits == (np.arange(60) < met[:, :, None])).all()
    assert (met > 0).mean() > 0.05
    assert met.max() < 60  # the band reaches beyond every horizon


def test_the_nearest_middle_of_a_zone():
    # Expected: every middle by itself
    projector = flatten(room(gap=0.1, lens="[0.4, 4.5, 2.4]")).projector
    places = np.random.default_rng(5).uniform((-2.0, -4.0, 0.0), (2.0, 0.0, 2.7), (200, 3))
    left, right, bottom, top = projector.picture.tolist()
    across, down = 5, 3
    size = (right - left) / across, (top - bottom) / down
    middles = np.array(
        [
            projector.frame[CENTRE]
            + (left + (i + 0.5) * size[0]) * projector.frame[RIGHT]
            + (bottom + (j + 0.5) * size[1]) * projector.frame[UP]
            for i in range(across)
            for j in range(down)
        ]
    )
    first = left + 0.5 * size[0], bottom + 0.5 * size[1]
    for place in places:
        found = nearest_square(place[None], projector.frame, first, size, (across, down))
        assert found == pytest.approx(((middles - place) ** 2).sum(axis=1).min(), rel=1e-12)
    assert nearest_square(places[:0], projector.frame, first, size, (across, down)) == math.inf


def test_a_room_has_one_cloth():
    geometry = flatten(room()).geometry
    assert geometry.role[cloth_of(geometry)] == SCREEN
    with pytest.raises(ValueError, match="0 patches of cloth"):
        cloth_of(geometry._replace(role=frozen(np.zeros_like(geometry.role))))
