"""Light where it changes fastest, a hand's breadth about the screen's plane, against path tracing; and the heads of other viewers."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from halfgain.materials.lobes.albedo import directional_albedos
from halfgain.scenes.head import HEAD_RADIUS_M
from halfgain.simulate.light.direct import cloth_points, hidden_shares
from halfgain.simulate.light.geometry import SCREEN
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.views.brute import brute_force
from halfgain.simulate.views.content import load_content
from halfgain.simulate.views.gather import GatherPoints, ray_table
from halfgain.simulate.views.primary_rays import HEAD, look
from halfgain.simulate.views.render import PictureSetup, seat_camera, seat_picture, set_the_stage, zone_levels
from halfgain.simulate.views.shade import HEAD_REFLECTANCE, albedo_towards, arriving, told

from tests.rooms import box_object, room

HUNG = {"front": 0.75, "ceiling": 0.85, "gap": 0.08, "border": 0.08, "height": 2.4}
SHELF = box_object("shelf", [-0.9, 0.0, 0.0], [0.9, 0.45, 0.5], 0.3)
WAVE = '[[screen.fold]]\nkind = "wave"\namplitude_mm = 2\nwavelength_mm = 200\n'
# (place, patch): ceiling behind and before the plane, front wall above the frame and by its edge, side of the shelf
PLACES = (((0.2, -0.04, 2.4), 4), ((-0.5, -0.13, 2.4), 4), ((0.3, 0.0, 2.2), 0), ((0.3, 0.0, 2.36), 0), ((0.9, -0.2, 0.4), None))


@pytest.mark.long
@pytest.mark.parametrize("folds", ["", WAVE], ids=["flat", "folded"])
def test_light_beside_the_screens_plane_agrees_with_path_tracing(folds: str) -> None:
    # Expected: brute.py, nothing interpolated. Before the map's cells were split at the plane: up to 13 % too much.
    stage = set_the_stage(room(**HUNG, objects=SHELF, lights=folds), load_content("white", 16 / 9), threads=2)
    arrays = stage.arrays
    place = np.array([p for p, _ in PLACES])
    towards_right = (arrays.geometry.normal @ [1.0, 0.0, 0.0] > 0.9) & (arrays.geometry.corner[:, 0] > 0.5)
    side = int(np.flatnonzero(towards_right & (np.arange(len(towards_right)) > 5))[0])
    patch = np.array([side if p is None else p for _, p in PLACES], np.int32)
    points = GatherPoints(place, arrays.geometry.normal[patch], patch, np.zeros((len(place), 3)))
    light, error = brute_force(arrays, zone_levels(stage.scene, stage.content), points, paths=80_000, seed=4, threads=2)
    seen = look(arrays.geometry, arrays.projector, arrays.fabric, np.array([0.0, -3.0, 1.2]), np.tile([0.0, 1.0, 0.0], (5, 1)))
    seen = seen._replace(place=place, normal=arrays.geometry.normal[patch], patch=patch)
    found = (arriving([stage], seen, np.zeros((5, 3)), np.arange(5), ray_table(4096, 1), 2)[0] + told(stage, seen, 2)[0])[:, 0]
    assert (error[:, 1] / light[:, 1] < 0.015).all()
    assert (np.abs(found / light[:, 1] - 1.0) < 0.015 + 3.0 * error[:, 1] / light[:, 1]).all(), found / light[:, 1]


ROWS = '[[seat]]\nname = "back"\neye_m = [0.1, 5.0, 1.2]\n[[seat]]\nname = "front"\neye_m = [0.0, 3.0, 1.15]'


@cache
def rows() -> PictureSetup:
    """Two rows under the white picture."""
    return set_the_stage(room(seats=ROWS), load_content("white", 16 / 9), threads=2)


def test_a_head_in_front_hides_as_much_of_the_picture_as_measure_says() -> None:
    # Expected: hidden_share as measure has it (segments against spheres, tested by itself); here by pixels of known area
    stage, scene = rows(), rows().scene
    camera = seat_camera(scene, 0, width=480, height=270)
    row, column = (a.ravel() for a in np.mgrid[0:270, 0:480])
    rays = camera.rays(column, row)
    arrays = stage.arrays
    seen = look(arrays.geometry, arrays.projector, arrays.fabric, camera.eye, rays)
    bare = look(arrays.geometry, arrays.projector._replace(heads=arrays.projector.heads[:1]), arrays.fabric, camera.eye, rays)
    on_screen = (bare.patch >= 0) & (arrays.geometry.role[np.maximum(bare.patch, 0)] == SCREEN)
    # area of a pixel on the screen: solid angle, as cos^3 off the middle, x r^2 / cos on the cloth, cos as 1 / r
    weight = np.linalg.norm(bare.place - camera.eye, axis=1) ** 3 * (rays @ camera.forward) ** 3
    share = weight[on_screen & (seen.patch <= HEAD)].sum() / weight[on_screen].sum()
    right, up = (a.ravel() for a in np.meshgrid((np.arange(96) + 0.5) / 96 - 0.5, (np.arange(54) + 0.5) / 54 - 0.5))
    places = cloth_points(arrays.geometry, arrays.projector, right * scene.screen.width_m, up * scene.screen.height_m)
    expected = hidden_shares(arrays.geometry, places, arrays.eyes, arrays.projector.heads)[0]
    assert expected > 0.01
    assert share == pytest.approx(expected, abs=0.003)
    head = seen.patch == HEAD - 1
    assert np.linalg.norm(seen.place[head] - arrays.projector.heads[1], axis=1) == pytest.approx(HEAD_RADIUS_M, abs=1e-9)


def test_light_of_a_head_agrees_with_path_tracing() -> None:
    # Expected: brute.py at the same places of the sphere
    stage, scene = rows(), rows().scene
    picture = seat_picture(stage, seat_camera(scene, 0, width=480, height=270), threads=2)
    arrays, camera = stage.arrays, picture.camera
    row, column = (a.ravel() for a in np.mgrid[0:270:3, 0:480:3])
    rays = camera.rays(column, row)
    seen = look(arrays.geometry, arrays.projector, arrays.fabric, camera.eye, rays)
    away = np.arccos(np.clip(-(seen.normal * rays).sum(axis=1), -1.0, 1.0))
    some = np.flatnonzero((seen.patch <= HEAD) & (away < 1.2))[::40][:8]
    assert len(some) >= 4
    points = GatherPoints(seen.place[some], seen.normal[some], seen.patch[some], -rays[some])
    light, error = brute_force(arrays, zone_levels(scene, stage.content), points, paths=40_000, seed=6, threads=2)
    own = (seen.lux[some] / np.pi)[:, None]
    expected = ((light + own) * HEAD_REFLECTANCE)[:, 1]
    got = picture.cd_m2[row[some], column[some], 1]
    sigma = (error * HEAD_REFLECTANCE)[:, 1]
    assert (np.abs(got - expected) < 0.02 * expected + 4.0 * sigma).all(), got / expected


@pytest.mark.parametrize("fabric", ["pearl", "lenticular pearl", "louvred short-throw"])
def test_even_light_is_returned_by_the_albedo_in_the_eyes_direction(fabric: str) -> None:
    # Expected: reciprocity; the albedo of louvred and anisotropic cloth turns with the azimuth
    arrays = flatten(room(fabric=f'fabric = "{fabric}"'))
    rng = np.random.default_rng(1)
    z, turn = rng.uniform(0.1, 1.0, 200), rng.uniform(0.0, 2.0 * np.pi, 200)
    side = np.sqrt(1.0 - z * z)
    directions = np.stack([side * np.cos(turn), side * np.sin(turn), z], axis=1)
    assert albedo_towards(arrays.fabric, directions) == pytest.approx(directional_albedos(arrays.fabric, directions), abs=3e-3)
