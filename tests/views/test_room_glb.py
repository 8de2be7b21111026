"""The room as GLB: its cloth is a mesh of few triangles that is as deep as the cloth."""

from __future__ import annotations

import io

import numpy as np
import pytest
from halfgain.scenes.cloth.surface import cloth_of
from halfgain.scenes.load import load_scene
from halfgain.simulate.views.room_glb import room_glb

SHARE = 0.03  # of the depth: straight lines both ways, each off by a hundredth, and the twist between two triangles


@pytest.mark.parametrize(("name", "most"), [("light-lounge", 20_000), ("l-living-room", 2), ("black-box", 2)])
def test_the_cloth_is_as_deep_as_it_is_with_few_triangles(name: str, most: int) -> None:
    """Waves, folds of a few micrometres, none; held against the heights of the cloth at places inside triangles."""
    import trimesh

    scene = load_scene(name)
    read = trimesh.load(io.BytesIO(room_glb(scene)), file_type="glb").geometry["screen"]
    assert len(read.faces) <= most
    rng, sheet = np.random.default_rng(2), scene.screen
    chosen, weight = rng.integers(len(read.faces), size=4000), rng.dirichlet([1.0, 1.0, 1.0], 4000)
    right, up, out = np.einsum("nk,nkc->cn", weight, read.triangles[chosen])
    cloth = cloth_of(sheet, "typical")
    x, y = right - sheet.right_m, up - sheet.bottom_m - 0.5 * sheet.height_m
    true = np.zeros_like(x) if cloth.flat else cloth.at(x, y).height
    assert np.abs(out - sheet.gap_to_wall_m - true).max() < max(1e-4, SHARE * np.ptp(true))
