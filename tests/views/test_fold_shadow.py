"""Cloth in its own shadow: where a fold stands between cloth and lens a seat sees the cloth dark."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.scenes.cloth.surface import cloth_of
from halfgain.simulate.light.geometry import SCREEN
from halfgain.simulate.light.projector import OBSTRUCTED
from halfgain.simulate.views.content import load_content
from halfgain.simulate.views.primary_rays import look
from halfgain.simulate.views.render import seat_camera, seat_picture, set_the_stage

from tests.rooms import room

BLACK = dict.fromkeys(("front", "back", "left", "right", "ceiling", "floor"), 0.0)
UPRIGHT = 'kind = "wave"\namplitude_mm = 20\nwavelength_mm = 150'
LEVEL = 'kind = "wave"\namplitude_mm = 14\nwavelength_mm = 120\ncrests = 90'
SIZE = {"width": 320, "height": 180}
STEPS = 1000  # of at most 0.21 m each way: 0.2 mm, on which the heights of these waves bend by a thousandth of a millimetre


@pytest.mark.long
@pytest.mark.usefixtures("coarse")  # of the black room no cell sends light
@pytest.mark.parametrize("fold", [UPRIGHT, LEVEL], ids=["upright", "level"])
def test_cloth_that_a_fold_hides_from_the_lens_is_dark(fold: str) -> None:
    # Expected: a march from the cloth to the lens over the exact heights of the folds, no mesh; in a black room the shadow gets
    # nothing but what other folds send
    fabric = f'[screen.fabric]\nkind = "diffuse"\ngain = 0.9\n[[screen.fold]]\n{fold}\n'
    seats = '[[seat]]\nname = "a"\neye_m = [0.8, 3.4, 1.3]'
    scene = room(**BLACK, gap=0.1, fabric=fabric, lens="[0.0, 0.45, 0.55]", seats=seats)
    stage = set_the_stage(scene, load_content("white", 16 / 9), threads=2)
    arrays, camera, cloth = stage.arrays, seat_camera(scene, 0, **SIZE), cloth_of(scene.screen)
    assert not arrays.projector.flags[OBSTRUCTED], "nothing but the folds stands in the beam"
    row, column = (a.ravel() for a in np.mgrid[0:180, 0:320])
    seen = look(arrays.geometry, arrays.projector, arrays.fabric, camera.eye, camera.rays(column, row))
    on = np.flatnonzero((seen.patch >= 0) & (arrays.geometry.role[np.maximum(seen.patch, 0)] == SCREEN))
    centre, *axes = arrays.projector.frame
    place, lens_place = ((p - centre) @ np.array(axes).T for p in (seen.place[on], arrays.projector.lens))
    way = lens_place - place
    clear = _least_clearance(cloth, place, way)
    faces = _faces(cloth, place, way)
    nominal = place + (place[:, 2] / (place[:, 2] - lens_place[2]))[:, None] * way  # central projection on the nominal plane
    in_beam = (np.abs(nominal[:, 0]) < 1.195) & (np.abs(nominal[:, 1]) < 0.67)
    # not at the shadow's very edge, where the mesh's chord may decide, and not where no light goes anyway
    sure = (np.abs(clear) > 3e-4) & (np.abs(faces) > 0.06) & in_beam
    dark = (clear < 0.0) | (faces < 0.0)
    assert sure.mean() > 0.75
    assert 0.15 < dark[sure].mean() < 0.7
    assert ((seen.lux[on] == 0.0) == dark)[sure].all()
    picture = seat_picture(stage, camera, threads=2).luminance.ravel()[on]
    whole = _all_alike(dark, on, sure)
    shade, lit = np.flatnonzero(whole & dark[sure]), np.flatnonzero(whole & ~dark[sure])
    assert np.median(picture[sure][shade]) < 0.25 * np.median(picture[sure][lit])


def _least_clearance(cloth, place: np.ndarray, way: np.ndarray) -> np.ndarray:  # type: ignore[no-untyped-def]
    """Least height [m] of the ray over the cloth on the way to the lens, less what the ray has already gained in its first mm."""
    reach = np.minimum(1.0, (cloth.highest_m - place[:, 2] + 1e-4) / way[:, 2])  # beyond it the ray is over all folds
    least = np.full(len(place), np.inf)
    for k in range(1, STEPS + 1):
        at = place + (reach * k / STEPS)[:, None] * way
        height = cloth.at(at[:, 0], at[:, 1]).height
        inside = (np.abs(at[:, 0]) < 1.2) & (np.abs(at[:, 1]) < 0.675)
        least = np.where(inside & (np.linalg.norm(at - place, axis=1) > 0.004), np.minimum(least, at[:, 2] - height), least)
    return least


def _faces(cloth, place: np.ndarray, way: np.ndarray) -> np.ndarray:  # type: ignore[no-untyped-def]
    """Cosine [1] between the cloth's true normal and the way to the lens."""
    found = cloth.at(place[:, 0], place[:, 1])
    normal = np.stack([-found.slope_right, -found.slope_up, np.ones(len(place))], axis=1)
    return (normal * way).sum(axis=1) / np.linalg.norm(normal, axis=1) / np.linalg.norm(way, axis=1)


def _all_alike(dark: np.ndarray, on: np.ndarray, sure: np.ndarray) -> np.ndarray:
    """True for the sure pixels whose eight neighbours are as dark or lit as they are: others are means over a shadow's edge."""
    image = np.full(SIZE["width"] * SIZE["height"], 2)
    image[on] = dark
    image = image.reshape(SIZE["height"], SIZE["width"])
    near = [np.roll(np.roll(image, i, 0), j, 1) for i in (-1, 0, 1) for j in (-1, 0, 1)]
    return (np.ptp(np.array(near), axis=0) == 0).ravel()[on][sure]
