"""Light told across cells that lie partly under a turned body: against path tracing at its foot."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh
from halfgain.scenes.load import load_scene
from halfgain.simulate.light.eyes import eyes_of
from halfgain.simulate.live.lightmap import light_map
from halfgain.simulate.measuring.flatten import SceneArrays, flatten
from halfgain.simulate.views.brute import brute_force
from halfgain.simulate.views.cell_light import cell_light
from halfgain.simulate.views.covered import open_cells
from halfgain.simulate.views.gather import GatherPoints
from halfgain.simulate.views.roomlight import light_the_room
from halfgain.simulate.views.sheets import corners_of
from halfgain.simulate.views.texture import cell_places, empty_texture, read_at

from tests.scenes.scene_texts import edit

WHITE = np.ones((192, 1))
THING = '[[room.object]]\nname = "thing"\nmesh = "thing.obj"\nunit = "m"\nat_m = [-1.3, 2.2, 0.0]\nturn_deg = 33\nfinish = 0.7\n'


def with_thing(folder: Path, mesh: trimesh.Trimesh) -> SceneArrays:
    """The test room, its floor pale, with a turned mesh in it, lowered."""
    mesh.export(folder / "thing.obj")
    text = edit(("[projector]\n", f"{THING}[projector]\n"), ('floor = "oak boards"', "floor = 0.5"))
    (folder / "room.toml").write_text(text, encoding="utf-8")
    return flatten(load_scene(folder / "room.toml"), opaque=True)


def box(lift_m: float) -> trimesh.Trimesh:
    """0.9 x 0.6 m, 0.7 m high, y up as OBJ has it."""
    found = trimesh.creation.box((0.9, 0.7, 0.6))
    found.apply_translation((0.0, 0.35 + lift_m, 0.0))
    return found


def beside(arrays: SceneArrays, off_m: float) -> np.ndarray:
    """Places (n, 3) [m] on the floor so far off the sides of the thing that stands on it."""
    triangles, _ = corners_of(arrays.geometry, np.flatnonzero(arrays.geometry.surface == arrays.surfaces.index("thing")))
    foot = triangles.reshape(-1, 3)
    foot = np.unique(foot[foot[:, 2] < 1e-3].round(5), axis=0)
    middle = foot.mean(axis=0)
    foot = foot[np.argsort(np.arctan2(*(foot - middle)[:, 1::-1].T))]
    found = []
    for a, b in zip(foot, np.roll(foot, -1, axis=0), strict=True):
        along = (b - a) / np.linalg.norm(b - a)
        out = np.array([along[1], -along[0], 0.0])
        found += [a + share * (b - a) + off_m * out for share in np.linspace(0.1, 0.9, 12)]
    return np.array(found) * (1.0, 1.0, 0.0)


def covered(arrays: SceneArrays) -> np.ndarray:
    """Whether each cell looks from another's place (T,)."""
    texture = empty_texture(arrays.geometry, arrays.projector, 1)
    place, owner = cell_places(arrays.geometry, texture)
    return open_cells(arrays.geometry, place, eyes_of(arrays.geometry, owner, place), owner) != np.arange(len(place))


@pytest.mark.parametrize("off_m", [0.01, 0.03])
def test_the_floor_at_a_turned_things_foot_is_as_bright_as_paths_say(tmp_path: Path, off_m: float) -> None:
    """Cells of up to 0.15 m whose middle is under the thing reach out beside it; dark, they took a fifth of the light at its foot."""
    arrays = with_thing(tmp_path, box(0.0))
    room = light_the_room(arrays, WHITE, threads=2)
    place = beside(arrays, off_m)
    floor = np.full(len(place), np.flatnonzero(arrays.geometry.surface == arrays.surfaces.index("floor"))[0], np.int32)
    up = np.tile([0.0, 0.0, 1.0], (len(place), 1))
    paths, error = brute_force(arrays, WHITE, GatherPoints(place, up, floor, up), paths=20_000, threads=2)
    told = read_at(room.told, arrays.geometry, floor, place)
    channels = told.shape[1] // 2
    light = told[:, :channels] + room.from_screen(place, floor, threads=2) / np.pi
    ratio = light.mean() / paths.mean()
    assert abs(ratio - 1.0) < 0.05 + 3.0 * float(np.sqrt((error**2).sum()) / paths.sum())


def test_no_cell_of_the_floor_is_drawn_dark(tmp_path: Path) -> None:
    """In the drawing of the room and on the live page alike."""
    arrays = with_thing(tmp_path, box(0.0))
    light = cell_light(light_the_room(arrays, WHITE, threads=2))
    _, owner = cell_places(arrays.geometry, light.texture)
    on_floor = arrays.geometry.surface[owner] == arrays.surfaces.index("floor")
    assert covered(arrays)[on_floor].any(), "else nothing is covered"
    assert light.lux[on_floor].min() > 0.05 * np.median(light.lux[on_floor])
    shown = light_map(arrays, threads=2).under(arrays).lit(arrays, WHITE).cells[on_floor]
    assert shown.min() > 0.05 * np.median(shown)


def test_cells_below_a_raised_thing_or_a_leaf_see_for_themselves(tmp_path: Path) -> None:
    """A gap lets light in; a single sheet is black from below, but hides a part of the room alone."""
    leaf = trimesh.Trimesh([[-0.3, 0.3, 0.3], [0.3, 0.3, 0.3], [0.3, 0.3, -0.3], [-0.3, 0.3, -0.3]], [[0, 1, 2], [0, 2, 3]])
    for mesh in (box(0.2), leaf):
        arrays = with_thing(tmp_path, mesh)
        texture = empty_texture(arrays.geometry, arrays.projector, 1)
        place, owner = cell_places(arrays.geometry, texture)
        on_floor = arrays.geometry.surface[owner] == arrays.surfaces.index("floor")
        below = on_floor & (np.abs(place[:, 0] + 1.3) < 0.2) & (np.abs(place[:, 1] + 2.2) < 0.2)
        assert below.any()
        assert not covered(arrays)[below].any()
