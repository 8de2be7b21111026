"""Light worked out with cells three times as large and few rays, folds judged on maps half as fine: for tests of what hangs on neither."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from halfgain.simulate.folds import flatness, readings
from halfgain.simulate.folds.maps import picture_grid
from halfgain.simulate.live import cell_rays
from halfgain.simulate.views import edge_pixels, layout, render, transport

TIMES = 3.0
RAYS = 32


def make_coarse(put: Callable[[Any, str, Any], None] = setattr) -> None:
    """A fourth to a seventh of the cells and an eighth of the rays, in all that is lit and drawn from here on; put  as `setattr`."""
    for name in ("CELL_M", "FINE_M", "END_M"):
        put(layout, name, TIMES * getattr(layout, name))
    put(transport, "CELL_RAYS", RAYS)
    put(render, "RAYS", RAYS)
    put(edge_pixels, "SLIVER_RAYS", RAYS // 2)
    put(cell_rays, "RAYS", 4 * RAYS)
    put(cell_rays, "FEW", RAYS)


def make_folds_coarse(put: Callable[[Any, str, Any], None] = setattr) -> None:
    """Maps of folds with half the columns and rows, a quarter of the places, from here on; put  as `setattr`."""
    for name in ("_SAMPLES_A_WAVE", "_LEAST_COLUMNS", "COLUMNS"):
        put(readings, name, getattr(readings, name) // 2)
    put(flatness, "picture_grid", lambda scene, columns, rows: picture_grid(scene, columns // 2, rows // 2))
