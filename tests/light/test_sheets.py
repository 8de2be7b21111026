"""The map read from sheets, one a cell, against interpolation between its nodes at every place anew."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.light.ledger import Ledger
from halfgain.simulate.light.mapgrid import look_up, make_grid
from halfgain.simulate.light.sheets import STEP, lay_sheets, read_sheets
from halfgain.simulate.light.walk import Transport
from halfgain.simulate.measuring.flatten import SceneArrays, flatten

from tests.light.test_triangles import cushion, with_mesh
from tests.rooms import box_object, room


def asked(arrays: SceneArrays, columns: int) -> tuple[np.ndarray, np.ndarray]:
    """Sheets and `look_up` at the same places: all patches, anywhere and on nodes, (n, 2 columns) each."""
    rng = np.random.default_rng(4)
    grid = make_grid(arrays.geometry, arrays.projector, cells=8, shell=True)
    values = rng.uniform(1.0, 2.0, (len(grid.place), columns))
    patches = np.repeat(np.arange(len(grid.first)), 60).astype(np.int32)
    u, v = rng.integers(0, 65536, (2, len(patches))).astype(np.uint16)
    u[::10], v[::7] = 65535, 0
    ledger = Ledger(np.ones(1, np.int64), np.full(1, 0.5), np.arange(len(u)), np.ones(len(u), np.uint8), patches, u, v)
    none = np.zeros(0)
    transport = Transport(arrays.geometry, ledger, none, none, grid, (), (), arrays.fabric, lay_sheets(grid, values))
    light = np.empty((len(u), 2 * columns))
    read_sheets(transport, np.int64(0), np.int64(len(u)), light)
    expected = np.empty_like(light)
    for patch, a, b, out in zip(patches.tolist(), u.tolist(), v.tolist(), expected, strict=True):
        look_up(grid, values, np.int64(patch), a * STEP, b * STEP, out[:columns], out[columns:])
    return light, expected


@pytest.mark.parametrize(("columns", "pieced"), [(1, False), (2, False), (3, False), (2, True)])
def test_sheets_are_what_lies_between_the_nodes(columns: int, pieced: bool) -> None:
    arrays = flatten(room(objects=box_object("crate", [0.2, 0.3, 0.0], [0.6, 0.9, 1.6], 0.5)))
    arrays = with_mesh(arrays, cushion(3), 3) if pieced else arrays
    found, expected = asked(arrays, columns)
    assert (expected[:, 0] > 0.5).mean() > 0.3
    assert (expected[:, 0] == 0.0).mean() > 0.05
    np.testing.assert_allclose(found, expected, atol=1e-9)
