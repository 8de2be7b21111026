"""What even light brings towards the seats: worked out when it is first asked for, since nobody asks in the dark.

Facets and lobes about the light's own direction take 0.3 to 0.5 ms a direction, a hundred times what all else at the measuring points takes.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np

from ...materials.fabric import FabricArrays
from ...materials.lobes.albedo import directional_albedos


class EvenLight:
    """Even light from the half-space on cloth; seats (n, T, 3) unit directions from its places to the eyes [1]."""

    def __init__(self, fabric: FabricArrays, seats: np.ndarray) -> None:
        self.fabric, self.seats = fabric, seats

    @cached_property
    def factor(self) -> np.ndarray:
        """Luminance factor (n, T) [1]. Source: `directional_albedos`."""
        return directional_albedos(self.fabric, self.seats.reshape(-1, 3)).reshape(self.seats.shape[:2])
