"""Lines that the tabs of a corded sheet draw: the edge stands out from tab to tab, and that dies away inwards."""

from __future__ import annotations

import math

import numpy as np

from ...materials.dataclass import dataclass
from .shape import Heights


@dataclass(frozen=True)
class TabLines:
    """Height = a cos(2 pi y / spacing) exp(-d / reach), d the distance from either side edge of the sheet, y up from the middle.

    amplitude_m  a, at the edge of the sheet [m];  spacing_m  from tab to tab [m];  reach_m  length of decay inwards [m]
    edge_m       either side edge of the sheet from the middle [m]: half the white area and the masking beside it
    Source: a membrane under tensions Nx, Ny whose edge is held in a cosine, Nx h_xx + Ny h_yy = 0; see `mechanics.tab_reach_m`.
    """

    amplitude_m: float
    spacing_m: float
    reach_m: float
    edge_m: float

    @property
    def finest_m(self) -> float:
        """The tabs' spacing, or the wave that is as steep as the decay if that is shorter [m]. Source: exp(-d / r), sin(d / r)."""
        return min(self.spacing_m, 2.0 * math.pi * self.reach_m)

    def at(self, right_m: np.ndarray, up_m: np.ndarray) -> Heights:
        """Heights [m] at places [m], any one shape. Source: the class's formula."""
        k = 2.0 * math.pi / self.spacing_m
        right = np.exp((np.asarray(right_m, float) - self.edge_m) / self.reach_m)
        left = np.exp((-np.asarray(right_m, float) - self.edge_m) / self.reach_m)
        wave = self.amplitude_m * np.cos(k * np.asarray(up_m, float))
        slope_up = -self.amplitude_m * k * np.sin(k * np.asarray(up_m, float)) * (right + left)
        return Heights(wave * (right + left), wave * (right - left) / self.reach_m, slope_up)
