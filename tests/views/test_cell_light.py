"""The light that drawings of the room are given: what the room's own light is, and the same on a flat cloth as on a folded one."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.scenes.cloth.hanging import Hang
from halfgain.scenes.load import load_scene
from halfgain.scenes.model import Scene
from halfgain.simulate.measuring.flatten import flatten
from halfgain.simulate.views.cell_light import CellLight, cell_light
from halfgain.simulate.views.content import content_of
from halfgain.simulate.views.shade import set_the_stage
from halfgain.simulate.views.texture import cell_places


def _lit(scene: Scene) -> CellLight:
    return cell_light(set_the_stage(scene, content_of(scene, "gradient")).room)


@pytest.mark.long
def test_estimated_folds_hardly_change_the_light_on_the_walls() -> None:
    # The page's drawing takes the flat cloth's light. Expected: a share of what waves send elsewhere, slope squared over two at most
    folded, flat = load_scene("light-lounge"), load_scene("light-lounge").with_hang(Hang.FIXED_FRAME)
    waves, plane = _lit(folded), _lit(flat)
    assert flatten(folded).geometry.relief, "else nothing is compared"
    place, _ = cell_places(plane.arrays.geometry, plane.texture)
    frame = plane.arrays.projector.frame
    before = (plane.lux > 0.0) & ((place - frame[0]) @ frame[3] > 0.05)  # cells in the cloth's own plane see its crests edge on
    change = waves.lux[before] / plane.lux[before] - 1.0
    assert abs(np.average(change, weights=plane.lux[before])) < 1e-3
    assert np.quantile(np.abs(change), 0.99) < 0.01
    assert len(waves.lux) == len(plane.lux) == len(place)
