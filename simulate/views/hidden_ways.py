"""Places from which something may hide a part of the lit screen, before anything is summed."""

from __future__ import annotations

import numpy as np

from ...materials.kernels.jit import kernel
from ..light import workers
from ..light.edges import sight_scratch
from ..light.geometry import Geometry, is_pieced
from ..light.irradiance_cache import sight_of, source_of
from ..light.mapgrid import MapGrid
from ..light.screen_samples import LitScreen


@kernel
def mark_hidden(source, scratch, out, low, high):
    """True into out (N,) for the nodes low .. high - 1 of a ScreenSource before which something may stand; scratch  a SightScratch.

    Source: `sight_of`.
    """
    for node in range(low, high):
        out[node] = sight_of(source, node, scratch).blockers != 0


def maybe_hidden(geometry: Geometry, grid: MapGrid, lit: LitScreen, *, threads: int = 1) -> np.ndarray:
    """True (N,) for a grid's nodes, places [m], before which something may stand; False where surely nothing does. Source: `sight_of`."""
    out, source = np.zeros(len(grid.place), bool), source_of(geometry, grid, lit, test_blocked=True)

    def fill(low: int, high: int) -> None:
        mark_hidden(source, sight_scratch(lit, source.occluders, is_pieced(geometry)), out, low, high)

    workers.in_ranges(fill, len(out), threads)
    return out
