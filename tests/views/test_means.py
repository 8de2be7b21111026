"""Lines between the values of cells hold the mean of bent light; cells near the picture are small enough for its light."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.views.layout import CELL_M, PER_DISTANCE
from halfgain.simulate.views.means import bends_of, with_means
from halfgain.simulate.views.texture import Texture, cell_places, empty_texture, read_at

from tests.rooms import box_object, room

CEILING = 4
SIDEBOARD = box_object("sideboard", [-0.8, 0.0, 0.0], [0.8, 0.5, 0.6], 0.7)


def _mean_read(texture: Texture, geometry: object, at: np.ndarray) -> float:
    return float(read_at(texture, geometry, np.full(len(at), CEILING, np.int32), at)[:, 0].mean())  # type: ignore[arg-type]


def test_lines_between_cells_hold_the_mean_of_a_bump() -> None:
    # Expected: the mean of a bump 0.4 m wide over 2 x 2 m of ceiling, by midpoints 5 mm apart; lines through the bump itself
    # lie below it by h^2 / 12 x f''
    arrays = flatten(room(gap=0.08, border=0.05))
    geometry = arrays.geometry
    texture = empty_texture(geometry, arrays.projector, 1)
    place, _ = cell_places(geometry, texture)
    u, v = geometry.edge_u[CEILING], geometry.edge_v[CEILING]
    centre = geometry.corner[CEILING] + 0.5 * (u + v)

    def light(at: np.ndarray) -> np.ndarray:
        return 0.1 + np.exp(-((at - centre)[:, :2] ** 2).sum(axis=1) / (2.0 * 0.19**2))

    step = (np.arange(400) + 0.5) / 200.0 - 1.0
    x, y = (a.ravel() for a in np.meshgrid(step, step))
    at = centre + x[:, None] * u / np.linalg.norm(u) + y[:, None] * v / np.linalg.norm(v)
    inside = np.hypot(x, y) < 0.25
    expected = light(at[inside]).mean()
    plain = light(place)[:, None]
    kept = with_means(bends_of(texture), plain)
    assert _mean_read(texture._replace(value=plain), geometry, at[inside]) < 0.97 * expected
    assert _mean_read(texture._replace(value=kept), geometry, at[inside]) == pytest.approx(expected, rel=0.01)
    whole = light(at).mean()
    assert _mean_read(texture._replace(value=kept), geometry, at) == pytest.approx(whole, rel=1e-3)


def test_a_plane_stays_a_plane() -> None:
    # Expected: no bend, nothing taken off, lines and ends of surfaces included
    arrays = flatten(room(gap=0.08, border=0.05, objects=SIDEBOARD))
    texture = empty_texture(arrays.geometry, arrays.projector, 1)
    place, _ = cell_places(arrays.geometry, texture)
    plane = (20.0 + place @ np.array([1.0, -0.5, 2.0]))[:, None]
    assert with_means(bends_of(texture), plane) == pytest.approx(plane, rel=1e-12)


def test_cells_on_a_top_just_below_the_picture_are_smaller_than_its_distance() -> None:
    # Expected: the top lies 0.15 m below the picture and border of 5 cm; far from it cells of the ordinary size
    arrays = flatten(room(gap=0.08, border=0.05, bottom=0.75, objects=SIDEBOARD))
    geometry = arrays.geometry
    texture = empty_texture(geometry, arrays.projector, 1)
    top = next(
        i for i in np.flatnonzero(texture.first >= 0) if geometry.normal[i, 2] > 0.99 and abs(geometry.corner[i, 2] - 0.6) < 1e-9
    )
    bounds, edge = texture.bounds(int(top))[0], geometry.edge_u[top]
    if abs(edge[0]) < abs(edge[1]):
        bounds, edge = texture.bounds(int(top))[1], geometry.edge_v[top]
    assert np.diff(bounds).max() * np.linalg.norm(edge) < 1.1 * PER_DISTANCE * 0.16
    floor = texture.bounds(5)[0]
    assert np.diff(floor).max() * np.linalg.norm(geometry.edge_u[5]) > 0.9 * CELL_M
