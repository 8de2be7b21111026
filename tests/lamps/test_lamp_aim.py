"""A lamp's aim counts by its direction alone, however long it is written."""

from __future__ import annotations

import numpy as np
import pytest
from halfgain.simulate.measuring.lamps import lamp_frame


@pytest.mark.parametrize("length", [1e-200, 1e-9, 1e9, 1e200])
def test_the_frame_of_an_aim_does_not_hang_on_its_length(length: float) -> None:
    np.testing.assert_allclose(lamp_frame((0.3 * length, length, -length), 20.0), lamp_frame((0.3, 1.0, -1.0), 20.0), atol=1e-14)
