"""Which triangles hang together, against scipy's connected components."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.scenes.rooms.groups import _first_of
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components


@pytest.mark.parametrize("links", ["few", "many", "a chain in any order", "none"])
def test_the_first_of_all_that_hangs_together_is_that_of_connected_components(links: str) -> None:
    rng = np.random.default_rng(3)
    for count in (1, 2, 7, 60, 400):
        if links == "a chain in any order":
            way = rng.permutation(count)
            one, two = way[:-1], way[1:]
        else:
            one, two = rng.integers(0, count, (2, {"few": count // 2, "many": 2 * count, "none": 0}[links]))
        graph = coo_array((np.ones(len(one), np.int8), (one, two)), shape=(count, count))
        label = connected_components(graph, directed=False)[1]
        first = np.array([np.flatnonzero(label == each)[0] for each in label])
        assert (_first_of(count, one, two) == first).all()
