"""The same seed gives the same bits at any number of threads, and in any order of rounds."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.measuring.solver import prepare, traced_sums

from tests.rooms import ANGULAR, box_object, lowered, room

SCENE = {
    "fabric": ANGULAR,
    "objects": box_object("sofa", [-1.0, 3.0, 0.0], [1.0, 3.4, 0.8], "{ reflectance = [0.3, 0.2, 0.1] }"),
    "projector": 'pixels = [2048, 1080]\nfit = "height"',
}


@pytest.mark.parametrize("threads", [2, 4, 8])
def test_bits_do_not_depend_on_the_thread_count(threads: int) -> None:
    arrays, points, one = lowered(room(**SCENE))
    several = prepare(arrays, points, threads=threads)
    np.testing.assert_array_equal(one.lighting.node_lx, several.lighting.node_lx)
    a = traced_sums(one, seed=5, low_path=0, paths=16, threads=1)
    b = traced_sums(several, seed=5, low_path=0, paths=16, threads=threads)
    np.testing.assert_array_equal(a, b)
    assert (a != traced_sums(one, seed=6, low_path=0, paths=16)).any()


def test_a_later_round_is_the_same_whoever_ran_before() -> None:
    _, _, prepared = lowered(room())

    def traced(low: int, paths: int) -> np.ndarray:  # each path for itself: pooled paths learn from their own round
        return traced_sums(prepared, seed=5, low_path=low, paths=paths, pooling=False)

    whole, parts = traced(0, 32), traced(0, 16) + traced(16, 16)
    np.testing.assert_allclose(whole, parts, rtol=1e-12)


@pytest.mark.parametrize("threads", [1, 3])
def test_a_sum_that_is_not_finite_is_refused_by_its_cell(threads: int) -> None:
    # Expected: cell 3, the first whose start gets no number from the cloth, for the second seat, whichever thread comes upon it
    seats = "\n".join(f'[[seat]]\nname = "{name}"\neye_m = [{x}, 3.0, 1.2]' for name, x in (("a", 0.0), ("b", 0.5)))
    _, points, prepared = lowered(room(**SCENE, seats=seats))
    own = np.zeros((*points.seats.shape[:2], 4))
    own[3:, 1] = np.nan
    broken = prepared._replace(lighting=prepared.lighting._replace(own=own))
    with pytest.raises(FloatingPointError, match=r"cell 3 \(replication, start\), seat 1"):
        traced_sums(broken, seed=5, low_path=0, paths=16, threads=threads)
