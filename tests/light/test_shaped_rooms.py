"""Rooms that are no box, by outline and by mesh: the reference renderer's light, the box's own light, closed forms, left on `left`."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh
from halfgain.scenes.load import load_scene, scene_from_text
from halfgain.scenes.model import Scene
from halfgain.simulate.light.geometry import STACK, nearest_hit
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.solver import measuring_points, prepare, traced_sums

from tests.outside import mitsuba_panels
from tests.outside.box_room import Screen
from tests.outside.kept import kept_batches
from tests.outside.mitsuba_panels import Panel

REST = """
[projector]
light_output_lm = 1000
native_contrast = 3000
lens_m = [{lens}]
[screen]
width_m = {width}
aspect = "16:9"
bottom_m = {bottom}
gap_to_wall_m = 0.001
[screen.fabric]
kind = "diffuse"
gain = 0.9
[[seat]]
name = "middle"
eye_m = [{eye}]
"""

L_ROOM = """format = 1
[room]
outline_m = [[-2.5, 0], [2.0, 0], [2.0, 3.0], [4.5, 3.0], [4.5, 6.5], [-2.5, 6.5]]
walls = ["front", "right", "bay front", "right", "back", "left"]
height_m = 2.5
[room.finish]
front = 0.5
back = 0.5
left = 0.6
right = 0.4
"bay front" = 0.8
ceiling = 0.7
floor = 0.2
""" + REST.format(lens="0.0, 4.5, 2.2", width=2.4, bottom=0.7, eye="0.0, 3.6, 1.1")

ATTIC = """format = 1
[room]
outline_m = [[-2.2, 0], [-0.9, 0], [0.9, 0], [2.2, 0], [2.2, 5.4], [0.9, 5.4], [-0.9, 5.4], [-2.2, 5.4]]
walls = ["front", "front", "front", "right", "back", "back", "back", "left"]
heights_m = [1.2, 2.5, 2.5, 1.2, 1.2, 2.5, 2.5, 1.2]
ceiling_bends = [[2, 7], [3, 6]]
[room.finish]
front = 0.5
back = 0.6
left = 0.6
right = 0.6
ceiling = 0.75
floor = 0.25
[[room.part]]
name = "rug"
on = "floor"
right_m = [-1.0, 1.0]
out_m = [0.8, 2.8]
finish = 0.05
""" + REST.format(lens="0.0, 4.4, 2.0", width=2.0, bottom=0.6, eye="0.0, 3.8, 1.05")


def l_panels() -> list[Panel]:
    """The same L as rectangles."""
    h = 2.5
    z = (0.0, 0.0, h)
    return [
        Panel((-2.5, 0, 0), (4.5, 0, 0), z, 0.5),  # front
        Panel((2.0, 0, 0), (0, -3.0, 0), z, 0.4),  # right, before the bay
        Panel((2.0, -3.0, 0), (2.5, 0, 0), z, 0.8),  # bay front
        Panel((4.5, -3.0, 0), (0, -3.5, 0), z, 0.4),  # right, of the bay
        Panel((4.5, -6.5, 0), (-7.0, 0, 0), z, 0.5),  # back
        Panel((-2.5, -6.5, 0), (0, 6.5, 0), z, 0.6),  # left
        Panel((-2.5, -6.5, 0), (4.5, 0, 0), (0, 6.5, 0), 0.2),  # floor
        Panel((2.0, -6.5, 0), (2.5, 0, 0), (0, 3.5, 0), 0.2),
        Panel((-2.5, -6.5, h), (0, 6.5, 0), (4.5, 0, 0), 0.7),  # ceiling
        Panel((2.0, -6.5, h), (0, 3.5, 0), (2.5, 0, 0), 0.7),
    ]


def attic_panels() -> list[Panel]:
    """The same attic as rectangles; gable walls reach behind the slopes, where no light comes."""
    d = 5.4
    return [
        Panel((-2.2, 0, 0), (4.4, 0, 0), (0, 0, 2.5), 0.5),  # front
        Panel((2.2, -d, 0), (-4.4, 0, 0), (0, 0, 2.5), 0.6),  # back
        Panel((-2.2, -d, 0), (0, d, 0), (0, 0, 1.2), 0.6),  # left
        Panel((2.2, 0, 0), (0, -d, 0), (0, 0, 1.2), 0.6),  # right
        Panel((-2.2, -d, 1.2), (0, d, 0), (1.3, 0, 1.3), 0.75),  # slopes
        Panel((2.2, 0, 1.2), (0, -d, 0), (-1.3, 0, 1.3), 0.75),
        Panel((-0.9, -d, 2.5), (0, d, 0), (1.8, 0, 0), 0.75),  # ceiling
        Panel((-2.2, -d, 0), (4.4, 0, 0), (0, d, 0), 0.25),  # floor
        Panel((-1.0, -2.8, 0.0005), (2.0, 0, 0), (0, 2.0, 0), 0.05),  # rug
    ]


def returned(scene: Scene, *, paths: int = 1024) -> np.ndarray:
    """Irradiance (scrambles, points) of the white picture over the exitance of the screen [1]."""
    arrays = flatten(scene)
    prepared = prepare(arrays, measuring_points(arrays), threads=2, cells=40)
    sums = traced_sums(prepared, seed=21, low_path=0, paths=paths, threads=2)
    screen = scene.screen
    exitance = 0.9 * 1000.0 / (screen.width_m * screen.height_m)
    return np.asarray(sums[:, :, 0, :, 0, 0].sum(axis=2) / paths * np.pi / 0.9 / exitance)


@pytest.mark.long
@pytest.mark.reference
@pytest.mark.parametrize(("text", "panels"), [(L_ROOM, l_panels()), (ATTIC, attic_panels())], ids=["L", "attic with a rug"])
def test_shaped_rooms_agree_with_the_reference_renderer(text: str, panels: list[Panel]) -> None:
    # Expected: mitsuba, scalar_rgb, path integrator, 16 independent seeds
    scene = scene_from_text(text)
    screen = Screen(scene.screen.width_m, scene.screen.height_m, scene.screen.bottom_m, 0.9, radiance=1 / np.pi, gap_m=0.001)
    place = np.concatenate([screen.zone_centres(), screen.nine_points()])
    name = f"room of {len(panels)} panels"
    theirs = kept_batches(name, mitsuba_panels.batch_irradiance, panels, screen, place)[:, :, 1]
    found = returned(scene)
    other, error = theirs.mean(axis=0), np.hypot(found.std(axis=0, ddof=1), theirs.std(axis=0, ddof=1)) / 4
    assert np.all(np.abs(found.mean(axis=0) - other) <= 4.5 * error + 0.005 * other)
    ours, means = found.mean(axis=1), theirs.mean(axis=1)
    spread = np.hypot(ours.std(ddof=1), means.std(ddof=1)) / 4
    assert abs(ours.mean() - means.mean()) <= 3 * spread + 0.005 * means.mean()
    assert spread < 0.005 * means.mean()


def mean_of(scene: Scene, paths: int = 256) -> tuple[float, float]:
    found = returned(scene, paths=paths).mean(axis=1)
    return float(found.mean()), float(found.std(ddof=1)) / 4


def agree(one: Scene, other: Scene) -> None:
    (a, da), (b, db) = mean_of(one), mean_of(other)
    assert abs(a - b) < 3.0 * np.hypot(da, db) + 0.001 * b, (a, da, b, db)


SIX = "front = 0.5\nback = 0.5\nleft = 0.6\nright = 0.4\nceiling = 0.7\nfloor = 0.2\n"


def test_a_box_by_its_outline_has_the_light_of_the_box() -> None:
    # Expected: the same room by its three measures; 0.1 % for the map, which looks from a hair off the walls
    rest = REST.format(lens="0.0, 4.5, 2.2", width=2.4, bottom=0.7, eye="0.0, 3.6, 1.1")
    box = f"format = 1\n[room]\nwidth_m = 4.4\ndepth_m = 6\nheight_m = 2.6\n[room.finish]\n{SIX}"
    plan = (
        "format = 1\n[room]\noutline_m = [[-2.2, 0], [2.2, 0], [2.2, 6], [-2.2, 6]]\n"
        f'walls = ["front", "right", "back", "left"]\nheight_m = 2.6\n[room.finish]\n{SIX}'
    )
    agree(scene_from_text(plan + rest), scene_from_text(box + rest))


def test_an_l_by_a_mesh_has_the_light_of_its_outline(tmp_path: Path) -> None:
    # Expected: the outline, whose light the reference renderer has; the mesh is one body of larger, merged faces
    outline = scene_from_text(L_ROOM.replace('"bay front" = 0.8', '"bay front" = 0.5'))
    shell = outline.room.shell
    assert shell is not None
    gltf = np.column_stack([shell.corners[:, 0], shell.corners[:, 2], -shell.corners[:, 1]])
    (tmp_path / "l.glb").write_bytes(trimesh.Trimesh(gltf, shell.faces, process=False).export(file_type="glb"))
    rest = REST.format(lens="0.0, 4.5, 2.2", width=2.4, bottom=0.7, eye="0.0, 3.6, 1.1")
    text = f'format = 1\n[room]\nmesh = "l.glb"\nnames = "sides"\n[room.finish]\n{SIX}'
    agree(scene_from_text(text + rest, "l", tmp_path), outline)


def test_rays_to_the_left_meet_left() -> None:
    # Expected: sight; from the seats left is -x, and the bay of this L is on the right
    arrays = flatten(scene_from_text(L_ROOM))
    stack = np.empty(STACK, np.int32)
    for direction, name in (
        ((-1.0, 0.0, 0.0), "left"),
        ((1.0, 0.0, 0.0), "right"),
        ((0.0, -1.0, 0.0), "back"),
        ((0.0, 0.0, 1.0), "ceiling"),
    ):
        _, patch, _, _ = nearest_hit(arrays.geometry, (0.5, -4.5, 1.2), direction, np.int64(-1), stack)
        assert arrays.surfaces[int(arrays.geometry.surface[patch])] == name
    _, patch, _, _ = nearest_hit(arrays.geometry, (3.5, -4.5, 1.2), (0.0, 1.0, 0.0), np.int64(-1), stack)
    assert arrays.surfaces[int(arrays.geometry.surface[patch])] == "bay front"


def test_the_library_rooms_of_other_shapes_measure() -> None:
    for name in ("attic", "l-living-room"):
        value, error = mean_of(load_scene(name), 16)
        assert 0.0 < error < 0.1 * value
