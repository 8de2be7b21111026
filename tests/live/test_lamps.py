"""The page's light of lamps and windows against that of pictures, which are held against closed forms and path tracing in tests/views."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.scenes.library import scene_path
from halfgain.scenes.load import scene_from_text
from halfgain.scenes.model import Scene
from halfgain.simulate.live.edits import Edit, edited
from halfgain.simulate.live.lamp_light import LampState, finer, lamp_cells_steps, lamps_on_cloth, lamps_on_heads, panes, zone_lux
from halfgain.simulate.live.lightmap import LightMap, flat_arrays, light_map
from halfgain.simulate.live.sights import head_corners
from halfgain.simulate.measuring.flatten import SceneArrays
from halfgain.simulate.views.lamplight import LampsOn, lamps_on_in, windows_seen
from halfgain.simulate.views.roomlight import light_the_room

LAMPS = """

[[lamp]]
name = "bulb"
kind = "bulb"
place_m = [0.9, 2.4, 2.0]
light_output_lm = 470
colour_temperature_k = 2700

[[window]]
name = "north"
surface = "back"
right_m = [-1.0, 0.5]
up_m = [1.0, 2.0]
outdoor_lx = 2000

[[light]]
name = "evening"
lamps = { bulb = 0.5 }
windows = { north = 0.02 }
"""


@pytest.fixture(scope="module")
def scene() -> Scene:
    """The black room with painted walls, a bulb and a window."""
    text = scene_path("black-box").read_text(encoding="utf-8")
    paint = [Edit("set", f"room.finish.{name}", {"reflectance": 0.4}) for name in ("left", "back", "ceiling")]
    return scene_from_text(edited(text, paint) + LAMPS)


@pytest.fixture(scope="module")
def arrays(scene: Scene) -> SceneArrays:
    return flat_arrays(scene)


@pytest.fixture(scope="module")
def kept(arrays: SceneArrays) -> LightMap:
    return light_map(arrays)


@pytest.fixture(scope="module")
def on(scene: Scene, arrays: SceneArrays) -> LampsOn:
    found = lamps_on_in(scene, arrays, scene.lights[-1])
    assert found is not None
    return found


@pytest.fixture(scope="module")
def state(arrays: SceneArrays, kept: LightMap, on: LampsOn) -> LampState:
    *_, cells = lamp_cells_steps(arrays, kept.room.lit, kept.eyes, kept.owner, threads=1)
    assert cells is not None
    return LampState(cells, on)


def test_lit_cells_are_those_of_a_picture_with_lamps(arrays: SceneArrays, kept: LightMap, on: LampsOn, state: LampState) -> None:
    """In colour, by other rays: the mean by surface within 1 %; the picture's light and the lamps' add up."""
    dim, dark = np.full((192, 1), 0.3), np.zeros((192, 1))
    under = kept.under(arrays)
    ours, other = under.lit(arrays, dim, None, state).cells, light_the_room(arrays, dim, lamps=on, seed=77).values.radiance.value
    assert ours.shape == other.shape == (len(kept.owner), 3)
    surface = arrays.geometry.surface[kept.owner]
    for k in np.unique(surface):
        own = surface == k
        assert ours[own].mean(axis=0) == pytest.approx(other[own].mean(axis=0), rel=0.01, abs=1e-9), arrays.surfaces[k]
    assert ours[:, 0].sum() > 1.05 * ours[:, 2].sum(), "a warm bulb"
    parts = under.lit(arrays, dim).cells + under.lit(arrays, dark, None, state).cells
    assert ours == pytest.approx(parts, rel=5e-3, abs=2e-3 * float(ours.mean()))


def test_a_state_that_is_shown_is_known_again(arrays: SceneArrays, kept: LightMap, state: LampState) -> None:
    levels, under = np.ones((192, 1)), kept.under(arrays)
    lit = under.lit(arrays, levels, None, state)
    half = LampState(state.cells, LampsOn(state.on.lamps, 0.5 * state.on.weight))
    assert under.lit(arrays, levels, lit, state) is lit
    for other in (None, half):
        assert under.lit(arrays, levels, lit, other) is not lit


def test_light_of_white_on_the_zones_is_that_of_the_lens(scene: Scene, arrays: SceneArrays, kept: LightMap) -> None:
    # Expected: the projector's lumens, all of which this raster puts on the picture
    found = zone_lux(arrays, kept.room.lit)
    left, right, bottom, top = arrays.projector.picture
    assert found.mean() * (right - left) * (top - bottom) == pytest.approx(scene.projector.light_output_lm, rel=1e-6)
    assert np.ptp(found) < 0.6 * found.mean()


def test_the_cloth_sends_on_the_light_of_a_lamp(arrays: SceneArrays, on: LampsOn) -> None:
    # Expected: gain E / pi of the bulb before a matt cloth, from its intensity and the inverse-square law at the picture's middle
    matt = arrays._replace(fabric=arrays.fabric._replace(base=np.ones_like(arrays.fabric.base), lobes=arrays.fabric.lobes[:0]))
    found = lamps_on_cloth(matt, arrays.eyes[0], threads=1)[13:15, 24, 0].mean()
    centre, normal = arrays.projector.frame[0], arrays.projector.frame[3]
    way = on.lamps.place[0] - centre
    away = np.linalg.norm(way)
    lux = 470.0 / (4.0 * np.pi) * float(way @ normal) / away**3
    assert found == pytest.approx(lux / np.pi, rel=0.15), "the screen's middle lies between places"
    assert lamps_on_heads(arrays, threads=1).shape == (len(arrays.eyes), len(head_corners()), 2)


def test_a_window_is_as_bright_as_in_pictures(arrays: SceneArrays, kept: LightMap, on: LampsOn, state: LampState) -> None:
    """Its own luminance by `windows_seen`, the wall's on top; its net faces into the room."""
    lit = kept.under(arrays).lit(arrays, np.zeros((192, 1)), None, state)
    place, light = panes(on, arrays.geometry, lit.room.values.radiance)
    assert place.shape == light.shape == (1, 9, 9, 3)
    inside = np.stack([place[0, ..., 0], -place[0, ..., 2], place[0, ..., 1]], axis=-1).astype(float)
    middle, ray = inside[4, 4], np.array([[0.0, -1.0, 0.0]])
    _, shine = windows_seen(on, middle[None] - 0.001 * np.array([[0.0, 1.0, 0.0]]), ray)
    assert (light[0, 4, 4] > shine[0]).all()
    assert light[0, 4, 4] == pytest.approx(shine[0], rel=0.2)
    across, upward = inside[1, 0] - inside[0, 0], inside[0, 1] - inside[0, 0]
    assert np.cross(across, upward)[1] > 0.0, "into the room, from the back wall towards the screen"


def test_a_map_at_more_places_keeps_its_edges() -> None:
    coarse = np.arange(12.0).reshape(3, 4, 1)
    found = finer(coarse, (5, 7))
    assert found[::2, ::2] == pytest.approx(coarse)
    assert found[1, 1, 0] == pytest.approx(coarse[:2, :2].mean())
