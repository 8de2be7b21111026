"""The map of the lit screen where something cuts the view of it: a face's own horizon, a shadow's edge; and what it cannot serve."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.scenes.model import Scene
from halfgain.simulate.light.charts import PatchNotServed, served
from halfgain.simulate.light.geometry import DIFFUSE, SCREEN
from halfgain.simulate.light.mapgrid import MapGrid, make_grid
from halfgain.simulate.light.next_event import lit_patches
from halfgain.simulate.light.patches import make_geometry
from halfgain.simulate.measuring.flatten import SceneArrays, flatten
from halfgain.simulate.measuring.solver import picture_map

from tests.rooms import box_object, room

ACROSS, UP = 192, 108  # midpoints of the screen; a quarter of them moves no mean below by more than 0.02 % (measured)
GAIN = 0.9
CRATE = ([0.2, 0.3, 0.0], [0.6, 0.9, 1.6])
SIDEBOARD = ([-0.9, 0.0, 0.0], [0.9, 0.45, 0.62])


def lit(scene: Scene) -> tuple[SceneArrays, MapGrid, np.ndarray]:
    """A scene lowered, its grid, and the irradiance of the grid's nodes for a white picture [lx]."""
    arrays = flatten(scene)
    grid = make_grid(arrays.geometry, arrays.projector, cells=24, shell=True)
    return arrays, grid, picture_map(arrays, grid, threads=2)[:, 0]


def fine_sum(arrays: SceneArrays, place: np.ndarray, normal: np.ndarray, box: tuple[list[float], list[float]]) -> np.ndarray:
    """Irradiance (n,) [lx] of places from a diffuse white screen of 1000 lm behind one box (scene's frame).

    Source: form factor summed over midpoints, slab test (Kay and Kajiya 1986); numpy, nothing of the program's light code.
    """
    left, right, bottom, top = arrays.projector.picture
    x, y = np.meshgrid(
        left + (right - left) * (np.arange(ACROSS) + 0.5) / ACROSS, bottom + (top - bottom) * (np.arange(UP) + 0.5) / UP
    )
    centre, a, b, n = arrays.projector.frame
    screen = centre + x.reshape(-1, 1) * a + y.reshape(-1, 1) * b
    area = (right - left) * (top - bottom)
    low, high = np.array(box[0]) * [1, 0, 1] - [0, box[1][1], 0], np.array(box[1]) * [1, 0, 1] - [0, box[0][1], 0]

    def free(away: np.ndarray) -> np.ndarray:
        with np.errstate(divide="ignore", invalid="ignore"):
            s, t = (low - screen) / away, (high - screen) / away
        enter, leave = np.nanmax(np.minimum(s, t), axis=1), np.nanmin(np.maximum(s, t), axis=1)
        return (np.minimum(leave, 1.0 - 1e-6) - np.maximum(enter, 0.0)) <= 1e-6

    found = []
    lit_up = free(arrays.projector.lens - screen)
    for p in place:
        away = p - screen
        square = (away**2).sum(axis=1)
        cosines = np.maximum(away @ n, 0.0) * np.maximum(-(away @ normal), 0.0) / square
        found.append(1000.0 / area * GAIN / np.pi * np.mean(np.where(lit_up & free(away), cosines / square, 0.0)) * area)
    return np.array(found)


@pytest.mark.parametrize("face", ["right", "top"])
def test_a_face_that_sees_a_part_of_the_screen_but_not_its_middle_takes_that_part(face: str) -> None:
    # Expected: the fine sum. The plane of the crate's right face and that of its top cut the picture beyond its middle
    arrays, grid, lux = lit(room(objects=box_object("crate", *CRATE, 0.5)))
    normal = np.array([1.0, 0.0, 0.0] if face == "right" else [0.0, 0.0, 1.0])
    patch = next(i for i in range(6, 12) if np.allclose(arrays.geometry.normal[i], normal))
    nodes = np.flatnonzero(grid.patch == patch)
    assert len(nodes) > 0
    expected = fine_sum(arrays, grid.place[nodes] + 1e-6 * normal, normal, CRATE)
    assert expected.max() > 1.0
    assert lux[nodes].mean() == pytest.approx(expected.mean(), rel=0.01)
    assert np.all(np.abs(lux[nodes] - expected) <= 0.05 * expected.max())


def test_shadows_of_what_stands_before_the_screen_are_counted_right() -> None:
    # Expected: the fine sum. Where an edge cuts off less than 7 % of a zone no probe sees it: a node may be 4 % off, their mean 0.2 %
    arrays, grid, lux = lit(room(objects=box_object("sideboard", *SIDEBOARD, 0.7)))
    nodes = np.flatnonzero((grid.patch == 5) & (grid.place[:, 1] < -0.47) & (grid.place[:, 1] > -3.0))
    expected = fine_sum(arrays, grid.place[nodes], np.array([0.0, 0.0, 1.0]), SIDEBOARD)
    assert lux[nodes].mean() == pytest.approx(expected.mean(), rel=2e-3)
    np.testing.assert_allclose(lux[nodes], expected, rtol=0.04, atol=0.002 * expected.max())


def with_triangle(arrays: SceneArrays, *, turned: bool) -> SceneArrays:
    """The scene with a triangle of 1 m a side in the middle of the room, facing the screen or turned away from it."""
    g = arrays.geometry
    x, z = np.array([[1.0, 0.0, 0.0]]), np.array([[0.0, 0.0, 1.0]])
    u, v = (x, z) if turned else (z, x)  # z cross x looks along +y, towards the screen
    return arrays._replace(
        geometry=make_geometry(
            corner=np.concatenate([g.corner, [[-0.5, -3.0, 0.5]]]),
            edge_u=np.concatenate([g.edge_u, u]),
            edge_v=np.concatenate([g.edge_v, v]),
            triangle=np.append(g.plane[:, 12], 1.0),
            surface=np.append(g.surface, 0),
            role=np.append(g.role, DIFFUSE),
            box=g.box,
        )
    )


def test_a_triangle_that_the_screen_shines_on_is_refused_and_not_left_dark() -> None:
    arrays = flatten(room())
    wrong = with_triangle(arrays, turned=False)
    with pytest.raises(
        PatchNotServed, match=f"patch {len(arrays.geometry.corner)} of surface 0: the screen shines on a triangle"
    ):
        make_grid(wrong.geometry, wrong.projector, cells=24, shell=True)
    turned = with_triangle(arrays, turned=True)
    assert len(served(turned.geometry, turned.projector, 6)) == len(served(arrays.geometry, arrays.projector, 6))
    assert lit_patches(wrong.geometry, kinds=1).patch.tolist() == np.flatnonzero(wrong.geometry.role == SCREEN).tolist()
