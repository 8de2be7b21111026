"""The lit screen's map on the walls for lobes much narrower than usual, against a fine even sum over the screen."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from halfgain.materials.lobes.brdf import fabric_gains
from halfgain.simulate.light.mapgrid import make_grid
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.measuring.solver import picture_map

from tests.rooms import room

FINE = 256  # points a side of the screen; against 512 they differ by a tenth of the tolerance at most (measured)
GAINS = {8: 8.0, 12: 5.0, 20: 3.0}  # no diffuse base: the hardest case


class FineScreen:
    """A flat white screen of 1000 lm as FINE x FINE points, all in the screen's own frame: right, up, out."""

    def __init__(self, arrays: Any) -> None:
        left, right, bottom, top = arrays.projector.picture
        across = left + (right - left) * (np.arange(FINE) + 0.5) / FINE
        upward = bottom + (top - bottom) * (np.arange(FINE) + 0.5) / FINE
        self.centre, self.turn = arrays.projector.frame[0], np.array(arrays.projector.frame[1:])
        self.fabric, self.side = arrays.fabric, [x.ravel() for x in np.meshgrid(across, upward)]
        lens = self.turn @ (arrays.projector.lens - self.centre)
        self.to_lens = np.stack([lens[0] - self.side[0], lens[1] - self.side[1], np.full(FINE**2, lens[2])], axis=1)
        self.to_lens /= np.linalg.norm(self.to_lens, axis=1, keepdims=True)

    def lights(self, place: np.ndarray, normal: np.ndarray) -> float:
        """Irradiance [lx] of a place in the room. Source: one reflection, midpoint rule, numpy."""
        (x, y, z), towards = self.turn @ (place - self.centre), self.turn @ normal
        away = np.empty_like(self.to_lens)
        away[:, 0], away[:, 1], away[:, 2] = x - self.side[0], y - self.side[1], z
        squared = np.einsum("ij,ij->i", away, away)
        away /= np.sqrt(squared)[:, None]
        cosines = np.maximum(away[:, 2], 0.0) * np.maximum(-(away @ towards), 0.0)
        return float((fabric_gains(self.fabric, self.to_lens, away) * cosines / squared).sum() * 1000.0 / FINE**2 / np.pi)


@pytest.mark.parametrize("half_gain_deg", GAINS)
@pytest.mark.parametrize("kind", ["angular", "retro"])
def test_map_of_a_narrow_lobe_equals_a_fine_sum(kind: str, half_gain_deg: int) -> None:
    # Expected: an independent sum of 65,536 points, to 2e-3 of the node's own value or 1e-4 of the brightest node.
    # Measured: at most 0.9 of that, worst for the angular lobe of 12 degrees beside the screen.
    fabric = f'[screen.fabric]\nkind = "{kind}-reflective"\ngain = {GAINS[half_gain_deg]}\nhalf_gain_deg = {half_gain_deg}\n'
    arrays = flatten(room(fabric=fabric + "base_gain = 0.0"))
    grid = make_grid(arrays.geometry, arrays.projector, cells=24, shell=True)
    total = picture_map(arrays, grid, threads=2)[:, 0]
    rng, screen = np.random.default_rng(1), FineScreen(arrays)
    for wall in range(1, 6):
        nodes = np.flatnonzero((grid.patch == wall) & (total > 0.0))
        brightest = nodes[np.argsort(total[nodes])[-6:]]
        some = np.unique(np.concatenate([brightest, rng.choice(nodes, 8, replace=False)]))
        for node in some:
            expected = screen.lights(grid.place[node], arrays.geometry.normal[wall])
            assert total[node] == pytest.approx(expected, rel=2e-3, abs=1e-4 * total.max())


def test_a_screen_close_to_the_floor_lights_it_right() -> None:
    # Expected: the same sum. The hardest nodes lie 5 cm under the picture's edge, where a patch is thirty times its distance wide;
    # 3e-3 of the brightest node is what the finest level leaves there
    fabric = '[screen.fabric]\nkind = "angular-reflective"\ngain = 5.0\nhalf_gain_deg = 12\nbase_gain = 0.0'
    arrays = flatten(room(fabric=fabric, bottom=0.05))
    grid = make_grid(arrays.geometry, arrays.projector, cells=24, shell=True)
    total = picture_map(arrays, grid, threads=2)[:, 0]
    nodes, screen = np.flatnonzero(grid.patch == 5), FineScreen(arrays)
    for node in nodes[:: max(1, len(nodes) // 60)]:
        expected = screen.lights(grid.place[node], arrays.geometry.normal[5])
        assert total[node] == pytest.approx(expected, rel=5e-3, abs=4e-3 * total.max())
