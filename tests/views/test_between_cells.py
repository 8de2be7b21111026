"""Light between the middles of cells: cubics, joins, and noise evened out."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from halfgain.simulate.measuring.flatten import SceneArrays, flatten
from halfgain.simulate.views.between_cells import BetweenCells
from halfgain.simulate.views.evened import evened
from halfgain.simulate.views.texture import Texture, cell_places, empty_texture, read_at

from tests.rooms import box_object, room

SHELF = box_object("shelf", [-0.9, 0.0, 0.0], [0.7, 0.45, 0.5], 0.3)
FLOOR, CEILING = 5, 4


@cache
def shelf_room() -> tuple[SceneArrays, Texture, BetweenCells]:
    arrays = flatten(room(gap=0.08, border=0.05, objects=SHELF))
    texture = empty_texture(arrays.geometry, arrays.projector, 1)
    return arrays, texture, BetweenCells(arrays.geometry, texture)


def places_on(patch: int, count: int = 600) -> np.ndarray:
    """Places (n, 3) [m] drawn on a patch."""
    geometry, (u, v) = shelf_room()[0].geometry, np.random.default_rng(1).random((2, count, 1))
    return np.asarray(geometry.corner[patch] + u * geometry.edge_u[patch] + v * geometry.edge_v[patch])


def read(value: np.ndarray, patch: int, at: np.ndarray, *, finer: bool = True) -> np.ndarray:
    arrays, texture, between = shelf_room()
    told = between.finer(value[:, None]) if finer else texture._replace(value=value[:, None])
    return read_at(told, arrays.geometry, np.full(len(at), patch, np.int32), at)[:, 0]


def test_cubics_tell_bent_light_seven_times_better_than_lines() -> None:
    # Expected: light that falls as 1 / (1 + d^2)^2 from a place of the ceiling, as it does below a small source 1 m off
    def light(at: np.ndarray) -> np.ndarray:
        return np.asarray(1.0 / (1.0 + ((at - [0.3, -3.0, 2.7]) ** 2).sum(axis=1)) ** 2)

    place, at = cell_places(shelf_room()[0].geometry, shelf_room()[1])[0], places_on(CEILING)
    off = [np.abs(read(light(place), CEILING, at, finer=finer) / light(at) - 1.0) for finer in (False, True)]
    assert off[0].max() > 0.008, "lines are off"
    assert off[1].max() < off[0].max() / 5.0
    assert np.sqrt((off[1] ** 2).mean()) < np.sqrt((off[0] ** 2).mean()) / 7.0


def test_a_plane_of_light_is_told_exactly_and_nothing_crosses_the_outline_of_what_stands_on_the_floor() -> None:
    # Expected: a plane of light, dark under the shelf alone (x -0.9 to 0.7, out to 0.45 m)
    def light(at: np.ndarray) -> np.ndarray:
        under = (at[:, 0] > -0.9) & (at[:, 0] < 0.7) & (at[:, 1] > -0.45)
        return np.asarray(np.where(under, 0.0, 10.0 + at[:, 0] - 0.5 * at[:, 1]))

    at = np.concatenate(
        [places_on(FLOOR), np.array([[-0.905, -0.2, 0.0], [0.705, -0.2, 0.0], [0.0, -0.455, 0.0], [0.0, -0.445, 0.0]])]
    )
    place, _ = cell_places(shelf_room()[0].geometry, shelf_room()[1])
    assert np.abs(read(light(place), FLOOR, at) - light(at)).max() < 1e-9


def test_cells_joined_across_a_line_are_those_without_a_body_on_either_side() -> None:
    # Expected: beside the shelf's outline light goes on along the floor; from its foot into what it covers it does not
    arrays, texture, between = shelf_room()
    place, owner = cell_places(arrays.geometry, texture)
    under = (place[:, 0] > -0.9) & (place[:, 0] < 0.7) & (place[:, 1] > -0.45) & (owner == FLOOR)
    joins = between.joins
    for axis in (0, 1):
        some = np.flatnonzero((owner == FLOOR) & joins.after[:, axis])
        other = some + joins.step[some, axis]
        assert (under[some] == under[other]).all()
        assert joins.before[other, axis].all()
    u, v = (len(bounds) - 1 for bounds in texture.bounds(FLOOR))
    parted = sum(int((~joins.after[owner == FLOOR, axis]).sum()) for axis in (0, 1)) - u - v
    assert 0 < parted < 60, "along the three free sides of the shelf alone"


@pytest.mark.parametrize("noise", [0.005, 0.01, 0.02])
def test_noise_is_evened_out_and_light_stays(noise: float) -> None:
    # Expected: bent light with 0.6 of its noise; a valley of 30 % in a corner stays within 2 %
    arrays, texture, between = shelf_room()
    place, owner = cell_places(arrays.geometry, texture)
    on = owner == CEILING
    light = 5.0 + np.cos(place[:, 0]) + 0.3 * place[:, 1] - 2.0 * np.exp(-np.abs(place[:, 0] - 2.0) / 0.06)
    noisy = light * (1.0 + noise * np.random.default_rng(3).standard_normal(len(light)))
    found = evened(between.joins, noisy[:, None])[:, 0] / light - 1.0
    inner = on & (np.abs(place[:, 0]) < 1.6)
    assert np.sqrt((found[inner] ** 2).mean()) < 0.65 * noise
    assert abs(found[inner].mean()) < 0.05 * noise
    corner = on & (place[:, 0] > 1.9)
    assert abs(found[corner].mean()) < 0.002 + 0.5 * noise
    kept = evened(between.joins, light[:, None])[:, 0] / light - 1.0
    assert np.abs(kept[on]).max() < 0.02
