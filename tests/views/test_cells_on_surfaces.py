"""Cells of surfaces: they end at contacts and at the screen's plane, and nothing is read across such a line."""

from __future__ import annotations

import numpy as np
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.views.layout import FINE_M
from halfgain.simulate.views.texture import cell_places, empty_texture, read_at

from tests.rooms import box_object, room

SHELF = box_object("shelf", [-0.9, 0.0, 0.0], [0.7, 0.45, 0.5], 0.3)


def test_cells_end_where_a_body_touches_and_where_the_screens_plane_crosses() -> None:
    # Expected: the shelf's outline on the floor (x = -0.9 and 0.7 of 4 m, out 0.45 of 6 m) and the screen 8 cm off the wall
    arrays = flatten(room(gap=0.08, border=0.05, objects=SHELF))
    texture = empty_texture(arrays.geometry, arrays.projector, 1)
    geometry = arrays.geometry
    floor = 5
    along = {}
    for bounds, edge in zip(texture.bounds(floor), (geometry.edge_u[floor], geometry.edge_v[floor]), strict=True):
        axis = int(np.argmax(np.abs(edge)))
        along[axis] = geometry.corner[floor, axis] + bounds * edge[axis]
    for axis, line in ((0, -0.9), (0, 0.7), (1, -0.45), (1, -0.08)):
        off = np.sort(np.abs(along[axis] - line))
        assert off[0] < 1e-9
        assert off[1] < 2.5 * FINE_M, "fine beside the line"


def test_reading_is_exact_for_a_plane_and_never_mixes_the_two_sides_of_a_line() -> None:
    # Expected: a plane of light that jumps by 100 at the screen's plane, read back at random places
    arrays = flatten(room(gap=0.08, border=0.05, objects=SHELF))
    texture = empty_texture(arrays.geometry, arrays.projector, 1)
    plane_y = arrays.projector.frame[0, 1]

    def light(at: np.ndarray) -> np.ndarray:
        return 10.0 + at[:, 0] + 2.0 * at[:, 2] - 0.5 * at[:, 1] + 100.0 * (at[:, 1] < plane_y)

    place, _ = cell_places(arrays.geometry, texture)
    texture = texture._replace(value=light(place)[:, None])
    rng, ceiling = np.random.default_rng(1), 4
    u, v = rng.random((2, 400, 1))
    v[:100] *= 0.05
    u[100:200] *= 0.05
    at = arrays.geometry.corner[ceiling] + u * arrays.geometry.edge_u[ceiling] + v * arrays.geometry.edge_v[ceiling]
    out = read_at(texture, arrays.geometry, np.full(400, ceiling, np.int32), at)[:, 0]
    behind = at[:, 1] > plane_y
    assert 0.0 < behind.mean() < 1.0
    assert np.abs(out - light(at)).max() < 1e-9
