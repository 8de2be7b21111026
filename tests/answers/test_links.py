"""A new fabric's map from the stored links: the production map of that fabric."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.answers.links import fits_links, linked_map, make_links
from halfgain.simulate.measuring.solver import board_patches, picture_map, picture_samples

from tests.rooms import ANGULAR, box_object, lowered, room

RETRO = '[screen.fabric]\nkind = "retro-reflective"\ngain = 1.5\nhalf_gain_deg = 35'  # narrower lobes take the full way
BOX = box_object("case", [0.9, 0.8, 0.0], [1.5, 1.6, 1.8], 0.5)


@pytest.mark.parametrize("fabric", [ANGULAR, RETRO], ids=["angular", "retro"])
@pytest.mark.parametrize("objects", ["", BOX], ids=["empty", "furnished"])
def test_the_map_of_a_fabric_from_links_is_the_production_map(fabric: str, objects: str) -> None:
    # Expected: solver.picture_map of the same samples, which evaluates the fabric anew at each; links are kept in single precision
    arrays, _, prepared = lowered(room(gap=0.1, fabric=fabric, objects=objects))
    assert fits_links(arrays.geometry, arrays.fabric)
    lit = picture_samples(arrays)
    links = make_links(arrays.geometry, prepared.grid, lit, board_patches(), test_blocked=arrays.objects)
    expected = picture_map(arrays, prepared.grid, lit=lit)
    np.testing.assert_allclose(linked_map(links, arrays.fabric), expected, rtol=2e-5, atol=1e-6 * expected.max())


def test_folded_cloth_takes_the_full_way() -> None:
    wave = '[[screen.fold]]\nkind = "wave"\namplitude_mm = 2\nwavelength_mm = 300\n'
    arrays, _, _ = lowered(room(gap=0.1, fabric=ANGULAR + "\n" + wave))
    assert not fits_links(arrays.geometry, arrays.fabric)
