"""The bias bound of shares: surfaces are wrong independently of each other."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.measuring.estimate import replicates
from halfgain.simulate.measuring.readings import shares


def test_a_shares_bound_lets_its_surface_err_against_the_others() -> None:
    # Expected by hand: parts 1 and 3, each a tenth uncertain: 1.1 / (1.1 + 2.7) - 1 / 4 = 0.0395, linear: (0.1 x 0.75 + 0.3 x 0.25) / 4
    parts = np.broadcast_to(np.array([1.0, 3.0]), (16, 2))
    found = shares(replicates(parts, np.array([0.1, 0.3])))
    assert [share.value for share in found] == pytest.approx([0.25, 0.75])
    assert [share.bias_bound for share in found] == pytest.approx([0.0375, 0.0375])
    assert [share.standard_error for share in found] == pytest.approx([0.0, 0.0], abs=1e-12)


def test_shares_of_no_light_are_none() -> None:
    # Expected: definition; a black room has nothing to share
    found = shares(replicates(np.zeros((16, 3)), np.zeros(3)))
    assert all(tuple(share) == (0.0, 0.0, 0.0) for share in found)
