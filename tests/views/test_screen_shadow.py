"""The shadow of the screen itself in pictures: with nothing in the beam, the wall behind and beside it gets what passes it."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.scenes.model import Scene
from halfgain.simulate.light.projector import OBSTRUCTED, PEAK
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.views.content import load_content
from halfgain.simulate.views.primary_rays import look
from halfgain.simulate.views.render import seat_camera, seat_picture, set_the_stage

from tests.rooms import room

BLACK = dict.fromkeys(("back", "left", "right", "ceiling", "floor"), 0.0)
SIZE = {"width": 320, "height": 180}
WIDE = {"screen_width": 2.2, "projector": 'pixels = [1920, 1080]\nfit = "width"'}


def shot(aspect: str, gap: float, border: float) -> Scene:
    """A white wall behind a screen in an else black room; the raster is 16:9 and as wide as the white area."""
    return room(front=1.0, **BLACK, **WIDE, gap=gap, border=border, bottom=0.9, lens="[0.0, 4.5, 1.6]", aspect=aspect)


@pytest.mark.parametrize(("aspect", "border"), [("16:9", 0.05), ("16:9", 0.0), ("2.35:1", 0.05)])
def test_the_wall_is_lit_exactly_where_the_ray_to_the_lens_passes_the_screen(aspect: str, border: float) -> None:
    # Expected: where the straight line from the lens to the wall cuts the screen's plane, by proportion; in or out of two rectangles
    scene = shot(aspect, 0.08, border)
    arrays, camera = flatten(scene), seat_camera(scene, 1, **SIZE)
    assert not arrays.projector.flags[OBSTRUCTED], "nothing stands in the beam"
    row, column = (a.ravel() for a in np.mgrid[0:180, 0:320])
    seen = look(arrays.geometry, arrays.projector, arrays.fabric, camera.eye, camera.rays(column, row))
    wall = seen.patch == 0
    lens, (centre, *_) = arrays.projector.lens, arrays.projector.frame
    share = (lens[1] - centre[1]) / (lens[1] - seen.place[wall, 1])
    x, z = ((lens + share[:, None] * (seen.place[wall] - lens) - centre)[:, k] for k in (0, 2))
    left, right, bottom, top = arrays.projector.raster
    inside = (x > left) & (x < right) & (z > bottom) & (z < top)
    sheet = scene.screen
    passes = (abs(x) > 0.5 * sheet.width_m + sheet.border_m) | (abs(z) > 0.5 * sheet.height_m + sheet.border_m)
    assert wall.sum() > 5000
    assert ((seen.lux[wall] > 0.0) == (inside & passes)).all()
    assert (inside & passes).any() == (aspect != "16:9"), "light that really passes stays"


def test_no_second_picture_beside_the_screen() -> None:
    # Expected: a room that is black but for the wall behind the screen sends nothing back; beside the screen lies shadow alone
    scene = shot("16:9", 0.08, 0.05)
    stage = set_the_stage(scene, load_content("white", 16 / 9), threads=2)
    picture = seat_picture(stage, seat_camera(scene, 1, **SIZE), threads=2)
    assert picture.surround == (0.0, 0.0)
    assert picture.picture_mean > 10.0


def test_light_that_passes_the_screen_shows_on_the_wall() -> None:
    # Expected: E = E_nominal (reach / distance)^2 cos / cos = E_nominal (d / (d + gap))^2, both planes being parallel; L = E / pi
    scene = shot("2.35:1", 0.08, 0.05)
    stage = set_the_stage(scene, load_content("white", 16 / 9), threads=2)
    camera = seat_camera(scene, 0, **SIZE)
    picture = seat_picture(stage, camera, threads=2)
    row, column = (a.ravel() for a in np.mgrid[0:180, 0:320])
    arrays = stage.arrays
    seen = look(arrays.geometry, arrays.projector, arrays.fabric, camera.eye, camera.rays(column, row))
    half_height = arrays.projector.raster[3]
    lit = np.flatnonzero((seen.lux > 0.0) & (seen.patch == 0) & (np.abs(seen.upward) < half_height - 0.03))
    distance = arrays.projector.lens[1] - arrays.projector.frame[0, 1]
    assert distance == pytest.approx(-4.42)
    expected = arrays.projector.light[PEAK] * (4.42 / 4.50) ** 2 / np.pi
    middle = lit[np.abs(seen.across[lit]) < 0.9]
    assert len(middle) > 300
    found = picture.luminance[row[middle], column[middle]]
    assert np.median(found) == pytest.approx(expected, rel=1e-6)
