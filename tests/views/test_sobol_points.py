"""Sobol's direction numbers against an independent generator."""

from __future__ import annotations

import numpy as np
from halfgain.simulate.views.sobol_points import DIMENSIONS, DIRECTIONS
from scipy.stats import qmc


def test_direction_numbers_are_those_of_an_independent_generator() -> None:
    # Expected: scipy.stats.qmc.Sobol without scrambling, same dimensions (its own copy of the Joe-Kuo table)
    points = qmc.Sobol(DIMENSIONS, scramble=False, bits=32).random_base2(7)
    ours = np.empty_like(points)
    for i in range(len(points)):
        gray = i ^ (i >> 1)
        bits = [b for b in range(32) if gray >> b & 1]
        ours[i] = [np.bitwise_xor.reduce(DIRECTIONS[d, bits]) / 2.0**32 if bits else 0.0 for d in range(DIMENSIONS)]
    np.testing.assert_array_equal(ours, points)
