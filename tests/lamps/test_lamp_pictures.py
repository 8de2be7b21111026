"""Pictures with lamps and windows on: the same light as `measure` reads, windows as bright as they are."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from halfgain.scenes.lamps.model import Light
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Scene
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.measure import Measurement, measure
from halfgain.simulate.views.camera import seat_camera
from halfgain.simulate.views.content import content_of
from halfgain.simulate.views.lamplight import burning, lamps_on_in, on_surfaces
from halfgain.simulate.views.render import seat_picture
from halfgain.simulate.views.shade import set_the_stage

from .lit_scene import lit

ANGULAR = '{ kind = "angular-reflective", gain = 1.6, half_gain_deg = 32, albedo = 0.85 }'
LIGHTS = (Light("lamps", lamps={"table lamp": 1.0, "spot": 1.0, "cornice": 0.3}), Light("window", windows={"garden": 1.0}))


def lit_with(fabric: str) -> Scene:
    """The lit scene with a fabric and all LIGHTS."""
    return replace(scene_from_text(lit(('fabric = "matt white"', f"fabric = {fabric}"))), lights=LIGHTS)


@cache
def measured(fabric: str) -> Measurement:
    """What `measure` reads of it from the first seat, in all light states at once."""
    scene = lit_with(fabric)
    return measure(replace(scene, seats=scene.seats[:1]), error=0.01)


@pytest.mark.parametrize(("fabric", "within"), [('"matt white"', 0.015), (ANGULAR, 0.03)], ids=["diffuse", "angular"])
@pytest.mark.parametrize("light", LIGHTS, ids=["lamps", "window"])
def test_the_screen_in_a_picture_is_as_bright_as_measure_reads_it(fabric: str, within: float, light: Light) -> None:
    """Black picture, the middle of the cloth. Expected: the same light along `measure`'s paths; pictures are good to 1 %, and take
    what lamps make of the cloth as diffuse for the rest of the room, which a shiny cloth is not."""
    scene = lit_with(fabric)
    stage = set_the_stage(scene, content_of(scene, "black"), light=light, threads=2)
    picture = seat_picture(stage, seat_camera(scene, 0, width=160, height=90), threads=2)
    row, column = (int(each.mean()) for each in np.nonzero(picture.screen))
    centre = picture.luminance[row - 2 : row + 3, column - 2 : column + 3].mean()
    found = measured(fabric).seats[0]
    ambient = next(state for state in found.states if state.name == light.name).black.value - found.black.value
    assert centre - found.black.value == pytest.approx(ambient, rel=within)


def test_a_window_is_seen_with_its_luminance() -> None:
    """5000 lx outside, glass 0.7, blind 0.02: 22.3 cd/m2 where a ray meets it. Source: L = t E / pi."""
    scene = scene_from_text(lit(("eye_m = [1.2, 5.5, 1.2]", "eye_m = [1.7, 1.8, 1.5]")))
    light = Light("blind", windows={"garden": 1.0}, blinds_down=("garden",))
    scene = replace(scene, lights=(light,))
    stage = set_the_stage(scene, content_of(scene, "black"), light=light, threads=2)
    camera = seat_camera(scene, 1, width=320, height=180, field_deg=150)
    expected = 0.02 * 0.7 * 5000.0 / math.pi
    picture = seat_picture(stage, camera, threads=2)
    assert picture.luminance.max() == pytest.approx(expected, rel=0.03)  # the wall's own share is on top


def test_lamps_that_are_off_are_not_asked_and_the_others_add_up() -> None:
    """Each lamp of a state by itself, summed. Source: linearity of light."""
    scene = lit_with('"matt white"')
    arrays = flatten(scene, opaque=True)
    normal = arrays.geometry.normal[:6]
    place = arrays.geometry.corner[:6] + 0.37 * arrays.geometry.edge_u[:6] + 0.61 * arrays.geometry.edge_v[:6]
    for light, burn in zip(LIGHTS, (3, 1), strict=True):
        on = lamps_on_in(scene, arrays, light)
        assert on is not None
        assert (len(on.weight), len(burning(on).weight)) == (4, burn)
        alone = [on._replace(weight=np.where(np.arange(4)[:, None] == k, on.weight, 0.0)) for k in range(4)]
        whole, parts = (
            [on_surfaces(each, arrays.geometry, place, normal, np.arange(6)) for each in some] for some in ([on], alone)
        )
        assert whole[0].max() > 0.0
        np.testing.assert_allclose(np.sum(parts, axis=0), whole[0], rtol=1e-12)
